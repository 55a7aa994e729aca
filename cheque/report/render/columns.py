"""Text in columns of a fixed pitch: how wide a text is, how it wraps, how the room is shared out.

Nothing is cut: what is too long for its column goes on in the next line of the same column.

>>> wrapped("wrong hours, to be printed again", 14)
['wrong hours,', 'to be printed', 'again']
>>> allotted([6, 30, 12], [6, 8, 12], room=40)
[6, 22, 12]
"""

from collections.abc import Sequence
from unicodedata import combining, east_asian_width


def width_of(text: str) -> int:
    """Columns that a text takes: two for a wide character, none for one that combines with its neighbour."""
    if text.isascii():
        return len(text)
    return sum(0 if combining(c) else 2 if east_asian_width(c) in "WF" else 1 for c in text)


def wrapped(text: str, width: int) -> list[str]:
    """The text in lines of at most `width` columns, broken at blanks, inside a word only when it must be."""
    if width_of(text) <= width:
        return [text]
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        joined = f"{line} {word}" if line else word
        if width_of(joined) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        *full, line = _broken(word, width)
        lines += full
    return [*lines, line]


def _broken(word: str, width: int) -> list[str]:
    """A word in pieces of at most `width` columns (at least one character each)."""
    pieces, piece = [], ""
    for letter in word:
        if piece and width_of(piece + letter) > width:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]


def padded(text: str, width: int, *, right: bool = False) -> str:
    """The text filled up with blanks to `width` columns."""
    blanks = " " * (width - width_of(text))
    return blanks + text if right else text + blanks


def allotted(natural: Sequence[int], *least: Sequence[int], room: int) -> list[int]:
    """A width for each column: its natural one where there is room; else the widest give way.

    None gets less than its least width as long as that can be; where it cannot, the next of `least` holds, and
    in the end one column each, so that the sum may pass a tiny room.
    """
    for floors in (*least, [1] * len(natural)):
        if sum(natural) <= room:
            return list(natural)
        low, high = 0, max(natural)
        while low < high:  # the highest limit on every column under which all of them fit
            limit = (low + high + 1) // 2
            if sum(_limited(natural, floors, limit)) <= room:
                low = limit
            else:
                high = limit - 1
        widths = _limited(natural, floors, low)
        if sum(widths) <= room:
            return _shared(widths, natural, room - sum(widths))
    return widths


def _limited(natural: Sequence[int], floors: Sequence[int], limit: int) -> list[int]:
    return [max(min(n, limit), min(n, floor), 1) for n, floor in zip(natural, floors, strict=True)]


def _shared(widths: list[int], natural: Sequence[int], left: int) -> list[int]:
    """What is left over, a column each to those that could use it."""
    for place, wanted in enumerate(natural):
        if left and widths[place] < wanted:
            widths[place] += 1
            left -= 1
    return widths
