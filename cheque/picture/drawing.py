"""Pictures of struck forms, drawn from what a decoder read: one routine for every kind of picture.

`draw_form` draws one part, `draw_parts` all parts side by side, `draw_many` one part of several forms on the
same length of paper. The result is exact and knows nothing of SVG, PDF or PNG; `cheque.picture.svg`, `pdf`
and `png` draw it.

>>> from cheque.picture.shapes import Drawing
>>> beside([Drawing(0, 0, 10, 10, ()), Drawing(0, 0, 20, 5, ())], gap=1).width
31
"""

from collections.abc import Iterable, Sequence

from cheque.form.model import Form
from cheque.page import Mark, Shift
from cheque.picture.shapes import CAPTION, OFF_PAPER, Drawing, Group, Shape, Struck, Words
from cheque.picture.sheet import blank_sheet
from cheque.picture.strike import Landing, depth, land
from cheque.tongue import tr
from cheque.units import INCH, POINT

__all__ = ["Drawing", "below", "beside", "draw_form", "draw_many", "draw_parts"]

#: desk shown round the paper
MARGIN = INCH // 5
#: room for the caption over the paper
HEAD = INCH * 3 // 8
#: how far off the paper a picture goes; what is struck further away is counted in a note
FARTHEST = 2 * INCH
_SIZE = 9 * POINT


def draw_form(
    form: Form,
    marks: Iterable[Mark],
    *,
    part_index: int,
    frames: bool = False,
    shift: Shift | None = None,
    caption: str | None = None,
) -> Drawing:
    """One part of one struck form: the paper, and on it every character that reaches this part.

    marks: as decoded, measured from the print head's column 1 and the form's top.
    shift: the shift that the bytes carry. It is taken back, because the printer it was made for has its paper
    standing that much away: the picture shows the print where it falls on the paper.
    frames: outline every place that can be struck. caption: instead of the part's own, over the paper.
    Nothing struck is left out: off the paper it is drawn red and counted in a note. IndexError for a part
    that the form has not.
    """
    landing = land(form, marks, part_index, shift)
    sheet = blank_sheet(form, part_index, frames)
    text = part_caption(form, part_index) if caption is None else caption
    strip = form.paper.strip
    over = Words(-strip, -HEAD + POINT * 6, _SIZE, text, CAPTION, True, form.paper.width + 2 * strip)
    shapes: tuple[Shape, ...] = (over, sheet, *landing.shapes)
    edges = [-strip - MARGIN, -HEAD, form.paper.width + strip + MARGIN, form.paper.length + MARGIN]
    if landing.off:
        edges, far = _widened(edges, landing)
        shapes += (_note(landing.off, far, edges[3], edges[2] - edges[0] - 2 * MARGIN, edges[0] + MARGIN),)
        edges[3] += INCH // 4
    left, top, right, bottom = edges
    return Drawing(left, top, right - left, bottom - top, shapes, text)


def draw_parts(form: Form, marks: Iterable[Mark], *, frames: bool = False, shift: Shift | None = None) -> Drawing:
    """All parts of one struck form side by side, the top one first."""
    marks = tuple(marks)
    parts = [draw_form(form, marks, part_index=index, frames=frames, shift=shift) for index in range(len(form.parts))]
    return beside(parts, title=form.title)


def draw_many(
    form: Form,
    pages: Iterable[Iterable[Mark]],
    *,
    part_index: int = 0,
    frames: bool = False,
    shift: Shift | None = None,
) -> Drawing:
    """One part of several forms, as they hang together before bursting.

    What runs off the end of a form is seen where it falls, on the next one.
    """
    forms = [draw_form(form, marks, part_index=part_index, frames=frames, shift=shift) for marks in pages]
    if not forms:
        raise ValueError(tr("no form to draw"))
    sheets: list[Shape] = []
    struck: list[Shape] = []
    for number, drawing in enumerate(forms):
        down = number * form.paper.length
        sheets.append(blank_sheet(form, part_index, frames)._replace(y=down))
        struck.append(Group(drawing.shapes[2:], 0, down))
    last = forms[-1]
    left = min(drawing.left for drawing in forms)
    right = max(drawing.left + drawing.width for drawing in forms)
    bottom = (len(forms) - 1) * form.paper.length + last.top + last.height
    top = min(drawing.top for drawing in forms)
    shapes = (forms[0].shapes[0], *sheets, *struck)
    return Drawing(left, top, right - left, bottom - top, shapes, forms[0].title)


def part_caption(form: Form, part_index: int) -> str:
    """Which part this is, and whom it goes to."""
    part = form.parts[part_index]
    return tr(
        "Part {part_index} of {count} · {name} · goes to {goes_to}",
        part_index=part_index + 1,
        count=len(form.parts),
        name=part.name,
        goes_to=part.goes_to,
    )


def beside(drawings: Sequence[Drawing], *, gap: int = 0, title: str = "") -> Drawing:
    """Drawings side by side, their papers' tops level. ValueError for none."""
    if not drawings:
        raise ValueError(tr("nothing to draw"))
    top = min(drawing.top for drawing in drawings)
    bottom = max(drawing.top + drawing.height for drawing in drawings)
    shapes: list[Shape] = []
    x = 0
    for drawing in drawings:
        shapes.append(Group(drawing.shapes, x - drawing.left, 0))
        x += drawing.width + gap
    return Drawing(0, top, x - gap, bottom - top, tuple(shapes), title or drawings[0].title, drawings[0].background)


def below(drawings: Sequence[Drawing], *, gap: int = 0, title: str = "") -> Drawing:
    """Drawings under each other, their papers' left edges level. ValueError for none."""
    if not drawings:
        raise ValueError(tr("nothing to draw"))
    left = min(drawing.left for drawing in drawings)
    right = max(drawing.left + drawing.width for drawing in drawings)
    shapes: list[Shape] = []
    y = 0
    for drawing in drawings:
        shapes.append(Group(drawing.shapes, 0, y - drawing.top))
        y += drawing.height + gap
    return Drawing(left, 0, right - left, y - gap, tuple(shapes), title or drawings[0].title, drawings[0].background)


def _widened(edges: list[int], landing: Landing) -> tuple[list[int], int]:
    """The picture's edges with room for what is off the paper, and how many characters are too far even so."""
    left, top, right, bottom = edges
    limit = (left - FARTHEST, top - FARTHEST, right + FARTHEST, bottom + FARTHEST)
    far = 0
    for shape in landing.shapes:
        if not isinstance(shape, Struck) or shape.colour != OFF_PAPER:
            continue
        for place, char in enumerate(shape.text):
            x = shape.x + place * shape.pitch
            if char == " ":
                continue
            end, below = x + shape.pitch, shape.y + depth(shape.weight)
            if x < limit[0] or shape.y < limit[1] or end > limit[2] or below > limit[3]:
                far += 1
                continue
            left, right = min(left, x - MARGIN), max(right, end + MARGIN)
            top, bottom = min(top, shape.y - MARGIN), max(bottom, below + MARGIN)
    return [left, top, right, bottom], far


def _note(off: int, far: int, y: int, room: int, x: int) -> Words:
    characters = tr("1 character is") if off == 1 else tr("{off} characters are", off=off)
    beyond = tr(", {far} of them further away than this picture goes", far=far) if far else ""
    return Words(
        x,
        y - POINT * 4,
        _SIZE,
        tr("{characters} off the form{beyond}.", characters=characters, beyond=beyond),
        OFF_PAPER,
        True,
        room,
    )
