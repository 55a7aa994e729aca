"""Judges a register: every check of every payment, what no single payment shows, and its totals.

One pass over what any reader yields, in memory that hardly grows: of faults, warnings and notes the first
hundred of each are kept and the others counted. The checks of a single payment are in
`cheque.register.checks`.
"""

from collections.abc import Collection, Iterable, Iterator
from typing import Generic, NamedTuple, TypeVar

from cheque.control import Tally, Totals
from cheque.errors import FAULTS_SHOWN, Fault, InputRefused
from cheque.payment import Payment
from cheque.register import LineFault, Reading
from cheque.register.characters import shown
from cheque.register.checks import (
    ALL_CHECKS,
    NUMBER_DIGITS,
    TEXT_CHECKS,
    WARNINGS,
    Case,
    Check,
    Printer,
    Unprintable,
)
from cheque.register.twice import PaidBefore, Twice
from cheque.tongue import counted, tr

T = TypeVar("T")


class Verdict(NamedTuple):
    """What there is to say about a register once it has been read to its end.

    Of faults, warnings and notes the first hundred of each are here (and the notes on the whole register), and how
    many there are. `totals` cover every payment that could be read; they are `complete` when every line could.
    """

    faults: tuple[Fault, ...]
    fault_count: int
    warnings: tuple[Fault, ...]
    warning_count: int
    notes: tuple[str, ...]
    note_count: int
    totals: Totals
    complete: bool
    #: payments that are nearly another: to be asked about, and how many there are
    questions: tuple[str, ...] = ()
    question_count: int = 0

    def refuse(self, source: str) -> None:
        """Raise InputRefused with all the faults, if there are any."""
        if self.fault_count:
            many = counted(self.fault_count, "fault")
            raise InputRefused(
                tr("{source} is refused: {many}.", source=source, many=many), self.faults, total=self.fault_count
            )


class _First(Generic[T]):
    """The first hundred of something, and how many there were."""

    def __init__(self) -> None:
        self.kept: list[T] = []
        self.count = 0

    def add(self, one: T) -> None:
        self.count += 1
        if self.count <= FAULTS_SHOWN:
            self.kept.append(one)


class Looked(NamedTuple):
    """One thing that a reader yields, with what its checks find: of one by itself, whatever else there is."""

    item: Payment | Fault
    faults: tuple[Fault, ...] = ()
    warnings: tuple[Fault, ...] = ()


def look(item: Payment | Fault, case: Case) -> Looked:
    """Check one thing that a reader yields. It looks at nothing else, so that it can be done in any process."""
    if isinstance(item, Fault):
        rest = item.rest if isinstance(item, LineFault) else None
        return Looked(item, _run(TEXT_CHECKS, rest, case) if rest is not None else ())
    return Looked(item, _run(ALL_CHECKS, item, case), _run(WARNINGS, item, case))


def _run(checks: Iterable[Check], payment: Payment, case: Case) -> tuple[Fault, ...]:
    found: list[Fault] = []
    for check in checks:
        if faults := check(payment, case):
            found += faults
    return tuple(found)


class Judge:
    """Hears what a reader yields, payment by payment, and gives the verdict at the end.

    unprintable: places (from 1) and characters of a text that the printer has no character for.
    before: says what was paid in earlier batches; the book knows.
    allow_duplicate: references of payments, and numbers of invoices, that a person allows to be there twice.
    pays: False when what it is for pays nothing by itself (a delivery note): then there is no talk of transfers.
    """

    def __init__(
        self,
        reading: Reading,
        *,
        unprintable: Unprintable | None = None,
        before: PaidBefore = PaidBefore(),  # noqa: B008
        allow_duplicate: Collection[str] = (),
        pays: bool = True,
    ) -> None:
        printer = Printer(unprintable) if unprintable else None
        self._case = Case(reading.source, reading.currency, printer)
        self._pays = pays
        self._faults: _First[Fault] = _First()
        self._warnings: _First[Fault] = _First()
        self._notes: _First[str] = _First()
        self._tally = Tally(reading.currency)
        self._questions: _First[str] = _First()
        self._twice = Twice(self._case, before, allow_duplicate, refuse=self.refuse, ask=self._questions.add)
        self._numbers = _ExpectedNumbers()
        self._complete = True

    def payments(self, items: Iterable[Payment | Fault]) -> Iterator[Payment]:
        """The payments in which nothing is wrong, as they come; all are judged and counted."""
        for item in items:
            if self.hear(item) and isinstance(item, Payment):
                yield item

    def hear(self, item: Payment | Fault) -> bool:
        """Judge one thing that a reader yields; True for a payment in which nothing is wrong."""
        return self.heard(look(item, self._case))

    def heard(self, looked: Looked) -> bool:
        """As `hear`, its own checks having been done."""
        item, faults, warnings = looked
        if isinstance(item, Fault):
            self._complete = False
            self.refuse(item)
            self._refuse_all(faults)
            if isinstance(item, LineFault) and item.rest is not None:
                self._follow(item.rest)
            return False
        self._refuse_all(faults)
        good = self._twice.hear(item) and not faults
        for warning in warnings:
            self._warnings.add(warning)
        self._tally.add(item)
        self._follow(item)
        return good

    def _refuse_all(self, faults: Iterable[Fault]) -> None:
        for fault in faults:
            self._faults.add(fault)

    def _follow(self, payment: Payment) -> None:
        if note := self._numbers.note(payment, self._case):
            self._notes.add(note)

    def refuse(self, fault: Fault) -> None:
        """Count a fault: a reader's, or one that somebody else found in this register."""
        self._faults.add(fault)

    def verdict(self) -> Verdict:
        """What there is to say, once everything has been heard. It may be asked again."""
        self._twice.end()
        totals = self._tally.totals()
        faults, warnings = self._faults, self._warnings
        if not totals.item_count and not faults.count:
            self.refuse(Fault(self._case.source, tr("no payments"), tr("one at least")))
        notes = (*_advices(totals, self._case, self._pays), *self._numbers.missing(), *_unmet(self._twice))
        return Verdict(
            *(tuple(faults.kept), faults.count),
            *(tuple(warnings.kept), warnings.count),
            *((*self._notes.kept, *notes), self._notes.count + len(notes)),
            totals,
            self._complete,
            tuple(self._questions.kept),
            self._questions.count,
        )


def _unmet(twice: Twice) -> Iterator[str]:
    """What a person allowed that is not there: a slip of the keys, most likely."""
    for name in twice.unmet():
        yield tr(
            "{name} is allowed to be paid again, and is no reference and no invoice of this register.", name=shown(name)
        )


def _advices(totals: Totals, case: Case, pays: bool) -> Iterator[str]:
    if totals.advices and not pays:
        yield tr(
            "the form pays nothing by itself: the control total covers cheques, so that it is {amount}.",
            amount=case.money(0),
        )
    elif totals.transfer_total and not totals.advices:
        besides = case.money(totals.transfer_total)
        yield tr("{besides} of net pay goes by transfer besides, and is not in the control total.", besides=besides)
    elif totals.advices:
        total = case.money(totals.transfer_total)
        yield (
            tr(
                "1 payment is an advice: counted as items, but not in the control total; {total} of the register goes "
                "by transfer.",
                total=total,
            )
            if totals.advices == 1
            else tr(
                "{advices} payments are advices: counted as items, but not in the control total; {total} of the "
                "register goes by transfer.",
                advices=totals.advices,
                total=total,
            )
        )


class _ExpectedNumbers:
    """The numbers that payroll expects, held against each other: they should go up by one."""

    def __init__(self) -> None:
        self._last = -1
        self._with = self._without = 0

    def note(self, payment: Payment, case: Case) -> str:
        """A sentence where a number does not follow the one before it, or ""."""
        text, last = payment.expected, self._last
        if not (text.isdigit() and text.isascii() and len(text) <= NUMBER_DIGITS):
            self._without += 1
            return ""
        self._with += 1
        self._last = number = int(text)
        if last in (-1, number - 1):
            return ""
        at = case.at(payment, "number")
        if number <= last:
            return tr(
                "{at}: the register expects {number} after {last}, which does not go up.",
                at=at,
                number=number,
                last=last,
            )
        if number == last + 2:
            return tr(
                "{at}: the register expects {number} after {last}; {gap} is left out.",
                at=at,
                number=number,
                last=last,
                gap=last + 1,
            )
        return tr(
            "{at}: the register expects {number} after {last}; {first} to {end} are left out.",
            at=at,
            number=number,
            last=last,
            first=last + 1,
            end=number - 1,
        )

    def missing(self) -> Iterator[str]:
        """A sentence when some payments have a number and some have none."""
        if self._with and self._without:
            yield tr(
                "{without} of {count} payments carry no expected number.",
                without=self._without,
                count=self._with + self._without,
            )
