"""Breaking a legal amount into the lines that a form has for it, between words only."""

from collections.abc import Sequence


def break_lines(text: str, widths: Sequence[int]) -> tuple[str, ...] | None:
    """The text in lines of at most those widths (columns), or None when it does not fit.

    One line for each width, in order; lines that are not needed come back empty, so that they can be closed
    wholly. Each line takes as many words as it can hold and the rest still fit, at least one as long as words
    are left; compounds with a hyphen stay whole. Nothing is shortened.

    >>> break_lines("One thousand two hundred thirty-four and 56/100", (24, 30))
    ('One thousand two hundred', 'thirty-four and 56/100')
    >>> break_lines("One and 00/100", (24, 30))
    ('One and 00/100', '')
    >>> break_lines("One thousand two hundred thirty-four and 56/100", (24,)) is None
    True
    """
    if widths and len(text) <= widths[0]:
        return (text, *[""] * (len(widths) - 1))
    return _broken(text, 0, widths, set())


def _broken(text: str, start: int, widths: Sequence[int], dead: set[tuple[int, int]]) -> tuple[str, ...] | None:
    """The text from `start`, where a word begins, in lines of those widths; `dead` are starts known not to fit."""
    if start > len(text):
        return ("",) * len(widths)
    if not widths or (start, len(widths)) in dead:
        return None
    end = start + widths[0]
    place = len(text) if end >= len(text) else text.rfind(" ", start, end + 1)
    while place > start:
        rest = _broken(text, place + 1, widths[1:], dead)
        if rest is not None:
            return (text[start:place], *rest)
        place = text.rfind(" ", start, place)
    dead.add((start, len(widths)))
    return None
