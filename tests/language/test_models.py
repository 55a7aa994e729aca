"""Models differ: what one lacks is never sent to it, never read for it, and refused when a form needs it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from language.carriage import struck_on_all
from language.pages import SIXTH, STEPS, TENTH, any_pages, cells, looks

from cheque.language import HIGH_LETTERS, DecodeError, LanguageError, Look, Printer, get
from cheque.language.tables import TABLES
from cheque.page import Mark
from cheque.prove import canonical
from cheque.units import INCH

LOOK = Look(7 * INCH, SIXTH)
ELITE, CONDENSED = INCH // 12, 7 * INCH // 120
ESC = ("escp9", "escp24", "ppds")
PAY = Mark(5 * TENTH, 2 * SIXTH, TENTH, 0, "Pay J. Marlow")
#: ability -> the commands that a model without it does not know
COMMANDS = {
    "15-to-the-inch": [b"\x1bg"],
    "bold": [b"\x1bE", b"\x1bF"],
    "double-strike": [b"\x1bG", b"\x1bH"],
    "letter-quality": [b"\x1bx\x00", b"\x1bx\x01", b"\x1bI\x00", b"\x1bI\x02"],
    "one-direction": [b"\x1bU\x00", b"\x1bU\x01"],
    "horizontal-position": [b"\x1b$\x00\x00", b"\x1bd\x00\x00"],
    "character-tables": [b"\x1bt\x01"],
    "assigned-tables": [b"\x1b(t\x03\x00\x01\x03\x00"],
    "code-pages": [b"\x1b[T\x04\x00\x00\x00\x01\xb5"],
    "360ths": [b"\x1b+\x3c"],
}


@pytest.mark.parametrize("name", ESC)
@settings(max_examples=80, deadline=None)
@given(st.data())
def test_every_model_strikes_what_was_placed_or_refuses(name, data):
    language = get(name)
    without = data.draw(st.frozensets(st.sampled_from(sorted(language.abilities))))
    table = data.draw(st.sampled_from(sorted(TABLES)))
    printer = Printer(name, data.draw(st.sampled_from(STEPS[name])), table, without)
    marks, look = data.draw(any_pages(printer.step, table=table)), data.draw(looks())
    marks = tuple(m for m in marks if not language.cannot(look, (m,), printer))
    if language.cannot(look, marks, printer):
        with pytest.raises(LanguageError):
            language.encode(marks, look, printer, look.length)
        return
    sent = language.encode(marks, look, printer, look.length)
    strikes = language.decode(sent, printer)
    assert canonical(strikes.marks) == canonical(marks)
    assert strikes.advance == look.length
    assert struck_on_all(sent, name, printer) == (cells(marks, name), look.length)


@pytest.mark.parametrize(("name", "ability"), [(n, a) for n in ESC for a in get(n).abilities if a in COMMANDS])
def test_what_a_model_lacks_is_neither_sent_nor_read(name, ability):
    language = get(name)
    lacking = Printer(name, STEPS[name][0], without=frozenset({ability}))
    whole = Printer(name, STEPS[name][0])
    marks = (PAY, PAY._replace(y=PAY.y + SIXTH, x=TENTH), PAY._replace(y=PAY.y + 2 * SIXTH, pitch=ELITE, x=ELITE))
    sent = language.encode(marks, LOOK, lacking, LOOK.length)
    assert canonical(language.decode(sent, lacking).marks) == canonical(marks)
    everything = language.encode(marks, LOOK, whole, LOOK.length)
    known = 0
    for command in COMMANDS[ability]:
        assert command[:2] not in sent
        try:
            language.decode(everything + b"\r" + command, whole)
        except DecodeError:
            continue  # not a command of this language
        known += 1
        with pytest.raises(DecodeError, match="no command that this decoder knows"):
            language.decode(sent + b"\r" + command, lacking)
    assert known


@pytest.mark.parametrize(
    ("name", "ability", "mark", "look", "says"),
    [
        ("escp9", "15-to-the-inch", PAY._replace(pitch=INCH // 15, x=INCH // 15), LOOK, "pitch of 1/15 in"),
        ("escp24", "bold", PAY._replace(weight=2), LOOK, "bold"),
        ("ppds", "double-strike", PAY._replace(weight=1), LOOK, "double strike"),
        ("plain", "double-strike", PAY._replace(weight=1), LOOK, "double strike"),
        ("escp9", "letter-quality", PAY, LOOK._replace(quality="letter"), "letter quality"),
        ("ppds", "one-direction", PAY, LOOK._replace(one_direction=True), "one direction"),
        ("escp9", "horizontal-position", PAY._replace(x=INCH // 60), LOOK, "no blanks and no command reach"),
    ],
)
def test_a_form_that_needs_what_the_model_lacks_is_refused(name, ability, mark, look, says):
    step = STEPS[name][0]
    assert get(name).cannot(look, (mark,), Printer(name, step)) == []
    reasons = get(name).cannot(look, (mark,), Printer(name, step, without=frozenset({ability})))
    assert any(says in reason for reason in reasons), reasons


def test_letter_quality_overrides_double_strike_on_nine_pins_only():
    """Common practice; the `escp` package's notes say the same."""
    letter, mark = LOOK._replace(quality="letter"), PAY._replace(weight=1)
    assert "overrides" in get("escp9").cannot(letter, (mark,), Printer("escp9", INCH // 216))[0]
    assert get("escp24").cannot(letter, (mark,), Printer("escp24", INCH // 180)) == []
    assert get("ppds").cannot(letter, (mark,), Printer("ppds", INCH // 216)) == []
    printer = Printer("escp9", INCH // 216)
    sent = get("escp9").encode((mark,), LOOK, printer, LOOK.length)
    as_letter = sent.replace(b"\x1bx\x00", b"\x1bx\x01")
    assert {m.weight for m in get("escp9").decode(as_letter, printer).marks} == {0}


def test_ppds_has_no_fifteen_to_the_inch():
    reasons = get("ppds").cannot(LOOK, (PAY._replace(pitch=INCH // 15, x=0),), Printer("ppds", INCH // 216))
    assert "pitch of 1/15 in" in reasons[0]


def test_ppds_quality_forgets_the_pitch():
    """On some models ESC I sets the pitch too: what follows must set it again."""
    printer = Printer("ppds", INCH // 216)
    sent = get("ppds").encode((PAY,), LOOK, printer, LOOK.length)
    quality = b"\x1bI\x00"
    assert sent.index(quality) < sent.index(b"\x12")
    late = sent.replace(b"Pay", quality + b"Pay")
    with pytest.raises(DecodeError, match="the pitch was never set"):
        get("ppds").decode(late, printer)


@pytest.mark.parametrize(
    ("stream", "says"),
    [
        (b"\x1b:", "not from 10"),
        (b"\x0f", "pitch was never set"),
        (b"\x1b2", "ESC A 12"),
        (b"\x1b[T\x04\x00\x00\x00\x01\x02", "code page"),
        (b"\x1bC\x06", "line spacing was never set"),
        (b"\r\n", "skip over perforation"),
        (b"\r\x1bd\x01\x00\x1bd\x01\x00", "does not follow a CR"),
    ],
)
def test_ppds_states_never_set_are_named(stream, says):
    with pytest.raises(DecodeError, match=says):
        get("ppds").decode(stream, Printer("ppds", INCH // 216))


@pytest.mark.parametrize(
    ("stream", "says"),
    [
        (b"\x1bt\x01", "never reset"),
        (b"\x1b@\x1b(t\x03\x00\x01\x63\x63", "does not know"),
        (b"\x1b@\r\x1bJ\x01", "skip over perforation"),
        (b"\x1bO\r\x1bJ\x01", "reset was never sent"),
        (b"\x1b@\x1bO\r\n", "line spacing was never set"),
        (b"\x1b@\x1bO\x1b2\x1bN\x05\r\n", "skip over perforation"),
        (b"\x1b@\rPay", "quality was never set"),
        (b"\x1b@\x1b$\xff\xff", "right of the carriage"),
        (b"\x1b8", "no command"),
    ],
)
def test_escp_states_never_set_are_named(stream, says):
    with pytest.raises(DecodeError, match=says):
        get("escp9").decode(stream, Printer("escp9", INCH // 216))


def test_a_reset_makes_every_state_unknown_again():
    printer = Printer("escp9", INCH // 216)
    sent = get("escp9").encode((PAY,), LOOK, printer, LOOK.length)
    assert get("escp9").decode(sent, printer).marks
    with pytest.raises(DecodeError, match="never set"):
        get("escp9").decode(sent + b"\x1b@\rx\r", printer)
    with pytest.raises(DecodeError, match="not yet printed"):
        get("escp9").decode(sent + b"x\x1b@", printer)


def test_a_letter_after_a_feed_without_cr_is_refused():
    """LF may not return the carriage."""
    printer = Printer("escp9", INCH // 216)
    sent = get("escp9").encode((), LOOK, printer, LOOK.length)
    for feed in (b"\n", b"\x1bJ\x24"):
        assert get("escp9").decode(sent + b"x" + feed + b"\ry\r", printer)
        with pytest.raises(DecodeError, match="column is not known"):
            get("escp9").decode(sent + b"x" + feed + b"y\r", printer)
        assert get("escp9").decode(sent + feed + b"y\r", printer).marks[-1].x == 0


def test_a_printer_that_steps_seventy_seconds_is_fed_whole_steps():
    printer = Printer("escp9", INCH // 72)
    sent = get("escp9").encode((), LOOK, printer, LOOK.length)
    for n in range(1, 256):
        if n in (0x11, 0x13, 0x1A):
            continue
        stream = sent + b"\x1bJ" + bytes([n])
        if n % 3 == 0:
            assert get("escp9").decode(stream, printer).advance == LOOK.length + n * INCH // 216
        else:
            with pytest.raises(DecodeError, match="whole number of this printer's steps"):
                get("escp9").decode(stream, printer)


def test_a_pitch_out_of_step_is_reached_by_blanks_of_another():
    """17.1 to the inch at 1/10 in: one blank of 10 to the inch, on a model without horizontal position."""
    mark, printer = PAY._replace(pitch=CONDENSED, x=TENTH), Printer("escp9", INCH // 216, "cp437", frozenset())
    lacking = Printer("escp9", INCH // 216, "cp437", frozenset({"horizontal-position"}))
    for model, jumps in ((printer, True), (lacking, False)):
        sent = get("escp9").encode((mark,), LOOK, model, LOOK.length)
        assert (b"\x1b$" in sent) == jumps
        assert canonical(get("escp9").decode(sent, model).marks) == canonical((mark,))


@pytest.mark.parametrize("column", [0x11, 0x13, 0x1A, 0x111, 0x113])
@pytest.mark.parametrize("pitch", [TENTH, ELITE, CONDENSED, INCH // 20])
def test_a_column_that_flow_control_would_swallow_is_reached_another_way(column, pitch):
    for name, unit in (("escp9", INCH // 60), ("ppds", INCH // 120)):
        printer = Printer(name, INCH // 216)
        mark = Mark(column * unit, 0, pitch, 0, "x")
        if get(name).cannot(LOOK, (mark,), printer):
            continue
        sent = get(name).encode((mark,), LOOK, printer, LOOK.length)
        assert not {0x11, 0x13, 0x1A} & set(sent)
        assert canonical(get(name).decode(sent, printer).marks) == (mark,)


def test_plain_text_struck_three_times_is_refused():
    printer = Printer("plain", SIXTH)
    assert get("plain").decode(b"\rx\rx\r", printer).marks == (Mark(0, 0, TENTH, 1, "x"),)
    with pytest.raises(DecodeError, match="3 times"):
        get("plain").decode(b"\rx\rx\rx\r", printer)


def test_plain_text_the_same_letter_in_one_place_asks_for_double_strike():
    look, printer = Look(INCH, SIXTH), Printer("plain", SIXTH)
    twice = (Mark(0, 0, TENTH, 0, "ab"), Mark(TENTH, 0, TENTH, 0, "b"))
    assert "more than once" in get("plain").cannot(look, twice, printer)[0]
    with pytest.raises(LanguageError, match="double strike"):
        get("plain").encode(twice, look, printer, INCH)


#: letters of cp437 whose bytes are 80 to 9F: on a panel set otherwise Ç is NUL, Å SI, £ FS, æ DC1, ƒ US
STEERING = [(0x80, "Ç"), (0x8C, "î"), (0x8F, "Å"), (0x91, "æ"), (0x9C, "£"), (0x9F, "ƒ")]


@pytest.mark.parametrize(("byte", "letter"), STEERING)
def test_no_register_can_steer_a_printer_in_plain_text(byte, letter):
    look, plain = Look(INCH, SIXTH), get("plain")
    printer, mark = Printer("plain", SIXTH), Mark(0, 0, TENTH, 0, f"Ren{letter} Wherry")
    (reason,) = plain.cannot(look, (mark,), printer)
    assert f"{letter!r} (byte {byte:02X})" in reason
    with pytest.raises(LanguageError, match=f"byte {byte:02X}"):
        plain.encode((mark,), look, printer, INCH)
    with pytest.raises(DecodeError, match=f"byte 2: {byte:02X} could steer the printer"):
        plain.decode(b"\rx" + bytes([byte]) + b"\r", printer)
    seen = Printer("plain", SIXTH, vouched=frozenset({HIGH_LETTERS}))
    assert plain.cannot(look, (mark,), seen) == []
    sent = plain.encode((mark,), look, seen, INCH)
    assert bytes([byte]) in sent
    assert plain.decode(sent, seen).marks == (mark,)


@pytest.mark.parametrize("table", ["latin-1", "latin-2", "latin-9"])
@pytest.mark.parametrize("vouched", [frozenset(), frozenset({HIGH_LETTERS})])
def test_letters_of_the_iso_tables_are_sent_in_plain_text_to_any_printer(table, vouched):
    printer, mark = Printer("plain", SIXTH, table, vouched=vouched), Mark(0, 0, TENTH, 0, "Élise Reöd")
    assert get("plain").decode(get("plain").encode((mark,), Look(INCH, SIXTH), printer, INCH), printer).marks == (mark,)


def test_plain_text_needs_a_cr_before_every_lf():
    for stream in (b"\n", b"\r\n\n", b"\rx\n", b"\x0c", b"\r\x0c"):
        with pytest.raises(DecodeError):
            get("plain").decode(stream, Printer("plain", SIXTH))


@pytest.mark.parametrize("look", [LOOK._replace(quality="letter"), LOOK._replace(one_direction=True)])
def test_plain_text_cannot_ask_for_quality_or_direction(look):
    assert "cannot be asked for" in get("plain").cannot(look, (), Printer("plain", SIXTH))[0]


def test_plain_text_has_six_lines_to_the_inch():
    assert "6 lines" in get("plain").cannot(Look(INCH, INCH // 8), (), Printer("plain", SIXTH))[0]


def test_what_models_do_in_different_ways_is_refused():
    printer = Printer("escp9", INCH // 216)
    sent = get("escp9").encode((PAY,), LOOK, printer, LOOK.length)
    for between, says in (
        (b"\x0f\x1bP", "condensed or not was never set"),
        (b"\x1b(t\x03\x00\x01\x03\x00", "the character table was never set"),
        (b"ab\x1b$\x01\x00", "a move left"),
        (b"ab\n\x1b$\x7f\x00", "a move left"),
    ):
        with pytest.raises(DecodeError, match=says):
            get("escp9").decode(sent + between + b"x\r", printer)
    for between in (b"\x0f\x1bP\x0f", b"\x1b(t\x03\x00\x01\x03\x00\x1bt\x01", b"ab\x1b$\x7f\x00"):
        assert get("escp9").decode(sent + between + b"x\r", printer).marks[-1].text == "x"


@pytest.mark.parametrize("name", ["escp9", "escp24"])
def test_a_jump_that_must_stop_short_never_goes_left(name):
    """17/60 in would be sent as 11 hex, which is never sent; 11/60 and a blank lies left of the head at 15/60."""
    language = get(name)
    printer = Printer(name, INCH // (216 if name == "escp9" else 180))
    marks = (Mark(0, 0, ELITE, 0, "000"), Mark(17 * INCH // 60, 0, TENTH, 0, "0"))
    strikes = language.decode(language.encode(marks, LOOK, printer, LOOK.length), printer)
    assert canonical(strikes.marks) == canonical(marks)
