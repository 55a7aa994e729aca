"""What was paid before: the same payment, the same invoice, or nearly the same payment, in any earlier batch.

Each is one look into an index, however many batches there are. Batches withdrawn and payments pulled do not count, and
a reprint is no payment of its own.
"""

from datetime import date, timedelta
from typing import NamedTuple

from cheque.book.book import Reader
from cheque.likeness import invoices
from cheque.payment import Payment
from cheque.tongue import tr


class Before(NamedTuple):
    """A payment of an earlier batch, and the number and state of the last form it was on ("" when none)."""

    batch: int
    item: int
    date: str
    reference: str
    number: int
    state: str

    def __str__(self) -> str:
        on = tr(", number {number}, {state}", number=self.number, state=tr(self.state)) if self.state else ""
        return tr("payment {item} of batch {batch}{on}", item=self.item, batch=self.batch, on=on)


_SQL = """SELECT c.batch, c.item, c.date, c.reference,
    coalesce((SELECT n.number FROM number n WHERE n.origin_batch = c.batch AND n.origin_item = c.item
        AND n.role <> 'continuation' ORDER BY n.taken DESC, n.number DESC LIMIT 1), 0),
    coalesce((SELECT n.state FROM number n WHERE n.origin_batch = c.batch AND n.origin_item = c.item
        AND n.role <> 'continuation' ORDER BY n.taken DESC, n.number DESC LIMIT 1), '')
    FROM claim c JOIN batch b ON b.id = c.batch"""
_PAID = "c.fresh IN (0, 1, 2) AND c.payee = ? AND c.amount = ?"  # as the index has them
_COUNTS = "c.pulled = '' AND b.state = 'accepted' AND c.origin_batch = c.batch"


def anything(reader: Reader, payee: str, amount: int) -> bool:
    """Whether any batch has a payment to this payee of this amount, whatever became of it.

    (Asked first: in a register the most are new, and it takes a fifth of the time of asking what follows twice.)
    """
    return reader.row("SELECT 1 FROM claim WHERE payee = ? AND amount = ? LIMIT 1", payee, amount) is not None


def payment(reader: Reader, account: str, payment: Payment) -> Before | None:
    """Where the same payment was accepted before: account, payee, amount, date and reference."""
    row = reader.row(
        f"{_SQL} WHERE {_PAID} AND c.account = ? AND c.reference = ? AND c.date = ? AND {_COUNTS} LIMIT 1",
        payment.payee,
        payment.amount,
        account,
        payment.reference,
        payment.date,
    )
    return Before(*row) if row else None


def invoice(reader: Reader, payment: Payment) -> tuple[tuple[str, Before], ...]:
    """The invoices of a payment that were paid before, from whatever account, each with where."""
    found = []
    for key, number in invoices(payment).items():
        row = reader.row(
            f"{_SQL} JOIN invoice i ON i.batch = c.batch AND i.item = c.item WHERE i.key = ? AND {_COUNTS} "
            "ORDER BY c.batch DESC LIMIT 1",
            key,
        )
        if row:
            found.append((number, Before(*row)))
    return tuple(found)


def nearly(reader: Reader, payment: Payment, currency: str, days: int) -> Before | None:
    """A payment of an earlier batch to the same payee, of the same amount, at most so many days away; the latest."""
    try:
        day = date.fromisoformat(payment.date)
        first, last = day - timedelta(days), day + timedelta(days)
    except (ValueError, OverflowError):
        return None  # no date that can be: the register is refused for it
    row = reader.row(
        f"{_SQL} WHERE {_PAID} AND c.date BETWEEN ? AND ? AND b.currency = ? AND {_COUNTS} "
        "ORDER BY c.date DESC, c.batch DESC, c.item LIMIT 1",
        payment.payee,
        payment.amount,
        first.isoformat(),
        last.isoformat(),
        currency,
    )
    return Before(*row) if row else None
