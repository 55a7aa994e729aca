"""PDF, PNG and SVG show the same: ink in every character's cell, and nowhere else."""

import io
from xml.etree import ElementTree

import pypdfium2
import pytest
from hypothesis import given, settings
from picture.struck import CONDENSED, TENTH, TWELFTH, at, by_way_of_bytes, cells, marks_anywhere, small_form

from cheque.page import Mark
from cheque.picture.dotface import RADIUS, dots
from cheque.picture.drawing import draw_form
from cheque.picture.pdf import to_pdf
from cheque.picture.png import to_image
from cheque.picture.shapes import INK, Drawing, Fragment, Group, Struck
from cheque.picture.strike import depth, land
from cheque.picture.svg import to_svg
from cheque.units import INCH, POINT

FORM = small_form()
DPI = 144
#: darker than this is struck ink: everything preprinted is paler
DARK = 110

MARKS = (
    at(2, 3, "Quillmere Boatyard, 3 Slip"),
    at(4, 5, "Marlow (Fenwick) & Sons*****"),
    at(6, 5, "ÉÅßñ £1,234.56 \\ {~}"),
    at(9, 2, "twelve to the inch", TWELFTH, 1),
    at(11, 2, "condensed, struck twice and bold", CONDENSED, 1),
    at(20, 7, "bold", TENTH, 2),
)


def dark_png(drawing):
    return to_image(drawing, DPI).convert("L").point(lambda value: 255 if value < DARK else 0)


def dark_pdf(drawing):
    page = pypdfium2.PdfDocument(to_pdf([drawing]))[0]
    return page.render(scale=DPI / 72).to_pil().convert("L").point(lambda value: 255 if value < DARK else 0)


def box_of(cell, drawing, grow=0):
    """A character's cell in dots of the picture: left, top, right, bottom."""
    x, y, pitch, weight, _ = cell
    edges = (x - drawing.left - grow, y - drawing.top - grow)
    ends = (x + pitch - drawing.left + grow, y + depth(weight) - drawing.top + grow)
    return (
        edges[0] * DPI // INCH,
        edges[1] * DPI // INCH,
        -(-ends[0] * DPI // INCH),
        -(-ends[1] * DPI // INCH),
    )


@pytest.mark.parametrize("dark", [dark_png, dark_pdf])
@pytest.mark.parametrize("part", [0, 1, 2])
def test_every_cell_struck_has_ink_and_nothing_else_has(dark, part):
    drawing = draw_form(FORM, by_way_of_bytes(MARKS), part_index=part, caption="")
    picture = dark(drawing)
    shown = [
        (s.x + i * s.pitch, s.y, s.pitch, s.weight, char)
        for s in drawing.shapes
        if isinstance(s, Struck)
        for i, char in enumerate(s.text)
        if char != " "
    ]
    assert len(shown) > 10
    for cell in shown:
        assert picture.crop(box_of(cell, drawing)).getbbox(), cell
    pieces = [(x - RADIUS, y - RADIUS) for s in drawing.shapes if isinstance(s, Fragment) for x, y in s.centres]
    assert pieces or part != 1  # a character half in the blocked area
    boxes = []
    for x, y in pieces:
        dot = [side * DPI // INCH for side in (x - drawing.left, y - drawing.top)]
        boxes.append((*dot, dot[0] + 2 * RADIUS * DPI // INCH + 1, dot[1] + 2 * RADIUS * DPI // INCH + 1))
        assert picture.crop(boxes[-1]).getbbox()
    for box in boxes:
        picture.paste(0, (box[0] - 1, box[1] - 1, box[2] + 1, box[3] + 1))
    for cell in shown:
        picture.paste(0, box_of(cell, drawing, RADIUS))
    assert picture.getbbox() is None


def dots_drawn(drawing):
    """Where every dot should be, in thousandths of a point."""
    found = set()
    for shape in drawing.shapes:
        if isinstance(shape, Struck):
            for place, char in enumerate(shape.text):
                for x, y in dots(char, shape.pitch, shape.weight).centres:
                    found.add((shape.x + place * shape.pitch + x, shape.y + y))
    return found


def dots_in_svg(svg):
    """Where the dots of a document are, from its own definitions and uses, in points."""
    space = "{http://www.w3.org/2000/svg}"
    tree = ElementTree.fromstring(svg)
    shapes = {}
    for path in tree.find(f"{space}defs"):
        pairs = [pair.removesuffix("h0").split() for pair in path.get("d").split("M")[1:]]
        shapes["#" + path.get("id")] = [(float(x), float(y)) for x, y in pairs]
    return [
        (float(use.get("x")) + x, float(use.get("y")) + y)
        for use in tree.iter(f"{space}use")
        for x, y in shapes[use.get("href")]
    ]


@settings(max_examples=25, deadline=None)
@given(marks_anywhere())
def test_the_dots_of_an_svg_stand_where_the_wires_struck(marks):
    landing = land(FORM, marks, 0)
    drawing = Drawing(0, 0, 6 * INCH, 4 * INCH, landing.shapes)
    wanted = {(round(x / POINT, 2), round(y / POINT, 2)) for x, y in dots_drawn(drawing)}
    found = {(round(x, 2), round(y, 2)) for x, y in dots_in_svg(to_svg(drawing))}
    for one, other in ((wanted, found), (found, wanted)):
        near = {
            (round(x + i / 100, 2), round(y + j / 100, 2)) for x, y in other for i in (-1, 0, 1) for j in (-1, 0, 1)
        }
        assert one <= near


def test_a_blocked_area_has_no_ink_in_any_picture():
    marks = by_way_of_bytes([at(line, 1, "#" * 50) for line in range(1, 25)])
    drawing = draw_form(FORM, marks, part_index=1, caption="")
    (area,) = FORM.parts[1].blocked
    box = tuple(
        side * DPI // INCH
        for side in (
            area.left - drawing.left,
            area.top - drawing.top,
            area.right - drawing.left,
            area.bottom - drawing.top,
        )
    )
    for dark in (dark_png, dark_pdf):
        picture = dark(drawing)
        assert picture.crop(box).getbbox() is None
        above = (box[0], box[1] - 20, box[2], box[1])
        assert picture.crop(above).getbbox() is not None
    inside = [
        (x, y)
        for x, y in dots_in_svg(to_svg(Drawing(*drawing[:4], land(FORM, marks, 1).shapes)))
        if area.left / POINT < x < area.right / POINT and area.top / POINT < y < area.bottom / POINT
    ]
    assert inside == []


def test_struck_twice_or_bold_is_darker_in_every_picture():
    def blackness(weight, dark):
        drawing = Drawing(0, 0, 4 * INCH, INCH, (Struck(0, 0, TENTH, weight, "HEAVIER 1,234.56"),), "", "#ffffff")
        return dark(drawing).histogram()[255]

    for dark in (dark_png, dark_pdf):
        plain, double, bold, both = (blackness(weight, dark) for weight in range(4))
        assert plain * 1.15 < double
        assert plain * 1.15 < bold
        assert max(double, bold) < both


def test_png_is_the_same_every_time_and_says_its_resolution():
    from PIL import Image

    from cheque.picture.png import to_png

    drawing = draw_form(FORM, by_way_of_bytes(MARKS), part_index=0)
    data = to_png(drawing, 100)
    assert data == to_png(drawing, 100)
    image = Image.open(io.BytesIO(data))
    assert image.size == (-(-drawing.width * 100 // INCH), -(-drawing.height * 100 // INCH))
    assert [round(side) for side in image.info["dpi"]] == [100, 100]


def test_a_resolution_beyond_reason_is_refused():
    from cheque.picture.png import TooLarge, to_png

    drawing = draw_form(FORM, [], part_index=0)
    with pytest.raises(TooLarge, match="fewer dots"):
        to_png(drawing, 3000)
    with pytest.raises(ValueError, match="no resolution"):
        to_png(drawing, 0)


def test_bands_leave_no_seam(monkeypatch):
    from cheque.picture import png

    drawing = draw_form(FORM, [Mark(0, 0, TENTH, 0, "SEAM")], part_index=1, frames=True)
    whole = to_image(drawing, 72).tobytes()
    monkeypatch.setattr(png, "_BAND", 1)
    assert to_image(drawing, 72).tobytes() == whole


def test_ink_is_the_darkest_thing_on_paper():
    blank = draw_form(FORM, [], part_index=1, frames=True, caption="")
    assert dark_png(blank).getbbox() is None
    assert int(INK[1:3], 16) < DARK
    assert cells(MARKS, FORM)


def test_a_scaled_picture_has_its_ink_where_the_scale_puts_it():
    drawing = draw_form(FORM, by_way_of_bytes([at(4, 5, "H")]), part_index=0, caption="")
    small = Drawing(*(side // 2 for side in drawing[:4]), (Group(drawing.shapes, 0, 0, (1, 2)),), "", "")
    for dark in (dark_png, dark_pdf):
        whole, half = dark(drawing).getbbox(), dark(small).getbbox()
        assert half is not None
        assert all(abs(one - 2 * other) <= 4 for one, other in zip(whole, half, strict=True))
    assert "scale(0.500000)" in to_svg(small)
