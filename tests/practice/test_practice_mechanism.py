"""What happens to forms in a printer, and that the practice printer says so truly."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from language.pages import STEPS, cells, form_of
from practice.struck import form, mechanism, says, struck

from cheque.language import NAMES, Look, Printer, get
from cheque.page import Mark, feed_steps
from cheque.practice import Mechanism
from cheque.units import INCH, MILLIMETRE


@pytest.mark.parametrize("language", NAMES)
def test_every_form_is_struck_on_its_own_number_and_exactly_as_sent(language: str) -> None:
    sheets = struck(mechanism(language), 501, 502, 503, language=language)
    for number in (501, 502, 503):
        sheet = sheets[number]
        assert sheet.whole
        assert says(sheet) == str(number)
        assert "J. Marlow" in sheet.text
        assert cells(sheet.marks, language) == cells(form_of(language).numbered(str(number)), language)
    assert sheets[504].blank


@settings(max_examples=60, deadline=None)
@given(language=st.sampled_from(NAMES), cuts=st.lists(st.integers(1, 60), min_size=1, max_size=30))
def test_it_does_not_matter_in_what_pieces_the_bytes_come_or_are_struck(language: str, cuts: list[int]) -> None:
    wanted = list(struck(mechanism(language), 501, 502, language=language).values())
    made = mechanism(language)
    data, place = form(501, language) + form(502, language), 0
    while place < len(data):
        for cut in cuts:
            made.take(data[place : place + cut])
            place += len(data[place : place + cut])
            made.strike(cut)
    made.strike(1 << 20)
    assert made.sheets() == wanted


@settings(max_examples=60, deadline=None)
@given(language=st.sampled_from(NAMES), share=st.integers(0, 1000))
def test_power_lost_at_any_byte_leaves_no_form_that_looks_good_and_is_not(language: str, share: int) -> None:
    made = mechanism(language)
    data = form(501, language) + form(502, language)
    made.take(data)
    at = len(data) * share // 1000
    made.strike(at)
    made.power_off()
    assert made.idle
    assert made.room == 0
    for sheet in made.sheets():
        if sheet.whole:
            assert says(sheet) == str(sheet.number)
            assert at >= len(form(501, language))
    made.power_on()
    made.load(503)
    assert says(struck(made, 503, language=language)[503]) == "503"


def test_after_a_loss_of_power_print_goes_astray_unless_paper_is_loaded_anew() -> None:
    made = mechanism()
    made.take(form(501))
    made.strike(len(form(501)) // 2)
    made.power_off()
    made.power_on()
    sheets = struck(made, 501)
    assert not sheets[501].whole
    assert "broken off by a loss of power" in sheets[501].harm
    assert any("out of its place" in harm for harm in sheets[501].harm + sheets[502].harm)


def test_a_skipped_form_is_blank_and_every_later_cheque_is_a_number_further_on() -> None:
    made = mechanism()
    struck(made, 501)
    made.skip()
    sheets = struck(made, 502, 503)
    assert sheets[502].blank
    assert sheets[502].passed
    assert [says(sheets[number]) for number in (501, 503, 504)] == ["501", "502", "503"]
    assert sheets[503].whole


@pytest.mark.parametrize("language", NAMES)
def test_a_skip_in_the_midst_of_a_form_leaves_that_one_good_and_the_next_one_blank(language: str) -> None:
    made = mechanism(language)
    whole = form(501, language)
    made.take(whole + form(502, language))
    made.strike(len(whole) // 2)
    assert made.sheets()[0].marks
    made.skip()
    sheets = struck(made, language=language)
    assert [(n, sheets[n].whole, says(sheets[n])) for n in (501, 503)] == [(501, True, "501"), (503, True, "502")]
    assert sheets[502].blank
    assert sheets[502].passed
    assert cells(sheets[501].marks, language) == cells(form_of(language).numbered("501"), language)


def test_a_form_that_was_begun_in_its_midst_is_never_whole() -> None:
    made = mechanism()
    made.take(form(501))
    made.strike(len(form(501)) // 2)
    made.load(502)
    sheets = struck(made, 502)
    assert "begun in the midst of it" in sheets[502].harm
    assert not any(sheet.whole for sheet in sheets.values())


def test_the_paper_in_a_jam_is_not_fed() -> None:
    made = mechanism()
    made.jam()
    with pytest.raises(ValueError, match="clear it first"):
        made.skip()


def test_the_drill_for_a_jam_ruins_no_form_but_the_crumpled_one() -> None:
    made = mechanism()
    struck(made, 501)
    made.take(form(502) + form(503) + form(504))
    made.strike(len(form(502)) // 2)
    made.jam()
    made.strike(len(form(502)))
    made.power_off()
    made.clear()
    made.power_on()
    made.load(503)
    made.begin_stream()
    sheets = struck(made, 502, 503, 504)
    assert [(n, says(sheets[n])) for n in sheets if sheets[n].whole] == [
        (501, "501"), (503, "502"), (504, "503"), (505, "504"),
    ]  # fmt: skip
    assert "crumpled in a jam" in sheets[502].harm
    assert sheets[506].blank


def test_a_jam_strikes_all_that_follows_on_one_form_and_spoils_that_one_alone() -> None:
    made = mechanism()
    struck(made, 501)
    made.take(form(502)[:200])
    made.strike(1 << 20)
    made.jam()
    made.take(form(502)[200:] + form(503))
    made.strike(1 << 20)
    made.clear()
    sheets = struck(made)
    assert "crumpled in a jam" in sheets[502].harm
    assert not sheets[502].whole
    assert sheets[503].blank
    assert says(struck(made, 503)[503]) == "503"
    assert not struck(made, 504)[502].whole


def test_a_torn_form_is_not_whole_and_only_a_form_that_was_there_can_be_torn() -> None:
    made = mechanism()
    struck(made, 501, 502)
    made.tear(501)
    assert [sheet.whole for sheet in made.sheets()] == [False, True, False]
    with pytest.raises(ValueError, match="has not been in the printer"):
        made.tear(900)


def test_a_sensor_stops_at_the_end_of_the_paper_and_goes_on_with_new_paper() -> None:
    made = mechanism()
    made.paper_out()
    sheets = struck(made, 501, 502)
    assert sheets[501].whole
    assert made.stands
    assert not made.idle
    made.load(801)
    sheets = struck(made)
    assert sheets[801].whole
    assert says(sheets[801]) == "502"  # what waited in its memory falls on whatever is loaded
    assert made.paper.platen == 0


def test_without_a_sensor_the_bare_platen_is_struck_and_counted() -> None:
    made = mechanism(sensor=False)
    made.paper_out()
    sheets = struck(made, 501, 502)
    assert sheets[501].whole
    letters = sum(len(mark.text.replace(" ", "")) for mark in form_of("escp9").numbered("502"))
    assert made.paper.platen == letters
    assert 502 not in sheets


def test_nothing_is_struck_before_paper_is_loaded() -> None:
    made = mechanism(first=None)
    assert struck(made, 501) == {}
    assert made.stands
    made.load(501)
    assert says(struck(made)[501]) == "501"


@pytest.mark.parametrize("language", NAMES)
def test_a_letter_garbled_on_its_way_spoils_its_form_and_not_the_next(language: str) -> None:
    made = mechanism(language)
    made.garble(form(501, language).index(b"Marlow") + 1)
    sheets = struck(made, 501, 502, language=language)
    assert sheets[501].harm == ("garbled",)
    assert not sheets[501].whole
    assert "Marlow" not in sheets[501].text
    assert "arlow" in sheets[501].text
    assert sheets[502].whole
    assert says(sheets[502]) == "502"


@settings(max_examples=60, deadline=None)
@given(language=st.sampled_from(NAMES), after=st.integers(1, 180))
def test_whatever_byte_is_garbled_its_form_is_never_good(language: str, after: int) -> None:
    made = mechanism(language)
    made.garble(min(after, len(form(501, language))))
    assert not struck(made, 501, 502, language=language)[501].whole


def test_garbage_is_struck_as_something_and_never_stops_it() -> None:
    made = mechanism()
    made.take(bytes(range(256)) * 20)
    made.strike(1 << 20)
    assert made.idle
    assert not any(sheet.whole for sheet in made.sheets())
    made.power_off()
    made.power_on()
    made.load(601)
    assert says(struck(made, 601)[601]) == "601"


def test_a_new_stream_after_half_a_form_begins_where_the_paper_stands() -> None:
    made = mechanism()
    made.take(form(501)[:-40])
    made.strike(1 << 20)
    made.begin_stream()
    sheets = struck(made, 501)
    assert not sheets[501].whole
    assert not sheets[502].whole


def test_a_form_loaded_twice_is_struck_twice_and_good_for_nothing() -> None:
    made = mechanism()
    struck(made, 501)
    made.load(501)
    sheets = struck(made, 502)
    assert "struck again" in sheets[501].harm
    assert not sheets[501].whole


def test_a_form_of_no_whole_steps_stays_in_its_place_for_a_whole_box() -> None:
    length = 92 * MILLIMETRE
    printer = Printer("escp9", STEPS["escp9"][0])
    made = Mechanism(get("escp9"), printer, length, memory=1 << 20)
    made.load(1)
    look = Look(length, INCH // 6)
    for k in range(300):
        advance = feed_steps(length, printer.step, k) * printer.step
        made.take(get("escp9").encode((Mark(0, 0, INCH // 10, 0, str(k + 1)),), look, printer, advance))
    made.strike(1 << 20)
    sheets = made.sheets()
    assert [sheet.text for sheet in sheets[:300]] == [str(k + 1) for k in range(300)]
    assert all(sheet.whole for sheet in sheets[:300])
    assert all(-printer.step < mark.y <= 0 for sheet in sheets[:300] for mark in sheet.marks)


def test_it_takes_no_more_than_its_memory_holds() -> None:
    made = mechanism(memory=100)
    made.take(bytes(100))
    assert made.room == 0
    with pytest.raises(ValueError, match="no room"):
        made.take(b"x")
