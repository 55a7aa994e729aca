"""The legal amount: a style per locale, and the proof that it reads back to the same amount.

The words are the amount in law, so none leaves here unproven. `word` spells the whole number, fills the style's
phrase, and then has the finished text, and every shorter wording with it, read back by a reader that shares no
code with the speller; a text that does not come back as the very amount is never returned.

>>> word(123456, "USD", "en_US").legal
'One thousand two hundred thirty-four and 56/100'
>>> word(101, "GBP", "en_GB").legal
'One pound and one penny only'
>>> word(1005, "KWD", "en_GB").legal
'One Kuwaiti dinar and five fils only'
>>> prove("One thousand two hundred thirty and 56/100", 123456, "USD", "en_US")
Traceback (most recent call last):
  ...
cheque.wording.WordingError: 'One thousand two hundred thirty and 56/100' says 1230.56 USD, not 1234.56 USD
"""

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

from cheque import money
from cheque.tongue import tr
from cheque.wording import compose, grouping, proof, styles
from cheque.wording.letters import plain
from cheque.wording.lines import break_lines
from cheque.wording.style import Style

__all__ = [
    "LARGEST",
    "Provenance",
    "Wording",
    "WordingError",
    "break_lines",
    "figures",
    "locales",
    "plain",
    "prove",
    "refused",
    "substitutions",
    "word",
]

#: The largest whole amount that any style spells.
LARGEST = 999_999_999_999


class WordingError(ValueError):
    """The amount cannot be worded, or a wording is not the amount; the message is for people."""


class Wording(NamedTuple):
    """An amount as it stands on a cheque, proven.

    minor: the amount in minor units. currency, locale: as given.
    whole: the whole number spelled, as in `legal` but without its capital.
    legal: the legal amount, without fill. shorter: shorter lawful ones, in order of preference; often none.
    figures: the convenience amount, without currency sign, in characters that every table has.
    """

    minor: int
    currency: str
    locale: str
    whole: str
    legal: str
    shorter: tuple[str, ...]
    figures: str


class Provenance(NamedTuple):
    """Where a style comes from: its language, whose practice it is, how it is proven, what it can name.

    Its own reader is one that shares no code with the speller.

    preprinted: the currencies whose name the style leaves to the form.
    """

    locale: str
    language: str
    practice: str
    proof: str
    currencies: tuple[str, ...]
    preprinted: tuple[str, ...]


class _Ready(NamedTuple):
    """A style made ready for one currency and one substitute."""

    style: Style
    digits: int
    composition: compose.Composition
    proof: proof.Proof


def word(minor: int, currency: str, locale: str, *, substitute: str = "") -> Wording:
    """The amount in words and figures, proven before it is returned.

    `minor` is the amount in minor units of an ISO 4217 currency, nought to 999,999,999,999 whole units;
    `substitute` is one of `substitutions(locale)`, for printers that lack letters. Raises WordingError, with a
    message for people, when the locale, currency or substitute is not one the styles have, when the amount is
    out of range, and when the words do not prove right.
    """
    ready = _ready(currency, locale, substitute)
    _in_range(minor, ready.digits, currency)
    whole, legal, shorter = compose.compose(ready.composition, minor)
    for text in (legal, *shorter):
        _read_back(ready, text, minor, currency)
    return Wording(
        minor, currency, locale, whole, legal, shorter, _proven_figures(ready.style, ready.digits, minor, currency)
    )


def prove(text: str, minor: int, currency: str, locale: str, *, substitute: str = "") -> None:
    """Nothing, when the text is exactly a right legal amount in that style; WordingError otherwise.

    Two tests, either of which is enough to refuse: the text is read back to a number, and it is compared,
    letter by letter, with the style's wordings of the amount.
    """
    ready = _ready(currency, locale, substitute)
    _in_range(minor, ready.digits, currency)
    _read_back(ready, text, minor, currency)
    _, legal, shorter = compose.compose(ready.composition, minor)
    if text not in (legal, *shorter):
        raise WordingError(
            tr("{text!r} is not how {locale} writes it, which is {legal!r}", text=text, locale=locale, legal=legal)
        )


def figures(minor: int, currency: str, locale: str) -> str:
    """The amount in figures, grouped as the country does, without currency sign: exact, and read back.

    Where the country groups by a space, the figures have no grouping: a space is a place for another digit.
    Raises WordingError for an unknown locale or currency, and below nought.
    """
    style, digits = _style(locale), _digits(currency)
    if minor < 0:
        raise WordingError(_below_nought(minor, currency))
    return _proven_figures(style, digits, minor, currency)


def locales() -> tuple[Provenance, ...]:
    """Every locale that has a style: where its wording comes from and how it is proven."""
    return tuple(_provenance(styles.get(name)) for name in styles.LOCALES)


def refused() -> dict[str, str]:
    """Languages that are refused, by name, and why."""
    return dict(styles.REFUSED.values())


def substitutions(locale: str) -> Mapping[str, str]:
    """How letters may be replaced in that locale where a printer lacks them: names for the settings, and what
    each does. Empty when the language accepts no substitute. Raises WordingError for an unknown locale."""
    return {name: substitute.meaning for name, substitute in _style(locale).substitutes.items()}


@cache
def _ready(currency: str, locale: str, substitute: str) -> _Ready:
    style, digits = _style(locale), _digits(currency)
    if currency not in style.names:
        raise WordingError(
            tr(
                "the style {locale} has no name for {currency}; it can name {names}",
                locale=locale,
                currency=currency,
                names=", ".join(sorted(style.names)),
            )
        )
    if substitute and substitute not in style.substitutes:
        known = ", ".join(style.substitutes) or tr("none is accepted in that language")
        raise WordingError(
            tr(
                "{substitute!r} is no substitute for letters in {locale}; known: {known}",
                substitute=substitute,
                locale=locale,
                known=known,
            )
        )
    letters = style.substitutes.get(substitute)
    return _Ready(
        style,
        digits,
        compose.prepare(style, currency, digits, letters),
        proof.prepare(style, currency, digits, letters),
    )


def _style(locale: str) -> Style:
    try:
        return styles.get(locale)
    except KeyError:
        pass
    name, why = styles.REFUSED.get(locale.replace("-", "_").partition("_")[0].lower(), ("", ""))
    if name:
        raise WordingError(tr("{locale} is refused: {name}: {why}", locale=locale, name=name, why=why))
    raise WordingError(
        tr("{locale!r} has no wording; there are {locales}", locale=locale, locales=", ".join(styles.LOCALES))
    )


def _digits(currency: str) -> int:
    try:
        return money.digits(currency)
    except KeyError:
        raise WordingError(
            tr("{currency!r} is no currency of ISO 4217 that has minor units", currency=currency)
        ) from None


def _below_nought(minor: int, currency: str) -> str:
    amount = money.plain(minor, currency)
    return tr("{amount} {currency} is below nought; a cheque cannot be", amount=amount, currency=currency)


def _in_range(minor: int, digits: int, currency: str) -> None:
    if minor < 0:
        raise WordingError(_below_nought(minor, currency))
    if minor // 10**digits > LARGEST:
        raise WordingError(
            tr(
                "{amount} {currency} is more than the words go to, {largest}",
                amount=money.plain(minor, currency),
                currency=currency,
                largest=money.plain((LARGEST + 1) * 10**digits - 1, currency),
            )
        )


def _read_back(ready: _Ready, text: str, minor: int, currency: str) -> None:
    try:
        value = proof.read(ready.proof, text)
    except KeyError:
        raise WordingError(
            tr(
                "{text!r} does not read as an amount of {currency} in {locale}; wanted {amount}",
                text=text,
                currency=currency,
                locale=ready.style.locale,
                amount=money.plain(minor, currency),
            )
        ) from None
    if value != minor:
        raise WordingError(
            tr(
                "{text!r} says {found} {currency}, not {wanted} {currency}",
                text=text,
                found=money.plain(value, currency),
                wanted=money.plain(minor, currency),
                currency=currency,
            )
        )


def _proven_figures(style: Style, digits: int, minor: int, currency: str) -> str:
    text = grouping.grouped(minor, digits, style.group, style.point, lakh=style.lakh)
    try:
        found = money.parse(text, currency, point=style.point, group=style.group)
    except money.AmountError as error:
        raise WordingError(str(error)) from None
    if found != minor:
        amount = money.plain(minor, currency)
        raise WordingError(
            tr("the figures {text} do not say {amount} {currency}", text=text, amount=amount, currency=currency)
        )
    return text


def _provenance(style: Style) -> Provenance:
    proven = (
        tr("its own reader and text2num at run time; num2words and ICU in the tests")
        if style.second
        else tr("its own reader at run time; num2words and ICU in the tests")
    )
    return Provenance(
        style.locale,
        style.language,
        style.practice,
        proven,
        tuple(sorted(style.names)),
        tuple(sorted(name for name, ways in style.special.items() if "{unit}" not in ways.both)),
    )
