"""Bars as a picture: horizontal, the label at the left, the figure at the end of the bar, nothing else.

A bar's length is its share of the greatest, exact to a unit of `cheque.units`; one that is not nought is never
shorter than a hair. The same figures always give the same bytes, and the words are drawn, not set: no font is needed.
"""

from cheque.picture.shapes import CAPTION, FRAME, INK, QUIET, Box, Drawing, Line, Shape, Words, width_of
from cheque.picture.svg import to_svg as drawing_to_svg
from cheque.report.page import Bars, shown
from cheque.units import INCH, POINT

WIDTH = 13 * INCH // 2
#: a bar that wants looking at
GRAVE = "#b8862f"
_TYPE = 8 * POINT
_ROW = 15 * POINT
_THICK = 9 * POINT
_GAP = 6 * POINT
_HEAD = 18 * POINT
_LABEL_ROOM = 11 * INCH // 4
_HAIR = POINT // 2


def draw(picture: Bars) -> Drawing:
    """The picture, in exact units."""
    bars = [bar._replace(label=shown(bar.label), text=shown(bar.text)) for bar in picture.bars]
    label_room = min(_LABEL_ROOM, max((width_of(bar.label, _TYPE) for bar in bars), default=0))
    text_room = max((width_of(bar.text, _TYPE) for bar in bars), default=0)
    left = label_room + _GAP
    longest = max(INCH, WIDTH - left - _GAP - text_room)
    greatest = max((bar.value for bar in bars), default=0)
    height = _HEAD + _ROW * len(bars) + _GAP // 2
    shapes: list[Shape] = [Words(0, 0, 9 * POINT, shown(picture.title), CAPTION, True, WIDTH)]
    shapes.append(Line(left, _HEAD - _GAP // 2, left, height, QUIET, POINT // 2))
    for place, bar in enumerate(bars):
        top = _HEAD + place * _ROW
        wide = max(_HAIR, longest * bar.value // greatest) if bar.value > 0 else 0
        label = min(label_room, width_of(bar.label, _TYPE))
        shapes.append(Words(left - _GAP - label, top, _TYPE, bar.label, INK, False, label_room))
        if wide:
            shapes.append(Box(left, top, wide, _THICK, GRAVE if bar.grave else FRAME))
        shapes.append(Words(left + wide + _GAP, top, _TYPE, bar.text, INK if bar.value else QUIET))
    return Drawing(-2 * POINT, -2 * POINT, WIDTH + 4 * POINT, height + 4 * POINT, tuple(shapes),
                   shown(picture.title), "#ffffff")  # fmt: skip


def to_svg(picture: Bars) -> str:
    """The picture as SVG, to stand in a page."""
    return drawing_to_svg(draw(picture))
