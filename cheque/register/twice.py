"""Nothing is paid twice: the same payment, the same invoice, nearly the same payment; in a register, or before it.

The same payment (account, payee, amount, date, reference) and the same invoice (vendor and number, as
`cheque.likeness` compares them) are faults, unless a person allows them by name. Nearly the same payment (payee and
amount, within so many days) is a question: weekly wages look alike, and so does an invoice keyed twice.
"""

from collections.abc import Callable, Collection, Iterable, Iterator
from datetime import date
from typing import NamedTuple

from cheque.errors import Fault
from cheque.likeness import invoices
from cheque.payment import Kind, Payment
from cheque.register.characters import shown
from cheque.register.checks import Case, stub_field
from cheque.register.duplicates import Seen, duplicate_key, near_key
from cheque.tongue import tr

#: a date as a whole number takes fewer bits than this
_DATE_BITS = 22


def _nowhere(payment: Payment) -> str:
    return ""


def _none(payment: Payment) -> Iterable[tuple[str, str]]:
    return ()


class PaidBefore(NamedTuple):
    """What the book knows of earlier batches, each as where it is ("payment 3 of batch 12") or "".

    `invoices` gives those of a payment's that were paid, with where; `days` is how far apart nearly the same payments
    may be, 0 for never.
    """

    payment: Callable[[Payment], str] = _nowhere
    invoices: Callable[[Payment], Iterable[tuple[str, str]]] = _none
    nearly: Callable[[Payment], str] = _nowhere
    days: int = 0


class Twice:
    """Hears payments one by one and finds what would be paid twice. `ask` and `refuse` are told of it."""

    def __init__(
        self,
        case: Case,
        before: PaidBefore,
        allowed: Collection[str],
        *,
        refuse: Callable[[Fault], None],
        ask: Callable[[str], None],
    ) -> None:
        self._case, self._before, self._allowed = case, before, frozenset(allowed)
        self._refuse, self._ask = refuse, ask
        self._payments, self._invoices, self._near = Seen(), Seen(), Seen(latest=True)
        self._told: set[tuple[int, int]] = set()
        self._met: set[str] = set()

    def hear(self, payment: Payment) -> bool:
        """Judge one payment; True when nothing of it is certainly paid twice."""
        if payment.reference and payment.reference in self._allowed:
            self._met.add(payment.reference)
            return True
        good = self._payment(payment)
        good = self._of_invoices(payment) and good
        if good and self._before.days and payment.amount > 0:
            self._nearly(payment)
        return good

    def unmet(self) -> list[str]:
        """What is allowed to be there twice, and is no reference and no invoice of this register at all."""
        return sorted(self._allowed - self._met)

    def _payment(self, payment: Payment) -> bool:
        twin = self._payments.put(duplicate_key(payment), payment.line or payment.item)
        where = tr("line {twin}", twin=twin) if twin else self._before.payment(payment)
        if not where:
            return True
        found = tr("the same payee, amount, date and reference as {where}", where=where)
        if payment.reference:
            reference = shown(payment.reference)
            do = tr("take it out, or allow the reference {reference} to be paid again", reference=reference)
        else:
            do = tr("take it out, or give each payment a reference of its own")
        self._refuse(Fault(self._case.at(payment, "payee"), found, tr("each payment once"), do))
        return False

    def _of_invoices(self, payment: Payment) -> bool:
        lines = [line for line in payment.stub if line.kind is Kind.INVOICE]
        if not lines:
            return True
        before = dict(self._before.invoices(payment))
        good = True
        seen: dict[int, str] = {}
        for line in lines:
            ((key, number),) = invoices(payment._replace(stub=(line,))).items()
            if number in self._allowed:
                self._met.add(number)
                continue
            if key in seen:
                where = tr("another of this payment, {seen}", seen=shown(seen[key]))
            elif twin := self._invoices.put(key.to_bytes(8, "big"), payment.line or payment.item):
                where = tr("one on line {twin}", twin=twin)
            else:
                where = before.get(number, "")
                where = where and tr("one of {where}", where=where)
            seen[key] = number
            if where:
                good = False
                self._refuse(_paid_twice(self._case.at(payment, stub_field(line, "number")), number, where))
        return good

    def _nearly(self, payment: Payment) -> None:
        """Ask about a payment that is nearly one of the register's, or nearly one of an earlier batch."""
        days, line = self._before.days, payment.line or payment.item
        try:
            day = date.fromisoformat(payment.date).toordinal()
        except ValueError:
            return  # it is refused for its date
        where = ""
        if held := self._near.put(near_key(payment), line << _DATE_BITS | day):
            other, then = divmod(held, 1 << _DATE_BITS)
            where = tr("line {other}", other=other) if abs(day - then) <= days else ""
        if where := where or self._before.nearly(payment):
            at = self._case.at(payment, "payee")
            self._ask(
                tr(
                    "{at}: {to} within {days} days of {where}",
                    at=at,
                    to=_to(payment, self._case),
                    days=days,
                    where=where,
                )
            )

    def end(self) -> None:
        """Find what only the whole register shows. It may be asked again."""
        for line, twin in self._across(self._payments):
            found = tr("the same payee, amount, date and reference as line {twin}", twin=twin)
            do = tr("take it out, or allow its reference to be paid again")
            self._refuse(
                Fault(
                    tr("{source} line {line}, payee", source=self._case.source, line=line),
                    found,
                    tr("each payment once"),
                    do,
                )
            )
        for line, twin in self._across(self._invoices):
            self._refuse(
                _paid_twice(
                    tr("{source} line {line}, invoice", source=self._case.source, line=line),
                    "",
                    tr("one on line {twin}", twin=twin),
                )
            )
        for later, earlier in self._across(self._near):
            (line, day), (other, then) = divmod(later, 1 << _DATE_BITS), divmod(earlier, 1 << _DATE_BITS)
            if abs(day - then) <= self._before.days:
                at = tr("{source} line {line}, payee", source=self._case.source, line=line)
                self._ask(
                    tr(
                        "{at}: the same payee and amount within {days} days of line {other}",
                        at=at,
                        days=self._before.days,
                        other=other,
                    )
                )

    def _across(self, seen: Seen) -> Iterator[tuple[int, int]]:
        for later, earlier in seen.across():
            pair = (id(seen) ^ later, earlier)
            if pair not in self._told:
                self._told.add(pair)
                yield later, earlier


def _paid_twice(at: str, number: str, where: str) -> Fault:
    do = (
        tr("take it out, or allow the invoice {number} to be paid again", number=shown(number))
        if number
        else tr("take it out, or allow the invoice to be paid again")
    )
    return Fault(
        at,
        tr("the same vendor and invoice number as {where}", where=where),
        tr("each invoice paid once"),
        do,
    )


def _to(payment: Payment, case: Case) -> str:
    return tr(
        "{amount} to {payee}, reference {reference}, is",
        amount=case.money(payment.amount),
        payee=shown(payment.payee),
        reference=shown(payment.reference),
    )
