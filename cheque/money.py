"""An exact amount of an ISO 4217 currency, in minor units.

How many minor units a currency has comes from ISO 4217 list one (the `iso4217` package), never from display
data, which differs for some currencies.

>>> parse("18,214.77", "USD", group=",")
1821477
>>> parse("1.005", "KWD")
1005
>>> plain(1821477, "USD")
'18214.77'
"""

import re
from functools import cache

from cheque.tongue import tr

#: Digits in all of an amount in the bank's messages (ISO 20022, ActiveCurrencyAndAmount: totalDigits 18).
LONGEST = 18

#: the currencies that have a wording, held against list one in the tests: to read the whole list takes as long as a
#: short command may take in all
USUAL = {
    **dict.fromkeys(("AUD", "BRL", "CAD", "CHF", "EUR", "GBP", "INR", "MXN", "PLN", "USD"), 2),
    "JPY": 0,
    "KWD": 3,
}


class AmountError(ValueError):
    """The text is not an exact amount of the currency; the message says what was found and wanted."""


@cache
def digits(currency: str) -> int:
    """Number of minor-unit digits of an ISO 4217 currency: 0, 2, 3 or 4. KeyError when it is unknown."""
    if currency in USUAL:
        return USUAL[currency]
    from iso4217 import Currency

    try:
        exponent = Currency(currency).exponent
    except ValueError:
        raise KeyError(currency) from None
    if exponent is None:  # funds, metals and test codes are no money for a cheque
        raise KeyError(currency)
    return int(exponent)


@cache
def _pattern(point: str, group: str) -> re.Pattern[str]:
    mark = re.escape(group)
    threes, lakhs = rf"\d{{1,3}}(?:{mark}\d{{3}})+", rf"\d{{1,2}}(?:{mark}\d{{2}})+{mark}\d{{3}}"
    whole = rf"{threes}|{lakhs}|\d+" if group else r"\d+"
    return re.compile(rf"(-?)({whole})(?:{re.escape(point)}(\d+))?", re.ASCII)


def parse(text: str, currency: str, *, point: str = ".", group: str = "", short: bool = False) -> int:
    """Minor units from text such as 18214.77; `group` marks are taken only when given.

    Groups are of three digits, or as in India of two and a last one of three, the same throughout. With the
    currency's own number of decimals, or none. `short=True` takes fewer ("1.5" as 1.500). At most 18 digits
    in all, as many as an amount of ISO 20022 has.
    Raises AmountError: nothing is rounded, and nothing is guessed; KeyError when the currency is unknown.
    """
    match = _pattern(point, group).fullmatch(text)
    if not match:
        raise AmountError(
            tr("{text!r} is not an amount such as {amount}", text=text, amount=plain(123456, currency, point=point))
        )
    sign, whole, part = match.groups()
    if group:
        whole = whole.replace(group, "")
    places = digits(currency)
    part = part or ""
    if len(part) > places:
        raise AmountError(
            tr(
                "{text!r} has {count} decimals, but {currency} has {places}",
                text=text,
                count=len(part),
                currency=currency,
                places=places,
            )
        )
    if part and len(part) < places and not short:
        raise AmountError(
            tr(
                "{text!r} has {count} decimals, but {currency} is written with {places}",
                text=text,
                count=len(part),
                currency=currency,
                places=places,
            )
        )
    if len(whole) + places > LONGEST:
        raise AmountError(tr("{text!r}… has more than {longest} digits", text=text[:LONGEST], longest=LONGEST))
    minor = int(whole + part.ljust(places, "0"))
    return -minor if sign else minor


def plain(minor: int, currency: str, *, point: str = ".") -> str:
    """The amount in digits with no grouping: 18214.77; for files, totals and messages."""
    places = digits(currency)
    sign = "-" if minor < 0 else ""
    text = str(abs(minor))
    if not places:
        return sign + text
    text = text.rjust(places + 1, "0")
    return f"{sign}{text[:-places]}{point}{text[-places:]}"
