"""English: with "and" before tens and units (Britain), without (North America), and by lakh and crore (India).

Compounds from 21 to 99 take a hyphen. No comma stands between the orders, as num2words has it: a cheque has
no room for a mark that says nothing (common practice; ICU has none either).
"""

from cheque.wording.spelling import group

_SCALES = ((10**9, " billion"), (10**6, " million"), (1000, " thousand"))


def american(number: int, form: str = "m") -> str:
    """1234 is "one thousand two hundred thirty-four": no "and", which belongs before the cents."""
    return _spelled(number).replace(" and ", " ")


def british(number: int, form: str = "m") -> str:
    """1234 is "one thousand two hundred and thirty-four"; 1005 is "one thousand and five"."""
    return _spelled(number)


def indian(number: int, form: str = "m") -> str:
    """1234567 is "twelve lakh thirty-four thousand five hundred sixty-seven".

    A hundred thousand is a lakh, a hundred lakh a crore. Crores are counted by thousands, hundreds and
    tens, as ICU has it ("two thousand one hundred crore"); num2words stops at a thousand crore. No "and"
    inside: it stands between rupees and paise (common practice).
    """
    crores, rest = divmod(number, 10**7)
    lakhs, rest = divmod(rest, 10**5)
    parts = [f"{american(crores)} crore"] if crores else []
    if lakhs:
        parts.append(f"{group('en', lakhs)} lakh")
    if rest or not parts:
        parts.append(american(rest))
    return " ".join(parts)


def hundreds(number: int, form: str = "m") -> str | None:
    """1234 as "twelve hundred thirty-four": the shorter way of North America, for 1,100 to 9,999 only.

    None where it is not said: whole thousands and their first hundred ("ten hundred" is no English).
    """
    count, rest = divmod(number, 100)
    if not 11 <= count <= 99 or count % 10 == 0:
        return None
    words = f"{group('en', count)} hundred"
    return f"{words} {group('en', rest)}" if rest else words


def unit_form(number: int) -> int:
    """Which form of a unit's name follows the number: 0 for one, 1 for every other."""
    return 0 if number == 1 else 1


def _spelled(number: int) -> str:
    if number < 1000:
        return group("en", number)
    parts = ""
    for size, name in _SCALES:
        count, number = divmod(number, size)
        if count:
            parts += f" {group('en', count)}{name}"
    if number:
        parts += f" {group('en', number)}" if number >= 100 else f" and {group('en', number)}"
    return parts[1:]
