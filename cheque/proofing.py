"""A batch's proof as a document: its totals, its list of payees and amounts, and what to stop at."""

import tempfile
from collections.abc import Iterator
from contextlib import closing
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from cheque import crew, run
from cheque.book import batches, usual
from cheque.book.book import Book, Reader
from cheque.money import plain
from cheque.payment import Payment, Role
from cheque.run import Setting
from cheque.tongue import tr

if TYPE_CHECKING:  # the code alone wants no picture
    from cheque.picture.proofbook import Totals
    from cheque.picture.proofpage import Entry

#: bytes of page digests that are held in memory; more go to a file
_HELD = 1 << 20
#: of payees that are gone so many are named
NAMED = 20


class Contents(NamedTuple):
    """What both kinds of proof document say before the pictures."""

    totals: "Totals"
    entries: "list[Entry]"
    changes: list[str]


def contents(reader: Reader, batch: batches.Batch, setting: Setting, code: str, payment: int = 0) -> Contents:
    """The totals, the list and what changed, of a batch whose proof has this code.

    `payment`: the one that is drawn; 0 for all.
    """
    from cheque.picture.proofbook import Totals

    compared = usual.paid_before(reader, batch.account, before=batch.id)
    entries = [_entry(reader, batch, payment, compared) for payment in batches.payments(reader, batch.id)]
    totals = Totals(
        batch=tr("batch {id}", id=batch.id),
        account=batch.account,
        form=setting.form.title,
        stock=batch.form,
        item_count=len(entries),
        control_total=f"{plain(run.money_out(reader, batch.id), batch.currency)} {batch.currency}",
        hash_total=str(batch.hash or ""),
        proof_code=code,
        pairs=[(entry.payee, entry.amount, *entry.remarks) for entry in entries],
        alone=tr("Payment {payment}, one of {count},", payment=payment, count=len(entries))
        if payment and len(entries) > 1
        else "",
    )
    return Contents(totals, entries, list(_changes(reader, batch, entries)))


def _entry(reader: Reader, batch: batches.Batch, payment: Payment, compared: bool) -> "Entry":
    from cheque.picture.proofpage import Entry

    before = usual.usual(reader, batch.account, payment.payee, before=batch.id)
    remarks = []
    new = (
        compared and not before.times and not batches.known_payee(reader, batch.account, payment.payee, before=batch.id)
    )
    if new:
        remarks.append(tr("new payee"))
    far = ""
    if payment.role is Role.ADVICE:
        remarks.append(tr("advice"))
    elif far := before.far(payment.amount):
        remarks.append(tr("{far} than usual ({amount})", far=far, amount=plain(before.middle, batch.currency)))
    details = (
        (tr("Date"), payment.date),
        (tr("Reference"), payment.reference),
        (tr("Number in the register"), payment.expected),
    )
    return Entry(
        payment.item,
        payment.payee,
        plain(payment.amount, batch.currency),
        tuple((name, value) for name, value in details if value),
        tuple(remarks),
        new,
        bool(far),
    )


def _changes(reader: Reader, batch: batches.Batch, entries: "list[Entry]") -> Iterator[str]:
    last = usual.last_payday(reader, batch.account, batch.form, before=batch.id)
    if not last:
        yield tr("There is no earlier batch on this form to compare with.")
        return
    then, money = batches.get(reader, last), run.money_out(reader, last)
    yield (
        tr(
            "Batch {last}, the one before, was accepted on {at}: {items} payments, {amount} {currency}.",
            last=last,
            at=then.at[:10],
            items=then.items,
            amount=plain(money, then.currency),
            currency=then.currency,
        )
    )
    new = [entry for entry in entries if entry.new]
    if new:
        yield tr("New payees: {named}.", named=_named(f"{entry.payee} ({entry.amount})" for entry in new))
    far = [entry for entry in entries if entry.far]
    if far:
        listed = _named(f"{entry.payee} {entry.amount}, {entry.remarks[-1]}" for entry in far)
        yield tr("Amounts far from usual ({rule}): {listed}.", rule=tr(usual.RULE), listed=listed)
    if absent := usual.gone(reader, batch.id, last):
        yield tr("In that batch and not in this one: {named}.", named=_named(iter(absent), ""))
    if not (new or far or absent):
        yield tr("No payee is new or gone, and no amount is far from usual.")


def _named(names: Iterator[str], where: str | None = None) -> str:
    listed = list(names)
    where = tr(", marked in the list") if where is None else where
    more = tr("; and {count} more{where}", count=len(listed) - NAMED, where=where) if len(listed) > NAMED else ""
    return "; ".join(listed[:NAMED]) + more


def make(book: Book, batch: batches.Batch, setting: Setting) -> tuple[str, int]:
    """Prove every payment and keep the digests; gives the proof's digest and how many payments it shows."""
    with tempfile.SpooledTemporaryFile(_HELD, "w+", encoding="ascii") as pages:  # a batch may have a million
        tally, count = run.ProofTally(book, batch.id, setting), 0
        shares = crew.shares(batches.kept(book, batch.id))
        with closing(crew.in_order(partial(run.proved_pages, setting), shares)) as done:
            for share, proved in done:
                for (item, _), digests in zip(share, proved, strict=True):
                    tally.add(digests)
                    pages.write(f"{item} {digests}\n")
                count += len(share)
        digest = tally.hexdigest()
        pages.seek(0)
        batches.proved(book, batch.id, digest, map(_item_and_pages, pages))
    return digest, count


def _item_and_pages(line: str) -> tuple[int, str]:
    item, _, pages = line.rstrip("\n").partition(" ")
    return int(item), pages
