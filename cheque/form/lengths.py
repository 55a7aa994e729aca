"""Lengths as people write them in a form definition: inches, millimetres, or the form's own chart.

A size is "3 1/2 in", "92 mm", "12 columns" or "2 1/2 lines"; a place is "1/4 in", "column 12", "line 9" or
"line 9 1/2", which is half a line below the top of line 9. All are exact or refused.
"""

import re
from fractions import Fraction

from cheque.form.geometry import Area
from cheque.form.model import Grid
from cheque.tomlfile import Checker
from cheque.tongue import mark, tr
from cheque.units import INCH, exact, read_length

_NUMBER = r"(?:(?P<whole>\d+)(?:\s+(?P<part>\d+/[1-9]\d*))?|(?P<only>\d+/[1-9]\d*))"
_PLACE = re.compile(rf"(?P<name>line|column)\s+{_NUMBER}")
_SIZE = re.compile(rf"{_NUMBER}\s+(?P<name>line|column)s?")
_PER_INCH = re.compile(r"(\d+(?:\.\d+)?) to the inch")
_SEVENTEEN = 7 * INCH // 120  # condensed: sold as 17.1 to the inch, exactly 7/120 in
#: how far a length may reach: no form is longer than 22 in, no paper of the trade wider than 20 in
_LONGEST = 24 * INCH

PITCH_WANTED = mark("a pitch such as '10 to the inch', or a length")
SPACING_WANTED = mark("a spacing such as '6 to the inch', or a length")
SIZE_WANTED = mark("a length such as '3 1/2 in', '92 mm', '12 columns' or '2 lines'")
PLACE_WANTED = mark("a place such as '1/4 in', '6 mm', 'column 12' or 'line 9 1/2'")


def length(text: str) -> int:
    """A plain length, more than nothing. ValueError when it is not one."""
    units = read_length(text)
    if not 0 < units <= _LONGEST:
        raise ValueError(tr("{text!r}, which is not more than 0 and at most 24 in", text=text))
    return units


def step(text: str) -> int:
    """Pitch or line spacing: "10 to the inch" (17.1 is exactly 7/120 in), or a length."""
    match = _PER_INCH.fullmatch(text.strip())
    if not match:
        return length(text)
    if match[1] == "17.1":
        return _SEVENTEEN
    number = Fraction(match[1])
    if not number:
        raise ValueError(tr("{text!r}, which is no distance", text=text))
    return exact(INCH / number)


def _number(match: re.Match[str]) -> Fraction:
    return Fraction(match["only"]) if match["only"] else Fraction(match["whole"]) + Fraction(match["part"] or 0)


def size(text: str, grid: Grid) -> int:
    """A size in units, at least 0: a length, or so many lines or columns of the grid."""
    match = _SIZE.fullmatch(text.strip())
    units = exact(_number(match) * _of(grid, match["name"])) if match else read_length(text)
    if not 0 <= units <= _LONGEST:
        raise ValueError(tr("{text!r}, which is not between 0 and 24 in", text=text))
    return units


def place(text: str, grid: Grid) -> int:
    """A place in units from the paper's left or top edge: a length, or a line or column of the grid."""
    match = _PLACE.fullmatch(text.strip())
    if match:
        start = grid.left if match["name"] == "column" else grid.top
        units = start + exact((_number(match) - 1) * _of(grid, match["name"]))
    else:
        units = read_length(text)
    if not -INCH <= units <= _LONGEST:
        raise ValueError(tr("{text!r}, which is off any paper", text=text))
    return units


def _of(grid: Grid, name: str) -> int:
    return grid.pitch if name == "column" else grid.spacing


def take_size(table: Checker, key: str, grid: Grid, default: int = 0, *, required: bool = False) -> int:
    """A size out of a table of the definition."""
    units: int = table.take(
        key, str, default, required=required, wanted=tr(SIZE_WANTED), convert=lambda t: size(t, grid)
    )
    return units


def take_place(table: Checker, key: str, grid: Grid, default: int = 0, *, required: bool = True) -> int:
    """A place out of a table of the definition."""
    units: int = table.take(
        key, str, default, required=required, wanted=tr(PLACE_WANTED), convert=lambda t: place(t, grid)
    )
    return units


def take_area(table: Checker, grid: Grid) -> Area:
    """`left`, `top`, `width` or `right`, `height` or `bottom`, out of a table of the definition."""
    left, top = take_place(table, "left", grid), take_place(table, "top", grid)
    return Area(left, top, _extent(table, "width", "right", left, grid), _extent(table, "height", "bottom", top, grid))


def _extent(table: Checker, by_size: str, by_place: str, start: int, grid: Grid) -> int:
    if isinstance(table.take(by_place, str), str):
        if table.take(by_size, str) is not None:
            table.fault(
                by_place,
                tr("{by_size} as well", by_size=by_size),
                tr("one of the two"),
                tr("take out {by_size} or {by_place}", by_size=by_size, by_place=by_place),
            )
        end = take_place(table, by_place, grid, start)
        if end < start:
            table.fault(by_place, repr(table.table[by_place]), tr("a place that is not before the start"))
        return max(0, end - start)
    return take_size(table, by_size, grid, required=True)
