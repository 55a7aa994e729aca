"""The text picture: every character at its line and column, nothing merged, nothing dropped."""

from collections import Counter

from hypothesis import given, settings
from picture.struck import CONDENSED, SIXTH, TENTH, at, by_way_of_bytes, marks_anywhere, payroll, small_form

from cheque.form import Area
from cheque.page import Mark, Shift
from cheque.picture.strike import depth
from cheque.picture.text import to_text
from cheque.units import INCH

FORM = small_form()

SMALL = """\
Part 2 of 3 · file · goes to the file
                   1         2         3         4         5
          .........|.........|.........|.........|.........|.....
    +------------------------------------------------------------+
  1 |                                                            |
  2 |     Quillmere Boatyard                                     |
  3 |                                                            |
  4 |         Marlow Fenwick****                                 |
  5 |                                                            |
  6 |                                                            |
  7 |          ░░░░░░░░░░░░░░░░░░░░  shown                       |
  8 |          ░░░░░░░░░░░░░░░░░░░░                              |
  9 |          ░░░░░░░░░░░░░░░░░░░░                              |
 10 |                                                            |
 11 |                                                            |
 12 |                                                            |
    :- - - - - - - - - - - - - - - - - - - - - - - - - - - - - - :
 13 |                                                            |
 14 |                                                            |
 15 |                                                            |
 16 |                                                            |
 17 |                                                            |
 18 |                                                            |
 19 |                                                            |
 20 |                                                            |
 21 |                                                            |
 22 |                                                            |
 23 |                                                            |
 24 |                                                            |
    +------------------------------------------------------------+
"""


def test_a_part_as_text():
    # the paper begins five columns before column 1; "hidden" stands in the blocked area of this part
    marks = [at(2, 1, "Quillmere Boatyard"), at(4, 5, "Marlow Fenwick****"), at(7, 8, "hidden"), at(7, 28, "shown")]
    assert to_text(FORM, by_way_of_bytes(marks), 1) == SMALL


def row_of(text, number):
    (row,) = [line for line in text.splitlines() if line.startswith(f"{number:3d} ")]
    return row


def test_columns_stand_under_the_ruler():
    text = to_text(FORM, [at(4, 10, "X"), at(4, 50, "Y")], 0)
    tens, ruler = text.splitlines()[1:3]
    row = row_of(text, 4)
    assert tens[row.index("X")] == "1"
    assert ruler[row.index("X")] == "|"
    assert tens[row.index("Y")] == "5"


def test_two_characters_in_one_place_stand_on_two_rows_of_one_line():
    text = to_text(FORM, [at(4, 10, "ONE"), at(4, 10, "TWO")], 0)
    lines = text.splitlines()
    row = lines.index(row_of(text, 4))
    assert "ONE" in lines[row]
    assert lines[row + 1].startswith("  + ")
    assert lines[row].index("ONE") == lines[row + 1].index("TWO")


def test_a_finer_pitch_makes_finer_columns_and_words_start_at_their_places():
    text = to_text(FORM, [Mark(0, 0, CONDENSED, 0, "fine words"), at(1, 20, "coarse")], 0)
    row = row_of(text, 1)
    assert "fine words" in row
    start = row.index("fine")
    assert row.index("coarse") - start == 19 * TENTH // CONDENSED


def test_what_is_off_the_paper_is_shown_and_counted():
    text = to_text(FORM, [at(4, 54, "ABCDE"), at(30, 3, "BELOW"), Mark(70 * INCH, 0, TENTH, 0, "GONE")], 0)
    assert "ABCDE" in "".join(row_of(text, 4).split("|"))
    assert "BELOW" in row_of(text, 30)
    assert "OFF THE FORM: 12 of the characters struck" in text
    assert "far off the form, line 1, column 701: GONE" in text


def test_a_control_character_cannot_reach_a_terminal():
    text = to_text(FORM, [at(4, 5, "a\x1b[2Jb\u202ec\x9b")], 0)
    assert "a\ufffd[2Jb\ufffdc\ufffd" in text
    assert all(char.isprintable() for char in text if char != "\n")


def test_a_character_that_an_edge_cuts_is_marked():
    text = to_text(FORM, [Mark(INCH // 2 - TENTH // 2, INCH, TENTH, 0, "H")], 1)
    assert "▒" in row_of(text, 7)
    assert "▒ a character that an edge cuts" in text


def test_the_shift_is_taken_back():
    marks = [at(4, 5, "Marlow")]
    shift = Shift(TENTH // 3, SIXTH // 2)
    moved = [m._replace(x=m.x + shift.right, y=m.y + shift.down) for m in marks]
    assert to_text(FORM, moved, 0, shift=shift) == to_text(FORM, marks, 0)


@settings(max_examples=80, deadline=None)
@given(marks_anywhere())
def test_every_character_on_the_first_part_is_in_the_text(marks):
    text = to_text(FORM, marks, 0)
    struck = Counter(char if char != "\x07" else "\ufffd" for m in marks for char in m.text if char != " ")
    body = Counter(char for line in text.splitlines()[3:] for char in line)
    assert not [char for char, count in struck.items() if body[char] < count]


@settings(max_examples=80, deadline=None)
@given(marks_anywhere(weights=(0,)))
def test_nothing_blocked_is_in_the_text(marks):
    odd = [m._replace(text="".join("Ж" if char != " " else " " for char in m.text)) for m in marks]
    (area,) = FORM.parts[1].blocked
    inside = sum(
        1
        for m in odd
        for place, char in enumerate(m.text)
        if char != " " and area.overlaps(Area(m.x + FORM.grid.left + place * m.pitch, m.y, m.pitch, depth(0)))
    )
    total = sum(char != " " for m in odd for char in m.text)
    assert to_text(FORM, odd, 1).count("Ж") == total - inside


def test_the_shipped_form_is_readable_at_a_glance():
    text = to_text(payroll(), [at(33, 6, "Marlow Fenwick" + "*" * 26)], 0)
    assert len(text.splitlines()) == 1 + 2 + 2 + 42 + 1
    assert max(map(len, text.splitlines())) <= 96
