"""The proof: a finished legal amount taken apart and read back to minor units, by code of its own.

The text is held against the style's phrases, whole and exactly: every word that is not a number must be the
phrase's, the currency's name must be that currency's and in the form that the number read asks for, figures
must have as many digits as the currency. The number words go to the language's reader, which shares nothing
with the speller, and where the style says so to text2num as well, a reader made by others.
"""

import re
from collections.abc import Callable, Mapping
from functools import partial
from typing import NamedTuple

from cheque.wording.letters import Substitute, small
from cheque.wording.reading.grammar import Reader
from cheque.wording.style import Style, phrases

_DIGIT = re.compile("[0-9]")


class Shape(NamedTuple):
    """One phrase as a pattern, and which forms of a name each of its texts is."""

    pattern: re.Pattern[str]
    units: Mapping[str, frozenset[int]]
    minors: Mapping[str, frozenset[int]]


class Proof(NamedTuple):
    """All that reading back amounts of one currency in one style needs: the phrases with figures, and without."""

    figured: tuple[Shape, ...]
    spelled: tuple[Shape, ...]
    reader: Reader
    gender: str
    minor_gender: str
    over: int
    second: Callable[[str], int] | None


def prepare(style: Style, currency: str, digits: int, substitute: Substitute | None) -> Proof:
    """The style's phrases as patterns and its language's reader, made ready once."""
    name = style.names[currency]
    ways = phrases(style, currency, digits)
    fold = partial(small, substitute=substitute)
    named = [(text, name.minor) for text in (ways.both, ways.whole, *ways.shorter)]
    named.append((ways.part, name.alone or name.minor))
    shapes = {
        text + "|".join(minor): _shape(fold(text), [fold(n) for n in name.unit], [fold(n) for n in minor], digits)
        for text, minor in named
    }
    second = _text2num(style.second) if style.second and not substitute else None
    figured = tuple(shape for text, shape in shapes.items() if "{figures}" in text)
    spelled = tuple(shape for text, shape in shapes.items() if "{figures}" not in text)
    return Proof(figured, spelled, style.reader(fold), name.gender, name.minor_gender, 10**digits, second)


def read(proof: Proof, text: str) -> int:
    """The minor units that a legal amount says. KeyError when it is none of this currency in this style."""
    text = text.lower()
    for shape in proof.figured if _DIGIT.search(text) else proof.spelled:
        if match := shape.pattern.fullmatch(text):
            try:
                return _value(proof, shape, match.groupdict())
            except KeyError:
                continue
    raise KeyError(text)


def _value(proof: Proof, shape: Shape, found: dict[str, str]) -> int:
    total = 0
    if "whole" in found:
        number = _number(proof, found["whole"], proof.gender)
        if "unit" in found and proof.reader.unit_form(number) not in shape.units[found["unit"]]:
            raise KeyError(found["unit"])
        total = number * proof.over
    if "part" in found:
        number = _number(proof, found["part"], proof.minor_gender)
        if proof.reader.unit_form(number) not in shape.minors[found["minor"]]:
            raise KeyError(found["minor"])
        if number >= proof.over:
            raise KeyError(found["part"])
        return total + number
    return total + int(found["figures"]) if "figures" in found else total


def _number(proof: Proof, words: str, gender: str) -> int:
    number = proof.reader.read(words, gender)
    if proof.second and proof.second(words) != number:
        raise KeyError(words)
    return number


def _text2num(language: str) -> Callable[[str], int]:
    from text_to_num import text2num

    def second(words: str) -> int:
        try:
            return int(text2num(words, language))
        except ValueError:
            raise KeyError(words) from None

    return second


def _shape(phrase: str, units: list[str], minors: list[str], digits: int) -> Shape:
    """The phrase as a pattern: its own words stand as they are, its blanks become groups."""
    #: as much as will fit, which is quicker, unless one form of the name ends another ("reais", "de reais")
    some = ".+?" if any(one != other and one.endswith(f" {other}") for one in units for other in units) else ".+"
    blanks = {
        "whole": f"(?P<whole>{some})",
        "unit": f"(?P<unit>{_either(units)})",
        "part": "(?P<part>.+)",
        "minor": f"(?P<minor>{_either(minors)})",
        "figures": f"(?P<figures>[0-9]{{{digits}}})",
        "over": str(10**digits),
    }
    pieces = re.split(r"\{(\w+)\}", phrase)
    pattern = "".join(blanks[piece] if place % 2 else re.escape(piece) for place, piece in enumerate(pieces))
    return Shape(re.compile(pattern), _forms(units), _forms(minors))


def _either(texts: list[str]) -> str:
    return "|".join(re.escape(text) for text in sorted(set(texts), key=len, reverse=True))


def _forms(texts: list[str]) -> dict[str, frozenset[int]]:
    return {text: frozenset(place for place, other in enumerate(texts) if other == text) for text in texts}
