"""Reads a legal amount back into minor units, strictly: what is not exactly an amount is an error.

Written from the wording that the trade uses, and from nothing else, so that it can contradict the tool:

* en_US: "One thousand two hundred thirty-four and 56/100". A capital first, the rest small; whole dollars
  without "and" inside; "no/100" or "00/100" where there are no cents.
* en_GB: "One thousand two hundred and thirty-four pounds and fifty-six pence only", capitals as you like;
  "and" before the tens and units; "one pound", "one penny"; "only" may be left out; "fifty-six pence only"
  under a pound.
"""

import re

UNITS = {
    "zero": 0,
    "one": 1,
    "two": 2,
    "three": 3,
    "four": 4,
    "five": 5,
    "six": 6,
    "seven": 7,
    "eight": 8,
    "nine": 9,
    "ten": 10,
    "eleven": 11,
    "twelve": 12,
    "thirteen": 13,
    "fourteen": 14,
    "fifteen": 15,
    "sixteen": 16,
    "seventeen": 17,
    "eighteen": 18,
    "nineteen": 19,
}
TENS = {
    "twenty": 20,
    "thirty": 30,
    "forty": 40,
    "fifty": 50,
    "sixty": 60,
    "seventy": 70,
    "eighty": 80,
    "ninety": 90,
}
SCALES = {"quadrillion": 10**15, "trillion": 10**12, "billion": 10**9, "million": 10**6, "thousand": 10**3}

AMERICAN = re.compile(r"([A-Z][a-z -]*[a-z]) and ([0-9]{2}|no)/100")
BRITISH = re.compile(
    r"(?:(?P<whole>[a-z -]+) (?P<pound>pounds?))?"
    r"(?P<joined> and )?"
    r"(?:(?P<part>[a-z-]+) (?P<penny>pence|penny))?"
    r"(?: only)?"
)


class NotAnAmountError(ValueError):
    """The text is not exactly an amount in words."""


def read(text: str, locale: str) -> int:
    """The minor units that a legal amount in this locale stands for."""
    readers = {"en_US": read_us, "en_GB": read_gb}
    if locale not in readers:
        raise ValueError(f"no reader for {locale!r}")
    return readers[locale](text)


def read_us(text: str) -> int:
    """Cents from an American legal amount."""
    match = AMERICAN.fullmatch(text)
    if match is None:
        raise NotAnAmountError(f"not an amount: {text!r}")
    words, cents = match.groups()
    return 100 * _whole(words[0].lower() + words[1:], british=False) + (0 if cents == "no" else int(cents))


def read_gb(text: str) -> int:
    """Pence from a British legal amount."""
    match = BRITISH.fullmatch(text.lower()) if text.isascii() else None
    if match is None:
        raise NotAnAmountError(f"not an amount: {text!r}")
    whole, part = match["whole"], match["part"]
    both, neither = None not in (whole, part), whole is None and part is None
    if neither or (match["joined"] is not None) != both:
        raise NotAnAmountError(f"not an amount: {text!r}")
    pounds = _whole(whole, british=True) if whole is not None else 0
    pence = _under_hundred(part) if part is not None else 0
    if whole is not None and (pounds == 1) != (match["pound"] == "pound"):
        raise NotAnAmountError(f"one pound, or pounds: {text!r}")
    if part is not None and (pence == 1) != (match["penny"] == "penny"):
        raise NotAnAmountError(f"one penny, or pence: {text!r}")
    return 100 * pounds + pence


def _under_hundred(text: str) -> int:
    """One to ninety-nine."""
    tens, hyphen, unit = text.partition("-")
    if not hyphen and (text in TENS or UNITS.get(text)):
        return TENS.get(text) or UNITS[text]
    if tens in TENS and 1 <= UNITS.get(unit, 0) <= 9:
        return TENS[tens] + UNITS[unit]
    raise NotAnAmountError(f"not a number under a hundred: {text!r}")


def _under_thousand(words: list[str], *, british: bool) -> int:
    """One to nine hundred and ninety-nine."""
    if len(words) < 2 or words[1] != "hundred":
        return _under_hundred(" ".join(words))
    if not 1 <= UNITS.get(words[0], 0) <= 9:
        raise NotAnAmountError(f"not a number of hundreds: {words[0]!r}")
    value, rest = 100 * UNITS[words[0]], words[2:]
    if not rest:
        return value
    if british:
        if rest[0] != "and":
            raise NotAnAmountError("no 'and' after the hundreds")
        rest = rest[1:]
    return value + _under_hundred(" ".join(rest))


def _whole(text: str, *, british: bool) -> int:
    """A whole number in words, its scales falling."""
    if text == "zero":
        return 0
    words, total = text.split(" "), 0
    for scale, value in SCALES.items():
        if scale in words:
            end = words.index(scale)
            total += value * _under_thousand(words[:end], british=british)
            words = words[end + 1 :]
    if not words:
        return total
    if british and total and "hundred" not in words:
        if words[0] != "and":
            raise NotAnAmountError("no 'and' before the tens and units")
        words = words[1:]
    return total + _under_thousand(words, british=british)
