"""The last form of a carton is printed as straight as the first: feed error does not add up."""

from pathlib import Path

import pytest
from language.feeding import FORMS, LENGTHS, PRINTERS, largest_error, rows

from cheque.language import LanguageError, Look, Printer, get
from cheque.language.writing import parts
from cheque.page import feed_steps
from cheque.units import INCH, read_length

DOCUMENT = Path(__file__).parents[2] / "docs" / "printer-languages.md"


@pytest.mark.parametrize("printer", PRINTERS, ids=str)
@pytest.mark.parametrize("length", LENGTHS)
def test_a_carton_ends_less_than_a_step_from_where_it_began(printer, length):
    units = read_length(length)
    error = largest_error(units, printer)
    if printer.language == "plain" and length.endswith("mm"):
        assert error is None
        return
    assert error is not None
    assert error < printer.step
    assert (error == 0) == (units % printer.step == 0)


def test_the_documents_say_what_is_measured():
    table = DOCUMENT.read_text(encoding="utf-8").splitlines()
    assert [row for row in rows() if row not in table] == []


def test_rounding_each_form_would_be_out_within_a_box():
    """What exact feeding is for: the published count of forms within half a line, for rounded lengths.

    Source: computed, 1 in = 25.4 mm; the trade's table of feeding.
    """
    within = {}
    for length in ("92 mm", "102 mm"):
        for step in (6, 216, 180, 72):
            off = min(read_length(length) % (INCH // step), -read_length(length) % (INCH // step))
            within[length, step] = INCH // 12 // off
    assert within == {
        ("92 mm", 6): 1,
        ("92 mm", 216): 49,
        ("92 mm", 180): 476,
        ("92 mm", 72): 28,
        ("102 mm", 6): 5,
        ("102 mm", 216): 44,
        ("102 mm", 180): 90,
        ("102 mm", 72): 44,
    }


@pytest.mark.parametrize(("length", "forms"), [("92 mm", "1 form"), ("102 mm", "5 forms")])
def test_plain_text_says_after_how_many_forms_it_would_be_half_a_line_out(length, forms):
    reasons = get("plain").cannot(Look(read_length(length), INCH // 6), (), Printer("plain", INCH // 6))
    assert len(reasons) == 1
    assert f"half a line out after {forms}" in reasons[0]
    assert length in reasons[0] or "in" in reasons[0]


def test_eight_lines_to_the_inch_do_not_divide_three_and_two_thirds_inches():
    """29 1/3 lines, so 1/24 in out each form if counted in lines; fed by steps it is exact."""
    length = read_length("3 2/3 in")
    assert length % (INCH // 8) == INCH // 24
    printer = Printer("escp9", INCH // 216)
    strikes = get("escp9").decode(get("escp9").encode((), Look(length, INCH // 8), printer, length), printer)
    assert strikes.advance == length


def test_a_length_of_no_whole_lines_is_set_as_spacing_times_lines():
    """92 mm is 782/216 in, 34 times 23: ESC 3 34, ESC C 23. Source: the trade's table of feeding; computed."""
    length, printer = read_length("92 mm"), Printer("escp9", INCH // 216)
    steps = feed_steps(length, printer.step, 0)
    assert steps == 782 == 34 * 23
    sent = get("escp9").encode((), Look(length, INCH // 6), printer, steps * printer.step)
    assert b"\x1b3\x22\x1bC\x17\x1b2" in sent


@pytest.mark.parametrize("printer", [p for p in PRINTERS if p.language != "plain"], ids=str)
@pytest.mark.parametrize("length", ["3 1/2 in", "3 2/3 in", "4 in", "5 1/2 in", "7 in", "8 1/2 in", "11 in", "12 in"])
def test_the_front_panels_form_feed_agrees(printer, length):
    """ESC C times the spacing then in force is the form's length, for the usual depths."""
    units = read_length(length)
    language = get(printer.language)
    sent = language.encode((), Look(units, INCH // 6), printer, units)
    sixth = b"\x1bA\x0c\x1b2" if printer.language == "ppds" else b"\x1b2"
    lines = units // (INCH // 6)
    if lines in (0x11, 0x13, 0x1A):
        assert sixth + b"\x1bC" + bytes([lines]) not in sent
        return
    assert sixth + b"\x1bC" + bytes([lines]) in sent


@pytest.mark.parametrize("multiple", [1, 2, 3, 5])
def test_feeds_are_cut_into_whole_steps_and_never_into_flow_control(multiple):
    for total in range(0, 4000, multiple):
        found = parts(total, multiple)
        assert sum(found) == total
        assert all(0 < part <= 255 and part % multiple == 0 for part in found)
        assert not {0x11, 0x13, 0x1A} & set(found)
        assert len(found) <= total // 200 + 2


def test_a_feed_that_only_a_flow_control_byte_could_say_is_refused():
    with pytest.raises(LanguageError, match="must not be sent"):
        parts(0x11, 0x11)


def test_a_whole_carton_is_fed_by_its_very_bytes():
    """Not form by form, but as one stream of 500 forms of 92 mm."""
    length, printer, language = read_length("92 mm"), Printer("escp24", INCH // 180), get("escp24")
    look = Look(length, INCH // 6)
    stream = b"".join(
        language.encode((), look, printer, feed_steps(length, printer.step, k) * printer.step) for k in range(500)
    )
    assert 0 <= 500 * length - language.decode(stream, printer).advance < printer.step


def test_the_carton_is_as_large_as_it_is_said_to_be():
    assert FORMS == 10_000
