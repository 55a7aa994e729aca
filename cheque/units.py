"""Exact lengths: whole numbers of one small unit.

The unit is 1/2,743,200 in, because every step of the trade is a whole number of it: 1/216, 1/180, 1/360,
1/72, 1/120 and 1/60 in of the printer languages, 1/10, 1/12, 1/15, 7/120 and 1/20 in of the pitches,
1/1440 in, and one micrometre (1 in = 25.4 mm exactly, by the international yard and pound agreement of 1959).
A length is a plain `int` of these units; nothing here, and nothing that uses it, makes a float.

>>> inch(1) == 216 * (inch(1) // 216) == 180 * (inch(1) // 180)
True
>>> read_length("8 1/2 in") == inch(Fraction(17, 2))
True
>>> read_length("92 mm") == 92 * MILLIMETRE
True
>>> write_length(read_length("3 2/3 in")), write_length(read_length("92 mm"))
('3 2/3 in', '92 mm')
"""

import re
from fractions import Fraction

from cheque.tongue import tr

INCH = 2_743_200
MILLIMETRE = INCH * 5 // 127
POINT = INCH // 72

_LENGTH = re.compile(
    r"(?P<sign>-?)\s*(?:(?P<whole>\d+)(?:\.(?P<decimals>\d+)|\s+(?P<part>\d+/\d+))?|(?P<only>\d+/\d+))"
    r"\s*(?P<unit>in|mm|cm|pt)"
)
_UNITS = {"in": INCH, "mm": MILLIMETRE, "cm": 10 * MILLIMETRE, "pt": POINT}


def exact(value: Fraction) -> int:
    """A whole number of units from a fraction of them; ValueError when it is not whole."""
    if value.denominator != 1:
        raise ValueError(tr("{value} is not a whole number of units of 1/{inch} in", value=value, inch=INCH))
    return value.numerator


def inch(value: int | Fraction) -> int:
    """Inches to units, exactly."""
    return exact(Fraction(value) * INCH)


def read_length(text: str) -> int:
    """A length written by a person ("8 1/2 in", "3.5 in", "92 mm", "1/4 in") to units, exactly.

    Raises ValueError for what is not a length, and for one finer than the unit.
    """
    match = _LENGTH.fullmatch(text.strip())
    if not match:
        raise ValueError(tr("{text!r} is not a length such as '8 1/2 in', '3.5 in' or '92 mm'", text=text))
    try:
        if match["only"]:
            value = Fraction(match["only"])
        else:
            value = Fraction(f"{match['whole']}.{match['decimals'] or 0}") + Fraction(match["part"] or 0)
    except ZeroDivisionError:
        raise ValueError(tr("{text!r} divides by zero", text=text)) from None
    units = exact(value * _UNITS[match["unit"]])
    return -units if match["sign"] else units


def write_length(units: int) -> str:
    """Units as inches with a common fraction when the denominator is at most 360, else as millimetres.

    A length that was measured in millimetres (127 in the denominator: 1 in = 127/5 mm) is written in them.
    """
    inches = Fraction(units, INCH)
    if inches.denominator > 360 or inches.denominator % 127 == 0:
        mm = Fraction(units, MILLIMETRE)
        if 10**6 % mm.denominator == 0:
            digits = mm.numerator * (10**6 // mm.denominator)
            sign = "-" if digits < 0 else ""
            whole, part = divmod(abs(digits), 10**6)
            return f"{sign}{whole}.{part:06d}".rstrip("0").rstrip(".") + " mm"
    sign = "-" if inches < 0 else ""
    whole, rest = divmod(abs(inches), 1)
    parts = [str(whole)] if whole or not rest else []
    if rest:
        parts.append(str(rest))
    return tr("{sign}{parts} in", sign=sign, parts=" ".join(parts))


def write_about(units: int) -> str:
    """A length for a person with a ruler: as `write_length`, but "about 1.06 mm" (never more than it is, when it is
    not negative) where the exact one would be a fraction that no ruler has.

    >>> write_about(INCH // 16), write_about(4 * MILLIMETRE)
    ('1/16 in', '4 mm')
    """
    inches, mm = Fraction(units, INCH), Fraction(units, MILLIMETRE)
    if 10**2 % mm.denominator == 0 or (inches.denominator <= 360 and inches.denominator % 127):
        return write_length(units)
    whole, hundredths = divmod(units * 100 // MILLIMETRE, 100)
    return tr("about {whole}.{hundredths:02d} mm", whole=whole, hundredths=hundredths)
