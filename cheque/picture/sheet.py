"""One part of a form before it is struck: the sheet, its strips and holes, perforations and preprinting.

Everything comes from the form definition. Sprocket holes are 4 mm wide, 1/2 in apart, 6 mm from the edge
(ISO 2784; pitch and size from secondary text, centres from memory).
"""

from functools import lru_cache

from cheque.form.geometry import Area
from cheque.form.model import Caption, Form, Part
from cheque.form.places import places
from cheque.picture.shapes import (
    BLOCKED,
    EDGE,
    FRAME,
    HATCH,
    PAPER,
    PERFORATION,
    PREPRINT,
    RULE,
    SHADE,
    STRIP,
    Box,
    Disc,
    Group,
    Line,
    Shape,
    Words,
    set_words,
)
from cheque.picture.shapes import DESK as HOLE
from cheque.units import INCH, MILLIMETRE, POINT

HOLE_RADIUS = 2 * MILLIMETRE
HOLE_SPACING = INCH // 2
HOLE_FROM_EDGE = 6 * MILLIMETRE
_HAIR = POINT // 3
_DASH = POINT * 3 // 2


@lru_cache(maxsize=64)
def blank_sheet(form: Form, part_index: int, frames: bool = False) -> Group:
    """The unstruck sheet of one part, its upper left corner after bursting at (0, 0).

    The same form, part and choice of frames give the same object. `frames` outlines every place that can be
    struck, with its name. IndexError when the form has no such part.
    """
    part = form.parts[part_index]
    shapes: list[Shape] = [*_paper(form, part)]
    for area in part.blocked:
        shapes += _blocked(area)
    shapes += _preprint(form, part)
    shapes += _perforations(form, part)
    if frames:
        shapes += _frames(form)
    return Group(tuple(shapes), shared=True)


def _paper(form: Form, part: Part) -> list[Shape]:
    sheet, strip = form.part_area(part), form.paper.strip
    shapes: list[Shape] = []
    whole = form.paper.width
    if strip and sheet.left == 0:
        shapes += _strip(-strip, strip, form.paper.length, -strip + HOLE_FROM_EDGE)
    if strip and sheet.right == whole:
        shapes += _strip(whole, strip, form.paper.length, whole + strip - HOLE_FROM_EDGE)
    shapes.append(Box(sheet.left, sheet.top, sheet.width, sheet.height, PAPER, EDGE, _HAIR))
    return shapes


def _strip(left: int, width: int, length: int, middle: int) -> list[Shape]:
    holes = range(HOLE_SPACING // 2, length, HOLE_SPACING)
    return [
        Box(left, 0, width, length, STRIP, EDGE, _HAIR),
        *(Disc(middle, y, HOLE_RADIUS, HOLE, EDGE, _HAIR) for y in holes),
    ]


def _perforations(form: Form, part: Part) -> list[Shape]:
    sheet, paper = form.part_area(part), form.paper
    level = sorted({0, paper.length, *paper.perforations} if paper.strip else set(paper.perforations))
    upright = {x for x in paper.side_perforations if sheet.left <= x <= sheet.right}
    left, right = sheet.left, sheet.right
    if paper.strip:
        upright |= {x for x in (0, paper.width) if sheet.left <= x <= sheet.right}
        left -= paper.strip if left == 0 else 0
        right += paper.strip if right == paper.width else 0
    lines = [Line(left, y, right, y, PERFORATION, POINT // 2, _DASH) for y in level]
    lines += [Line(x, 0, x, paper.length, PERFORATION, POINT // 2, _DASH) for x in sorted(upright)]
    return [*lines]


def _blocked(area: Area) -> list[Shape]:
    """A tint and a wide hatch: this takes no image."""
    shapes: list[Shape] = [Box(area.left, area.top, area.width, area.height, BLOCKED)]
    step = INCH // 8
    for offset in range(step, area.width + area.height, step):  # lines rising to the right
        x1, y1 = max(0, offset - area.height), min(offset, area.height)
        x2, y2 = min(offset, area.width), max(0, offset - area.width)
        shapes.append(Line(area.left + x1, area.top + y1, area.left + x2, area.top + y2, HATCH, POINT // 3))
    return shapes


def _preprint(form: Form, part: Part) -> list[Shape]:
    shapes: list[Shape] = []
    sheet = form.part_area(part)
    for box in form.preprint.boxes:
        if _carries(box.parts, part) and sheet.holds(box.area) and box.drawn != "none":
            area = box.area
            if box.drawn == "shade":
                shapes.append(Box(area.left, area.top, area.width, area.height, SHADE))
            else:
                shapes.append(Box(area.left, area.top, area.width, area.height, "", RULE, box.thickness))
    for rule in form.preprint.rules:
        if _carries(rule.parts, part):
            x2, y2 = rule.left + rule.width, rule.top + rule.height
            if sheet.holds(Area(rule.left, rule.top, rule.width, rule.height)):
                shapes.append(Line(rule.left, rule.top, x2, y2, RULE, rule.thickness))
    for caption in form.preprint.captions:
        if _carries(caption.parts, part):
            words = _caption(caption, part)
            if words.text and sheet.left <= words.x <= sheet.right:
                shapes.append(words)
    return shapes


def _carries(names: tuple[str, ...], part: Part) -> bool:
    return not names or part.name in names


def _caption(caption: Caption, part: Part) -> Words:
    """Preprinted wording in its room. The stock's own number is unknown here: its digits are left open."""
    text = caption.text
    if caption.what == "legend":
        text = part.legend
    elif caption.what == "number":
        text = "".join("#" if char.isdigit() else char for char in text)
    room = caption.area(text).width
    return set_words(
        caption.x, caption.top, caption.size, text, PREPRINT, align=caption.align, bold=caption.bold, room=room
    )


def _frames(form: Form) -> list[Shape]:
    shapes: list[Shape] = []
    size = POINT * 3
    for place in places(form):
        area = place.area
        shapes.append(Box(area.left, area.top, area.width, area.height, "", FRAME, POINT // 3))
        low = area.bottom - size - POINT // 6
        shapes.append(Words(area.left + POINT, low, size, place.name, FRAME, False, area.width))
    return shapes
