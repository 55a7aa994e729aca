"""Date patterns: Y, M and D stand for the digits of a date in order, everything else for itself.

>>> write("MM/DD/YYYY", "2026-11-03")
'11/03/2026'
>>> write("D D M M Y Y Y Y", "2026-11-03")
'0 3 1 1 2 0 2 6'
>>> write("MM.YYYY", "2026-11-03")
Traceback (most recent call last):
ValueError: 'MM.YYYY' has 0 D, not 2
"""

from functools import lru_cache

from cheque.tongue import tr

ISO = "YYYY-MM-DD"
#: letter -> where its digits stand in ISO 8601 text
_DIGITS = {"Y": (0, 1, 2, 3), "M": (5, 6), "D": (8, 9)}


def check(pattern: str) -> str:
    """The pattern itself. ValueError when it does not give day, month and year exactly, each once."""
    for letter, places in _DIGITS.items():
        found = pattern.count(letter)
        allowed = (2, 4) if letter == "Y" else (2,)
        if found not in allowed:
            raise ValueError(
                tr(
                    "{pattern!r} has {found} {letter}, not {list}",
                    pattern=pattern,
                    found=found,
                    letter=letter,
                    list=tr(" or ").join(map(str, allowed)),
                )
            )
        del places
    strange = sorted({c for c in pattern if c.isalnum() and c not in _DIGITS})
    if strange:
        raise ValueError(
            tr(
                "{pattern!r} has {strange}, and only Y, M, D and marks are understood",
                pattern=pattern,
                strange=", ".join(strange),
            )
        )
    return pattern


@lru_cache(maxsize=64)
def _compiled(pattern: str) -> tuple[int | str, ...]:
    """For each character of the pattern, the index of its digit in the ISO text, or the mark itself."""
    check(pattern)
    queues = {letter: iter(places[-pattern.count(letter) :]) for letter, places in _DIGITS.items()}
    return tuple(next(queues[c]) if c in queues else c for c in pattern)


@lru_cache(maxsize=4096)
def write(pattern: str, iso: str) -> str:
    """A date in ISO 8601 text (YYYY-MM-DD), by the pattern; "" for "". ValueError for a bad pattern."""
    if not iso:
        return ""
    return "".join(iso[p] if isinstance(p, int) else p for p in _compiled(pattern))
