"""What a payee has not had yet: cheques outstanding, and debts behind voided and missing ones, seen alike."""

from collections.abc import Iterator
from typing import NamedTuple

from cheque.book import batches, owed
from cheque.book.book import Reader
from cheque.reconcile.written import Preprinted
from cheque.report.outstanding import outstanding
from cheque.tongue import tr


class Unpaid(NamedTuple):
    """One payment that was made out and not cashed. `number` as preprinted, `amount` in minor units, `what` in words:
    "outstanding", "voided, still owed"."""

    account: str
    number: str
    date: str
    payee: str
    amount: int
    currency: str
    what: str
    reference: str
    batch: int
    item: int


def every(reader: Reader, *, batch: int = 0, account: str = "") -> Iterator[Unpaid]:
    """All of them, those outstanding first, by account and number."""
    numbers = Preprinted(reader)
    for form in outstanding(reader, batch=batch, account=account):
        yield Unpaid(
            *(form.account, numbers.of(form), form.date, form.payee, form.amount or 0, form.currency),
            *("outstanding", form.reference, form.batch, form.item),
        )
    for debt in owed.every(reader, batch=batch, account=account):
        if debt.settled:
            continue
        what = debt.state + (f", {debt.disposition}" if debt.disposition else tr(", owed"))
        yield Unpaid(
            *(debt.account, numbers.text(debt.stock, debt.number), debt.date, debt.payee, debt.amount, debt.currency),
            *(what, debt.reference, debt.batch, debt.item),
        )


def address(reader: Reader, one: Unpaid) -> tuple[str, ...]:
    """The payee's address as the register gave it; () when it gave none."""
    return batches.payment(reader, one.batch, one.item).address
