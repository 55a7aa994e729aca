"""The dot face: every character that can be struck, as dots on the paper.

Designed here; no font of any maker. A character is struck by nine wires in a column, 1/72 in apart, at twelve
steps across its pitch; the dots stay round whatever the pitch. Letters with marks are built from the letter and
the mark. A character that has no shape is drawn as a small box with its code point, never left out. Struck
twice or bold, its dots are doubled a little lower or a little to the right, as a printer does it.
"""

import unicodedata
from functools import cache
from itertools import combinations
from typing import NamedTuple

from cheque.page import Weight
from cheque.units import INCH, POINT

#: one row of wires
ROW = POINT
#: ink of one wire: a little less than a row, so that dots can be told apart
RADIUS = POINT * 51 // 100
#: ink of a dot of the code-point box
FINE_RADIUS = POINT * 22 // 100
#: depth of a character: nine rows
DEPTH = 9 * ROW
BLANK = " \u00a0"

_ROWS = 9

#: dots of a shape as (column, row); columns 0 to 8 for letters, -2 to 8 for lines that meet the next cell
Shape = frozenset[tuple[int, int]]


class Dots(NamedTuple):
    """Centres of the dots of one struck character, in units from its cell's upper left; and their radius."""

    centres: tuple[tuple[int, int], ...]
    radius: int


@cache
def dots(char: str, pitch: int, weight: int = 0) -> Dots:
    """The dots of one character struck at a pitch (units) and a weight (`cheque.page.Weight`).

    >>> dots(".", INCH // 10).centres[0] == (INCH // 10 * 5 // 12, ROW * 11 // 2)
    True
    """
    if char in BLANK:
        return Dots((), RADIUS)
    shape = _shape(char)
    if shape is None:
        once, radius = _code_point_box(char, pitch), FINE_RADIUS
    else:
        once = [((column + 2) * pitch // 12, (2 * row + 1) * ROW // 2) for column, row in sorted(shape)]
        radius = RADIUS
    again = [(0, 0)]
    if weight & Weight.BOLD:
        again += [(pitch // 24, 0)]
    if weight & Weight.DOUBLE:
        again += [(dx, dy + INCH // 216) for dx, dy in again]
    return Dots(tuple((x + dx, y + dy) for dx, dy in again for x, y in once), radius)


def has_shape(char: str) -> bool:
    """Whether the face draws the character itself, not its code point in a box."""
    return char in BLANK or _shape(char) is not None


def covered() -> tuple[str, ...]:
    """Every character that was drawn by hand, for specimens and tests; built letters are besides."""
    return tuple(sorted(_table()))


@cache
def _table() -> dict[str, Shape]:
    from cheque.picture import dotface_latin, dotface_more

    shapes: dict[str, Shape] = {}
    for block in dotface_latin.BLOCKS + dotface_more.BLOCKS:
        names, *rows = block.strip("\n").splitlines()
        for column, name in enumerate(names.split()):
            shapes[name] = _read([row.split()[column] for row in rows])
    return shapes


def _read(rows: list[str] | tuple[str, ...], first: int = 0) -> Shape:
    return frozenset(
        (column, row) for row, text in enumerate(rows, first) for column, dot in enumerate(text) if dot == "o"
    )


@cache
def _same() -> dict[str, str]:
    from cheque.picture.dotface_more import SAME

    return {pair[0]: pair[1] for pair in SAME.split()}


@cache
def _shape(char: str) -> Shape | None:
    found = _table().get(_same().get(char, char))
    if found is not None:
        return found
    if "\u2500" <= char <= "\u259f" or char == "\u25a0":
        from cheque.picture.dotface_lines import shape

        return shape(char)
    return _composed(char)


def _composed(char: str) -> Shape | None:
    """A letter with one mark over it, one under it, or both; None when it is anything else."""
    from cheque.picture.dotface_more import ABOVE, BELOW, SHORT

    pieces = unicodedata.normalize("NFD", char)
    if len(pieces) == 1 and unicodedata.normalize("NFKD", char)[0] == " ":
        pieces = unicodedata.normalize("NFKD", char)  # a mark by itself: ´ is a blank and the mark
    letter, marks = pieces[0], pieces[1:]
    over = [mark for mark in marks if mark in ABOVE]
    under = [mark for mark in marks if mark in BELOW]
    if not marks or len(over) > 1 or len(under) > 1 or len(over) + len(under) < len(marks):
        return None
    if letter == "g" and under == ["\u0327"]:  # its hook is in the way: the cedilla turns and goes above
        over, under = ["\u0301"], []
    letter = {"i": "ı", "j": "ȷ"}.get(letter, letter) if over else letter
    base: Shape | None = frozenset() if letter == " " else _shape(letter)
    if base is None:
        return None
    if over:
        letter = _same().get(letter, letter)
        if letter in SHORT:
            base = _read(SHORT[letter], 2)
        elif any(row < 2 for _, row in base):
            base = _squeezed(base)
        base |= _read(ABOVE[over[0]])
    if under:
        base |= _read(BELOW[under[0]], 7)
    return base


def _squeezed(shape: Shape) -> Shape:
    """Seven rows made five, in rows 2 to 6, by leaving out the two that are most like their neighbours."""
    rows = [frozenset(column for column, row in shape if row == number) for number in range(_ROWS)]

    def loss(out: tuple[int, int]) -> tuple[int, int]:
        kept = [row for row in range(7) if row not in out]
        near = [min(len(rows[row] ^ rows[other]) for other in kept if abs(other - row) <= 2) for row in out]
        return sum(near), abs(sum(out) - 6)

    first, second = min(combinations(range(1, 6), 2), key=loss)
    kept = [row for row in range(7) if row not in (first, second)]
    places = dict(zip(kept, range(2, 7), strict=True)) | {7: 7, 8: 8}
    return frozenset((column, places[row]) for column, row in shape if row in places)


def _code_point_box(char: str, pitch: int) -> list[tuple[int, int]]:
    """A frame with the code point in hexadecimal, two lines of small digits; finer dots than the head's."""
    from cheque.picture.dotface_lines import DIGITS

    digits = f"{ord(char):04X}"
    digits = digits.rjust(len(digits) + len(digits) % 2, "0")
    across = len(digits) // 2
    wide, deep = 4 * across + 3, 15
    fine = {(x, y) for x in range(wide) for y in range(deep) if x in (0, wide - 1) or y in (0, deep - 1)}
    for place, digit in enumerate(digits):
        left, top = 2 + place % across * 4, 2 + place // across * 6
        fine |= {(left + x, top + y) for y, row in enumerate(DIGITS[digit]) for x, dot in enumerate(row) if dot == "o"}
    return [((x + 1) * pitch // (wide + 1), (y + 1) * DEPTH // (deep + 1)) for x, y in sorted(fine)]
