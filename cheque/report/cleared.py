"""Cheques that the bank has paid, and how long after the date on them: what an outstanding one may yet take."""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from cheque.book.book import Reader
from cheque.reconcile.written import Preprinted
from cheque.report.page import (
    Bar,
    Bars,
    Cell,
    Column,
    Fact,
    Group,
    Kind,
    Money,
    Place,
    Report,
    Row,
    Table,
    Total,
    line_of,
)
from cheque.report.parts import account_facts, accounts_of, counted, firm
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import mark, tr

#: days since issue at which a group ends
ENDS = (3, 7, 14, 30, 60, 90)
EARLY = mark("Before its date")
COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("date", "Date", Kind.DATE),
    Column("paid_on", "Paid on", Kind.DATE),
    Column("days", "Days", Kind.COUNT),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("paid", "The bank paid", Kind.MONEY, Place.BELOW),
    Column("reference", place=Place.DATA),
    Column("account", place=Place.DATA),
    Column("batch", place=Place.DATA, kind=Kind.COUNT),
)
DAYS = (
    Column("age", "Days since its date"),
    Column("cheques", "Cheques", Kind.COUNT),
    Column("so_far", "So far", Kind.COUNT),
    Column("amount", "Amount", Kind.MONEY),
    Column("account", place=Place.DATA),
)
_SQL = """SELECT p.account, p.number, n.stock, c.date, p.booked, c.payee, c.amount, p.amount, c.reference, n.batch,
    b.currency FROM cleared p JOIN number n ON n.account = p.account AND n.number = p.number
    JOIN claim c ON c.batch = n.batch AND c.item = n.item JOIN batch b ON b.id = n.batch WHERE n.role = 'cheque'"""


class Paid(NamedTuple):
    """One cheque that the bank has paid. `amount` is the cheque's own, `paid` what the bank paid; minor units."""

    account: str
    number: int
    stock: int
    date: str
    booked: str
    payee: str
    amount: int
    paid: int
    reference: str
    batch: int
    currency: str

    @property
    def days(self) -> int:
        """From the date on the cheque to the day on which the bank paid it; less than 0 when it was early."""
        return (date.fromisoformat(self.booked) - date.fromisoformat(self.date)).days


def build(
    reader: Reader,
    settings: Settings,
    when: When,
    *,
    batch: int = 0,
    account: str = "",
    paid_from: str = "",
    paid_to: str = "",
) -> Report:
    """The cheques of a batch, of an account, or of all, that were paid from one day to another ("" for no limit)."""
    kinds: dict[tuple[str, str], list[Paid]] = {}
    for one in _paid(reader, batch, account, paid_from, paid_to):
        kinds.setdefault((one.account, one.currency), []).append(one)
    accounts = accounts_of((name for name, _ in kinds), account, settings)
    numbers = Preprinted(reader)
    tables: list[Table] = []
    for (name, currency), some in kinds.items():
        tables += [_days(some, name, currency), _table(some, name, currency, numbers)]
    span = " ".join(f"{word} {day}" for word, day in (("from", paid_from), ("to", paid_to)) if day)
    return Report(
        "cleared",
        tr("Cheques cleared") + (tr(", batch {batch}", batch=batch) if batch else ""),
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=(*account_facts(settings, accounts), *((Fact("paid", "Paid", span),) if span else ())),
        tables=tuple(tables)
        or (Table("cheques", "", COLUMNS, (), empty=tr("No statement in the book pays a cheque.")),),
        notes=tuple(_notes(kinds, numbers)),
    )


def _paid(reader: Reader, batch: int, account: str, first: str, last: str) -> Iterator[Paid]:
    sql, values = _SQL, list[str | int]()
    for condition, value in (
        ("n.batch = ?", batch), ("p.account = ?", account), ("p.booked >= ?", first), ("p.booked <= ?", last),
    ):  # fmt: skip
        if value:
            sql += f" AND {condition}"
            values.append(value)
    for row in reader.rows(f"{sql} ORDER BY p.account, p.number", *values):
        yield Paid(*row)


def group_of(days: int) -> str:
    """The title of the group that a cheque belongs to.

    >>> [group_of(days) for days in (-1, 0, 3, 4, 90, 91)]
    ['Before its date', '0 to 3 days', '0 to 3 days', '4 to 7 days', '61 to 90 days', 'Over 90 days']
    """
    if days < 0:
        return EARLY
    start = 0
    for end in ENDS:
        if days <= end:
            return tr("{start} to {end} days", start=start, end=end)
        start = end + 1
    return tr("Over {ends} days", ends=ENDS[-1])


def _days(some: list[Paid], account: str, currency: str) -> Table:
    groups: dict[str, list[Paid]] = {group_of(days): [] for days in (-1, 0, *(end + 1 for end in ENDS))}
    for one in some:
        groups[group_of(one.days)].append(one)
    if not groups[EARLY]:
        del groups[EARLY]
    rows, bars, so_far = [], [], 0
    for title, paid in groups.items():
        so_far += len(paid)
        amount = _sum(paid, currency)
        cells: dict[str, Cell] = {"age": title, "cheques": len(paid), "so_far": so_far, "amount": amount}
        rows.append(line_of(DAYS, {**cells, "account": account}))
        bars.append(Bar(title, len(paid), counted(len(paid)) if paid else tr("none"), title == EARLY))
    median = sorted(one.days for one in some)[(len(some) - 1) // 2]
    note = tr("Half of them were paid within {days} of their date.", days=counted(max(0, median), "day"))
    return Table(
        "ages",
        tr("By days since the date on the cheque, account {account}, {currency}", account=account, currency=currency),
        DAYS,
        (Group("", tuple(rows)),),
        (Total("cleared", line_of(DAYS, {"cheques": len(some), "amount": _sum(some, currency)})),),
        notes=(note,),
        picture=Bars(tr("Cleared by days since issue"), tuple(bars)),
    )


def _sum(some: list[Paid], currency: str) -> Money:
    return Money(sum(one.amount for one in some), currency)


def _table(some: list[Paid], account: str, currency: str, numbers: Preprinted) -> Table:
    total = _sum(some, currency)
    return Table(
        "cheques",
        tr("Account {account}, {currency}", account=account, currency=currency),
        COLUMNS,
        (Group("", tuple(_row(one, numbers) for one in some)),),
        (Total(tr("{counted} cleared", counted=counted(len(some))), line_of(COLUMNS, {"amount": total})),),
    )


def _row(one: Paid, numbers: Preprinted) -> Row:
    return line_of(
        COLUMNS,
        {
            "number": numbers.text(one.stock, one.number),
            "date": one.date,
            "paid_on": one.booked,
            "days": one.days,
            "payee": one.payee,
            "amount": Money(one.amount, one.currency),
            "paid": Money(one.paid, one.currency) if one.paid != one.amount else None,
            "reference": one.reference,
            "account": one.account,
            "batch": one.batch,
        },
    )


def _notes(kinds: dict[tuple[str, str], list[Paid]], numbers: Preprinted) -> Iterator[str]:
    other = [numbers.text(one.stock, one.number) for some in kinds.values() for one in some if one.paid != one.amount]
    if other:
        named = ", ".join(other[:5]) + (tr(" and {count} more", count=len(other) - 5) if len(other) > 5 else "")
        yield tr(
            "The bank paid another amount than the cheque's: {named}. `cheque reconcile bank` tells by how much.",
            named=named,
        )
