"""What one payment must fulfil, whatever kind of register it came from: one rule a function, in lists below.

Each check is given a payment and the case (file, currency) and returns every fault it finds. TEXT_CHECKS look
at no amount, so they hold for a line of which an amount could not be read; AMOUNT_CHECKS do; WARNINGS are told
and stop nothing. To add a rule, write its function and put it in its list.
"""

import re
from collections.abc import Callable, Iterator
from datetime import date
from functools import lru_cache
from typing import NamedTuple
from unicodedata import is_normalized

from cheque.errors import Fault
from cheque.money import plain
from cheque.payment import Kind, Payment, Role, StubLine
from cheque.register.characters import described, reason, refused, shown
from cheque.tongue import tr

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
#: digits of a form's number
NUMBER_DIGITS = 18
_NUMBER = re.compile(rf"\d{{1,{NUMBER_DIGITS}}}", re.ASCII)
_DECIMAL = re.compile(r"(?:-?\d{1,9}(?:\.\d{1,6})?)?", re.ASCII)
_ASCII = "".join(map(chr, range(0x20, 0x7F)))
_BEYOND = re.compile(r"[^ -~]")
#: digits of an identity number that a stub may show (e.g. California Labor Code § 226(a))
IDENTITY_DIGITS = 4

#: places (from 1) and characters of a text that the printer has no character for
Unprintable = Callable[[str], list[tuple[int, str]]]


class Printer:
    """The printer's character tables, asked about each character once."""

    def __init__(self, unprintable: Unprintable) -> None:
        self.unprintable = unprintable
        self._ascii = not unprintable(_ASCII)
        self._known: set[str] = set(_ASCII) if self._ascii else set()

    def has_all(self, text: str, beyond: set[str]) -> bool:
        """Whether every character of the text can be printed; `beyond` are those that are not plain ASCII."""
        new = (beyond if self._ascii else set(text)) - self._known
        if not new:
            return True
        if self.unprintable("".join(sorted(new))):
            return False
        self._known |= new
        return True


class Case(NamedTuple):
    """What a check must know besides the payment; without a printer, no character is unprintable."""

    source: str
    currency: str
    printer: Printer | None = None

    def at(self, payment: Payment, field: str) -> str:
        """Where, for a message: file, line and field."""
        place = tr("line {line}", line=payment.line) if payment.line else tr("item {item}", item=payment.item)
        return f"{self.source} {place}, {field}"

    def money(self, minor: int) -> str:
        """An amount for a message."""
        return plain(minor, self.currency)


Check = Callable[[Payment, Case], list[Fault]]


def stub_field(line: StubLine, field: str) -> str:
    """A field of a stub line, for a message: "deduction 'Tool fund', to date"."""
    return f"{line.kind} {shown(line.text)}, {field}"


def texts(payment: Payment) -> Iterator[tuple[str, str]]:
    """Every text of a payment that can be printed or searched, by the name of its field."""
    yield "payee", payment.payee
    yield "date", payment.date
    yield "reference", payment.reference
    yield "number", payment.expected
    for number, text in enumerate(payment.address, 1):
        yield f"address{number}", text
    yield "employee", payment.employee
    yield "identity", payment.identity
    yield "department", payment.department
    yield "period_from", payment.period_from
    yield "period_to", payment.period_to
    yield "memo", payment.memo
    for line in payment.stub:
        yield str(line.kind), line.text
        if line.hours or line.rate or line.date:
            yield stub_field(line, "hours"), line.hours
            yield stub_field(line, "rate"), line.rate
            yield stub_field(line, "date"), line.date


def all_text(payment: Payment) -> str:
    """Every text of a payment between bars, for the quick question whether any has something to refuse."""
    p = payment
    stub = "|".join([f"{s.text}|{s.hours}|{s.rate}|{s.date}" for s in p.stub])
    return (
        f"|{p.payee}|{p.date}|{p.reference}|{p.expected}|{'|'.join(p.address)}|{p.employee}|{p.identity}"
        f"|{p.department}|{p.period_from}|{p.period_to}|{p.memo}|{stub}|"
    )


@lru_cache(4096)
def is_decimal(text: str) -> bool:
    """Whether hours or a rate are an exact decimal, or nothing.

    >>> is_decimal("37.50"), is_decimal("-2"), is_decimal("37,5")
    (True, True, False)
    """
    return bool(_DECIMAL.fullmatch(text))


@lru_cache(4096)
def is_date(text: str) -> bool:
    """Whether the text is a real date as ISO 8601 writes it, YYYY-MM-DD.

    >>> is_date("2028-02-29"), is_date("2026-02-29"), is_date("20261127"), is_date("27/11/2026")
    (True, False, False, False)
    """
    if not _DATE.fullmatch(text):
        return False
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def payee_is_named(payment: Payment, case: Case) -> list[Fault]:
    """A cheque without a payee is payable to whoever fills the name in; so is the space between two names."""
    if not payment.payee:
        return [Fault(case.at(payment, "payee"), tr("nothing"), tr("a payee"), tr("write whom it is paid to"))]
    if not any(letter.isalnum() for letter in payment.payee):
        at = case.at(payment, "payee")
        return [
            Fault(at, shown(payment.payee), tr("a name with a letter or a digit in it"), tr("write whom it is paid to"))
        ]
    if "  " in payment.payee:
        at = case.at(payment, "payee")
        return [
            Fault(
                at,
                tr("an open space in {payee}", payee=shown(payment.payee)),
                tr("one blank between words"),
                tr("close it"),
            )
        ]
    return []


def dates_are_real(payment: Payment, case: Case) -> list[Fault]:
    """Every date is a real one, written YYYY-MM-DD; the payment has one; a pay period is whole and in order."""
    faults = []
    named = [("date", payment.date), ("period_from", payment.period_from), ("period_to", payment.period_to)]
    named += [(stub_field(line, "date"), line.date) for line in payment.stub if line.date]
    for field, text in named:
        if text and not is_date(text):
            wanted = tr("a real date as YYYY-MM-DD, such as 2026-11-27")
            faults.append(Fault(case.at(payment, field), shown(text), wanted, tr("correct it")))
    if not payment.date:
        faults.append(Fault(case.at(payment, "date"), tr("nothing"), tr("the date of the cheque"), tr("write it")))
    if faults or payment.period_from == payment.period_to:
        return faults
    if not payment.period_from or not payment.period_to:
        missing = "period_to" if payment.period_from else "period_from"
        return [Fault(case.at(payment, missing), tr("nothing"), tr("both ends of the pay period"), tr("write it"))]
    if payment.period_from > payment.period_to:
        found = tr(
            "{period_from}, after period_to {period_to}", period_from=payment.period_from, period_to=payment.period_to
        )
        return [
            Fault(case.at(payment, "period_from"), found, tr("a period that ends after it begins"), tr("correct it"))
        ]
    return faults


def identity_is_short(payment: Payment, case: Case) -> list[Fault]:
    """A stub shows at most the last four digits of an identity number (California Labor Code § 226(a))."""
    count = sum(map(str.isdigit, payment.identity)) if len(payment.identity) > IDENTITY_DIGITS else 0
    if count <= IDENTITY_DIGITS:
        return []
    wanted = tr("at most its last {identity_digits}", identity_digits=IDENTITY_DIGITS)
    return [
        Fault(
            case.at(payment, "identity"),
            tr("{count} digits", count=count),
            wanted,
            tr("take the others out of the register"),
        )
    ]


def figures_are_figures(payment: Payment, case: Case) -> list[Fault]:
    """The expected number is digits; hours and rates are exact decimals."""
    faults = []
    if payment.expected and not _NUMBER.fullmatch(payment.expected):
        at = case.at(payment, "number")
        faults.append(Fault(at, shown(payment.expected), tr("the digits of a form's number"), tr("correct it")))
    for line in payment.stub:
        if is_decimal(line.hours) and is_decimal(line.rate):
            continue
        for field, text in (("hours", line.hours), ("rate", line.rate)):
            if not is_decimal(text):
                at = case.at(payment, stub_field(line, field))
                faults.append(Fault(at, shown(text), tr("a number such as 37.50"), tr("write digits and a point")))
    return faults


def characters_can_be_struck(payment: Payment, case: Case) -> list[Fault]:
    """Nothing that steers a printer or a screen or cannot be seen; nothing that the printer does not have.

    Texts are in form C and have no blanks at their ends, so that the same text is always the same.
    """
    joined = all_text(payment)
    beyond = set(_BEYOND.findall(joined))
    if (
        not any(map(reason, beyond))
        and not (" |" in joined or "| " in joined)
        and (not beyond or is_normalized("NFC", joined))
        and (case.printer is None or case.printer.has_all(joined, beyond))
    ):
        return []
    return [
        fault
        for field, text in texts(payment)
        for fault in _character_faults(text, case.at(payment, field), case.printer)
    ]


def _character_faults(text: str, at: str, printer: Printer | None) -> Iterator[Fault]:
    """Everything wrong with the characters of one text."""
    hidden = refused(text)
    for place, what in hidden:
        yield Fault(
            at,
            tr("{what} as character {place}", what=what, place=place),
            tr("characters that can be seen"),
            tr("take it out"),
        )
    if not is_normalized("NFC", text):
        yield Fault(at, shown(text), tr("Unicode normalisation form C"), tr("the reader must bring it there"))
    if text != text.strip(" "):
        yield Fault(at, shown(text), tr("no blanks at its ends"), tr("the reader must drop them"))
    told = {place for place, _ in hidden}
    for place, character in printer.unprintable(text) if printer else ():
        if place not in told:
            found = tr("{character} as character {place}", character=described(character), place=place)
            do = tr("spell it otherwise, or choose a table that has it")
            yield Fault(at, found, tr("characters that the printer has"), do)


def amount_is_positive(payment: Payment, case: Case) -> list[Fault]:
    """A cheque is for more than nothing; what is for nothing is an advice; nobody pays less than nothing."""
    at = case.at(payment, "amount")
    if payment.amount < 0:
        return [Fault(at, case.money(payment.amount), tr("an amount above zero"), tr("ask payroll; it cannot be paid"))]
    if payment.amount == 0 and payment.role is not Role.ADVICE:
        return [Fault(at, tr("a cheque for nothing"), tr("an amount above zero, or an advice"), tr("ask payroll"))]
    return []


def net_adds_up(payment: Payment, case: Case) -> list[Fault]:
    """Net pay, by cheque and by transfer, is earnings less deductions; a supplier's payment is the sum of the invoices'
    nets; goods add up.

    What the employer pays besides is in none of them. A payment without such lines has nothing to add up, nor
    have goods without amounts (a delivery note that shows no price).
    """
    earned = deducted = invoiced = goods = 0
    kinds = set()
    for line in payment.stub:
        if line.kind is Kind.EARNING:
            earned += line.amount or 0
        elif line.kind is Kind.DEDUCTION:
            deducted += line.amount or 0
        elif line.kind is Kind.INVOICE:
            invoiced += line.amount or 0
        elif line.kind is Kind.GOODS and line.amount is not None:
            goods += line.amount
        else:
            continue
        kinds.add(line.kind)
    if not kinds:
        return []
    at = case.at(payment, "amount")
    several = [name for kind, name in _ADDED.items() if kind in kinds]
    if several and len(kinds) > 1:
        found = tr(" and ").join(several if len(several) > 1 else [*several, "pay"])
        return [Fault(at, tr("{found} together", found=found), tr("one payment for either"), tr("divide it in two"))]
    if Kind.GOODS in kinds:
        added, sum_of = goods, tr(", the sum of its goods")
    elif Kind.INVOICE in kinds:
        added, sum_of = invoiced, tr(", the sum of its invoices")
    else:
        added = earned - deducted
        sum_of = tr(
            ", which is {earned} of earnings less {deducted} of deductions",
            earned=case.money(earned),
            deducted=case.money(deducted),
        )
    if added == payment.amount + payment.by_transfer:
        return []
    found = case.money(payment.amount)
    if payment.by_transfer:
        found += tr(" by cheque and {amount} by transfer", amount=case.money(payment.by_transfer))
    return [Fault(at, found, f"{case.money(added)}{sum_of}", tr("ask who made the register which is right"))]


#: kinds whose amounts make the payment's by themselves, as a message calls them
_ADDED = {Kind.INVOICE: "invoices", Kind.GOODS: "goods"}


def invoices_add_up(payment: Payment, case: Case) -> list[Fault]:
    """An invoice's net is its gross less its discount, where the register gives the gross."""
    faults = []
    for line in payment.stub:
        if line.kind is not Kind.INVOICE or line.gross is None:
            continue
        net = line.gross - (line.discount or 0)
        if line.amount != net:
            found = tr("nothing") if line.amount is None else case.money(line.amount)
            less = tr("{gross} less {discount}", gross=case.money(line.gross), discount=case.money(line.discount or 0))
            at = case.at(payment, stub_field(line, "net"))
            faults.append(
                Fault(
                    at,
                    found,
                    tr("{amount}, which is {less}", amount=case.money(net), less=less),
                    tr("ask which is right"),
                )
            )
    return faults


def year_covers_period(payment: Payment, case: Case) -> list[Fault]:
    """The year to date is at least this period's, unless something was refunded: a warning."""
    faults = []
    for line in payment.stub:
        if line.to_date is not None and line.amount is not None and line.to_date < line.amount:
            at = case.at(payment, stub_field(line, tr("to date")))
            wanted = tr("at least this period's {amount}", amount=case.money(line.amount))
            faults.append(Fault(at, case.money(line.to_date), wanted, tr("it is right if there was a refund")))
    return faults


TEXT_CHECKS: tuple[Check, ...] = (
    payee_is_named,
    dates_are_real,
    figures_are_figures,
    identity_is_short,
    characters_can_be_struck,
)
AMOUNT_CHECKS: tuple[Check, ...] = (
    amount_is_positive,
    net_adds_up,
    invoices_add_up,
)
ALL_CHECKS = TEXT_CHECKS + AMOUNT_CHECKS
WARNINGS: tuple[Check, ...] = (year_covers_period,)
