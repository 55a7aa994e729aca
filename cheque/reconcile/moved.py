"""Numbers that were put right after printing: who approved it, why, and which number is struck on each form now.

The paper was found to be a form or more off, so the payments' numbers were moved to those preprinted on their
forms. The number struck beside the preprinted one is then another, and whoever holds the cheque sees both.
"""

from collections.abc import Container, Iterator
from typing import NamedTuple

from cheque.book.book import Reader
from cheque.book.event import Event
from cheque.book.schema import BUCKET


class Moved(NamedTuple):
    """One approved correction: the payments that the book had on `first` to `last` are `by` numbers further on.

    `left`: what became of the forms that thereby carry nothing. `at` and `who`: when, UTC, and by whom it was
    entered; `approved`: the second person who looked at the paper.
    """

    account: str
    first: int
    last: int
    by: int
    left: str
    reason: str
    approved: str
    who: str
    at: str

    def reaches(self, wanted: Container[int]) -> bool:
        """Whether one of some numbers was moved, or was what a cheque was moved to or from."""
        low, high = min(self.first, self.first + self.by), max(self.last, self.last + self.by)
        return any(number in wanted for number in range(low, high + 1))


def moves(reader: Reader, account: str, first: int, last: int) -> Iterator[Moved]:
    """The corrections that speak of a number from first to last, in the order they were entered."""
    for row in reader.rows(
        "SELECT seq, at, who, station, kind, body, prev, digest FROM event WHERE kind = 'numbers.moved' AND seq IN "
        "(SELECT seq FROM touch WHERE account = ? AND bucket BETWEEN ? AND ? AND first <= ? AND last >= ?) "
        "ORDER BY seq",
        account,
        first // BUCKET,
        last // BUCKET,
        last,
        first,
    ):
        told = Event(*row)
        body = told.data
        yield Moved(
            account, body["first"], body["last"], body["by"], body["left"], body["reason"], body["approved"],
            told.who, told.at,
        )  # fmt: skip


def struck_numbers(reader: Reader, account: str, first: int, last: int) -> dict[int, int]:
    """By the number preprinted on a form: the number struck on it, where that is another."""
    return dict(
        reader.rows(
            "SELECT number, struck FROM struck WHERE account = ? AND number BETWEEN ? AND ? AND struck <> number "
            "ORDER BY number",
            account,
            first,
            last,
        )
    )
