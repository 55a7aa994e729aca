"""A style's phrases filled for one amount: the legal amount as it stands on the cheque, without fill."""

import re
from collections.abc import Callable
from functools import cache
from operator import itemgetter
from typing import Any, NamedTuple

from cheque.wording.letters import Substitute, struck
from cheque.wording.style import Name, Style, phrases

#: The blanks of a phrase, in the order in which `_filled` has their texts.
BLANKS = ("whole", "unit", "part", "minor", "figures")


class Phrase(NamedTuple):
    """A phrase made ready: its text with %s for every blank, and which texts those take, in order."""

    text: str
    pick: Callable[[tuple[str, ...]], Any]
    spelled_part: bool
    minor: tuple[str, ...]


class Composition(NamedTuple):
    """All that composing amounts of one currency in one style needs."""

    style: Style
    name: Name
    digits: int
    over: int
    both: Phrase
    whole: Phrase
    part: Phrase
    shorter: tuple[Phrase, ...]
    substitute: Substitute | None


def prepare(style: Style, currency: str, digits: int, substitute: Substitute | None) -> Composition:
    """The style's phrases for a currency, made ready once. KeyError when the style cannot name it."""
    name = style.names[currency]
    over = 10**digits
    ways = phrases(style, currency, digits)

    def ready(text: str, minor: tuple[str, ...]) -> Phrase:
        text = text.replace("{over}", str(over)).replace("%", "%%")
        order = [BLANKS.index(blank) for blank in re.findall(r"\{(\w+)\}", text)]
        return Phrase(re.sub(r"\{\w+\}", "%s", text), itemgetter(*order), "{part}" in text, minor)

    return Composition(
        style,
        name,
        digits,
        over,
        ready(ways.both, name.minor),
        ready(ways.whole, name.minor),
        ready(ways.part, name.alone or name.minor),
        tuple(ready(text, name.minor) for text in ways.shorter),
        substitute,
    )


def compose(composition: Composition, minor: int) -> tuple[str, str, tuple[str, ...]]:
    """The whole number spelled, the legal amount, and the shorter lawful ones in order of preference."""
    style = composition.style
    whole, part = divmod(minor, composition.over)
    words = style.spell(whole, composition.name.gender)
    if whole and part:
        phrase = composition.both
    else:
        phrase = composition.part if part else composition.whole
    legal = _filled(composition, phrase, words, whole, part)
    others = []
    if whole and part:
        others = [_filled(composition, other, words, whole, part) for other in composition.shorter]
    if style.brief and (brief := style.brief(whole, composition.name.gender)):
        others.append(_filled(composition, phrase, brief, whole, part))
    shorter = tuple(text for text in others if len(text) < len(legal))
    return struck(words, composition.substitute), legal, shorter


def _filled(composition: Composition, phrase: Phrase, words: str, whole: int, part: int) -> str:
    style, name = composition.style, composition.name
    spelled, minor = "", ""
    if phrase.spelled_part:
        spelled = style.spell(part, name.minor_gender)
        minor = phrase.minor[style.unit_form(part)]
    figures = str(part).zfill(composition.digits)
    text = phrase.text % phrase.pick((words, name.unit[style.unit_form(whole)], spelled, minor, figures))
    text = _each(text) if style.capitals == "each" else text[:1].upper() + text[1:]
    return struck(text, composition.substitute)


def _each(text: str) -> str:
    return " ".join(map(_capital, text.split(" ")))


@cache
def _capital(word: str) -> str:
    """A word with its capital, all but *and*. The words are few, so they are kept."""
    return word if word == "and" else word[:1].upper() + word[1:]
