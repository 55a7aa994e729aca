"""Reads Dutch back. See `cheque.wording.reading`.

The unit stands before the ten, joined by *en*, with a diaeresis after *twee* and *drie*; a space follows *duizend*.
"""

from cheque.wording.reading.grammar import (
    Fold,
    Reader,
    Scale,
    descend,
    folded,
    led,
    numbered,
    only,
    sums,
    times,
    union,
)

UNITS = numbered("een twee drie vier vijf zes zeven acht negen")
TEENS = numbered(
    "tien elf twaalf dertien veertien vijftien zestien zeventien achttien negentien",
    10,
)
TENS = numbered("twintig dertig veertig vijftig zestig zeventig tachtig negentig", 20, 10)
#: units that end in a vowel, after which "en" is written "ën"
OPEN = only(UNITS, 2, 3)
CLOSED = {word: value for word, value in UNITS.items() if word not in OPEN}


def dutch(fold: Fold) -> Reader:
    """Numbers below a thousand in one word; no *een* before *honderd* and *duizend*."""
    below = union(UNITS, TEENS, TENS, sums(OPEN, "ën", TENS), sums(CLOSED, "en", TENS))
    hundreds = union({"honderd": 100}, times(only(UNITS, 2), "honderd", 100))
    group = folded(led(union(below, hundreds, sums(hundreds, "", below))), fold)
    thousands = union({" ": 1}, only(group, 2))
    scales = (
        Scale(" miljard", 10**9, group.__getitem__, group),
        Scale(" miljoen", 10**6, group.__getitem__, group),
        Scale("duizend", 1000, thousands.__getitem__, group),
    )
    first = union(group, {" nul": 0})

    def read(text: str, form: str) -> int:
        return descend(f" {text}", scales, first)

    return Reader(read, unit_form)


def unit_form(number: int) -> int:
    """One unit; and no units and two units, where the noun has a plural after numbers at all."""
    return int(number != 1)
