"""Back to payroll: what became of each payment of a register, as data to be written in the register's own kind.

One result a payment, in the register's order, whatever the order of printing: the payments that were voided, pulled,
spoiled and printed again, or paid by transfer are among them, so that payroll can close every line that it opened.
"""

from typing import NamedTuple

from cheque.book import batches, cleared
from cheque.book.batches import Batch
from cheque.book.book import Reader
from cheque.payment import Role
from cheque.reconcile import money
from cheque.reconcile.written import Preprinted

#: key of a fate -> the status that payroll is told; at most twelve characters
_STATUS = {
    "good": "printed",
    "elsewhere": "printed",
    "pulled": "pulled",
    "withdrawn": "withdrawn",
    "voided": "voided",
    "missing": "missing",
    "waiting": "waiting",
    "doubt": "in doubt",
}
#: every status, and what payroll may take from it
STATUSES = {
    "printed": "a good cheque of this number is there",
    "paid": "the bank has paid it",
    "advice": "printed as an advice: nothing is paid by cheque",
    "voided": "its cheque was voided and not printed again: it is still owed",
    "missing": "its form is missing and may bear a cheque: not printed again",
    "in doubt": "sent to the printer, and nobody has looked yet",
    "waiting": "not printed yet",
    "pulled": "taken out before printing: never paid here",
    "withdrawn": "its whole batch was taken out before printing",
}
COLUMNS = ("reference", "number", "date", "amount", "status", "note")


class Result(NamedTuple):
    """What became of one payment. `number` as it is preprinted, "" for none; `date` is the cheque's, ISO 8601;
    `amount` in minor units; `note` is what there is to add."""

    reference: str
    number: str
    date: str
    amount: int
    status: str
    note: str


def results(reader: Reader, batch: Batch) -> list[Result]:
    """What became of each payment of a batch, in the order of its register."""
    numbers = Preprinted(reader)
    every, carried = money.claims(reader, batch.id), money.forms(reader, batch.id)
    told = {fate.claim.item: fate for fate in money.fates(batch, every, carried)}
    found = []
    for payment in batches.payments(reader, batch.id, pulled=True):
        fate = told[payment.item]
        forms = carried.get((fate.claim.origin_batch, fate.claim.origin_item), [])
        result = Result(
            payment.reference,
            numbers.text(fate.form.stock, fate.form.number) if fate.form and fate.key != "waiting" else "",
            payment.date,
            payment.amount,
            _status(reader, fate),
            _note(fate, forms, numbers, payment.amount),
        )
        found.append((payment.place or payment.item, result))
    return [result for _, result in sorted(found)]


def _status(reader: Reader, fate: money.Fate) -> str:
    if fate.key in ("good", "elsewhere") and fate.form:
        if fate.form.role != Role.CHEQUE:
            return "advice"
        if cleared.get(reader, fate.form.account, fate.form.number):
            return "paid"
    return _STATUS[fate.key]


def _note(fate: money.Fate, forms: list[money.Form], numbers: Preprinted, amount: int) -> str:
    """Why it was pulled or voided, what it was on before, whether it is paid by transfer: for a file, so in English."""
    said = [fate.claim.pulled] if fate.claim.pulled else []
    if fate.claim.role != Role.CHEQUE and amount:
        said.append("paid by transfer")
    for form in forms:
        number = numbers.text(form.stock, form.number)
        mine = fate.form is not None and (form.account, form.number) == (fate.form.account, fate.form.number)
        if form.state in ("voided", "spoiled", "missing"):
            why = f": {form.reason}" if form.reason else ""
            said.append(f"{form.state}{why}" if mine and fate.key != "waiting" else f"{number} {form.state}{why}")
        if mine and form.stop:
            said.append(f"bank's stop: {form.stop}")
    return "; ".join(said)
