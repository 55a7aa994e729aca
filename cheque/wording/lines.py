"""Breaking a legal amount into the lines that a form has for it, between words only."""

from collections.abc import Sequence


def break_lines(text: str, widths: Sequence[int]) -> tuple[str, ...] | None:
    """The text in lines of at most those widths (columns), or None when it does not fit.

    One line for each width, in order; lines that are not needed come back empty, so that they can be closed
    wholly. Each line takes as many words as it holds, which fits whenever anything fits; compounds with a
    hyphen stay whole. Nothing is shortened.

    >>> break_lines("One thousand two hundred thirty-four and 56/100", (24, 30))
    ('One thousand two hundred', 'thirty-four and 56/100')
    >>> break_lines("One and 00/100", (24, 30))
    ('One and 00/100', '')
    >>> break_lines("One thousand two hundred thirty-four and 56/100", (24,)) is None
    True
    """
    lines = []
    left = text
    for width in widths:
        if len(left) <= width:
            line, left = left, ""
        else:
            line, left = _first(left, width)
        lines.append(line)
        if not line and left:
            return None
    return None if left else tuple(lines)


def _first(text: str, width: int) -> tuple[str, str]:
    """As many whole words as `width` columns hold, and the rest; no words when the first is too long."""
    place = text.rfind(" ", 0, width + 1)
    return ("", text) if place < 0 else (text[:place], text[place + 1 :])
