"""The line face, ready to draw: strokes of a piece of text, and how wide it sets.

Coordinates are tenths of the grid of `cheque.picture.lineface_data`, so that they are whole numbers: an em is
200, a capital 140 high, y up from the line. A character that the line face lacks is set from the dot face,
and so never left out.
"""

import unicodedata
from functools import cache
from typing import NamedTuple

#: grid units of one em of type
EM = 200
#: height of a capital
CAPITAL = 140
#: from the top of the type's room down to the line the letters stand on
ASCENT = 160
#: stroke widths
REGULAR, BOLD = 13, 23

_SIDE = 20  # room on each side of a character's ink
_SPACE = 74
_KAPPA = 5523  # in 10,000: a quarter of an ellipse as one cubic curve

#: one stroke: a list of points for each command: ("m", x, y), ("l", x, y) or ("c", x1, y1, x2, y2, x, y)
Command = tuple[str, tuple[int, ...]]


class Glyph(NamedTuple):
    """One character: its advance, and its strokes; `dots` are points when it had to come from the dot face."""

    advance: int
    strokes: tuple[Command, ...]
    dots: tuple[tuple[int, int], ...] = ()


def width(text: str) -> int:
    """How far a text sets, in tenths of the grid (an em is 200)."""
    return sum(glyph(char).advance for char in text)


@cache
def glyph(char: str) -> Glyph:
    """One character of the line face."""
    if char in " \u00a0":
        return Glyph(_SPACE, ())
    found = _letters().get(char) or _composed(char)
    return found or _from_dots(char)


@cache
def _letters() -> dict[str, Glyph]:
    from cheque.picture.lineface_data import LETTERS

    letters = {}
    for line in LETTERS.replace("\n  ", " ").strip().splitlines():
        char, wide, strokes = line.split(" ", 2)
        letters[char] = Glyph(_tenth(wide) + 2 * _SIDE, _strokes(strokes, _SIDE, 0))
    return letters


def _tenth(number: str) -> int:
    whole, _, part = number.partition(".")
    return int(whole + (part or "0"))


def _strokes(text: str, right: int, up: int) -> tuple[Command, ...]:
    commands: list[Command] = []
    words = iter(text.split())
    x = y = 0
    for word in words:
        points = [_tenth(next(words)) + (up if n % 2 else right) for n in range(4 if word == "k" else 2)]
        if word == "k":
            cx, cy, end_x, end_y = points
            first = (_toward(x, cx), _toward(y, cy))
            second = (_toward(end_x, cx), _toward(end_y, cy))
            commands.append(("c", (*first, *second, end_x, end_y)))
        else:
            commands.append((word, tuple(points)))
        x, y = points[-2:]
    return tuple(commands)


def _toward(place: int, corner: int) -> int:
    return place + _KAPPA * (corner - place) // 10_000


def _composed(char: str) -> Glyph | None:
    from cheque.picture.lineface_data import ABOVE, BELOW

    pieces = unicodedata.normalize("NFD", char)
    letter, marks = pieces[0], pieces[1:]
    if len(marks) != 1 or marks not in ABOVE | BELOW:
        return None
    over = marks in ABOVE
    base = _letters().get({"i": "ı", "j": "ȷ"}.get(letter, letter) if over else letter)
    if base is None:
        return None
    up = 40 if over and (letter.isupper() or letter in "bdfhklt") else 0
    mark = _strokes((ABOVE | BELOW)[marks], base.advance // 2, up)
    return Glyph(base.advance, base.strokes + mark)


def _from_dots(char: str) -> Glyph:
    from cheque.picture.dotface import ROW, dots

    pitch = ROW * 36 // 5  # 10 to the inch, for the proportions
    points = [(x * 20 // ROW, CAPITAL - y * 20 // ROW) for x, y in dots(char, pitch).centres]
    return Glyph(pitch * 20 // ROW, (), tuple(points))


def flattened(strokes: tuple[Command, ...], pieces: int = 8) -> list[list[tuple[int, int]]]:
    """Strokes as chains of straight pieces, for pictures made of dots; whole numbers again."""
    chains: list[list[tuple[int, int]]] = []
    for kind, points in strokes:
        if kind == "m":
            chains.append([(points[0], points[1])])
        elif kind == "l":
            chains[-1].append((points[0], points[1]))
        else:
            x0, y0 = chains[-1][-1]
            x1, y1, x2, y2, x3, y3 = points
            for n in range(1, pieces + 1):
                t, u = n, pieces - n
                weights = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
                whole = pieces**3
                x = sum(w * v for w, v in zip(weights, (x0, x1, x2, x3), strict=True)) // whole
                y = sum(w * v for w, v in zip(weights, (y0, y1, y2, y3), strict=True)) // whole
                chains[-1].append((x, y))
    return chains
