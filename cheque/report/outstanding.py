"""Outstanding cheques: good, and not paid by the bank as far as the book knows; by age, the stale ones apart.

What the bank has paid is what the statements say that the book had read by then. `ages` says how age is counted.
"""

from collections.abc import Iterator
from datetime import date

from cheque.book import statements, stops
from cheque.book.book import Reader
from cheque.book.state import State
from cheque.payment import Role
from cheque.reconcile.written import Preprinted, Written, by_account, written
from cheque.report.ages import CAUTION, LATER, OLDEST, STALE, Limits, days_old, limits, spoken, title_of, titles
from cheque.report.page import (
    Bar,
    Bars,
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
    cell_text,
    line_of,
)
from cheque.report.parts import account_facts, accounts_of, counted, firm, money_of, sum_of
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import tr

COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("date", "Date", Kind.DATE),
    Column("days", "Days", Kind.COUNT),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("custody", "Where it is"),
    Column("stop", "Stop", place=Place.BELOW),
    Column("reference", place=Place.DATA),
    Column("account", place=Place.DATA),
    Column("batch", place=Place.DATA, kind=Kind.COUNT),
)
AGES = (
    Column("age", "Age"),
    Column("cheques", "Cheques", Kind.COUNT),
    Column("amount", "Amount", Kind.MONEY),
    Column("account", place=Place.DATA),
)


def build(reader: Reader, settings: Settings, when: When, *, batch: int = 0, account: str = "") -> Report:
    """The outstanding cheques of a batch, of an account, or of all accounts."""
    numbers = Preprinted(reader)
    lapsed = stops.lapsed_by(reader, when.today.isoformat())
    cheques = by_account(outstanding(reader, batch=batch, account=account))
    accounts = accounts_of((name for name, _ in cheques), account, settings)
    tables: list[Table] = []
    for (name, currency), forms in cheques.items():
        grouped = _grouped(forms, when.today, limits(settings, name))
        tables.append(_ages(grouped, name, currency))
        tables.append(_table(grouped, when.today, name, currency, numbers, lapsed))
    old = any(title.startswith(tr(OLDEST)) for table in tables for title in (group.title for group in table.groups))
    return Report(
        "outstanding",
        tr("Cheques outstanding") + (tr(", batch {batch}", batch=batch) if batch else ""),
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=tuple(_facts(reader, settings, accounts)),
        tables=tuple(tables) or (Table("cheques", "", COLUMNS, (), empty=tr("No cheque is outstanding.")),),
        notes=(*_unread(reader, accounts), *((CAUTION,) if old else ())),
    )


def outstanding(reader: Reader, *, batch: int = 0, account: str = "") -> Iterator[Written]:
    """Good cheques that the bank has not paid, by account and number."""
    return written(reader, states=(State.PRINTED,), role=Role.CHEQUE, batch=batch, account=account, unpaid=True)


def _unread(reader: Reader, accounts: list[str]) -> Iterator[str]:
    without = [name for name in accounts if not statements.every(reader, name)]
    if without:
        yield (
            tr(
                "No statement of the bank for {without} is in the book: every good cheque there counts as not "
                "yet paid.",
                without=", ".join(without),
            )
        )


def _facts(reader: Reader, settings: Settings, accounts: list[str]) -> Iterator[Fact]:
    for name, fact in zip(accounts, account_facts(settings, accounts), strict=True):
        yield fact
        read = statements.every(reader, name)
        if read:
            yield Fact(
                fact.key.replace("account", "statements"),
                "Statements",
                tr("read to {last_day}", last_day=read[-1].last_day),
            )
        stale, unclaimed = limits(settings, name)
        if stale is not None:
            yield Fact(fact.key.replace("account", "stale"), "Stale", tr("after {stale} days", stale=stale))
        if unclaimed:
            yield Fact(
                fact.key.replace("account", "unclaimed"),
                "Unclaimed",
                tr("after {spoken}: ask", spoken=spoken(unclaimed)),
            )


def _grouped(forms: list[Written], today: date, limit: Limits) -> dict[str, list[Written]]:
    """Cheques by the title of their group, the youngest group first; every group of the account, empty or not."""
    groups: dict[str, list[Written]] = {title: [] for title in (LATER, *titles(limit))}
    for form in sorted(forms, key=lambda form: (days_old(form.date, today), form.date, form.number)):
        groups[title_of(form.date, today, limit)].append(form)
    if not groups[LATER]:
        del groups[LATER]
    return groups


def _ages(groups: dict[str, list[Written]], account: str, currency: str) -> Table:
    rows, bars = [], []
    for title, forms in groups.items():
        amount = money_of(forms, currency)
        rows.append(line_of(AGES, {"age": title, "cheques": len(forms), "amount": amount, "account": account}))
        grave = title.startswith((tr(STALE), tr(OLDEST)))
        told = (
            tr("{cell_text} in {counted}", cell_text=cell_text(amount), counted=counted(len(forms)))
            if forms
            else "none"
        )
        bars.append(Bar(title, amount.minor, told, grave))
    title = tr("By age, account {account}, {currency}", account=account, currency=currency)
    every = [form for forms in groups.values() for form in forms]
    total = Total("outstanding", line_of(AGES, {"cheques": len(every), "amount": money_of(every, currency)}))
    picture = Bars(tr("Outstanding by age"), tuple(bars))
    return Table("ages", title, AGES, (Group("", tuple(rows)),), (total,), picture=picture)


def _table(
    grouped: dict[str, list[Written]], today: date, account: str, currency: str, numbers: Preprinted,
    lapsed: dict[tuple[str, int], str],
) -> Table:  # fmt: skip
    groups = {title: forms for title, forms in grouped.items() if forms}
    return Table(
        "cheques",
        tr("Account {account}, {currency}", account=account, currency=currency),
        COLUMNS,
        tuple(
            Group(
                title,
                tuple(_row(form, days_old(form.date, today), numbers, lapsed) for form in forms),
                (sum_of(COLUMNS, forms, currency),) if len(groups) > 1 else (),
            )
            for title, forms in groups.items()
        ),
        (sum_of(COLUMNS, [form for forms in groups.values() for form in forms], currency, tr(" outstanding")),),
    )


def _row(form: Written, age: int, numbers: Preprinted, lapsed: dict[tuple[str, int], str]) -> Row:
    stop = {"confirmed": tr("confirmed by the bank"), "requested": tr("asked of the bank")}.get(form.stop, form.stop)
    if past := lapsed.get((form.account, form.number)):
        stop = tr("LAPSED after {past}: the bank may pay it", past=past)
    return line_of(
        COLUMNS,
        {
            "number": numbers.of(form),
            "date": form.date,
            "days": age,
            "payee": form.payee,
            "amount": Money(form.amount or 0, form.currency),
            "custody": form.custody,
            "stop": stop,
            "reference": form.reference,
            "account": form.account,
            "batch": form.batch,
        },
    )
