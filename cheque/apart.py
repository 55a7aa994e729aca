"""The advices of a batch set apart: onto forms of their own, as a batch of their own, with its own proof and run.

A cheque is numbered stock that can be paid, and dear; an advice pays nothing and may stand on plainer stock. The
payments stay those of their register: its batch still adds up to the slip, and what became of them is told there too.
"""

from cheque import run
from cheque.accept import able
from cheque.book import batches
from cheque.book.book import Book
from cheque.book.move import ranges_of
from cheque.errors import BookRefused, Fault, InputRefused
from cheque.form import to_text
from cheque.form.model import Form
from cheque.payment import Role
from cheque.settings import Account, PrinterSettings
from cheque.tongue import tr


def set_apart(book: Book, batch: int, form: Form, account: Account, printers: list[PrinterSettings]) -> tuple[int, int]:
    """Set the advices of a batch that still wait apart, onto a form; gives the new batch and how many they are.

    BookRefused when there is none; InputRefused with everything that does not fit the form.
    """
    found = batches.get(book, batch)
    if Role.ADVICE not in form.roles or (Role.CHEQUE in form.roles and form.name == found.form):
        raise InputRefused(
            tr(
                "found {name}, {more}; wanted a form for advices of their own.",
                name=form.name,
                more=tr("the form of the batch") if form.name == found.form else tr("which takes no advices"),
            )
        )
    good, reasons = able(form, account, printers)
    if not good:
        raise InputRefused(
            tr(
                "no printer can print {name}: {reasons}.",
                name=form.name,
                reasons=" | ".join(reasons) or tr("there is none"),
            )
        )
    settings = [run.setting(form, account, printer) for printer in good]
    with batches.accepting(book) as acceptance:
        items, faults, hashed = [], list[Fault](), 0
        for item in batches.waiting(book, batch):
            payment = batches.payment(book, batch, item)
            if payment.role is not Role.ADVICE:
                continue
            faults += run.refuse_unprintable(payment, settings)
            items.append(item)
            hashed += payment.hash_value or 0
            acceptance.add(payment._replace(item=len(items), expected=""))
        if faults:
            raise InputRefused(tr("advices of batch {batch} do not fit {name}.", batch=batch, name=form.name), faults)
        if not items:
            raise BookRefused(
                tr("batch {batch} has no advice that waits for a form: there is nothing to set apart.", batch=batch)
            )
        acceptance.finish(
            {
                "account": found.account,
                "form": form.name,
                "form_digest": acceptance.keep_form(to_text(form)),
                "currency": found.currency,
                "items": len(items),
                "total": 0,
                "hash": hashed,
                "source": tr("advices of batch {batch}", batch=batch),
                "kind": "advices",
                "register": "",
                "pairs": "",
                "apart": {"batch": batch, "items": ranges_of(items)},
            }
        )
        return acceptance.batch, len(items)
