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


class AmountError(ValueError):
    """The text is not an exact amount of the currency; the message says what was found and wanted."""


@cache
def digits(currency: str) -> int:
    """Number of minor-unit digits of an ISO 4217 currency: 0, 2, 3 or 4. KeyError when it is unknown."""
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
    whole = rf"\d{{1,3}}(?:{re.escape(group)}\d{{2,3}})*{re.escape(group)}\d{{3}}|\d+" if group else r"\d+"
    return re.compile(rf"(-?)({whole})(?:{re.escape(point)}(\d+))?", re.ASCII)


def parse(text: str, currency: str, *, point: str = ".", group: str = "", short: bool = False) -> int:
    """Minor units from text such as 18214.77; `group` marks are taken only when given.

    With the currency's own number of decimals, or none. `short=True` takes fewer ("1.5" as 1.500).
    Raises AmountError: nothing is rounded, and nothing is guessed.
    """
    match = _pattern(point, group).fullmatch(text)
    if not match:
        raise AmountError(f"{text!r} is not an amount such as {plain(123456, currency, point=point)}")
    sign, whole, part = match.groups()
    if group:
        whole = whole.replace(group, "")
    places = digits(currency)
    part = part or ""
    if len(part) > places:
        raise AmountError(f"{text!r} has {len(part)} decimals, but {currency} has {places}")
    if part and len(part) < places and not short:
        raise AmountError(f"{text!r} has {len(part)} decimals, but {currency} is written with {places}")
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
