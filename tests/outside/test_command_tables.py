"""The bytes of every command, against published tables, another package, and another reader.

Sources: ESC/P Reference Manual (1997) and makers' PPDS command tables, as in the trade's table of control
languages; ESC ( t numbers, ESC R numbers and code pages 852, 858, 866 of ESC [ T from memory. The `escp` package
0.0.6 encodes part of ESC/P; where it differs from the manual, the manual decides, and the test names the
difference. `outside.paper` is a reader of ESC/P written from the published tables alone.
"""

from fractions import Fraction

import pytest
from escp.commands import Commands_9_Pin, Commands_24_48_Pin
from escp.commands.parameters import CharacterSetVariant, CharacterTable, PageLengthUnit
from hypothesis import given, settings
from hypothesis import strategies as st
from language.pages import SHORT as FORM
from language.pages import STEPS, any_pages, form_of, plain_pages
from outside.paper import Weight as PaperWeight
from outside.paper import read

from cheque.language import HIGH_LETTERS, NAMES, DecodeError, Look, Printer, get
from cheque.language.escp import ASSIGNED
from cheque.language.tables import NATIONAL
from cheque.page import Mark, Shift, Weight
from cheque.prove import ProofError, check_form, laid_out_digest
from cheque.units import INCH

TENTH, SIXTH = INCH // 10, INCH // 6
ELITE, FIFTEENTH, CONDENSED, TWENTIETH = INCH // 12, INCH // 15, 7 * INCH // 120, INCH // 20
LOOK = Look(INCH, SIXTH)

#: language -> what is asked for -> the published bytes
PUBLISHED = {
    "escp9": {
        "reset": "1B 40",
        "10 to the inch": "1B 50",
        "12 to the inch": "1B 4D",
        "15 to the inch": "1B 67",
        "condensed": "0F",
        "condensed off": "12",
        "6 lines to the inch": "1B 32",
        "8 lines to the inch": "1B 30",
        "line spacing 50 units": "1B 33 32",
        "advance 50 units": "1B 4A 32",
        "form length 6 lines": "1B 43 06",
        "skip over perforation off": "1B 4F",
        "double strike": "1B 47",
        "double strike off": "1B 48",
        "bold": "1B 45",
        "bold off": "1B 46",
        "draft": "1B 78 00",
        "letter quality": "1B 78 01",
        "character table 1": "1B 74 01",
        "80 to 9F print": "1B 36",
        "national set of the United States": "1B 52 00",
        "national set of Germany": "1B 52 02",
        "code page 850 in table 1": "1B 28 74 03 00 01 03 00",
        "one direction": "1B 55 01",
        "one direction off": "1B 55 00",
        "column at 7/60 in": "1B 24 07 00",
        "column at 300/60 in": "1B 24 2C 01",
    },
    "ppds": {
        "10 to the inch": "12",
        "12 to the inch": "12 1B 3A",
        "condensed": "12 0F",
        "condensed 12": "12 1B 3A 0F",
        "6 lines to the inch": "1B 41 0C 1B 32",
        "8 lines to the inch": "1B 30",
        "line spacing 50 units": "1B 33 32",
        "advance 50 units": "1B 4A 32",
        "form length 6 lines": "1B 43 06",
        "skip over perforation off": "1B 4F",
        "double strike": "1B 47",
        "double strike off": "1B 48",
        "bold": "1B 45",
        "bold off": "1B 46",
        "draft": "1B 49 00",
        "letter quality": "1B 49 02",
        "80 to 9F print": "1B 36",
        "code page 437": "1B 5B 54 04 00 00 00 01 B5",
        "code page 850": "1B 5B 54 04 00 00 00 03 52",
        "one direction": "1B 55 01",
        "one direction off": "1B 55 00",
        "column at 14/120 in": "0D 1B 64 0E 00",
        "column at 600/120 in": "0D 1B 64 58 02",
    },
    "plain": {"line feed": "0D 0A"},
}
PUBLISHED["escp24"] = {**PUBLISHED["escp9"], "line spacing 61/360 in": "1B 2B 3D"}
NEVER = {
    "escp9": ["1B 38", "1B 51", "1B 6A", "0C", "18", "07", "11", "13"],
    "escp24": ["1B 38", "1B 51", "1B 6A", "0C", "18", "07", "11", "13"],
    "ppds": ["1B 40", "1B 38", "1B 51", "1B 6A", "1B 52", "1B 50", "1B 34", "1B 35", "1B 5C", "0C", "18", "11", "13"],
    "plain": ["1B 40", "0C", "0A", "0F", "12", "11", "13", "18", "07"],
}


def marks_and_look(asked, unit):
    """A form that cannot be printed without the command asked for."""
    at_tenth = Mark(0, 0, TENTH, 0, "x")
    marks, look, table = (at_tenth,), LOOK, "cp437"
    pitches = {
        "12 to the inch": ELITE,
        "15 to the inch": FIFTEENTH,
        "condensed": CONDENSED,
        "condensed 12": TWENTIETH,
    }
    if asked in pitches:
        marks = (at_tenth._replace(pitch=pitches[asked]),)
    elif asked == "8 lines to the inch":
        look = Look(INCH, INCH // 8)
    elif asked == "line spacing 50 units":
        look = Look(INCH // unit * unit, 50 * unit)
    elif asked == "line spacing 61/360 in":
        look = Look(INCH, 61 * INCH // 360)
    elif asked == "advance 50 units":
        marks = (at_tenth._replace(y=50 * unit),)
        look = Look(INCH, INCH)
    elif asked in ("double strike", "bold"):
        marks = (at_tenth._replace(weight=1 if asked == "double strike" else 2),)
    elif asked == "letter quality":
        look = LOOK._replace(quality="letter")
    elif asked == "one direction":
        look = LOOK._replace(one_direction=True)
    elif asked == "national set of Germany":
        table = "national-de"
    elif "850" in asked:
        table = "cp850"
    elif asked.startswith("column at"):
        numerator, denominator = asked.split()[2].split("/")
        marks = (at_tenth._replace(x=int(numerator) * INCH // int(denominator), pitch=TENTH),)
        if int(numerator) % 60 == 0:  # a whole column of 10 to the inch would be reached by blanks
            marks = (marks[0]._replace(pitch=CONDENSED),)
    return marks, look, table


@pytest.mark.parametrize(("name", "asked"), [(name, asked) for name in NAMES for asked in PUBLISHED[name]])
def test_what_is_asked_for_is_sent_as_published(name, asked):
    step = {"escp9": INCH // 216, "escp24": INCH // 360, "ppds": INCH // 216, "plain": SIXTH}[name]
    unit = INCH // 180 if name == "escp24" else INCH // 216
    marks, look, table = marks_and_look(asked, unit)
    printer = Printer(name, step, table)
    sent = get(name).encode(marks, look, printer, look.length)
    assert bytes.fromhex(PUBLISHED[name][asked]) in sent
    assert get(name).decode(sent, printer).advance == look.length


@pytest.mark.parametrize(("name", "bytes_"), [(name, b) for name in NAMES for b in NEVER[name]])
def test_what_must_never_be_sent_is_not_even_read(name, bytes_):
    printer = Printer(name, STEPS[name][0])
    sent = get(name).encode((), LOOK, printer, LOOK.length)
    get(name).decode(sent, printer)
    with pytest.raises(DecodeError):
        get(name).decode(sent + bytes.fromhex(bytes_), printer)


def test_a_whole_form_is_the_published_commands_and_nothing_else():
    """9-pin, 10 to the inch, 6 lines, draft: one line struck, one inch fed."""
    sent = get("escp9").encode((Mark(2 * TENTH, SIXTH, TENTH, 0, "Pay"),), LOOK, Printer("escp9", INCH // 72), INCH)
    published = (
        "1B 40 0D"  # reset, the head at the first column
        "1B 78 00 1B 55 00"  # draft, both directions
        "1B 74 01 1B 36 1B 52 00"  # table 1, 80-9F print, United States
        "1B 4F 1B 32 1B 43 06"  # skip off, 6 lines to the inch, 6 lines a form
        "12 1B 50 1B 46 1B 48"  # 10 to the inch, not bold, no double strike
        "0D 0A 20 20 50 61 79"
        "0D 0A 0A 0A 0A 0A"
    )
    assert sent == bytes.fromhex(published)


# The escp package, where it is right


@pytest.mark.parametrize(("commands", "name"), [(Commands_9_Pin, "escp9"), (Commands_24_48_Pin, "escp24")])
def test_the_escp_package_agrees(commands, name):
    unit = 216 if name == "escp9" else 180
    theirs = {
        "reset": commands().init(),
        "10 to the inch": commands().character_width(10),
        "12 to the inch": commands().character_width(12),
        "15 to the inch": commands().character_width(15),
        "6 lines to the inch": commands().line_spacing(1, 6),
        "8 lines to the inch": commands().line_spacing(1, 8),
        "line spacing 50 units": commands().line_spacing(50, unit),
        "form length 6 lines": commands().page_length(6, PageLengthUnit.LINES),
        "double strike": commands().double_strike(True),
        "double strike off": commands().double_strike(False),
        "bold": commands().bold(True),
        "bold off": commands().bold(False),
        "character table 1": commands().select_character_table(1),
        "80 to 9F print": commands().upper_control_codes_printing(True),
        "national set of the United States": commands().character_set(CharacterSetVariant.USA),
        "national set of Germany": commands().character_set(CharacterSetVariant.GERMANY),
        "code page 850 in table 1": commands().assign_character_table(1, CharacterTable.PC850_MULTILINGUAL),
    }
    if name == "escp24":
        theirs["line spacing 61/360 in"] = commands().line_spacing(61, 360)
    assert {asked: c.buffer.hex(" ").upper() for asked, c in theirs.items()} == {
        asked: PUBLISHED[name][asked] for asked in theirs
    }


def test_the_numbers_of_registered_tables_are_those_of_the_escp_package():
    theirs = {
        "cp437": CharacterTable.PC437_US,
        "cp850": CharacterTable.PC850_MULTILINGUAL,
        "cp852": CharacterTable.PC852_EAST_EUROPE,
        "cp866": CharacterTable.PC866_RUSSIAN,
        "latin-1": CharacterTable.ISO8859_1_LATIN_1,
        "latin-2": CharacterTable.ISO_8859_2_LATIN_2,
    }
    assert {name: tuple(map(ord, numbers)) for name, numbers in ASSIGNED.items()} == {
        name: (table.d2, table.d3) for name, table in theirs.items()
    }


def test_the_numbers_of_national_sets_are_those_of_the_escp_package():
    theirs = [
        "USA",
        "FRANCE",
        "GERMANY",
        "UK",
        "DENMARK_I",
        "SWEDEN",
        "ITALY",
        "SPAIN_I",
        "JAPAN",
        "NORWAY",
        "DENMARK_II",
        "SPAIN_II",
    ]
    theirs += ["LATIN_AMERICA", "KOREA"]
    assert [number for number, _ in NATIONAL.values()] == [CharacterSetVariant[name].value for name in theirs]


# The escp package, where the manual decides otherwise


def test_the_escp_package_has_draft_the_wrong_way_round():
    """ESC x 0 is draft and ESC x 1 letter quality; its draft(True) sends ESC x 1."""
    assert Commands_9_Pin().draft(True).buffer.hex(" ").upper() == PUBLISHED["escp9"]["letter quality"]
    assert Commands_9_Pin().draft(False).buffer.hex(" ").upper() == PUBLISHED["escp9"]["draft"]


def test_the_escp_package_ends_condensed_by_a_sequence_that_is_not_in_the_tables():
    """DC2 alone ends condensed; ESC DC2 is unknown. ESC SI is the manual's other spelling of SI."""
    assert Commands_9_Pin().condensed(False).buffer == b"\x1b\x12"
    assert Commands_9_Pin().condensed(True).buffer == b"\x1b\x0f"
    printer = Printer("escp9", INCH // 216)
    sent = get("escp9").encode((), LOOK, printer, LOOK.length)
    with pytest.raises(DecodeError):
        get("escp9").decode(sent + b"\x1b\x12", printer)


# Another reader, written from the tables alone


def struck(paper):
    weights = {PaperWeight.BOLD: Weight.BOLD, PaperWeight.DOUBLE: Weight.DOUBLE}
    return sorted(
        (s.y, s.x, 1 / s.pitch, sum(weights[w] for w in weights if w in s.weight), s.character) for s in paper.strikes
    )


def placed(marks):
    return sorted(
        (
            Fraction(m.y, INCH),
            Fraction(m.x + i * m.pitch, INCH),
            Fraction(m.pitch, INCH),
            int(m.weight),
            letter,
        )
        for m in marks
        for i, letter in enumerate(m.text)
        if letter != " "
    )


@pytest.mark.parametrize("step", STEPS["escp9"])
@settings(max_examples=60, deadline=None)
@given(st.data())
def test_another_reader_of_escp9_finds_every_mark_in_its_place(step, data):
    look, printer, language = Look(7 * INCH, SIXTH), Printer("escp9", step), get("escp9")
    marks = tuple(m for m in data.draw(any_pages(step)) if not language.cannot(look, (m,), printer))
    paper = read(language.encode(marks, look, printer, look.length), "escp9", width=Fraction(136, 10))
    assert struck(paper) == placed(marks)
    assert paper.fed == 7
    assert paper.unstruck == []


@settings(max_examples=60, deadline=None)
@given(plain_pages(weights=(0,)))
def test_another_reader_of_plain_text_finds_every_mark_in_its_place(marks):
    seen = frozenset({HIGH_LETTERS})
    look, printer, language = Look(7 * INCH, SIXTH), Printer("plain", SIXTH, vouched=seen), get("plain")
    if language.cannot(look, marks, printer):
        return
    paper = read(language.encode(marks, look, printer, look.length), "plain", upper_prints=True)
    assert struck(paper) == placed(marks)
    assert paper.fed == 7


@pytest.mark.parametrize("table", ["cp850", "cp852", "national-fr", "national-es"])
def test_another_reader_finds_the_letters_of_other_tables(table):
    text = {
        "cp850": "À ¾ $#",
        "cp852": "Łódź ű $#",
        "national-fr": "à°ç§éùè¨ $#",
        "national-es": "₧ Ñ¿¡ ñ $",
    }[table]
    marks, printer = (Mark(0, 0, TENTH, 0, text),), Printer("escp9", INCH // 216, table)
    paper = read(get("escp9").encode(marks, LOOK, printer, LOOK.length), "escp9")
    assert struck(paper) == placed(marks)


def test_another_reader_strikes_the_same_after_every_change_that_passes_the_check():
    """Each byte dropped, doubled, and with each bit changed: what the check lets pass is no different to it."""
    language, printer, page = get("escp9"), Printer("escp9", INCH // 216), form_of("escp9")
    marks = page.numbered("100501")
    sent, digest = language.encode(marks, FORM, printer, FORM.length), laid_out_digest(page)
    passed = 0
    for place, byte in enumerate(sent):
        for instead in (b"", bytes([byte, byte]), *(bytes([byte ^ 1 << bit]) for bit in range(8))):
            changed = sent[:place] + instead + sent[place + 1 :]
            facts = {"number": "100501", "shift": Shift(), "advance": FORM.length, "page_digest": digest}
            try:
                check_form(changed, language, printer, slots=page.slots, **facts)
            except ProofError:
                continue
            passed += 1
            paper = read(changed, "escp9")
            assert (struck(paper), paper.fed, paper.unstruck) == (placed(marks), 3, []), (place, instead)
    assert passed > 10
