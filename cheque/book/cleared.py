"""Cleared: what the bank has paid, and what that bars.

A number is cleared when more payments of it than reversals are booked on the statements that the book has read,
whatever the book holds of the form: good, voided, or still in the box. A cleared cheque is not voided, its payment is
not printed again, its number is not moved or used, and its paper is no longer in anybody's hands.
"""

from typing import NamedTuple

from cheque.book.book import Reader
from cheque.errors import BookRefused
from cheque.tongue import tr


class Cleared(NamedTuple):
    """One number that the bank has paid.

    `booked`: the first day on which it was paid (ISO 8601); `amount`: what was paid in all, less what was taken
    back, in minor units; `payments`: how often, 1 when all is well; `seq`: the latest event that speaks of it.
    """

    account: str
    number: int
    booked: str
    amount: int
    payments: int
    seq: int


_COLUMNS = ", ".join(Cleared._fields)


def get(reader: Reader, account: str, number: int) -> Cleared | None:
    """What the bank has paid on a number; None when it is not cleared."""
    row = reader.row(f"SELECT {_COLUMNS} FROM cleared WHERE account = ? AND number = ?", account, number)
    return Cleared(*row) if row else None


def days(reader: Reader, account: str) -> dict[int, str]:
    """Every number of an account that the bank has paid, and the first day on which it did (ISO 8601)."""
    return dict(reader.rows("SELECT number, booked FROM cleared WHERE account = ?", account))


def first_of(reader: Reader, account: str, first: int, last: int) -> Cleared | None:
    """The lowest number of a range that the bank has paid, or None."""
    row = reader.row(
        f"SELECT {_COLUMNS} FROM cleared WHERE account = ? AND number BETWEEN ? AND ? ORDER BY number LIMIT 1",
        account,
        first,
        last,
    )
    return Cleared(*row) if row else None


def of_payment(reader: Reader, origin_batch: int, origin_item: int) -> Cleared | None:
    """The number by which the bank has paid a payment, reprints included; None when it was not paid."""
    names = ", ".join(f"c.{name}" for name in Cleared._fields)
    row = reader.row(
        f"SELECT {names} FROM number n JOIN cleared c ON c.account = n.account AND c.number = n.number "
        "WHERE n.origin_batch = ? AND n.origin_item = ? ORDER BY c.booked, c.number LIMIT 1",
        origin_batch,
        origin_item,
    )
    return Cleared(*row) if row else None


def of_items(reader: Reader, batch: int, first: int, last: int) -> list[tuple[int, Cleared]]:
    """The payments of a batch, by item from first to last, that the bank has paid on whatever number: (item, it)."""
    if reader.row("SELECT 1 FROM cleared LIMIT 1") is None:  # no statement was read yet
        return []
    names = ", ".join(f"p.{name}" for name in Cleared._fields)
    return [
        (row[0], Cleared(*row[1:]))
        for row in reader.rows(
            f"SELECT c.item, {names} FROM claim c JOIN number n ON n.origin_batch = c.origin_batch "
            "AND n.origin_item = c.origin_item JOIN cleared p ON p.account = n.account AND p.number = n.number "
            "WHERE c.batch = ? AND c.item BETWEEN ? AND ? ORDER BY c.item",
            batch,
            first,
            last,
        )
    ]


def bar(reader: Reader, account: str, first: int, last: int, digits: int, what: str) -> None:
    """Refuse to do something with numbers of which the bank has paid one. `what`: "it is not voided"."""
    paid = first_of(reader, account, first, last)
    if paid is not None:
        raise BookRefused(
            tr(
                "number {zfill} of {account} was paid by the bank on {booked}, so {what}. `cheque show "
                "{account}:{number}` tells more; a payment that is wrong is a matter for the bank.",
                zfill=str(paid.number).zfill(digits),
                account=account,
                booked=paid.booked,
                what=what,
                number=paid.number,
            )
        )
