"""A style's phrases filled for one amount: the legal amount as it stands on the cheque, without fill."""

from typing import NamedTuple

from cheque.wording.letters import Substitute, struck
from cheque.wording.style import Name, Style, phrases


class Phrase(NamedTuple):
    """A phrase made ready: its text with `over` filled in, and what it must be given."""

    text: str
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
        return Phrase(text.replace("{over}", str(over)), "{part}" in text, minor)

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
    text = phrase.text.format(
        whole=words,
        unit=name.unit[style.unit_form(whole)],
        part=spelled,
        minor=minor,
        figures=str(part).rjust(composition.digits, "0"),
    )
    text = _each(text) if style.capitals == "each" else text[:1].upper() + text[1:]
    return struck(text, composition.substitute)


def _each(text: str) -> str:
    return " ".join(word if word == "and" else word[:1].upper() + word[1:] for word in text.split(" "))
