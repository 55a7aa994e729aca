"""The bank's list against the book, and the reconciliation statement, as a report."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from cheque.money import plain
from cheque.reconcile.balance import LISTED, Keyed, Sheet, Wrong
from cheque.reconcile.bank import MOST, Finding, Line
from cheque.reconcile.intake import Taken
from cheque.reconcile.judge import KINDS
from cheque.report.page import Cell, Column, Fact, Group, Kind, Money, Place, Report, Row, Table, Total, line_of
from cheque.report.parts import account_facts, counted, firm
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import tr

WRONG = (
    Column("number", "Number", Kind.NUMBER),
    Column("booked", "Booked", Kind.DATE),
    Column("paid", "Paid", Kind.MONEY),
    Column("issued", "Issued", Kind.MONEY),
    Column("payee", "Payee"),
    Column("wrong", "What is wrong", place=Place.BELOW),
    Column("reference", "Bank's reference", place=Place.DATA),
    Column("kinds", place=Place.DATA),
)
COUNTS = (Column("what", "What"), Column("items", "Items", Kind.COUNT), Column("amount", "Amount", Kind.MONEY))
OTHERS = (
    Column("booked", "Booked", Kind.DATE),
    Column("amount", "Amount", Kind.MONEY),
    Column("about", "What the bank says"),
    Column("reference", "Bank's reference", place=Place.DATA),
)
SHEET = (
    Column("line", "Line"),
    Column("amount", "Amount", Kind.MONEY),
    Column("balance", "Balance", Kind.MONEY),
    Column("key", place=Place.DATA),
)
OUT = (
    Column("number", "Number", Kind.NUMBER),
    Column("date", "Date", Kind.DATE),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
)


class Told(NamedTuple):
    """One statement, and what was found in it."""

    taken: Taken
    finding: Finding
    sheet: Sheet
    notes: tuple[str, ...] = ()

    @property
    def agrees(self) -> bool:
        """Whether every item agrees, and the reconciliation, as far as it could be made."""
        return self.finding.agrees and not self.sheet.difference and not self.notes


def build(told: Sequence[Told], settings: Settings, when: When, account: str, source: str) -> Report:
    """The report of the statements of a file."""
    currency = settings.account(account).currency
    last = told[-1]
    tables: list[Table] = []
    for one in told:
        after = f", {one.taken.name}" if len(told) > 1 else ""
        tables += _found(one, currency, after)
    tables += _sheet(last.sheet)
    facts = [*account_facts(settings, [account]), Fact("source", "Statement", source)]
    for place, one in enumerate(told, 1):
        facts += _facts(one, currency, f"_{place}" if place > 1 else "")
    return Report(
        "bank",
        tr("The bank's list against the book"),
        firm(settings, [account]),
        when.as_of,
        when.read,
        facts=tuple(facts),
        tables=tuple(tables),
        notes=_notes(told),
        signatures=(tr("Reconciled by"), tr("Looked over by")),
        agrees=all(one.agrees for one in told),
    )


def _notes(told: Sequence[Told]) -> tuple[str, ...]:
    notes = [note for one in told for note in one.notes]
    if any(one.finding.lines for one in told):
        notes.append(
            tr(
                "Ask the bank at once about what it ought not to have paid: how long it can be held to it is a "
                "matter of law and of its terms."
            )
        )
    return tuple(notes)


def _facts(one: Told, currency: str, after: str) -> Iterator[Fact]:
    taken = one.taken
    if taken.name:
        yield Fact(f"name{after}", tr("Bank's name for it"), taken.name)
    yield Fact(f"days{after}", "Days", tr("{first} to {last}", first=taken.first, last=taken.last))
    for key, label, balance in (
        ("opening", tr("Opening balance"), taken.opening),
        ("closing", tr("Closing balance"), taken.closing),
    ):
        if balance is not None:
            yield Fact(f"{key}{after}", label, Money(balance, currency))
    new = (
        tr("all new")
        if taken.fresh == taken.entries
        else tr("{fresh} new", fresh=taken.fresh)
        if taken.fresh
        else tr("none new")
    )
    yield Fact(f"entries{after}", "Entries", tr("{entries} booked, {new}", entries=taken.entries, new=new))
    if taken.pending:
        yield Fact(
            f"pending{after}",
            tr("Not booked yet"),
            tr(
                "{pending} {more} passed over",
                pending=taken.pending,
                more=tr("entry") if taken.pending == 1 else tr("entries"),
            ),
        )


def _found(one: Told, currency: str, after: str) -> Iterator[Table]:
    finding = one.finding
    counts = [
        line_of(
            COUNTS,
            {
                "what": tr("Paid as issued"),
                "items": finding.as_issued,
                "amount": Money(finding.as_issued_amount, currency),
            },
        )
    ]
    counts += [
        line_of(COUNTS, {"what": tr(title), "items": finding.kinds[kind]})
        for kind, title in KINDS.items()
        if kind in finding.kinds
    ]
    counts.append(
        line_of(
            COUNTS,
            {
                "what": tr("Items that pay no cheque"),
                "items": finding.other_items,
                "amount": Money(finding.other_total, currency),
            },
        )
    )
    yield Table("counts", tr("What the bank booked{after}", after=after), COUNTS, (Group("", tuple(counts)),))
    rows = tuple(_wrong(line, currency) for line in finding.lines)
    more = (
        (tr("{unlisted} more are not listed: the first {most} are.", unlisted=finding.unlisted, most=MOST),)
        if finding.unlisted
        else ()
    )
    none = tr("Nothing: every cheque was paid as issued.")
    yield Table(
        "wrong",
        tr("What does not agree{after}", after=after),
        WRONG,
        (Group("", rows),),
        notes=more,
        empty=none,
        spaced=True,
    )
    others = tuple(
        line_of(
            OTHERS,
            {
                "booked": item.booked,
                "amount": Money(item.amount, currency),
                "about": item.about,
                "reference": item.reference,
            },
        )
        for item in finding.others
    )
    left = finding.other_items - len(others)
    more = (tr("{left} more are not listed.", left=left),) if left else ()
    total = Total(tr("In all"), line_of(OTHERS, {"amount": Money(finding.other_total, currency)}))
    yield Table(
        "others",
        tr("Items that pay no cheque{after}", after=after),
        OTHERS,
        (Group("", others),),
        (total,) if others else (),
        more,
    )


def _wrong(line: Line, currency: str) -> Row:
    item, held = line.item, line.held
    return line_of(
        WRONG,
        {
            "number": str(item.number).zfill(line.digits) if item.number else None,
            "booked": item.booked,
            "paid": Money(-item.amount, currency),
            "issued": Money(held.amount, currency) if held.payee else None,
            "payee": held.payee or item.payee,
            "wrong": "; ".join(f"{tr(KINDS[one.kind])}: {one.text}" for one in line.wrong),
            "reference": item.reference,
            "kinds": ", ".join(one.kind for one in line.wrong),
        },
    )


def _sheet(sheet: Sheet) -> Iterator[Table]:
    def row(key: str, line: str, amount: int | None = None, balance: int | None = None) -> Row:
        cells: dict[str, Cell] = {"line": line, "key": key}
        if amount is not None:
            cells["amount"] = Money(amount, sheet.currency)
        if balance is not None:
            cells["balance"] = Money(balance, sheet.currency)
        return line_of(SHEET, cells)

    bank, ledger = [], []
    if sheet.bank is not None:
        bank.append(row("bank", tr("Balance per bank"), None, sheet.bank))
        bank += [
            row("deposit", tr("Add deposit in transit, {said}", said=_said(one)), one.amount) for one in sheet.deposits
        ]
        out = counted(sheet.cheques_out)
        bank.append(row("outstanding", tr("Less {cheques} outstanding", cheques=out), -sheet.outstanding))
        bank += [
            row(
                "to_put_right",
                _put_right(one, sheet),
                one.to_put_right,
            )
            for one in sheet.wrongs
        ]
        if sheet.wrong > len(sheet.wrongs):
            rest = sheet.to_put_right - sum(one.to_put_right for one in sheet.wrongs)
            bank.append(
                row("to_put_right", tr("The same of {count} more numbers", count=sheet.wrong - len(sheet.wrongs)), rest)
            )
        bank.append(row("adjusted_bank", tr("Adjusted balance per bank"), None, sheet.adjusted_bank))
    if sheet.ledger is not None:
        ledger.append(row("ledger", tr("Balance per ledger"), None, sheet.ledger))
        ledger += [row("to_enter", tr("To be entered, {said}", said=_said(one)), one.amount) for one in sheet.to_enter]
        ledger.append(row("adjusted_ledger", tr("Adjusted balance per ledger"), None, sheet.adjusted_ledger))
    if sheet.difference is not None:
        ledger.append(row("difference", tr("Difference"), None, sheet.difference))
    groups = tuple(
        Group(title, tuple(rows)) for title, rows in ((tr("The bank"), bank), (tr("The ledger"), ledger)) if rows
    )
    yield Table(
        "reconciliation",
        tr("Reconciliation at the end of {day}", day=sheet.day),
        SHEET,
        groups,
        notes=tuple(_verdict(sheet)),
        empty=tr("The statement gives no closing balance: key it in with --closing-balance."),
    )
    rows = tuple(
        line_of(
            OUT,
            {
                "number": one.number,
                "date": one.date,
                "payee": one.payee,
                "amount": Money(one.amount, sheet.currency),
            },
        )
        for one in sheet.cheques
    )
    total = Total(
        tr("{counted} outstanding", counted=counted(sheet.cheques_out)),
        line_of(OUT, {"amount": Money(sheet.outstanding, sheet.currency)}),
    )
    more = (tr("The first {listed} are listed; `cheque report outstanding` has them all.", listed=LISTED),)
    yield Table(
        "outstanding",
        tr("Cheques outstanding at the end of {day}", day=sheet.day),
        OUT,
        (Group("", rows),),
        (total,) if rows else (),
        more if sheet.cheques_out > len(rows) else (),
        empty=tr("No cheque is outstanding."),
    )


def _put_right(one: Wrong, sheet: Sheet) -> str:
    paid = plain(one.paid, sheet.currency)
    if one.state == "printed" and one.date > sheet.day:  # the bank may have paid it; the ledger has it later
        return tr("Paid before its date, {number} of {date}: {paid}", number=one.number, date=one.date, paid=paid)
    return tr(
        "To be put right, {number}: paid {paid}, rightly {amount}",
        number=one.number,
        paid=paid,
        amount=plain(one.rightly, sheet.currency),
    )


def _said(one: Keyed) -> str:
    return f"{one.day} {one.note}".strip()


def _verdict(sheet: Sheet) -> Iterator[str]:
    if sheet.bank is not None and sheet.ledger is None:
        yield tr(
            "The ledger ought to come to the adjusted balance; key its balance in with --ledger-balance to compare."
        )
    elif sheet.difference == 0:
        yield tr("The two agree to the last minor unit.")
    elif sheet.difference:
        more = "more" if sheet.difference > 0 else "less"
        yield tr(
            "The two do not agree: the bank has {amount} {more}.",
            amount=plain(abs(sheet.difference), sheet.currency),
            more=more,
        )
    yield from sheet.explanations
    if sheet.difference != 0:
        yield from _since(sheet)


def _since(sheet: Sheet) -> Iterator[str]:
    """What a ledger kept by the day would have otherwise than the book as it stands."""
    after = sheet.since
    if after.voided_items:
        named = ", ".join(one.number for one in after.voided)
        named += (
            tr(" and {voided_items} more", voided_items=after.voided_items - len(after.voided))
            if after.voided_items > len(after.voided)
            else ""
        )
        money = plain(after.voided_amount, sheet.currency)
        yield (
            tr(
                "Voided after {day}, and so not outstanding here: {named}, {money}. If the ledger balance is of "
                'that day and has them as issued: --item "{day} {money} voided since".',
                day=sheet.day,
                named=named,
                money=money,
            )
        )
    if after.printed_items:
        money = plain(after.printed_amount, sheet.currency)
        yield (
            tr(
                "Printed after {day}, though dated on or before it, and so outstanding here: {counted}, {money}. "
                'If the ledger of that day lacks them: --item "{day} -{money} printed since".',
                day=sheet.day,
                counted=counted(after.printed_items),
                money=money,
            )
        )
