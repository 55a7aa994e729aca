"""What holds for every printer language: it strikes exactly what was placed, or says why it cannot."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from language.pages import PITCHES, SIXTH, STEPS, TENTH, any_pages, looks, plain_pages, printers

from cheque.language import NAMES, DecodeError, LanguageError, Look, Printer, get
from cheque.page import Mark
from cheque.prove import canonical
from cheque.units import INCH

EVERY = pytest.mark.parametrize("name", NAMES)
EACH_PRINTER = pytest.mark.parametrize("printer", [p for name in NAMES for p in printers(name)], ids=str)
LOOK = Look(7 * INCH, SIXTH)
PAY = Mark(5 * TENTH, 2 * SIXTH, TENTH, 0, "Pay J. Marlow")


def assert_read_or_refused(language, data, printer):
    """Nothing but strikes or a DecodeError that points into the bytes; any other error fails the test."""
    error = None
    try:
        language.decode(data, printer)
    except DecodeError as refused:
        error = refused
    assert error is None or 0 <= error.offset <= len(data)


def test_a_language_not_known_is_a_key_error():
    with pytest.raises(KeyError):
        get("esc-zero")


@EVERY
def test_a_language_is_called_what_it_is_found_by(name):
    assert get(name).name == name
    assert all(get(name).abilities.values())


@EACH_PRINTER
@settings(max_examples=60, deadline=None)
@given(st.data())
def test_what_was_placed_is_struck_exactly_or_refused(printer, data):
    language = get(printer.language)
    marks = data.draw(any_pages(printer.step) if printer.language != "plain" else plain_pages())
    look = data.draw(looks()) if printer.language != "plain" else LOOK
    reasons = language.cannot(look, marks, printer)
    advance = look.length // printer.step * printer.step
    if reasons:
        with pytest.raises(LanguageError):
            language.encode(marks, look, printer, advance)
        return
    sent = language.encode(marks, look, printer, advance)
    strikes = language.decode(sent, printer)
    assert canonical(strikes.marks) == canonical(marks)
    assert strikes.advance == advance


@settings(max_examples=100, deadline=None)
@given(plain_pages())
def test_every_language_gives_the_same_canonical_page(marks):
    pages = set()
    for name in NAMES:
        for printer in printers(name):
            language = get(name)
            reasons = language.cannot(LOOK, marks, printer)
            assume(not (reasons and name == "plain" and "more than once" in reasons[0]))
            if name == "plain" and not printer.vouched and reasons:  # a panel that nobody has seen
                assert all("control codes" in reason for reason in reasons)
                continue
            assert reasons == []
            sent = language.encode(marks, LOOK, printer, LOOK.length)
            pages.add(canonical(language.decode(sent, printer).marks))
    assert pages == {canonical(marks)}


@EACH_PRINTER
@settings(max_examples=40, deadline=None)
@given(st.data())
def test_bytes_that_must_never_be_sent_are_not_even_sent_as_numbers(printer, data):
    language = get(printer.language)
    marks = data.draw(any_pages(printer.step) if printer.language != "plain" else plain_pages())
    length = data.draw(st.integers(INCH // 2, 12 * INCH)) // printer.step * printer.step
    if printer.language == "plain":
        length = length // SIXTH * SIXTH
    look = Look(length, SIXTH)
    marks = tuple(m for m in marks if not language.cannot(look, (m,), printer))
    assume(not language.cannot(look, marks, printer))
    sent = language.encode(marks, look, printer, length)
    assert not set(sent) & {0x11, 0x13, 0x1A}


@EACH_PRINTER
def test_forms_sent_one_after_another_are_read_one_below_the_other(printer):
    language = get(printer.language)
    sent = language.encode((PAY,), LOOK, printer, LOOK.length)
    once, thrice = language.decode(sent, printer), language.decode(sent * 3, printer)
    assert thrice.advance == 3 * once.advance
    assert thrice.marks == tuple(mark._replace(y=mark.y + k * LOOK.length) for k in range(3) for mark in once.marks)


@EACH_PRINTER
def test_a_form_with_nothing_on_it_is_fed(printer):
    language = get(printer.language)
    strikes = language.decode(language.encode((), LOOK, printer, LOOK.length), printer)
    assert strikes == ((), LOOK.length)


@EACH_PRINTER
def test_forms_are_fed_exactly_whatever_was_shifted_down(printer):
    language = get(printer.language)
    step = SIXTH if printer.language == "plain" else printer.step  # plain text moves by whole lines only
    for steps in range(1, min(60, (LOOK.length - PAY.y) // step)):
        mark = PAY._replace(y=PAY.y + steps * step)
        strikes = language.decode(language.encode((mark,), LOOK, printer, LOOK.length), printer)
        assert canonical(strikes.marks) == canonical((mark,))
        assert strikes.advance == LOOK.length


@EVERY
@pytest.mark.parametrize(
    ("mark", "says"),
    [
        (PAY._replace(x=-TENTH), "left of"),
        (PAY._replace(y=-SIXTH), "above"),
        (PAY._replace(y=7 * INCH), "below the form"),
        (PAY._replace(y=SIXTH + 1), "whole number of steps"),
        (PAY._replace(x=TENTH + 1), "no blanks and no command reach"),
        (PAY._replace(x=135 * TENTH), "right of the carriage"),
        (PAY._replace(pitch=INCH // 7), "pitch"),
        (PAY._replace(text="Łukasz"), "'Ł' (U+0141)"),
        (PAY._replace(text="1\u202f234"), "U+202F"),
        (PAY._replace(text="\u00a0"), "U+00A0"),
        (PAY._replace(text="J’s"), "U+2019"),
        (PAY._replace(text="a\x1b@b"), "U+001B"),
        (PAY._replace(text="a\x7fb"), "U+007F"),
        (PAY._replace(weight=8), "weight"),
    ],
)
def test_what_cannot_be_exact_is_refused_by_name_and_place(name, mark, says):
    language, printer = get(name), printers(name)[0]
    reasons = language.cannot(LOOK, (mark,), printer)
    if name == "plain":
        says = {
            "left of": "whole column",
            "above": "whole line",
            "whole number of steps": "whole line",
            "no blanks and no command reach": "whole column",
        }.get(says, says)
    assert any(says in reason and repr(mark.text) in reason for reason in reasons), reasons
    with pytest.raises(LanguageError, match="right"):
        language.encode((mark,), LOOK, printer, LOOK.length)


@EVERY
def test_a_table_not_known_is_refused(name):
    printer = Printer(name, STEPS[name][0], table="cp000")
    assert "no character table known" in " ".join(get(name).cannot(LOOK, (), printer))
    with pytest.raises(LanguageError):
        get(name).encode((), LOOK, printer, LOOK.length)


@EVERY
@pytest.mark.parametrize("look", [Look(0, SIXTH), Look(INCH, 0), Look(INCH, SIXTH, "photo")])
def test_a_look_that_makes_no_sense_is_refused(name, look):
    assert get(name).cannot(look, (), printers(name)[0])


@EVERY
def test_a_step_the_language_cannot_feed_is_refused(name):
    printer = Printer(name, INCH // 100)
    assert get(name).cannot(LOOK, (), printer)


@EVERY
@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=60))
def test_a_decoder_raises_nothing_but_its_own_error(name, data):
    for printer in printers(name):
        assert_read_or_refused(get(name), data, printer)


@EVERY
@settings(max_examples=200, deadline=None)
@given(st.data())
def test_a_decoder_raises_nothing_but_its_own_error_on_nearly_right_bytes(name, data):
    language, printer = get(name), printers(name)[0]
    marks = (PAY, PAY._replace(weight=1, y=PAY.y + SIXTH), PAY._replace(x=PAY.x + TENTH))
    sent = bytearray(language.encode(marks[:2], LOOK, printer, LOOK.length))
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, len(sent) - 1))
        sent[place : place + data.draw(st.integers(0, 2))] = data.draw(st.binary(max_size=3))
        if not sent:
            return
    assert_read_or_refused(language, bytes(sent), printer)


@EVERY
def test_text_before_the_column_is_known_is_refused(name):
    with pytest.raises(DecodeError):
        get(name).decode(b"Pay", printers(name)[0])


@EVERY
def test_a_line_left_in_the_printer_is_refused(name):
    language, printer = get(name), printers(name)[0]
    sent = language.encode((PAY,), LOOK, printer, LOOK.length)
    with pytest.raises(DecodeError, match="never printed"):
        language.decode(sent + b"tail", printer)


def test_pitches_in_the_tests_are_those_of_the_trade():
    assert [INCH // p for p in PITCHES] == [10, 12, 15, 17, 20]


@EVERY
def test_a_narrow_carriage_takes_eighty_columns_and_no_more(name):
    """Beyond its width a printer wraps or loses what it is sent; so neither is sent or read."""
    language = get(name)
    wide = Printer(name, STEPS[name][0])
    narrow = Printer(name, STEPS[name][0], width=8 * INCH)
    fits, not_quite = Mark(76 * TENTH, 0, TENTH, 0, "0.00"), Mark(77 * TENTH, 0, TENTH, 0, "0.00")
    assert language.cannot(LOOK, (fits,), narrow) == []
    assert language.cannot(LOOK, (not_quite,), wide) == []
    assert "8 in wide" in language.cannot(LOOK, (not_quite,), narrow)[0]
    sent = language.encode((not_quite,), LOOK, wide, LOOK.length)
    assert canonical(language.decode(sent, wide).marks) == (not_quite,)
    with pytest.raises(DecodeError, match="right of the carriage"):
        language.decode(sent, narrow)
