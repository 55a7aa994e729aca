"""A register judged for a book: every check of its payments, what was paid before, and whether each fits its form.

What accepting a register and merely checking it have in common. Nothing is changed here.
"""

from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import closing
from typing import Any, BinaryIO, NamedTuple

from cheque import crew, layout, run
from cheque.book import paid_before, stock
from cheque.book.book import Reader
from cheque.errors import Fault, UsageRefused
from cheque.form.model import Form
from cheque.looking import Look, beyond_tables, heard, never_shown
from cheque.payment import Payment
from cheque.register import Reading, read_rows
from cheque.register.characters import shown
from cheque.register.judge import Judge, Verdict
from cheque.register.twice import PaidBefore
from cheque.settings import Account, PrinterSettings
from cheque.tongue import tr


def on_printers(printers: Iterable[PrinterSettings]) -> Callable[[str], list[tuple[int, str]]]:
    """Places (from 1) and characters of a text that one of these printers has no character for."""
    return beyond_tables(tables_of(printers))


def tables_of(printers: Iterable[PrinterSettings]) -> list[str]:
    """The character tables of printers, each once."""
    return sorted({printer.table for printer in printers})


class Judged(NamedTuple):
    """How a register is judged: read how, for which account, for which printers, and what a person has allowed."""

    reading: Reading
    account: Account
    printers: Collection[PrinterSettings]
    allow_duplicate: Collection[str] = ()


def judge_register(reader: Reader, how: Judged, *, pays: bool = True) -> Judge:
    """A judge of registers, who knows the printers and what was paid before."""
    account = how.account
    latest: list[Any] = [None, None, False]  # both questions are asked of a payment, one after the other

    def known(payment: Payment) -> bool:
        if latest[0] != payment.payee or latest[1] != payment.amount:
            found = paid_before.anything(reader, payment.payee, payment.amount)
            latest[:] = payment.payee, payment.amount, found
        return bool(latest[2])

    before = PaidBefore(
        lambda payment: str(paid_before.payment(reader, account.name, payment) or "") if known(payment) else "",
        lambda payment: [(number, str(where)) for number, where in paid_before.invoice(reader, payment)],
        lambda payment: _nearly(reader, account, payment) if known(payment) else "",
        account.near_duplicate_days,
    )
    return Judge(
        how.reading,
        unprintable=on_printers(how.printers),
        before=before,
        allow_duplicate=how.allow_duplicate,
        pays=pays,
    )


def _nearly(reader: Reader, account: Account, payment: Payment) -> str:
    found = paid_before.nearly(reader, payment, account.currency, account.near_duplicate_days)
    if not found:
        return ""
    reference = (
        tr("reference {reference}", reference=shown(found.reference)) if found.reference else tr("with no reference")
    )
    return tr("{found}, dated {date}, {reference}", found=found, date=found.date, reference=reference)


class NearlyTheSame(UsageRefused):
    """Payments are nearly others, and nobody has said that they are not the same: `questions` are theirs."""

    def __init__(self, verdict: Verdict) -> None:
        self.questions = verdict.questions
        more = verdict.question_count - len(verdict.questions)
        lines = "\n  ".join((*verdict.questions, *((tr("… and {more} more.", more=more),) if more else ())))
        super().__init__(
            tr(
                "Is this paid twice?\n  {lines}\nIf it is, take it out of the register. If not, say why: "
                '--not-a-duplicate "weekly hire, paid each Friday".',
                lines=lines,
            )
        )


class Passed(NamedTuple):
    """A payment of a register in which nothing is wrong.

    payment: without the lines of its stub that are no invoices. text, kept: the whole of it, as `to_text` writes it,
    and as a book keeps it.
    """

    payment: Payment
    text: str
    kept: str


class Checking:
    """One register being judged, for a form or for none yet. `judge` has the verdict once `passed` has ended."""

    def __init__(self, reader: Reader, how: Judged, form: Form | None) -> None:
        self._reader, self._how, self._form = reader, how, form
        self._settings = [run.setting(form, how.account, printer) for printer in how.printers] if form else []
        self.judge = judge_register(reader, how, pays=form is None or form.payable)
        if form and (amiss := _account_amiss(form, self._settings)):  # told once, and not again for every payment
            self._settings = []
            for fault in amiss:
                self.judge.refuse(fault)
        self._hidden = dict.fromkeys(never_shown(form), 0)
        self._items = self._beyond = self._listed = 0

    def passed(self, stream: BinaryIO) -> Iterator[Passed]:
        """The payments of a register in which nothing is wrong, as they come; all are judged and counted.

        Each is read, checked and laid out by whichever process is free; what is to be known of the others and of the
        book is found here, in the register's order.
        """
        reading = self._how.reading
        look = Look(reading, tables_of(self._how.printers), self._form, self._settings)
        with closing(crew.in_order(look, crew.shares(read_rows(stream, reading)))) as looked_at:
            for _, share in looked_at:
                for told in share:
                    looked, unfit, text, kept, hidden, beyond, listed = heard(told)
                    if not self.judge.heard(looked) or not isinstance(looked.item, Payment):
                        continue
                    for what in hidden:
                        self._hidden[what] += 1
                    for fault in unfit:
                        self.judge.refuse(fault)
                    if not unfit:
                        self._items += 1
                        self._beyond += beyond
                        self._listed += listed > 0
                        yield Passed(looked.item, text, kept)

    def notes(self) -> Iterator[str]:
        """How many forms it takes, what stands on no form although the register has it, whether there is stock."""
        if self._beyond:
            yield tr(
                "{forms} forms for {payments} payments: some stubs go on on further forms.",
                forms=self._items + self._beyond,
                payments=self._items,
            )
        if self._listed:
            yield (
                tr(
                    "{listed} of the payments have more stub lines than the form holds: `cheque report listing` of "
                    "the batch has all of them, on plain paper.",
                    listed=self._listed,
                )
            )
        hidden = [tr("{what} (of {count})", what=what, count=count) for what, count in self._hidden.items() if count]
        if hidden and self._form:
            yield tr(
                "the form {name} never shows {hidden}: kept in the book, printed nowhere.",
                name=self._form.name,
                hidden=", ".join(hidden),
            )
        if self._form:
            yield from too_few(self._reader, self._how.account.name, self._form.name, self._items + self._beyond)


def too_few(reader: Reader, account: str, form: str, wanted: int) -> Iterator[str]:
    """What there is to say when an account's stock of a form has fewer on hand than are wanted; nothing else."""
    there = stock.how_many_on_hand(reader, account, form)
    if there < wanted:
        said = (
            tr("none of {form} is on hand for {account}", form=form, account=account)
            if not there
            else tr("1 of {form} is on hand for {account}", form=form, account=account)
            if there == 1
            else tr("{count} of {form} are on hand for {account}", count=there, form=form, account=account)
        )
        yield (
            tr(
                "1 form is needed, continuations counted, and {said}: `cheque stock receive` enters a new box.",
                said=said,
            )
            if wanted == 1
            else tr(
                "{count} forms are needed, continuations counted, and {said}: `cheque stock receive` enters a new box.",
                count=wanted,
                said=said,
            )
        )


def _account_amiss(form: Form, settings: list[run.Setting]) -> list[Fault]:
    """What of the account does not fit the form, whatever the payment."""
    try:
        for setting in settings:
            layout.compiled(form, setting.drawer)
    except layout.LayoutError as error:
        return list(error.faults)
    return []
