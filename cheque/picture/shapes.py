"""What a picture is made of: a few plain shapes in exact units, before anybody knows where they will be drawn.

x runs right and y down, in units of `cheque.units`. Every way of drawing (SVG, PDF, PNG) draws the same shapes,
so that all pictures show the same thing. Colours are "#rrggbb"; "" is none.
"""

from functools import lru_cache
from typing import NamedTuple, TypeAlias

from cheque.units import POINT

DESK = "#e9e7e1"
PAPER = "#fcf9ef"
STRIP = "#f6f1e2"
EDGE = "#cfc8b4"
PERFORATION = "#b5ae99"
PREPRINT = "#8097a9"
RULE = "#aebdc9"
SHADE = "#eef0ea"
BLOCKED = "#f3eee0"
HATCH = "#e3dccb"
INK = "#22201d"
OFF_PAPER = "#c0271b"
FRAME = "#2f8f83"
CAPTION = "#5a6670"
QUIET = "#737e87"


class Box(NamedTuple):
    """A rectangle, filled, outlined or both."""

    x: int
    y: int
    width: int
    height: int
    fill: str = ""
    line: str = ""
    thickness: int = 0


class Line(NamedTuple):
    """A straight line; `dash` is the length of each dash and of each gap (0: unbroken)."""

    x1: int
    y1: int
    x2: int
    y2: int
    colour: str
    thickness: int
    dash: int = 0


class Disc(NamedTuple):
    """A filled circle with a thin edge."""

    x: int
    y: int
    radius: int
    fill: str
    line: str = ""
    thickness: int = 0


class Words(NamedTuple):
    """Text in the line face: upper left corner, type size, and the room it must not overrun (0: any).

    Text too wide for its room is set narrower, never cut.
    """

    x: int
    y: int
    size: int
    text: str
    colour: str
    bold: bool = False
    room: int = 0


class Struck(NamedTuple):
    """Characters in the dot face: x and y of the first one's cell, each next one `pitch` further right."""

    x: int
    y: int
    pitch: int
    weight: int
    text: str
    colour: str = INK


class Fragment(NamedTuple):
    """What shows of one character that the edge of a sheet or of a blocked area cuts: the dots that remain."""

    centres: tuple[tuple[int, int], ...]
    radius: int
    text: str
    colour: str = INK


class Group(NamedTuple):
    """Shapes moved to (x, y) and scaled by `scale` (numerator, denominator).

    The shapes of a `shared` group stand in many drawings, as the same object: a PDF carries them once.
    """

    shapes: "tuple[Shape, ...]"
    x: int = 0
    y: int = 0
    scale: tuple[int, int] = (1, 1)
    shared: bool = False


Shape: TypeAlias = Box | Line | Disc | Words | Struck | Fragment | Group


class Drawing(NamedTuple):
    """A finished picture: what it covers, and its shapes from the back to the front."""

    left: int
    top: int
    width: int
    height: int
    shapes: tuple[Shape, ...]
    title: str = ""
    #: colour of everything that no shape covers
    background: str = DESK


@lru_cache(maxsize=1 << 16)
def points(units: int) -> str:
    """Units as points of 1/72 in, in decimals to a thousandth, for files that are written in points.

    >>> points(38100), points(38100 * 6 // 5), points(-12700)
    ('1', '1.2', '-0.333')
    """
    whole, part = divmod((abs(units) * 1000 + POINT // 2) // POINT, 1000)
    text = f"{whole}.{part:03d}".rstrip("0").rstrip(".") if part else str(whole)
    return f"-{text}" if units < 0 and text != "0" else text


def set_words(
    x: int, y: int, size: int, text: str, colour: str, *, align: str = "left", bold: bool = False, room: int = 0
) -> Words:
    """Words whose left, middle or right (by `align`) stands at x."""
    wide = width_of(text, size)
    if room:
        wide = min(wide, room)
    left = x - {"left": 0, "centre": wide // 2, "right": wide}[align]
    return Words(left, y, size, text, colour, bold, room)


def width_of(text: str, size: int) -> int:
    """How wide words of a type size set, in units."""
    from cheque.picture.lineface import EM, width

    return width(text) * size // EM
