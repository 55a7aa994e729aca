"""What was never cashed and is old enough to ask what the law of unclaimed wages or property says of it.

How old that is, the account's settings say; the law differs by place and by what was paid, so nothing is assumed.
"""

from cheque.book.book import Reader
from cheque.errors import InputRefused
from cheque.report import unpaid
from cheque.report.ages import CAUTION, days_old, limits, old_enough, spoken
from cheque.report.page import Column, Fact, Group, Kind, Money, Place, Report, Row, Table, Total, line_of
from cheque.report.parts import account_facts, accounts_of, counted, firm
from cheque.report.unpaid import Unpaid, address
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import tr

COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("date", "Date", Kind.DATE),
    Column("days", "Days", Kind.COUNT),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("what", "What it is"),
    Column("address", "Last known address", place=Place.BELOW),
    Column("reference", place=Place.DATA),
    Column("account", place=Place.DATA),
    Column("batch", place=Place.DATA, kind=Kind.COUNT),
)


def build(reader: Reader, settings: Settings, when: When, *, batch: int = 0, account: str = "") -> Report:
    """What is old enough, by account; InputRefused when the settings state for no account how old that is."""
    stated = {name: limit for name in settings.accounts if (limit := limits(settings, name).unclaimed)}
    if not stated or (account and account not in stated):
        raise InputRefused(
            tr(
                "{source} does not say after how long the law of unclaimed wages or property speaks of a cheque, "
                "and no figure is assumed: state unclaimed_after_years or unclaimed_after_days under "
                "[accounts.{account}]. It differs by place and by kind of payment: ask.",
                source=settings.source,
                account=account or next(iter(settings.accounts), "main"),
            )
        )
    found: dict[tuple[str, str], list[Unpaid]] = {}
    for one in unpaid.every(reader, batch=batch, account=account):
        if old_enough(one.date, when.today, stated.get(one.account)):
            found.setdefault((one.account, one.currency), []).append(one)
    accounts = accounts_of((name for name, _ in found), account, settings)
    silent = [name for name in settings.accounts if name not in stated and not account]
    facts: list[Fact] = []
    for name, fact in zip(accounts, account_facts(settings, accounts), strict=True):
        facts.append(fact)
        if name in stated:
            facts.append(Fact(fact.key.replace("account", "after"), "After", spoken(stated[name])))
    return Report(
        "unclaimed",
        tr("Never cashed, and old enough to ask") + (tr(", batch {batch}", batch=batch) if batch else ""),
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=tuple(facts),
        tables=tuple(_table(reader, when, some, name, currency) for (name, currency), some in found.items())
        or (Table("unclaimed", "", COLUMNS, (), empty=tr("Nothing is old enough.")),),
        notes=(
            CAUTION,
            *(
                (tr("The settings state no age for {silent}: it is not in this.", silent=", ".join(silent)),)
                if silent
                else ()
            ),
        ),
    )


def _table(reader: Reader, when: When, some: list[Unpaid], account: str, currency: str) -> Table:
    some = sorted(some, key=lambda one: (one.date, one.number))
    total = Money(sum(one.amount for one in some), currency)
    return Table(
        "unclaimed",
        tr("Account {account}, {currency}", account=account, currency=currency),
        COLUMNS,
        (Group("", tuple(_row(reader, when, one) for one in some)),),
        (Total(counted(len(some)), line_of(COLUMNS, {"amount": total})),),
    )


def _row(reader: Reader, when: When, one: Unpaid) -> Row:
    return line_of(
        COLUMNS,
        {
            "number": one.number,
            "date": one.date,
            "days": days_old(one.date, when.today),
            "payee": one.payee,
            "amount": Money(one.amount, one.currency),
            "what": one.what,
            "address": ", ".join(address(reader, one)) or tr("none in the register"),
            "reference": one.reference,
            "account": one.account,
            "batch": one.batch,
        },
    )
