"""Characters that a register may not hold: those that steer a printer or a screen, or that cannot be seen.

By the general categories of the Unicode Character Database (Unicode Standard, chapter 4): Cc control, Cf
format (the bidirectional and most zero-width characters are in it), Cs surrogate, Co private use, Cn
unassigned, Zl and Zp line and paragraph separators. Also refused: every blank but the ordinary one (Zs but
U+0020), because two names that differ only in their blanks look alike; the characters that the Unicode
property Default_Ignorable_Code_Point makes invisible though they are letters or marks; and U+FFFD, which
some earlier program put where it could not read.

>>> refused("Berg\\x1b@")
[(5, 'U+001B (a control character)')]
>>> refused("Berg\\u202eanna")
[(5, 'U+202E RIGHT-TO-LEFT OVERRIDE (a bidirectional control)')]
>>> refused("Aurélie Thornquay")
[]
"""

import unicodedata
from functools import cache

from cheque.shown import SHOWN, shown
from cheque.tongue import mark, tr

__all__ = ["SHOWN", "described", "reason", "refused", "shown"]

_BY_CATEGORY = {
    "Cc": mark("a control character"),
    "Cf": mark("an invisible format character"),
    "Cs": mark("a surrogate"),
    "Co": mark("a private-use character"),
    "Cn": mark("an unassigned code point"),
    "Zl": mark("a line separator"),
    "Zp": mark("a paragraph separator"),
    "Zs": mark("a blank other than the ordinary one"),
}
# UAX #9, table of explicit directional formatting characters, and the three implicit marks.
_BIDIRECTIONAL = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_ZERO_WIDTH = frozenset("\u200b\u200c\u200d\u2060\ufeff\u180e")
# Default_Ignorable_Code_Point but not Cf or Cn (DerivedCoreProperties.txt), and the Braille blank.
_INVISIBLE = frozenset(
    "\u034f\u115f\u1160\u17b4\u17b5\u180b\u180c\u180d\u180f\u3164\uffa0\u2800"
    + "".join(map(chr, range(0xFE00, 0xFE10)))
    + "".join(map(chr, range(0xE0100, 0xE01F0)))
)


def reason(character: str) -> str:
    """Why a register may not hold this character, or "" when it may.

    >>> reason("\\u00a0")
    'a blank other than the ordinary one'
    """
    return tr(_reason(character))


@cache
def _reason(character: str) -> str:
    if character == " ":
        return ""
    if character in _BIDIRECTIONAL:
        return mark("a bidirectional control")
    if character in _ZERO_WIDTH:
        return mark("a zero-width character")
    if character in _INVISIBLE:
        return mark("an invisible character")
    if character == "\ufffd":
        return mark("the mark of text damaged earlier")
    return _BY_CATEGORY.get(unicodedata.category(character), "")


def refused(text: str) -> list[tuple[int, str]]:
    """Every character that may not stand in the text: its position, counted from 1, and what it is."""
    return [(place, f"{described(c)} ({reason(c)})") for place, c in enumerate(text, 1) if _reason(c)]


def described(character: str) -> str:
    """Code point and name, never the character itself: it must not steer the reader's screen either.

    >>> described("₹")
    'U+20B9 INDIAN RUPEE SIGN'
    """
    return f"U+{ord(character):04X} {unicodedata.name(character, '')}".rstrip()
