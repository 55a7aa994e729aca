"""Reads English back: American, British, Indian. Own word lists; see `cheque.wording.reading`."""

from collections.abc import Mapping

from cheque.wording.reading.grammar import (
    Fold,
    Reader,
    Scale,
    Table,
    descend,
    folded,
    led,
    numbered,
    only,
    sums,
    times,
    union,
)

UNITS = numbered("one two three four five six seven eight nine")
TEENS = numbered(
    "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen",
    10,
)
TENS = numbered("twenty thirty forty fifty sixty seventy eighty ninety", 20, 10)
BELOW = union(UNITS, TEENS, TENS, sums(TENS, "-", UNITS))
HUNDREDS = times(UNITS, " hundred", 100)


def american(fold: Fold) -> Reader:
    """No "and": "one thousand two hundred thirty-four"; also "twelve hundred thirty-four", to 9,999."""
    group = folded(led(union(BELOW, HUNDREDS, sums(HUNDREDS, " ", BELOW))), fold)
    first = union(group, {" zero": 0})
    scales = _scales(group, group)
    counts = {phrase: value for phrase, value in led(BELOW).items() if value > 10 and value % 10}
    below = led(BELOW)

    def read(text: str, form: str) -> int:
        text = f" {text}"
        head, mark, rest = text.partition(" hundred")
        if mark and head in counts:
            return counts[head] * 100 + (below[rest] if rest else 0)
        return descend(text, scales, first)

    return Reader(read, unit_form)


def british(fold: Fold) -> Reader:
    """ "And" before tens and units, also after thousands: "one thousand and five"."""
    group = folded(led(union(BELOW, HUNDREDS, sums(HUNDREDS, " and ", BELOW))), fold)
    first = union(group, {" zero": 0})
    scales = _scales(group, union(only(group, 100), led(BELOW, " and ")))

    def read(text: str, form: str) -> int:
        return descend(f" {text}", scales, first)

    return Reader(read, unit_form)


def indian(fold: Fold) -> Reader:
    """Lakh and crore; crores counted to 99,999 by thousands and hundreds; no "and"."""
    group = folded(led(union(BELOW, HUNDREDS, sums(HUNDREDS, " ", BELOW))), fold)
    first = union(group, {" zero": 0})
    small = folded(led(BELOW), fold)
    thousand = Scale(" thousand", 1000, small.__getitem__, group)

    def crores(text: str) -> int:
        return descend(text, (thousand,), group)

    scales = (
        Scale(" crore", 10**7, crores, group),
        Scale(" lakh", 10**5, small.__getitem__, group),
        thousand,
    )

    def read(text: str, form: str) -> int:
        return descend(f" {text}", scales, first)

    return Reader(read, unit_form)


def unit_form(number: int) -> int:
    """One pound, but no pounds and two pounds."""
    return int(number != 1)


def _scales(heads: Table, after: Mapping[str, int]) -> tuple[Scale, ...]:
    sizes = ((" billion", 10**9), (" million", 10**6), (" thousand", 1000))
    return tuple(Scale(mark, size, heads.__getitem__, after) for mark, size in sizes)
