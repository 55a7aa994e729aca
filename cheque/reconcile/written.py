"""Numbered forms that left the box, with the payment that each carries or carried: what is counted and shown.

Everything is asked in one query, in the order that its index gives; nothing here judges.
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from cheque.book.book import Reader
from cheque.book.state import WASTE, State
from cheque.book.stock import Range, ranges


class Written(NamedTuple):
    """A numbered form and the payment that it carries or carried (payee "" and amount None when none).

    Events, by number: `seq` put it in its state, `taken` put the payment on it, `sent` let its bytes go (or 0).
    """

    account: str
    number: int
    stock: int
    state: str
    role: str
    batch: int
    item: int
    run: int
    origin_batch: int
    origin_item: int
    reason: str
    custody: str
    stop: str
    taken: int
    sent: int
    seq: int
    payee: str
    amount: int | None
    date: str
    reference: str
    currency: str


_SQL = """SELECT n.account, n.number, n.stock, n.state, n.role, n.batch, n.item, n.run, n.origin_batch,
    n.origin_item, n.reason, n.custody, n.stop, n.taken, n.sent, n.seq, coalesce(c.payee, ''), c.amount,
    coalesce(c.date, ''), coalesce(c.reference, ''), coalesce(b.currency, '')
    FROM number n LEFT JOIN claim c ON c.batch = n.batch AND c.item = n.item
    LEFT JOIN batch b ON b.id = n.batch"""


def written(
    reader: Reader,
    *,
    states: Iterable[str] = (),
    role: str = "",
    batch: int = 0,
    account: str = "",
    unpaid: bool = False,
) -> Iterator[Written]:
    """Numbered forms that left the box, by account and number; `unpaid`: only those that the bank has not paid."""
    where: list[str] = []
    values: list[str | int] = [str(state) for state in states]
    if values:
        where.append(f"n.state IN ({', '.join('?' * len(values))})")
    for column, value in (("n.role", role), ("n.batch", batch), ("n.account", account)):
        if value:
            where.append(f"{column} = ?")
            values.append(value)
    if values and not batch and {State.MISSING, State.SPOILED, State.VOIDED}.issuperset(values):
        where.append(f"n.{WASTE}")  # by the index of such forms
    if unpaid:
        where.append("NOT EXISTS (SELECT 1 FROM cleared p WHERE p.account = n.account AND p.number = n.number)")
    sql = f"{_SQL} WHERE {' AND '.join(where)}" if where else _SQL
    for row in reader.rows(f"{sql} ORDER BY n.account, n.number", *values):
        yield Written(*row)


def within(reader: Reader, account: str, first: int, last: int) -> Iterator[Written]:
    """The forms of an account from first to last that left the box."""
    for row in reader.rows(
        f"{_SQL} WHERE n.account = ? AND n.number BETWEEN ? AND ? ORDER BY n.number", account, first, last
    ):
        yield Written(*row)


def by_account(forms: Iterable[Written]) -> dict[tuple[str, str], list[Written]]:
    """Forms by account and currency, in the order they came; an account's currency may have changed."""
    found: dict[tuple[str, str], list[Written]] = {}
    for form in forms:
        found.setdefault((form.account, form.currency), []).append(form)
    return found


class Preprinted:
    """Numbers as they are preprinted: with the leading zeros of their box."""

    def __init__(self, reader: Reader) -> None:
        self.boxes: dict[int, Range] = {box.id: box for box in ranges(reader)}

    def text(self, stock: int, number: int) -> str:
        """A number of a range of stock."""
        box = self.boxes.get(stock)
        return box.text(number) if box else str(number)

    def of(self, form: Written) -> str:
        """The number of a form."""
        return self.text(form.stock, form.number)

    def stretch(self, stock: int, first: int, last: int) -> str:
        """A range of numbers: 100501-100504, or 100501."""
        text = self.text(stock, first)
        return text if first == last else f"{text}-{self.text(stock, last)}"
