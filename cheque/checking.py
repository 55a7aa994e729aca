"""A register judged for a book: every check of its payments, what was paid before, and whether each fits its form.

What accepting a register and merely checking it have in common. Nothing is changed here.
"""

from collections.abc import Callable, Collection, Iterable, Iterator
from typing import BinaryIO, NamedTuple

from cheque import layout, run
from cheque.book import paid_before, stock
from cheque.book.book import Reader
from cheque.errors import Fault, UsageRefused
from cheque.form.model import Form
from cheque.language.tables import unprintable
from cheque.payment import Payment
from cheque.register import Reading, read_register
from cheque.register.characters import shown
from cheque.register.judge import Judge, Verdict
from cheque.register.twice import PaidBefore
from cheque.settings import Account, PrinterSettings
from cheque.tongue import tr


def on_printers(printers: Iterable[PrinterSettings]) -> Callable[[str], list[tuple[int, str]]]:
    """Places (from 1) and characters of a text that one of these printers has no character for."""
    tables = sorted({printer.table for printer in printers})

    def check(text: str) -> list[tuple[int, str]]:
        return sorted({(place + 1, letter) for table in tables for place, letter in unprintable(text, table)})

    return check


class Judged(NamedTuple):
    """How a register is judged: read how, for which account, for which printers, and what a person has allowed."""

    reading: Reading
    account: Account
    printers: Collection[PrinterSettings]
    allow_duplicate: Collection[str] = ()


def judge_register(reader: Reader, how: Judged, *, pays: bool = True) -> Judge:
    """A judge of registers, who knows the printers and what was paid before."""
    account = how.account
    before = PaidBefore(
        lambda payment: str(paid_before.payment(reader, account.name, payment) or ""),
        lambda payment: [(number, str(where)) for number, where in paid_before.invoice(reader, payment)],
        lambda payment: _nearly(reader, account, payment),
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


def borne(form: Form, items: Iterator[Payment | Fault]) -> Iterator[Payment | Fault]:
    """What a reader yields, as the form bears it: on a paper that pays nothing, no payment is money out."""
    if form.payable:
        return items
    return (form.bears(item) if isinstance(item, Payment) else item for item in items)


#: what a field of a form shows -> whether a payment has it
_SHOWN: dict[str, Callable[[Payment], object]] = {
    "memo": lambda payment: payment.memo,
    "reference": lambda payment: payment.reference,
    "department": lambda payment: payment.department,
    "employee": lambda payment: payment.employee,
    "identity": lambda payment: payment.identity,
    "address": lambda payment: payment.address,
    "period": lambda payment: payment.period_from,
    "by_transfer": lambda payment: payment.by_transfer,
}
#: what else a form can show it by
_ALSO = {"period": frozenset({"period_from", "period_to"})}


class Checking:
    """One register being judged, for a form or for none yet. `judge` has the verdict once `payments` has ended."""

    def __init__(self, reader: Reader, how: Judged, form: Form | None) -> None:
        self._reader, self._how, self._form = reader, how, form
        self._settings = [run.setting(form, how.account, printer) for printer in how.printers] if form else []
        self.judge = judge_register(reader, how, pays=form is None or form.payable)
        if form and (amiss := _account_amiss(form, self._settings)):  # told once, and not again for every payment
            self._settings = []
            for fault in amiss:
                self.judge.refuse(fault)
        shown_by = {field.what for field in form.fields} if form else set(_SHOWN)
        never = [what for what in _SHOWN if what not in shown_by and not _ALSO.get(what, frozenset()) & shown_by]
        self._never = {what: _SHOWN[what] for what in never}
        self._hidden = dict.fromkeys(never, 0)
        self._items = self._beyond = self._listed = 0

    def payments(self, stream: BinaryIO) -> Iterator[Payment]:
        """The payments of a register in which nothing is wrong, as they come; all are judged and counted."""
        reading = self._how.reading
        items = read_register(stream, reading)
        for payment in self.judge.payments(borne(self._form, items) if self._form else items):
            faults = _unfit(payment, self._settings, reading.source)
            for fault in faults:
                self.judge.refuse(fault)
            for what, get in self._never.items():
                self._hidden[what] += bool(get(payment))
            if not faults:
                self._count(payment)
                yield payment

    def _count(self, payment: Payment) -> None:
        self._items += 1
        if self._form and self._settings:
            beyond, listed = layout.overflow(payment, self._form, self._settings[0].drawer)
            self._beyond += beyond
            self._listed += listed > 0

    def notes(self) -> Iterator[str]:
        """How many forms it takes, what stands on no form although the register has it, whether there is stock."""
        if self._beyond:
            yield tr(
                "{items} forms for {items2} payments: some stubs go on on further forms.",
                items=self._items + self._beyond,
                items2=self._items,
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
            tr("{there} of {form} {more}", there=there, form=form, more=tr("is") if there == 1 else tr("are"))
            if there
            else tr("none of {form} is", form=form)
        )
        yield (
            tr(
                "{wanted} form{more} needed, continuations counted, and {said} on hand for {account}: `cheque "
                "stock receive` enters a new box.",
                wanted=wanted,
                more=tr("s are") if wanted > 1 else tr(" is"),
                said=said,
                account=account,
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


def _unfit(payment: Payment, settings: list[run.Setting], source: str) -> list[Fault]:
    """What of a payment does not fit its form, or cannot be printed exactly on one of the printers."""
    faults = run.refuse_unprintable(payment, settings)
    return [Fault(f"{source}, {fault.where}", fault.found, fault.wanted, fault.do) for fault in faults]
