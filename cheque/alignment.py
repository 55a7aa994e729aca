"""Lining up: what the operator reads off the paper, and the shift that puts it right.

A reading says how the print stands: "2 dots right, 1 line low". The shift that mends it goes the other way. A
dot is the smallest step that the printer's language can place in that direction.

>>> read("two dots right, 1 line low", Dots(across=INCH // 60, down=INCH // 216), INCH // 10, INCH // 6)
Shift(right=-91440, down=-457200)
"""

import re
from fractions import Fraction
from typing import NamedTuple

from cheque.form.model import Form
from cheque.form.slack import max_shift
from cheque.language import Language, Look, Printer
from cheque.page import Mark, Shift
from cheque.tongue import tr
from cheque.units import INCH, exact, read_length, write_length

_NUMBERS = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
_PIECE = re.compile(
    r"(?P<number>[0-9]+(?:[ ]+[0-9]+/[0-9]+|/[0-9]+)?|a|half a|" + "|".join(_NUMBERS) + r")\s+"
    r"(?P<unit>dot|line|column)s?\s+(?P<way>right|left|low|high)|"
    r"(?P<length>[0-9][0-9 ./]*\s*(?:in|mm))\s+(?P<toward>right|left|low|high)"
)
#: finest first: the smallest of these that a language can place exactly is its dot
_ACROSS = tuple(INCH // parts for parts in (360, 240, 180, 120, 60, 20, 15, 12, 10))


class Dots(NamedTuple):
    """The smallest steps of a printer, across and down (units)."""

    across: int
    down: int


def dots(language: Language, look: Look, printer: Printer, pitch: int) -> Dots:
    """The smallest steps that this language on this printer can place exactly."""
    for step in _ACROSS:
        if not language.cannot(look, (Mark(step, 0, pitch, 0, "X"), Mark(pitch * 3 + step, 0, pitch, 0, "X")), printer):
            return Dots(step, printer.step)
    return Dots(pitch, printer.step)


def read(text: str, dot: Dots, pitch: int, spacing: int) -> Shift:
    """The shift that mends what a reading describes. ValueError with what cannot be read in it."""
    right = down = 0
    for piece in text.lower().replace(" and ", ",").split(","):
        match = _PIECE.fullmatch(piece.strip())
        if not match:
            raise ValueError(
                tr(
                    "{strip!r} is not a reading such as '2 dots right', '1 line low' or '1/16 in left'",
                    strip=piece.strip(),
                )
            )
        way = match["way"] or match["toward"]
        across = way in ("right", "left")
        if match["length"]:
            length = read_length(match["length"])
        else:
            unit = {"dot": dot.across if across else dot.down, "line": spacing, "column": pitch}[match["unit"]]
            length = exact(_number(match["number"]) * unit)
        if way in ("right", "low"):
            length = -length
        if across:
            right += length
        else:
            down += length
    return Shift(right, down)


def _number(text: str) -> Fraction:
    if text in ("a", "half a"):
        return Fraction(1) if text == "a" else Fraction(1, 2)
    if text in _NUMBERS:
        return Fraction(_NUMBERS.index(text) + 1)
    return sum((Fraction(part) for part in text.split()), Fraction(0))


def judge(form: Form, shift: Shift, dot: Dots) -> list[str]:
    """Why a shift may not be kept: finer than the printer can place, or greater than the form's slack."""
    reasons = []
    if shift.right % dot.across or shift.down % dot.down:
        reasons.append(
            tr(
                "it is not a whole number of the printer's dots, {write_length} across and {write_length2} down",
                write_length=write_length(dot.across),
                write_length2=write_length(dot.down),
            )
        )
    room = max_shift(form)
    for name, by, most in (
        ("right", shift.right, room.right),
        ("left", -shift.right, room.left),
        ("down", shift.down, room.down),
        ("up", -shift.down, room.up),
    ):
        if by > most:
            reasons.append(
                tr(
                    "it moves the print {write_length} {name}, and some field has only {write_length2} of slack "
                    "there: move the paper in the tractors instead",
                    write_length=write_length(by),
                    name=name,
                    write_length2=write_length(most),
                )
            )
    return reasons


def written(shift: Shift) -> str:
    """A shift in words."""
    if shift == Shift():
        return tr("not shifted")
    across = f"{write_length(abs(shift.right))} {'right' if shift.right > 0 else 'left'}" if shift.right else ""
    down = f"{write_length(abs(shift.down))} {'down' if shift.down > 0 else 'up'}" if shift.down else ""
    return tr("shifted ") + tr(" and ").join(part for part in (across, down) if part)
