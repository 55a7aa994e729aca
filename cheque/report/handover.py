"""The handover sheet: who takes which cheque, a line each to sign and date.

The sheet lies on a table and the next one to sign reads it: so it shows number and payee only. Amounts are put
on it when asked for by name, with a caution; references, addresses and employee numbers never are.
"""

from collections.abc import Iterator

from cheque.book import duties
from cheque.book.book import Reader
from cheque.book.move import ranges_of
from cheque.book.state import State
from cheque.payment import Role
from cheque.reconcile.written import Preprinted, Written, by_account, written
from cheque.report import departments, told
from cheque.report.page import Cell, Column, Fact, Group, Kind, Money, Place, Report, Row, Table, line_of
from cheque.report.parts import account_facts, accounts_of, counted, firm, sum_of
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import tr

GONE = ("handed over", "mailed")
_NUMBER = Column("number", "Number", Kind.NUMBER)
_PAYEE = Column("payee", "Payee")
_AMOUNT = Column("amount", "Amount", Kind.MONEY)
_CUSTODY = Column("custody", "Where it is")
_SIGN = (Column("signature", "Received by", Kind.SIGN, width=18), Column("received", "Date", Kind.SIGN, width=10))
_ACCOUNT = Column("account", place=Place.DATA)


def build(
    reader: Reader,
    settings: Settings,
    when: When,
    *,
    batch: int = 0,
    account: str = "",
    amounts: bool = False,
    every: bool = False,
    by_department: bool = False,
) -> Report:
    """The sheet for a batch, an account, or all good cheques not yet handed over or mailed; or `every` good one.

    With `by_department` it is a slip for each department of a batch, on a page of its own, to go round the bundle.
    """
    numbers = Preprinted(reader)
    good = list(
        written(reader, states=(State.PRINTED,), role=Role.CHEQUE, batch=batch, account=account, unpaid=not every)
    )
    stopped = [form for form in good if form.stop]
    here = by_account(form for form in good if not form.stop and (every or form.custody not in GONE))
    accounts = accounts_of((name for name, _ in here), account, settings)
    columns = (
        _NUMBER,
        _PAYEE,
        *((_AMOUNT,) if amounts else ()),
        *((_CUSTODY,) if every else ()),
        *_SIGN,
        _ACCOUNT,
    )
    return Report(
        "handover",
        tr("Cheques handed over") + (tr(", batch {batch}", batch=batch) if batch else ""),
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=tuple(_facts(settings, accounts, sum(map(len, here.values())), batch)),
        tables=tuple(
            _slip(columns, department, currency, forms, numbers)
            for (_, currency), all_forms in here.items()
            for department, forms in _by_department(reader, batch, all_forms)
        )
        if by_department
        else tuple(
            _table(columns, name if len(here) > 1 else "", currency, forms, numbers)
            for (name, currency), forms in here.items()
        )
        or (Table("cheques", "", columns, (), empty=tr("No cheque is waiting to be handed over.")),),
        notes=(
            *_notes(reader, stopped, numbers, amounts),
            *told.notes(reader, settings, _of_accounts(here), batch, numbers),
        ),
        signatures=(tr("Handed over by"), tr("Cheques left over, and where")),
    )


def _of_accounts(here: dict[tuple[str, str], list[Written]]) -> dict[str, list[Written]]:
    found: dict[str, list[Written]] = {}
    for (account, _), forms in here.items():
        found.setdefault(account, []).extend(forms)
    return found


def _facts(settings: Settings, accounts: list[str], cheques: int, batch: int) -> Iterator[Fact]:
    if batch:
        yield Fact("batch", "Batch", batch)
    yield from account_facts(settings, accounts)
    yield Fact("cheques", "Cheques", cheques)


def _table(
    columns: tuple[Column, ...], account: str, currency: str, forms: list[Written], numbers: Preprinted
) -> Table:
    keys = {column.key for column in columns}
    totals = (sum_of(columns, forms, currency),) if "amount" in keys else ()
    rows = tuple(_row(columns, keys, form, numbers) for form in forms)
    title = tr("Account {account}", account=account) if account else ""
    return Table("cheques", title, columns, (Group("", rows),), totals, spaced=True)


def _by_department(reader: Reader, batch: int, forms: list[Written]) -> Iterator[tuple[str, list[Written]]]:
    """Forms by the department of their payment, departments in the order in which they first come."""
    named = departments.of_items(reader, batch)
    found: dict[str, list[Written]] = {}
    for form in forms:
        found.setdefault(named.get(form.item, ""), []).append(form)
    yield from found.items()


def _slip(
    columns: tuple[Column, ...], department: str, currency: str, forms: list[Written], numbers: Preprinted
) -> Table:
    """One department's slip: how many cheques, their numbers, and whose they are."""
    table = _table(columns, "", currency, forms, numbers)
    ranges = ranges_of(form.number for form in forms)
    stretches = ", ".join(numbers.stretch(forms[0].stock, first, last) for first, last in ranges)
    title = f"{department or tr(departments.NONE)}: {counted(len(forms))}, {stretches}"
    return table._replace(title=title, new_page=True)


def _row(columns: tuple[Column, ...], keys: set[str], form: Written, numbers: Preprinted) -> Row:
    cells: dict[str, Cell] = {
        "number": numbers.of(form),
        "payee": form.payee,
        "amount": Money(form.amount or 0, form.currency),
        "custody": form.custody,
        "account": form.account,
    }
    return line_of(columns, {key: cell for key, cell in cells.items() if key in keys})


def _notes(reader: Reader, stopped: list[Written], numbers: Preprinted, amounts: bool) -> Iterator[str]:
    if amounts:
        yield tr("This sheet shows amounts: let nobody see any line but their own.")
    for one in duties.waiting(reader):
        what = {"cheque.voided": tr("to be voided"), "cheque.manual": tr("to be entered as written by hand")}[one.kind]
        yield tr(
            "{account}:{number}, asked by {who}, waits for a second person: {what}.",
            account=one.account,
            number=one.number,
            who=one.who,
            what=what,
        )
    if stopped:
        yield tr("Stopped at the bank, not to be handed over: {list}.", list=", ".join(map(numbers.of, stopped)))
