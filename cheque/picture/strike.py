"""Where each struck character lands on one part: on it, cut by an edge, blocked, or off the paper.

One strike marks every part in the same place, except where a part is blocked or narrower (common practice).
A character is decided by its cell, `pitch` wide and nine rows deep. A cell that a blocked area covers wholly
leaves nothing; one that an edge cuts leaves the dots outside the edge. What is not wholly on the form as it
will be after bursting is drawn all the same, in red: on the strips, on the next form, or on the bare desk.
"""

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from cheque.form.model import Form
from cheque.page import Mark, Shift, Weight
from cheque.picture.dotface import DEPTH, dots
from cheque.picture.shapes import INK, OFF_PAPER, Fragment, Shape, Struck
from cheque.units import INCH

_DOUBLE = int(Weight.DOUBLE)
_DEEPER = DEPTH + INCH // 216

_Edges = tuple[int, int, int, int]


class Landing(NamedTuple):
    """What one part shows of a strike; `off` counts characters not wholly on the form after bursting."""

    shapes: tuple[Shape, ...]
    off: int


class _Sheet(NamedTuple):
    left: int
    top: int
    width: int
    length: int
    empty: tuple[_Edges, ...]


@lru_cache(maxsize=64)
def _sheet(form: Form, part_index: int) -> _Sheet:
    part = form.parts[part_index]
    empty = tuple((a.left, a.top, a.right, a.bottom) for a in form.takes_no_image(part))
    return _Sheet(form.grid.left, form.grid.top, form.paper.width, form.paper.length, empty)


def depth(weight: int) -> int:
    """How deep the ink of a character reaches: nine rows, and a step more when it is struck twice."""
    return _DEEPER if weight & _DOUBLE else DEPTH


def land(form: Form, marks: Iterable[Mark], part_index: int, shift: Shift | None = None) -> Landing:
    """Marks, as a decoder read them, as shapes on one part. The shift is taken back: see `draw_form`."""
    sheet = _sheet(form, part_index)
    right, down = sheet.left, sheet.top
    if shift is not None:
        right, down = right - shift.right, down - shift.down
    shapes: list[Shape] = []
    off = 0
    for x, y, pitch, weight, text in marks:
        x, y = x + right, y + down
        end, below = x + pitch * len(text), y + depth(weight)
        if x >= 0 and y >= 0 and end <= sheet.width and below <= sheet.length:
            for left, top, stop, bottom in sheet.empty:
                if x < stop and left < end and y < bottom and top < below:
                    break
            else:
                shapes.append(Struck(x, y, pitch, weight, text))
                continue
            if left <= x and end <= stop and top <= y and below <= bottom:
                continue  # all of it in one place that takes no image
        more, beyond = _one_by_one(sheet, x, y, pitch, weight, text)
        shapes += more
        off += beyond
    return Landing(tuple(shapes), off)


def _one_by_one(sheet: _Sheet, x: int, y: int, pitch: int, weight: int, text: str) -> tuple[list[Shape], int]:
    shapes: list[Shape] = []
    off = 0
    bottom = y + depth(weight)
    for char in text:
        cell = (x, y, x + pitch, bottom)
        x += pitch
        if char == " ":
            continue
        if not (cell[0] >= 0 and y >= 0 and x <= sheet.width and bottom <= sheet.length):
            off += 1
            _join(shapes, Struck(cell[0], y, pitch, weight, char, OFF_PAPER))
            continue
        over = [area for area in sheet.empty if _meet(cell, area)]
        if not over:
            _join(shapes, Struck(cell[0], y, pitch, weight, char))
        elif not any(_holds(area, cell) for area in over):
            shapes += _what_is_left(cell, pitch, weight, char, over)
    return shapes, off


def _join(shapes: list[Shape], new: Struck) -> None:
    """Put a character at the end of the run before it, when it goes on there."""
    last = shapes[-1] if shapes else None
    if isinstance(last, Struck) and last.colour == new.colour:
        gap, rest = divmod(new.x - last.x - last.pitch * len(last.text), new.pitch)
        if rest == 0 and gap >= 0:
            shapes[-1] = last._replace(text=last.text + " " * gap + new.text)
            return
    shapes.append(new)


def _what_is_left(cell: _Edges, pitch: int, weight: int, char: str, over: list[_Edges]) -> list[Shape]:
    centres, radius = dots(char, pitch, weight)
    kept = []
    for dx, dy in centres:
        x, y = cell[0] + dx, cell[1] + dy
        dot = (x - radius, y - radius, x + radius, y + radius)
        if not any(_meet(dot, area) for area in over):
            kept.append((x, y))
    return [Fragment(tuple(kept), radius, char, INK)] if kept else []


def _meet(one: _Edges, other: _Edges) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _holds(outer: _Edges, inner: _Edges) -> bool:
    return outer[0] <= inner[0] and outer[1] <= inner[1] and inner[2] <= outer[2] and inner[3] <= outer[3]
