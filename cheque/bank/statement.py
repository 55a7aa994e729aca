"""A statement of the bank: the one shape that every reader of statements gives, whatever the file.

A reader yields a `Head`, the entries of that statement, and a `Foot`; then the next one's, where a file has several.
What is wrong with the file comes between them as `Fault`; after the first, nothing of the file is to be used.

Amounts are minor units, less than 0 when money left the account; days are ISO 8601 text.
"""

import re
from collections.abc import Callable, Iterator
from typing import BinaryIO, NamedTuple

from cheque.errors import Fault
from cheque.money import LONGEST, digits
from cheque.tongue import tr

#: digits of a cheque number that the book can hold
LONGEST_NUMBER = 18
_DECIMAL = re.compile(r"[+-]?(\d*)(?:\.(\d*))?", re.ASCII)


class Head(NamedTuple):
    """The beginning of a statement. `account`: what the bank calls it, "" when the file does not say; `currency` too.

    `first`, `last`: the days that it says it covers, or "". `opening`, `closing`: None where it has none so far.
    """

    name: str
    account: str
    currency: str
    first: str = ""
    last: str = ""
    opening: int | None = None
    closing: int | None = None
    where: str = ""


class StatementEntry(NamedTuple):
    """One thing booked, or one part of a collective entry.

    `cheque`: the cheque number as the bank gives it, "" when it names none; `reversal`: it takes back an entry made
    before; `booked` is "" for one that is not booked yet. `about`: what the bank says of it; `where`: for messages.
    """

    booked: str
    amount: int
    cheque: str = ""
    valued: str = ""
    reference: str = ""
    payee: str = ""
    about: str = ""
    reversal: bool = False
    where: str = ""

    @property
    def number(self) -> int:
        """The number of the cheque of ours that it pays or takes back; 0 when it does neither, or none can be read.

        A cheque that was paid in is somebody else's, and so is its number.
        """
        ours = (self.amount < 0) != self.reversal
        text = self.cheque.replace(" ", "")
        if not ours or not (text.isascii() and text.isdigit()) or len(text.lstrip("0")) > LONGEST_NUMBER:
            return 0
        return int(text)


class Foot(NamedTuple):
    """The end of a statement: its closing balance where that comes last, and how many entries it says it has."""

    closing: int | None = None
    entries: int | None = None
    where: str = ""


Piece = Head | StatementEntry | Foot | Fault


class Wanted(NamedTuple):
    """What a reader is told. `name`: of the file, for messages; `places`: where else a cheque number may stand."""

    name: str
    currency: str
    places: "tuple[Place, ...]" = ()


Read = Callable[[BinaryIO, Wanted], Iterator[Piece]]


class Place(NamedTuple):
    """A place of an entry, and a pattern whose first group is the cheque number there."""

    element: str
    pattern: re.Pattern[str]


#: elements of an entry in which a bank may write a cheque number, if not in its own (ISO 20022 names; for CSV, columns)
ELEMENTS = (
    *("ChqNb", "AddtlTxInf", "AddtlNtryInf", "Ustrd", "EndToEndId", "InstrId", "TxId"),
    *("AcctSvcrRef", "NtryRef", "Ref", "about", "reference", "payee"),
)


def place_of(text: str) -> Place:
    """A place as settings write it: "AddtlTxInf: CHEQUE ([0-9]+)". ValueError, saying what is wrong.

    >>> place_of("Ustrd: CHQ ([0-9]+)").pattern.search("PAID CHQ 000123").group(1)
    '000123'
    """
    element, colon, pattern = text.partition(":")
    if not colon or element.strip() not in ELEMENTS:
        raise ValueError(
            tr(
                "{text!r}, which does not begin with one of {elements} and a colon",
                text=text,
                elements=", ".join(ELEMENTS),
            )
        )
    try:
        made = re.compile(pattern.strip())
    except (re.error, OverflowError, RecursionError) as error:
        raise ValueError(tr("{text!r}, whose pattern cannot be used ({error})", text=text, error=error)) from None
    if made.groups != 1:
        raise ValueError(
            tr(
                "{text!r}, whose pattern has {groups} groups; the one in brackets is the number",
                text=text,
                groups=made.groups,
            )
        )
    return Place(element.strip(), made)


def number_in(places: tuple[Place, ...], texts: Callable[[str], list[str]]) -> str:
    """The cheque number in the first of the places that has one. `texts`: what an entry says at an element."""
    for place in places:
        for text in texts(place.element):
            found = place.pattern.search(text[:2000])
            if found and found[1]:
                return found[1]
    return ""


def minor_units(text: str, currency: str) -> int:
    """An amount of a message, xs:decimal, in minor units. ValueError when it is finer than the currency's, or none.

    >>> minor_units("812.4", "USD"), minor_units("812.40000", "USD"), minor_units("9", "JPY")
    (81240, 81240, 9)
    """
    match = _DECIMAL.fullmatch(text)
    whole, part = (match[1], match[2] or "") if match else ("", "")
    if match is None or not (whole or part):
        raise ValueError(tr("{text!r}, which is no amount", text=text[:40]))
    part = part.rstrip("0")
    places = digits(currency)
    if len(part) > places:
        raise ValueError(
            tr(
                "{text!r}, finer than {currency}, which has {places} decimals",
                text=text[:40],
                currency=currency,
                places=places,
            )
        )
    whole = whole.lstrip("0")
    if len(whole) + places > LONGEST:
        raise ValueError(tr("{text}…, of more than {longest} digits", text=text[:20], longest=LONGEST))
    minor = int((whole + part.ljust(places, "0")) or "0")
    return -minor if text.startswith("-") else minor


def same_account(one: str, other: str) -> bool:
    """Whether two texts are one account: capitals, blanks and hyphens are no part of it.

    >>> same_account("DE02 1203 0000", "de0212030000"), same_account("0417", "417")
    (True, False)
    """
    return _bare(one) == _bare(other) != ""


def _bare(text: str) -> str:
    return "".join(text.split()).replace("-", "").upper()
