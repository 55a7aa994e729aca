"""The dot face: every character of the old tables has a shape, and no two can be taken for each other."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.language.tables import NOTHING, TABLES, table_of
from cheque.page import Weight
from cheque.picture import dotface
from cheque.picture.dotface import DEPTH, RADIUS, ROW, covered, dots, has_shape
from cheque.picture.dotface_lines import DIGITS
from cheque.units import INCH

PITCHES = (INCH // 10, INCH // 12, INCH // 15, 7 * INCH // 120, INCH // 20)
TENTH = PITCHES[0]


def _letters(name):
    return set(table_of(name).letters) - {NOTHING}


def columns_and_rows(char):
    """The dots as half-steps and rows, from where they stand on paper."""
    return [(x * 12 // TENTH - 2, y // ROW) for x, y in dots(char, TENTH).centres]


@pytest.mark.parametrize("table", ["cp437", "cp850", "cp852", "cp858", "cp866", "latin-1", "iso8859-2", "iso8859-15"])
def test_every_character_of_the_old_tables_has_a_shape_of_its_own(table):
    # what the tables hold is Python's own codecs' knowledge; C0 and C1 codes are no characters
    letters = [bytes([code]).decode(table) for code in (*range(32, 127), *range(128, 256))]
    letters = [letter for letter in letters if letter.isprintable() or letter in "\u00a0\u00ad"]
    assert len(letters) > 180
    assert [letter for letter in letters if not has_shape(letter)] == []


def test_every_table_that_a_printer_can_be_set_to_is_covered():
    assert len(TABLES) > 5
    for table in TABLES:
        assert [letter for letter in _letters(table) if not has_shape(letter)] == []


@pytest.mark.parametrize("char", covered())
def test_no_wire_strikes_at_two_neighbouring_half_steps(char):
    struck = set(columns_and_rows(char))
    assert struck
    assert not [(column, row) for column, row in struck if (column + 1, row) in struck]


@pytest.mark.parametrize("pitch", PITCHES)
def test_ink_stays_in_its_cell_at_every_pitch_and_weight(pitch):
    for char in (*covered(), *"ÉåÖñşĄűř", "漢", "\U0001f600", "\x07"):
        for weight in range(4):
            centres, radius = dots(char, pitch, weight)
            spill = ROW // 2  # a wire is wider than a half-step of the finest pitches
            assert centres
            assert all(-spill <= x - radius and x + radius <= pitch + spill for x, _ in centres)
            assert all(-radius // 10 <= y - radius and y + radius <= DEPTH + spill for _, y in centres)


#: letters that Latin and Cyrillic share
TWINS = set(zip("ABCEHKMOPTXaceopxy", "АВСЕНКМОРТХасеорху", strict=True))


@pytest.mark.parametrize("table", sorted(TABLES))
def test_no_two_characters_of_a_table_look_the_same(table):
    seen = {}
    for char in sorted(_letters(table)):
        seen.setdefault(frozenset(dots(char, TENTH).centres), []).append(char)
    alike = {tuple(chars) for chars in seen.values() if len(chars) > 1}
    assert alike <= TWINS
    assert len(seen) > 90


@pytest.mark.parametrize(("one", "other"), ["0O", "1l", "1I", "lI", "5S", "8B", "2Z", "6G", "-_", ".,", ":;", "uv"])
def test_what_is_easily_mistaken_differs_in_several_dots(one, other):
    assert len(set(columns_and_rows(one)) ^ set(columns_and_rows(other))) >= 2


def test_letters_that_two_scripts_share_are_drawn_alike():
    for latin, cyrillic, greek in zip("AOPXEKT", "АОРХЕКТ", "ΑΟΡΧΕΚΤ", strict=True):
        assert dots(latin, TENTH) == dots(cyrillic, TENTH) == dots(greek, TENTH)


@pytest.mark.parametrize("accented", "éèêëēĕėěńňñçąåǎőűŞţžźżÉÈÊËĒĔĖĚŃŇÑÇĄÅŐŰŞŢŽŹŻ")
def test_a_letter_with_a_mark_is_built_and_differs_from_the_letter(accented):
    import unicodedata

    base = unicodedata.normalize("NFD", accented)[0]
    assert has_shape(accented)
    assert set(columns_and_rows(accented)) != set(columns_and_rows(base))
    assert dots(accented, TENTH).radius == RADIUS


@pytest.mark.parametrize("char", ["A", "8", "*", "é", "漢"])
def test_double_strike_and_bold_are_heavier(char):
    plain, double, bold, both = (dots(char, TENTH, weight).centres for weight in range(4))
    assert len(double) == len(bold) == 2 * len(plain)
    assert len(both) == 4 * len(plain)
    assert {y for _, y in double} > {y for _, y in plain}
    assert {x for x, _ in bold} > {x for x, _ in plain}
    assert Weight.DOUBLE | Weight.BOLD == 3


def read_box(char):
    """The hexadecimal digits in a code-point box, read from its dots."""
    centres = dots(char, TENTH).centres
    digits = len(f"{ord(char):04X}")
    across = (digits + 1) // 2
    wide = 4 * across + 3
    fine = {(round(x * (wide + 1) / TENTH) - 1, round(y * 16 / DEPTH) - 1) for x, y in centres}
    names = {pattern: digit for digit, pattern in DIGITS.items()}
    text = ""
    for top in (2, 8):
        for left in range(2, 2 + 4 * across, 4):
            rows = ("".join("o" if (left + x, top + y) in fine else "." for x in range(3)) for y in range(5))
            text += names[tuple(rows)]
    return text


@settings(max_examples=150, deadline=None)
@given(st.characters(min_codepoint=0x2E80) | st.sampled_from("\x00\x07\x1b\x7f\x9b\u200b\u202e\ue000"))
def test_what_has_no_shape_shows_its_code_point(char):
    assert has_shape(char) or int(read_box(char), 16) == ord(char)


def test_only_blanks_leave_no_ink():
    assert [code for code in range(0x3000) if not dots(chr(code), TENTH).centres] == [0x20, 0xA0]


def test_line_characters_meet_across_cells():
    # ─ beside ─ goes on at the same step: the first dot of a cell is one step of two after the last of the one before
    steps = sorted(column for column, _ in columns_and_rows("─"))
    assert steps == [-2, 0, 2, 4, 6, 8]
    assert {row for _, row in columns_and_rows("│")} == set(range(9))
    assert dotface.dots("╬", TENTH) != dotface.dots("┼", TENTH)
