"""A notice to the bank, as data: which cheques it tells of, and who draws them; before it is text or a message.

A line's `mark` says what the bank is told: *issue*, that the cheque was issued and may be paid; *void*, that a cheque
it was told of is void and its paper in hand; *stop*, that a cheque must not be paid. Amounts are minor units of an
ISO 4217 currency, days ISO 8601 text, and a number is text as it is preprinted, leading zeros and all.
"""

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import NamedTuple

MARKS = ("issue", "void", "stop")
#: why a cheque is to be stopped: our words, and the reason code of ISO 20022 camt.108 for each (NARR: told in words)
REASONS = {
    "lost": "LOST",
    "stolen": "NARR",
    "fraud": "FRAD",
    "duplicate": "DUPL",
    "customer": "CUST",
    "insolvency": "NARR",
    "other": "NARR",
}


class Account(NamedTuple):
    """The account that cheques are drawn on: its name in the settings, and how the bank knows it."""

    name: str
    number: str
    routing: str
    bank: str
    drawer: str
    country: str


class Line(NamedTuple):
    """One cheque that the bank is told of. `reason` and `told` are of a stop: a word of `REASONS`, and more in words;
    `earlier`: the instruction by which the bank was told of its issue, or ""."""

    mark: str
    account: str
    number: str
    date: str
    amount: int
    currency: str
    payee: str
    reference: str = ""
    reason: str = ""
    told: str = ""
    earlier: str = ""

    @property
    def called(self) -> str:
        """The cheque as a message names it: main:100501."""
        return f"{self.account}:{self.number}"


class Notice(NamedTuple):
    """A whole notice: its name (at most 24 characters of A-Z, 0-9, -), when it was made, whose accounts, and its lines
    by account and number. `lines` gives them anew each time it is called, so that no notice has to fit in memory."""

    name: str
    made: datetime
    accounts: dict[str, Account]
    lines: Callable[[], Iterable[Line]]

    @property
    def day(self) -> str:
        """The day on which it was made."""
        return self.made.date().isoformat()
