"""How a file writes its numbers: the mark before decimals and between thousands, the sign, the currency's sign.

A `Marks` turns such text into plain text (digits, a point, a leading minus) for the rest of the package, and back.
Nothing is guessed: `1.234` is one thousand two hundred and thirty-four only where the file's map says so.

>>> german = Marks(point=",", group=".")
>>> german.amount("1.234,56", "EUR"), german.decimal("37,50")
('1234.56', '37.50')
>>> Marks(negative="trailing").amount("86.00-", "USD"), Marks(negative="parentheses").amount("(86.00)", "USD")
('-86.00', '-86.00')
"""

import re
from functools import lru_cache
from typing import NamedTuple

from cheque.money import AmountError, parse, plain
from cheque.tongue import tr

NEGATIVES = ("leading", "trailing", "parentheses")
#: marks that a reader of the page cannot tell apart, and are taken for each other
_BLANKS = "\u00a0\u202f\u2009"
_ALIKE = str.maketrans({**dict.fromkeys(_BLANKS, " "), "\u2019": "'", "\u2212": "-"})
_DECIMAL = re.compile(r"-?\d{1,9}(?:\.\d{1,6})?", re.ASCII)
_THREES = 3


class Marks(NamedTuple):
    """The marks of a file. `group` is "" where thousands have none; `short` takes 812.5 for 812.50."""

    point: str = "."
    group: str = ""
    negative: str = "leading"
    currency_sign: str = ""
    short: bool = False

    def amount(self, text: str, currency: str) -> str:
        """An amount as plain text with all the currency's decimals. AmountError when it is not one."""
        body = self._bare(text)
        return plain(parse(body, currency, point=self.point, group=self.group, short=self.short), currency)

    def write_amount(self, minor: int, currency: str) -> str:
        """Minor units as this file writes them."""
        text = plain(abs(minor), currency, point=self.point)
        if self.group:
            whole, point, part = text.partition(self.point)
            text = _grouped(whole, self.group) + point + part
        return self._signed(text, minor < 0)

    def decimal(self, text: str) -> str:
        """Hours or a rate as plain text. ValueError when it is not a number, or longer than figures can be."""
        body = self._bare(text)
        whole, point, part = body.partition(self.point)
        if self.group and self.group in whole:
            plainly = whole.replace(self.group, "")
            if _grouped(plainly.removeprefix("-"), self.group) != whole.removeprefix("-"):
                raise ValueError(tr("the marks between thousands are not between thousands"))
            whole = plainly
        if part == "" and point:
            raise ValueError(tr("nothing after the mark before the decimals"))
        plainly = f"{whole}.{part}" if point else whole
        if not _DECIMAL.fullmatch(plainly):
            raise ValueError(tr("not a number"))
        return plainly

    def write_decimal(self, text: str) -> str:
        """A plain decimal as this file writes it."""
        body = text.removeprefix("-").replace(".", self.point)
        return self._signed(body, text.startswith("-"))

    def example(self, currency: str) -> str:
        """An amount as this file writes it, for messages."""
        return self.write_amount(123456, currency)

    def _bare(self, text: str) -> str:
        """Without the currency's sign, and with a minus, if any, in front."""
        text = text.translate(_ALIKE)
        if sign := self.currency_sign:
            minus = "-" if text.startswith("-") else ""
            text = minus + text.removeprefix(minus).removeprefix(sign).removesuffix(sign).strip(" ")
        if self.negative == "trailing" and text.endswith("-") and not text.startswith("-"):
            return "-" + text[:-1].rstrip(" ")
        if self.negative == "parentheses" and text.startswith("(") and text.endswith(")") and "-" not in text:
            inner = text[1:-1].strip(" ")
            if sign := self.currency_sign:
                inner = inner.removeprefix(sign).removesuffix(sign).strip(" ")
            return "-" + inner
        return text

    def _signed(self, text: str, negative: bool) -> str:
        if not negative:
            return text
        return {"leading": f"-{text}", "trailing": f"{text}-", "parentheses": f"({text})"}[self.negative]


PLAIN = Marks()


def group_mark(text: str) -> str:
    """A mark between thousands with those that look like it made one."""
    return text.translate(_ALIKE)


def _grouped(whole: str, mark: str) -> str:
    first = len(whole) % _THREES or _THREES
    return mark.join([whole[:first], *(whole[at : at + _THREES] for at in range(first, len(whole), _THREES))])


@lru_cache(64)
def marks_of(locale: str) -> Marks:
    """The marks of a locale by CLDR (the Babel package): "de_DE". ValueError when there is no such locale."""
    from babel import Locale, UnknownLocaleError
    from babel.numbers import get_decimal_symbol, get_group_symbol

    try:
        known = Locale.parse(locale, sep="-" if "-" in locale else "_")
    except (UnknownLocaleError, ValueError, TypeError):
        raise ValueError(tr("{locale!r}, no locale that is known here", locale=locale)) from None
    return Marks(point=get_decimal_symbol(known), group=group_mark(get_group_symbol(known)), short=False)


__all__ = ["NEGATIVES", "PLAIN", "AmountError", "Marks", "group_mark", "marks_of"]
