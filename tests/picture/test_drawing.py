"""What lands where on each part: nothing struck is lost, nothing blocked is shown, nothing off the paper is hidden."""

import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from picture.struck import CONDENSED, SIXTH, TENTH, at, by_way_of_bytes, cells, marks_anywhere, payroll, small_form

from cheque.form import Area
from cheque.page import Mark, Shift
from cheque.picture.dotface import dots
from cheque.picture.drawing import below, beside, draw_form, draw_many, draw_parts
from cheque.picture.shapes import INK, OFF_PAPER, Fragment, Group, Struck, Words
from cheque.picture.sheet import blank_sheet
from cheque.picture.strike import depth, land
from cheque.units import INCH

FORM = small_form()


def flat(shapes, x=0, y=0):
    """All shapes that are no groups, moved to where they stand (no group here is scaled)."""
    for shape in shapes:
        if isinstance(shape, Group):
            assert shape.scale == (1, 1)
            yield from flat(shape.shapes, x + shape.x, y + shape.y)
        elif isinstance(shape, Fragment):
            yield shape._replace(centres=tuple((cx + x, cy + y) for cx, cy in shape.centres))
        elif hasattr(shape, "x"):
            yield shape._replace(x=shape.x + x, y=shape.y + y)


def struck(shapes):
    """Whole characters drawn: (x, y, pitch, weight, character) -> colour."""
    return {
        (s.x + i * s.pitch, s.y, s.pitch, s.weight, char): s.colour
        for s in flat(shapes)
        if isinstance(s, Struck)
        for i, char in enumerate(s.text)
        if char != " "
    }


def text_on(drawing):
    return [s.text for s in flat(drawing.shapes) if isinstance(s, Struck)]


def area_of(cell):
    x, y, pitch, weight, _ = cell
    return Area(x, y, pitch, depth(weight))


def dots_outside(cell, areas):
    """The dots of a character that no area touches."""
    x, y, pitch, weight, char = cell
    centres, radius = dots(char, pitch, weight)
    for dx, dy in centres:
        square = Area(x + dx - radius, y + dy - radius, 2 * radius, 2 * radius)
        if not any(square.overlaps(area) for area in areas):
            yield x + dx, y + dy


def ink_of(shapes):
    """Every dot drawn, as the square round it."""
    for shape in flat(shapes):
        if isinstance(shape, Fragment):
            for x, y in shape.centres:
                yield Area(x - shape.radius, y - shape.radius, 2 * shape.radius, 2 * shape.radius)
        elif isinstance(shape, Struck) and shape.colour == INK:
            for place, char in enumerate(shape.text):
                centres, radius = dots(char, shape.pitch, shape.weight)
                for x, y in centres:
                    left = shape.x + place * shape.pitch + x - radius
                    yield Area(left, shape.y + y - radius, 2 * radius, 2 * radius)


@pytest.mark.parametrize("part", [0, 1, 2])
@settings(max_examples=60, deadline=None)
@given(marks=marks_anywhere())
def test_every_character_is_on_the_part_or_red_off_the_paper_or_blocked(part, marks):
    landing = land(FORM, marks, part)
    shown = struck(landing.shapes)
    no_image = FORM.takes_no_image(FORM.parts[part])
    pieces = {centre for f in landing.shapes if isinstance(f, Fragment) for centre in f.centres}
    off = 0
    for cell in cells(marks, FORM):
        area = area_of(cell)
        if not FORM.sheet.holds(area):
            off += 1
            assert shown[cell] == OFF_PAPER
        elif not any(area.overlaps(other) for other in no_image):
            assert shown[cell] in (INK, OFF_PAPER)
        elif any(other.holds(area) for other in no_image):
            assert cell not in shown
        else:  # an edge cuts it
            assert cell not in shown
            assert pieces >= set(dots_outside(cell, no_image))
    assert landing.off == off
    assert set(shown) <= set(cells(marks, FORM))


@pytest.mark.parametrize("part", [1, 2])
@settings(max_examples=60, deadline=None)
@given(marks=marks_anywhere())
def test_a_blocked_area_and_the_desk_beside_a_narrow_sheet_stay_empty(part, marks):
    no_image = FORM.takes_no_image(FORM.parts[part])
    assert no_image
    for dot in ink_of(land(FORM, marks, part).shapes):
        for area in no_image:
            # a wire may reach half a row out of its own cell, no further
            grown = Area(dot.left + dot.width // 4, dot.top + dot.height // 4, dot.width // 2, dot.height // 2)
            assert not area.overlaps(grown)


def test_a_character_that_an_edge_cuts_leaves_the_dots_outside_it():
    # the blocked area of the file copy begins at x 1 in, y 1 in: this H stands half in it
    mark = Mark(INCH // 2 - TENTH // 2, INCH, TENTH, 0, "H")
    (piece,) = land(FORM, [mark], 1).shapes
    assert isinstance(piece, Fragment)
    whole = dots("H", TENTH).centres
    assert 0 < len(piece.centres) < len(whole)
    assert all(x + piece.radius <= INCH for x, _ in piece.centres)
    left = [(x + INCH - TENTH // 2, y + INCH) for x, y in whole if x + piece.radius <= TENTH // 2]
    assert sorted(piece.centres) == sorted(left)


def test_a_field_inside_a_blocked_area_is_on_the_first_part_and_not_on_the_second():
    marks = by_way_of_bytes([at(7, 6, "HIDDEN"), at(12, 6, "SHOWN")])  # line 7 begins 1 in down
    one, two = (draw_form(FORM, marks, part_index=part) for part in (0, 1))
    assert text_on(one) == ["HIDDEN", "SHOWN"]
    assert text_on(two) == ["SHOWN"]


def test_a_narrow_sheet_shows_only_what_falls_on_it():
    marks = by_way_of_bytes([at(3, 1, "LEFT"), at(3, 20, "MIDDLE"), at(3, 45, "RIGHT")])
    assert text_on(draw_form(FORM, marks, part_index=2)) == ["MIDDLE"]


def test_what_misses_the_paper_is_red_counted_and_inside_the_picture():
    plain = draw_form(FORM, [at(3, 5, "ON")], part_index=0)
    drawing = draw_form(FORM, [at(3, 50, "OVER THE EDGE")], part_index=0)
    red = [s for s in flat(drawing.shapes) if isinstance(s, Struck) and s.colour == OFF_PAPER]
    assert "".join(s.text for s in red) == "HE EDGE"  # the last column on the paper is 55
    notes = [s.text for s in flat(drawing.shapes) if isinstance(s, Words) and s.colour == OFF_PAPER]
    assert notes == ["6 characters are off the form."]
    assert drawing.width > plain.width
    assert all(s.x + s.pitch * len(s.text) <= drawing.left + drawing.width for s in red)


def test_what_is_struck_on_the_next_form_is_red_below_this_one():
    drawing = draw_form(FORM, [at(26, 3, "LATE")], part_index=0)
    (run,) = [s for s in flat(drawing.shapes) if isinstance(s, Struck)]
    assert (run.text, run.colour) == ("LATE", OFF_PAPER)
    assert run.y >= FORM.paper.length


def test_a_mark_miles_away_is_counted_and_makes_no_huge_picture():
    drawing = draw_form(FORM, [Mark(900 * INCH, 0, TENTH, 0, "ASTRAY")], part_index=0)
    assert drawing.width < 20 * INCH
    notes = [s.text for s in flat(drawing.shapes) if isinstance(s, Words) and s.colour == OFF_PAPER]
    assert notes == ["6 characters are off the form, 6 of them further away than this picture goes."]


@settings(max_examples=30, deadline=None)
@given(marks_anywhere(), st.integers(-20, 20), st.integers(-20, 20))
def test_the_shift_that_the_bytes_carry_is_taken_back(marks, right, down):
    shift = Shift(right * INCH // 120, down * INCH // 72)
    shifted = [m._replace(x=m.x + shift.right, y=m.y + shift.down) for m in marks]
    assert land(FORM, shifted, 1, shift) == land(FORM, marks, 1)


def test_all_parts_stand_side_by_side_in_order():
    drawing = draw_parts(FORM, by_way_of_bytes([at(7, 12, "ONCE STRUCK")]))
    first, third = (s.x for s in flat(drawing.shapes) if isinstance(s, Struck))  # on the second it is blocked
    assert third - first == 2 * draw_form(FORM, [], part_index=0).width
    captions = [s.text for s in flat(drawing.shapes) if isinstance(s, Words) and s.text.startswith("Part ")]
    assert [c.split(" · ")[1] for c in captions] == ["payee", "file", "slip"]


def test_forms_that_hang_together_show_what_runs_over_on_the_next_one():
    drawing = draw_many(FORM, [[at(2, 3, "ONE"), at(26, 3, "OVER")], [at(2, 10, "TWO")], []])
    places = {s.text: (s.y, s.colour) for s in flat(drawing.shapes) if isinstance(s, Struck)}
    assert places["TWO"] == (SIXTH + FORM.paper.length, INK)
    assert places["OVER"] == (25 * SIXTH, OFF_PAPER)
    assert drawing.height > 3 * FORM.paper.length
    with pytest.raises(ValueError, match="no form"):
        draw_many(FORM, [])


def test_frames_name_every_place_and_legends_stand_on_their_own_part():
    plain = [s.text for s in flat(blank_sheet(FORM, 0).shapes) if isinstance(s, Words)]
    framed = [s.text for s in flat(blank_sheet(FORM, 0, True).shapes) if isinstance(s, Words)]
    assert set(framed) - set(plain) == {"payee"}
    assert "PAYEE" in plain
    assert "PAYEE" not in [s.text for s in flat(blank_sheet(FORM, 1).shapes) if isinstance(s, Words)]


def test_the_number_on_the_stock_is_not_made_up():
    words = [s.text for s in flat(blank_sheet(FORM, 0).shapes) if isinstance(s, Words)]
    assert "No. ######" in words
    assert not any("100000" in text for text in words)


def test_the_same_sheet_is_the_same_object_every_time():
    assert blank_sheet(FORM, 1) is blank_sheet(small_form(), 1)


def test_there_is_no_part_that_the_form_has_not():
    with pytest.raises(IndexError):
        draw_form(FORM, [], part_index=3)
    for put in (beside, below):
        with pytest.raises(ValueError, match="nothing"):
            put([])


def test_drawings_put_under_each_other_do_not_overlap():
    drawing = draw_form(FORM, [at(2, 2, "A")], part_index=0)
    stack = below([drawing, drawing], gap=10)
    assert stack.height == 2 * drawing.height + 10
    ys = [s.y for s in flat(stack.shapes) if isinstance(s, Struck)]
    assert ys[1] - ys[0] == drawing.height + 10


@pytest.mark.parametrize("language", ["plain", "escp9", "escp24", "ppds"])
def test_every_language_gives_the_same_picture(language):
    marks = by_way_of_bytes([at(3, 5, "Quillmere Boatyard"), at(4, 5, "**1,234.56")], language=language)
    drawing = draw_form(FORM, marks, part_index=0)
    assert struck(drawing.shapes) == struck(
        draw_form(FORM, [at(3, 5, "Quillmere Boatyard"), at(4, 5, "**1,234.56")], part_index=0).shapes
    )


def test_the_shipped_form_is_drawn_with_all_its_parts():
    form = payroll()
    marks = [at(5, 8, "Marlow Fenwick"), at(33, 6, "Marlow Fenwick" + "*" * 26), Mark(0, 0, CONDENSED, 1, "small")]
    shown = [text_on(draw_form(form, marks, part_index=part)) for part in range(3)]
    assert shown[0] == shown[1] == [m.text for m in marks]
    assert "Marlow Fenwick" not in shown[2]  # the file copy's stub is blocked
    assert "Marlow Fenwick" + "*" * 26 in shown[2]


def test_drawing_and_pdf_need_no_library_of_pictures():
    program = (
        "import sys, cheque.picture.drawing, cheque.picture.pdf, cheque.picture.svg, cheque.picture.text, "
        "cheque.picture.proofbook, cheque.picture.png; "
        "print([m for m in ('PIL', 'reportlab', 'cheque.picture.dotface_latin') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
