"""Amounts, locales and number words for the tests of the wording."""

import random
import re
from collections.abc import Callable
from functools import cache

from hypothesis import strategies as st

from cheque.wording import styles

#: Each locale's own currency.
OWN = {
    "de_CH": "CHF",
    "de_DE": "EUR",
    "en_CA": "CAD",
    "en_GB": "GBP",
    "en_IN": "INR",
    "en_US": "USD",
    "es_ES": "EUR",
    "es_MX": "MXN",
    "fr_BE": "EUR",
    "fr_CA": "CAD",
    "fr_CH": "CHF",
    "fr_FR": "EUR",
    "it_IT": "EUR",
    "nl_NL": "EUR",
    "pl_PL": "PLN",
    "pt_BR": "BRL",
    "pt_PT": "EUR",
}
LOCALES = st.sampled_from(styles.LOCALES)


@cache
def reader(locale: str) -> Callable[[str, str], int]:
    """The locale's reader, built once."""
    return styles.get(locale).reader(str).read


def _any_size(largest: int) -> st.SearchStrategy[int]:
    """Numbers of every magnitude alike, and round ones, which plain integers seldom are."""
    sizes = st.integers(1, len(str(largest)))
    plain = sizes.flatmap(lambda size: st.integers(0, 10**size - 1))
    round_ones = st.builds(lambda a, b, size: a * 10**size + b, st.integers(0, 999), st.integers(0, 1100), sizes)
    return st.one_of(plain, round_ones).map(lambda number: min(number, largest))


WHOLES = _any_size(999_999_999_999)
MINORS = _any_size(999_999_999_999_99)

#: The parts of compounds that are written in one word, longest first.
_PARTS = {
    "de": "hundert tausend eins eine ein zwei drei vier fünf sechs sieben acht neun zehn elf zwölf zig ßig ssig und",
    "nl": "honderd duizend een twee drie vier vijf zes zeven acht negen tien elf twaalf tig en ën",
    "it": "cento mila mille venti vent trenta trent quaranta quarant cinquanta cinquant sessanta sessant settanta "
    "settant ottanta ottant novanta novant dieci undici dodici tredici quattordici quindici sedici diciassette "
    "diciotto diciannove uno due tre tré quattro cinque sei sette otto nove",
}


def number_words(text: str, locale: str) -> list[str]:
    """A spelled number in its words, and for languages that join them in the parts of the compounds as well.

    Joined again ("".join) they are the text: each word carries the blank or hyphen that stands after it.
    """
    parts = sorted(_PARTS.get(locale[:2], "").split(), key=len, reverse=True)
    word = "|".join([*parts, r"[^\s-]"]) if parts else r"[^\s-]+"
    return [found for found in re.findall(rf"(?:{word})[\s-]*", text) if found]


def tampered(text: str, locale: str, how: str, draw: random.Random) -> str:
    """The text with one number word changed, dropped, doubled or moved; or the same text, where that is no change."""
    words = number_words(text, locale)
    place = draw.randrange(len(words))
    word = words[place]
    if how == "dropped":
        del words[place]
    elif how == "doubled":
        words.insert(place, word if word[-1] in " -" or locale[:2] in _PARTS else word + " ")
    elif how == "moved":
        words.insert(draw.randrange(len(words)), words.pop(place))
    else:
        spell = styles.get(locale).spell
        others = number_words(spell(draw.randrange(10 ** draw.randrange(1, 13)), "m"), locale)
        words[place] = draw.choice(others).rstrip(" -") + word[len(word.rstrip(" -")) :]
    return " ".join("".join(words).split())
