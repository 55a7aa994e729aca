"""What the readers share: tables of every phrase below a thousand, and the walk down the scale words.

A grammar is small tables of words with their values, and two ways to combine them. `sums` gives every head,
every tail and every head followed by a tail; so "two hundred" and "thirty-four" make "two hundred
thirty-four", 234. No phrase may stand for two numbers: `union` refuses it when the table is built.

Phrases are kept with the blank that stands before them (" thirty-four"), so that a missing or doubled blank
is a phrase unknown, and compounds written in one word need no other way.

>>> sums({" twenty": 20}, "-", {"one": 1})
{' twenty-one': 21}
>>> union({" one": 1}, {" one": 2})
Traceback (most recent call last):
  ...
ValueError: ' one' would be both 1 and 2
"""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

Table = dict[str, int]
#: How letters are replaced on the way to the printer (`str` when none are): applied to the reader's own words.
Fold = Callable[[str], str]


class Reader(NamedTuple):
    """What reads one language.

    read: words (in small letters) and the form they count in ("m", "f", "n") to a number; KeyError if not one.
    unit_form: which form of a unit's name must stand beside that number.
    """

    read: Callable[[str, str], int]
    unit_form: Callable[[int], int]


class Scale(NamedTuple):
    """A scale word: its mark, its size, what may stand before it, and what may follow it to the end."""

    mark: str
    size: int
    heads: Callable[[str], int]
    after: Mapping[str, int]


def union(*tables: Mapping[str, int]) -> Table:
    """All phrases of all tables; ValueError when one would stand for two numbers."""
    whole: Table = {}
    for table in tables:
        for phrase, value in table.items():
            if whole.setdefault(phrase, value) != value:
                raise ValueError(f"{phrase!r} would be both {whole[phrase]} and {value}")
    return whole


def sums(heads: Mapping[str, int], link: str, tails: Mapping[str, int]) -> Table:
    """Every head followed by every tail, with the sum of their values."""
    return {f"{head}{link}{tail}": a + b for head, a in heads.items() for tail, b in tails.items()}


def times(heads: Mapping[str, int], word: str, size: int) -> Table:
    """Every head followed by a word that multiplies it ("two" and "hundred": 200)."""
    return {f"{head}{word}": value * size for head, value in heads.items()}


def numbered(words: str, start: int = 1, step: int = 1) -> Table:
    """Words in order, counted from `start` by `step`."""
    return {word: start + step * index for index, word in enumerate(words.split())}


def led(table: Mapping[str, int], lead: str = " ") -> Table:
    """The phrases with something before each (a blank, unless another is given)."""
    return {f"{lead}{phrase}": value for phrase, value in table.items()}


def folded(table: Mapping[str, int], fold: Fold) -> Table:
    """The phrases with their letters replaced; ValueError when that makes two of them the same."""
    return union(*({fold(phrase): value} for phrase, value in table.items()))


def only(table: Mapping[str, int], low: int, high: int = 999) -> Table:
    """The phrases whose value lies in that range, both ends among them."""
    return {phrase: value for phrase, value in table.items() if low <= value <= high}


def descend(text: str, scales: Sequence[Scale], first: Mapping[str, int]) -> int:
    """The number of a text that begins with a blank, scale by scale, each size at most once, in order.

    `first` holds what may stand alone, without any scale word. KeyError when anything else is found.
    """
    total, size = 0, 0
    after: Mapping[str, int] = first
    for scale in scales:
        head, mark, rest = text.partition(scale.mark)
        if not mark:
            continue
        if scale.size == size:
            raise KeyError(text)
        total += scale.heads(head) * scale.size
        text, size, after = rest, scale.size, scale.after
    return total + after[text] if text or not size else total
