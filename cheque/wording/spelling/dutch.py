"""Dutch: a space after *duizend*, and round *miljoen* and *miljard* (Nederlandse Taalunie, Taaladvies,
"getallen in letters"; het Groene Boekje, Leidraad; from memory). num2words and ICU write it solid.

The number one is *een*, without the accents that num2words 0.5.14 puts on it: they mark stress where it could
be read as the article, and inside a word ("honderdeen") they never stand (same source). ICU has none.
"""

from cheque.wording.spelling import group

_SCALES = ((10**9, "miljard"), (10**6, "miljoen"))


def dutch(number: int, form: str = "m") -> str:
    """1234 is "duizend tweehonderdvierendertig"."""
    if number == 0:
        return group("nl", 0)
    parts = []
    for size, name in _SCALES:
        count, number = divmod(number, size)
        if count:
            parts.append(f"{_three(count)} {name}")
    count, number = divmod(number, 1000)
    if count:
        parts.append("duizend" if count == 1 else f"{_three(count)}duizend")
    if number:
        parts.append(_three(number))
    return " ".join(parts)


def unit_form(number: int) -> int:
    """Which form of a unit's name follows the number: 0 for one, 1 for every other."""
    return 0 if number == 1 else 1


def _three(number: int) -> str:
    return group("nl", number).replace("é", "e")
