"""The shapes that pass between layout, language, prove and picture: what is struck, and where.

Lengths are units of `cheque.units`. x runs right from the print head's first column, y down from the top
line of the form as it stands at the head; both are the place of a character cell's upper left corner.
"""

from enum import IntFlag
from typing import NamedTuple

from cheque.tongue import tr


class Weight(IntFlag):
    """How hard a character is struck. Later parts of a set need DOUBLE (each line struck twice) or BOLD."""

    NORMAL = 0
    DOUBLE = 1
    BOLD = 2


class Mark(NamedTuple):
    """Characters struck side by side: the first at (x, y), each next one `pitch` further right.

    `text` may hold blanks where it is asked for; in a canonical page it holds none.
    """

    x: int
    y: int
    pitch: int
    weight: int
    text: str


class Slot(NamedTuple):
    """The place kept for a form's number: `width` characters, the number at its left end.

    `ahead`: how many forms further on the one is whose number stands here; 0 is the form's own, less than 0 is one
    before it. The forms of one payment follow each other in one box, so the number is known by counting.
    """

    x: int
    y: int
    pitch: int
    weight: int
    width: int
    ahead: int = 0

    def shows(self, number: str) -> str:
        """What stands here on the form of this number (as preprinted, or a stand-in that is no number).

        >>> Slot(0, 0, 10, 0, 6, ahead=1).shows("000099"), Slot(0, 0, 10, 0, 6, ahead=1).shows("------")
        ('000100', '------')
        """
        if not self.ahead or not (number.isascii() and number.isdigit()):
            return number
        return str(int(number) + self.ahead).zfill(len(number))


class Page(NamedTuple):
    """One form as laid out: what is struck, and the slots that the number goes into."""

    marks: tuple[Mark, ...]
    slots: tuple[Slot, ...] = ()

    def numbered(self, number: str) -> tuple[Mark, ...]:
        """All marks, with `number` in every slot. ValueError when it does not fit."""
        struck = [(slot, slot.shows(number)) for slot in self.slots]
        for slot, text in struck:
            if len(text) > slot.width:
                raise ValueError(
                    tr("number {number} is longer than its place of {width} characters", number=text, width=slot.width)
                )
        return self.marks + tuple(Mark(s.x, s.y, s.pitch, s.weight, text) for s, text in struck)


class Shift(NamedTuple):
    """The whole print moved right and down (units; negative is left and up)."""

    right: int = 0
    down: int = 0


def feed_steps(length: int, step: int, k: int) -> int:
    """Steps that feed form number k (from 0, counted from the last time paper was loaded).

    floor((k+1)L/u) - floor(kL/u): the error stays under one step for ever, and no remainder is kept.

    >>> [feed_steps(7, 2, k) for k in range(4)]
    [3, 4, 3, 4]
    """
    return (k + 1) * length // step - k * length // step
