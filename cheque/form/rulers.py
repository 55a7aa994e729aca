"""From a ruler to the chart: the depth of a form from ten of them, and a place for print in a measured frame.

Stock depth is not leaf size, and a ruler is read to a sixteenth of an inch at best: so ten forms are measured and the
length divided by ten, exactly. Whether that is one of the depths that stock is made in is for a person to say.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from cheque.form.geometry import Area
from cheque.form.model import Grid
from cheque.tongue import tr
from cheque.units import INCH, MILLIMETRE, inch, read_length

#: depths that continuous stock is usually made in (from memory), and two metric ones
USUAL = tuple(
    [inch(Fraction(text)) for text in ("7/2", "11/3", "4", "11/2", "6", "7", "8", "17/2", "11", "12")]
    + [92 * MILLIMETRE, 102 * MILLIMETRE]
)
#: how finely the chart may be set against the paper, across and down
_FINE_ACROSS, _FINE_DOWN = INCH // 120, INCH // 72


class Depth(NamedTuple):
    """The depth of one form. `measured` is exactly a tenth of what was read (units); `usual` are the depths that stock
    is made in and that the ruler's own error allows."""

    measured: int
    usual: tuple[int, ...]


def depth_of_ten(text: str, read_to: str = "1/16 in") -> Depth:
    """The depth of a form from the length of ten, which a ruler shows to `read_to`.

    ValueError when a tenth of it is no whole number of units: then the length was written finer than it was read.

    >>> depth = depth_of_ten("36 5/8 in")
    >>> depth.measured == inch(Fraction(293, 80)), [one == inch(Fraction(11, 3)) for one in depth.usual]
    (True, [True])
    """
    ten, finest = read_length(text), read_length(read_to)
    if ten <= 0 or finest <= 0:
        raise ValueError(tr("{text!r}, which is no length of ten forms", text=text))
    one, rest = divmod(ten, 10)
    if rest:
        raise ValueError(
            tr(
                "{text!r}, of which a tenth is no whole number of 1/{inch} in; read it to {read_to}",
                text=text,
                inch=INCH,
                read_to=read_to,
            )
        )
    return Depth(one, tuple(sorted(usual for usual in USUAL if abs(10 * usual - ten) <= finest)))


def corners(text: str) -> Area:
    """A frame as read off a ruler: left, top, right, bottom, from the paper's upper left corner after bursting.

    >>> corners("1 1/8 in, 1 1/4 in, 4 1/2 in, 38 mm").height == 38 * MILLIMETRE - INCH * 5 // 4
    True
    """
    parts = text.split(",")
    if len(parts) != 4:
        raise ValueError(tr("{text!r}; wanted four lengths: left, top, right, bottom", text=text))
    left, top, right, bottom = map(read_length, parts)
    if right <= left or bottom <= top:
        raise ValueError(tr("{text!r}, in which right is not beyond left, or bottom not below top", text=text))
    return Area(left, top, right - left, bottom - top)


class Seat(NamedTuple):
    """Where print sits in a frame: line and column on the chart, and how much of it."""

    line: int
    column: int
    lines: int
    width: int


def seat(frame: Area, grid: Grid, *, lines: int = 1, need: int = 1, low: bool = False) -> Seat | None:
    """The most columns that a frame holds, and the line or lines (at most `lines`) that stand best in it.

    Half a column and half a line are left free on every side where at least `need` columns and a line remain; else
    what fits is taken. `low`: the lowest line that fits, as for a signature. None when no cell fits.
    """
    left, width = _run(frame.left, frame.right, grid.left, grid.pitch, need)
    top, deep = _run(frame.top, frame.bottom, grid.top, grid.spacing, 1)
    if width < 1 or deep < 1:
        return None
    if deep > lines:
        spare = deep - lines
        top += spare if low else spare // 2 if lines == 1 else 0
        deep = lines
    return Seat(top + 1, left + 1, deep, width)


def _run(start: int, end: int, origin: int, step: int, need: int) -> tuple[int, int]:
    """The first cell from `origin` that lies between start and end, and how many do; half a cell free if it can be."""
    for free in (step // 2, 0):
        first = max(0, -((origin - start - free) // step))
        count = (end - free - origin) // step - first
        if count >= need:
            return first, count
    return first, max(0, count)


def best_grid(frames: Sequence[Area], pitch: int, spacing: int) -> Grid:
    """How the chart stands best on the paper: print as far as can be from the edges of every frame.

    The printer's paper is set so once. Without frames the chart begins at the paper's corner.
    """
    left = _best([(f.left, f.right) for f in frames], pitch, _FINE_ACROSS)
    top = _best([(f.top, f.bottom) for f in frames], spacing, _FINE_DOWN)
    return Grid(pitch, spacing, left, top)


def _best(spans: Sequence[tuple[int, int]], step: int, fine: int) -> int:
    """The origin within one step that seats the most spans, stands best in the tight ones, and gives the most cells."""

    def worth(origin: int) -> tuple[int, int, int, int]:
        seated, cells, tight = 0, 0, step
        for start, end in spans:
            first, count = _run(start, end, origin, step, 1)
            if count:
                seated, cells = seated + 1, cells + count
                tight = min(tight, origin + first * step - start, end - origin - (first + count) * step)
        return seated, min(tight, step // 2), cells, -origin

    return max(range(0, step, fine), key=worth)
