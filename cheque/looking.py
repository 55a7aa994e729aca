"""What one payment of a register shows by itself: read, checked, held against its form, put into the words of a book.

It is the greater part of judging a register, and the part that knows neither the book nor the other payments: so it is
done for a share of them at a time, by whichever process is free (`cheque.crew`).
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any, NamedTuple

from cheque import layout, run
from cheque.errors import Fault
from cheque.form.model import Form
from cheque.language.tables import unprintable
from cheque.payment import Kind, Payment, to_kept, to_text
from cheque.register import Reading, unsaid
from cheque.register.checks import Case, Printer
from cheque.register.judge import Looked, look
from cheque.register.rows import Row
from cheque.tongue import speaks

Unprintable = Callable[[str], list[tuple[int, str]]]


def beyond_tables(tables: Sequence[str]) -> Unprintable:
    """Places (from 1) and characters of a text that one of these character tables has no character for."""

    def check(text: str) -> list[tuple[int, str]]:
        return sorted({(place + 1, letter) for table in tables for place, letter in unprintable(text, table)})

    return check


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


def never_shown(form: Form | None) -> list[str]:
    """What a payment may have that a form shows nowhere; nothing when there is no form yet."""
    shown_by = {field.what for field in form.fields} if form else set(_SHOWN)
    return [what for what in _SHOWN if what not in shown_by and not _ALSO.get(what, frozenset()) & shown_by]


class Seen(NamedTuple):
    """What one thing that a reader yields shows.

    unfit: what of a payment does not fit its form or its printers, looked for when nothing else is wrong with it.
    text, kept: the payment as `to_text` and as a book keeps it; "" when something is wrong. hidden: what it has that
    the form shows nowhere. beyond, listed: the forms it takes beyond its first; its stub lines that stand on a listing.
    """

    looked: Looked
    unfit: tuple[Fault, ...] = ()
    text: str = ""
    kept: str = ""
    hidden: tuple[str, ...] = ()
    beyond: int = 0
    listed: int = 0


_STUB = Payment._fields.index("stub")
#: of a stub only invoices are held against anything outside of their payment: other lines stay with who looked
_ELSEWHERE = Kind.INVOICE


class Look:
    """Looks at a share of a register: `settings` are of one form and drawer, one a printer; none when there is no form.

    The payments it gives have of their stub the invoices only: the whole payment is in `text` and `kept`.
    """

    def __init__(
        self, reading: Reading, tables: Sequence[str], form: Form | None, settings: Sequence[run.Setting]
    ) -> None:
        self._reading, self._tables, self._form, self._settings = reading, tables, form, settings
        self._case = Case(reading.source, reading.currency, Printer(beyond_tables(tables)))
        self._never = [(what, _SHOWN[what]) for what in never_shown(form)]

    def __reduce__(self) -> tuple[object, ...]:
        """Pickled for a fresh interpreter, which speaks English: in any other language the faults are found here."""
        if speaks():
            raise TypeError("a fresh interpreter speaks no other language")
        return Look, (self._reading._replace(state=unsaid), self._tables, self._form, self._settings)

    def __call__(self, share: list[Row | Payment | Fault]) -> list[tuple[Any, ...]]:
        """What each of a share shows; as plain tuples, which go from process to process in a third of the time."""
        return [_told(seen) for one in share for seen in self.all_of(one)]

    def all_of(self, one: Row | Payment | Fault) -> Iterator[Seen]:
        """What one line shows: a payment, or its faults, one by one."""
        items = iter(one.items() if isinstance(one, Row) else [one])
        for item in borne(self._form, items) if self._form else items:
            yield self._seen(item)

    def _seen(self, item: Payment | Fault) -> Seen:
        looked = look(item, self._case)
        if looked.faults or not isinstance(item, Payment):
            return Seen(looked)
        hidden = tuple([what for what, get in self._never if get(item)])
        if unfit := self._unfit(item):
            return Seen(looked, unfit, hidden=hidden)
        beyond = listed = 0
        if self._form and self._settings:
            beyond, listed = layout.overflow(item, self._form, self._settings[0].drawer)
        return Seen(looked, (), to_text(item), to_kept(item), hidden, beyond, listed)

    def _unfit(self, payment: Payment) -> tuple[Fault, ...]:
        """What of a payment does not fit its form, or cannot be printed exactly on one of the printers."""
        faults = run.refuse_unprintable(payment, self._settings)
        source = self._reading.source
        return tuple([Fault(f"{source}, {fault.where}", fault.found, fault.wanted, fault.do) for fault in faults])


def _told(seen: Seen) -> tuple[Any, ...]:
    """As a plain tuple: the payment's values first, or the fault."""
    (item, faults, warnings), *rest = seen
    if isinstance(item, Payment):
        stub = tuple([line for line in item.stub if line.kind is _ELSEWHERE]) if item.stub else ()
        item = (*item[:_STUB], stub, *item[_STUB + 1 :])  # type: ignore[assignment]
    return (item, faults, warnings, *rest)


def heard(told: tuple[Any, ...]) -> Seen:
    """What `Look` told."""
    item, faults, warnings, *rest = told
    if type(item) is tuple:
        item = tuple.__new__(Payment, item)
    return Seen(Looked(item, faults, warnings), *rest)
