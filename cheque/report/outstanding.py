"""Outstanding cheques: good, and not paid by the bank as far as the book knows; by age, the stale ones apart.

Age is counted in days from the date on the cheque. A cheque is stale when it is older than the days that the
account's settings give: how long a bank is bound to honour one differs by country (United States, six months:
UCC § 4-404) and by bank.
"""

from collections.abc import Iterator
from datetime import date

from cheque.book.book import Reader
from cheque.book.state import State
from cheque.payment import Role
from cheque.reconcile.written import Preprinted, Written, by_account, written
from cheque.report.page import Column, Fact, Group, Kind, Money, Place, Report, Row, Table, line_of
from cheque.report.parts import account_facts, accounts_of, firm, sum_of
from cheque.report.when import When
from cheque.settings import Settings

#: ages in days at which a new group begins, as far as an account's cheques are not stale by then
AGES = (30, 60, 90)
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


def build(reader: Reader, settings: Settings, when: When, *, batch: int = 0, account: str = "") -> Report:
    """The outstanding cheques of a batch, of an account, or of all accounts."""
    numbers = Preprinted(reader)
    cheques = by_account(written(reader, states=(State.PRINTED,), role=Role.CHEQUE, batch=batch, account=account))
    accounts = accounts_of((name for name, _ in cheques), account, settings)
    return Report(
        "outstanding",
        "Cheques outstanding" + (f", batch {batch}" if batch else ""),
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=tuple(_facts(settings, accounts)),
        tables=tuple(
            _table(settings, when.today, name, currency, forms, numbers) for (name, currency), forms in cheques.items()
        )
        or (Table("cheques", "", COLUMNS, (), empty="No cheque is outstanding."),),
        notes=("The bank's statements are not in the book: every good cheque counts as not yet paid.",),
    )


def _facts(settings: Settings, accounts: list[str]) -> Iterator[Fact]:
    for name, fact in zip(accounts, account_facts(settings, accounts), strict=True):
        yield fact
        if name in settings.accounts:
            days = settings.accounts[name].stale_after_days
            yield Fact(fact.key.replace("account", "stale"), "Stale", f"after {days} days")


def _table(
    settings: Settings, today: date, account: str, currency: str, forms: list[Written], numbers: Preprinted
) -> Table:
    stale = settings.accounts[account].stale_after_days if account in settings.accounts else None
    aged = sorted((_age(form, today), form.date, form.number, form) for form in forms)
    groups: dict[str, list[tuple[int, Written]]] = {}
    for age, _, _, form in aged:
        groups.setdefault(group_of(age, stale), []).append((age, form))
    return Table(
        "cheques",
        f"Account {account}, {currency}",
        COLUMNS,
        tuple(
            Group(
                title,
                tuple(_row(form, age, numbers) for age, form in some),
                (sum_of(COLUMNS, [form for _, form in some], currency),) if len(groups) > 1 else (),
            )
            for title, some in groups.items()
        ),
        (sum_of(COLUMNS, forms, currency, " outstanding"),),
    )


def _age(form: Written, today: date) -> int:
    return (today - date.fromisoformat(form.date)).days


def group_of(age: int, stale: int | None) -> str:
    """The title of the group that an age in days belongs to.

    >>> [group_of(age, 180) for age in (-1, 0, 30, 31, 180)]
    ['Dated later than this report', '0 to 30 days', '0 to 30 days', '31 to 60 days', '91 to 180 days']
    >>> group_of(181, 180), group_of(9, 8), group_of(91, None)
    ('Stale: over 180 days', 'Stale: over 8 days', 'Over 90 days')
    """
    if age < 0:
        return "Dated later than this report"
    if stale is not None and age > stale:
        return f"Stale: over {stale} days"
    ends = [end for end in AGES if stale is None or end < stale] + ([] if stale is None else [stale])
    start = 0
    for end in ends:
        if age <= end:
            return f"{start} to {end} days"
        start = end + 1
    return f"Over {start - 1} days"


def _row(form: Written, age: int, numbers: Preprinted) -> Row:
    return line_of(
        COLUMNS,
        {
            "number": numbers.of(form),
            "date": form.date,
            "days": age,
            "payee": form.payee,
            "amount": Money(form.amount or 0, form.currency),
            "custody": form.custody,
            "stop": "confirmed by the bank" if form.stop == "confirmed" else form.stop,
            "reference": form.reference,
            "account": form.account,
            "batch": form.batch,
        },
    )
