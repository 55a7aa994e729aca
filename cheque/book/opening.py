"""Cheques that were already out when the book was begun: an opening list.

Each becomes a good cheque of the book: it is outstanding, can be cleared, stopped, voided and paid again on another
form. Its number is entered as stock of its own, one stretch of numbers at a time, every form of it printed: so a box
that has the number too cannot be received (a number is received once), and no run can ever use it.
"""

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from cheque.book import batches
from cheque.book.book import Book
from cheque.book.move import stock_of
from cheque.errors import BookRefused, Fault, InputRefused
from cheque.payment import Payment
from cheque.tongue import counted, tr

#: what stands for the form of these numbers among the stock, and the kind of their batch
FORM = "opening list"
KIND = "opening"


class Out(NamedTuple):
    """One cheque that is out: its number as preprinted, its day (ISO 8601), minor units; `where`, for messages."""

    number: str
    date: str
    payee: str
    amount: int
    where: str = ""
    reference: str = ""


def enter(
    book: Book, cheques: Sequence[Out], *, account: str, form: str, definition: str, currency: str, source: str
) -> int:
    """Enter an opening list, all of it or nothing; gives the batch that has its payments, in order of number.

    `form`, `definition`: what one of them is printed on when it has to be paid again. InputRefused, with all faults,
    when a number is twice on the list, or no number; BookRefused when one is in the book already.
    """
    if not cheques:
        raise InputRefused(tr("{source} has no cheque in it: without one there is nothing to enter.", source=source))
    faults = _faults(cheques)
    if faults:
        raise InputRefused(
            tr(
                "{source} is refused: {faults}.",
                source=source,
                faults=counted(len(faults), "fault"),
            ),
            faults,
        )
    ordered = sorted(cheques, key=lambda out: int(out.number))
    with batches.accepting(book) as acceptance:
        _apart(book, ordered, account, source)
        for item, out in enumerate(ordered, 1):
            reference = out.reference or out.number
            acceptance.add(Payment(item, out.payee, out.amount, out.date, reference, expected=out.number))
        acceptance.finish(
            {
                "account": account,
                "form": form,
                "form_digest": acceptance.keep_form(definition),
                "currency": currency,
                "items": len(ordered),
                "total": sum(out.amount for out in ordered),
                "hash": 0,
                "source": source,
                "kind": KIND,
                "register": "",
                "pairs": "",
            }
        )
        item = 1
        for stretch in _stretches(ordered):
            acceptance.change.append(
                "opening.entered",
                {
                    "account": account,
                    "form": FORM,
                    "first": int(stretch[0].number),
                    "last": int(stretch[-1].number),
                    "digits": len(stretch[0].number),
                    "batch": acceptance.batch,
                    "item": item,
                },
            )
            item += len(stretch)
        return acceptance.batch


def _faults(cheques: Sequence[Out]) -> list[Fault]:
    faults, seen = [], dict[int, str]()
    for out in cheques:
        if not (out.number.isascii() and out.number.isdigit() and len(out.number) <= 18 and int(out.number)):
            faults.append(
                Fault(
                    out.where, tr("number {number!r}", number=out.number), tr("digits only, as preprinted, from 1 up")
                )
            )
            continue
        before = seen.setdefault(int(out.number), out.where)
        if before is not out.where:
            faults.append(
                Fault(
                    out.where,
                    tr("number {number}, which {before} has too", number=out.number, before=before),
                    tr("each number once"),
                )
            )
        if out.amount <= 0:
            faults.append(Fault(out.where, tr("an amount of nought or less"), tr("what the cheque is for")))
        try:
            date.fromisoformat(out.date)
        except ValueError:
            faults.append(Fault(out.where, tr("date {date!r}", date=out.date), tr("a day such as 2026-10-30")))
    return faults


def _apart(book: Book, ordered: Sequence[Out], account: str, source: str) -> None:
    faults = []
    for out in ordered:
        box = stock_of(book.store, account, int(out.number))
        if box is not None:
            held = (
                tr("on an opening list")
                if box[1] == FORM
                else tr("in the box {box} to {box2}", box=box[2], box2=box[3])
            )
            do = tr("leave it out, or receive only what was still in the box when the book was begun")
            faults.append(
                Fault(
                    out.where,
                    tr("number {number} of {account}, {held} already", number=out.number, account=account, held=held),
                    tr("one not in it"),
                    do,
                )
            )
    if faults:
        raise BookRefused(
            tr("{source} has numbers that are in the book already: nothing of it is entered.", source=source), faults
        )


def _stretches(ordered: Sequence[Out]) -> list[list[Out]]:
    """Numbers that follow each other, as many digits each, together."""
    found: list[list[Out]] = []
    for out in ordered:
        last = found[-1][-1] if found else None
        if last and int(out.number) == int(last.number) + 1 and len(out.number) == len(last.number):
            found[-1].append(out)
        else:
            found.append([out])
    return found
