"""Cheques issued: every cheque that was good when somebody looked at it; which were paid or voided since.

A cheque is issued when a person has seen it printed (or wrote it by hand); a form that was sent and nobody has
looked at is in doubt, and is named but not counted. Advices are no cheques.
"""

from collections.abc import Iterator

from cheque.book import batches, cleared
from cheque.book.book import Reader
from cheque.book.state import State
from cheque.payment import Role
from cheque.reconcile.written import Preprinted, Written, by_account, written
from cheque.report import moved
from cheque.report.page import Column, Fact, Group, Kind, Money, Place, Report, Row, Table, line_of
from cheque.report.parts import account_facts, accounts_of, counted, firm, sum_of
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import tr

COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("date", "Date", Kind.DATE),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("reference", "Reference"),
    Column("account", place=Place.DATA),
    Column("state", place=Place.DATA),
    Column("batch", place=Place.DATA, kind=Kind.COUNT),
    Column("payment", place=Place.DATA, kind=Kind.COUNT),
    Column("paid_on", place=Place.DATA, kind=Kind.DATE),
)


def build(
    reader: Reader,
    settings: Settings,
    when: When,
    *,
    batch: int = 0,
    account: str = "",
    dated_from: str = "",
    dated_to: str = "",
) -> Report:
    """The cheques of a batch, of an account, or dated within days (ISO 8601, both included); or all of them."""
    if batch:
        account = batches.get(reader, batch).account
    numbers = Preprinted(reader)
    forms = [
        form
        for form in written(reader, states=(State.PRINTED, State.VOIDED), batch=batch, account=account)
        if (not dated_from or form.date >= dated_from) and (not dated_to or form.date <= dated_to)
    ]
    cheques = by_account(form for form in forms if form.role == Role.CHEQUE)
    accounts = accounts_of((name for name, _ in cheques), account, settings)
    title = tr("Cheques issued") + (tr(", batch {batch}", batch=batch) if batch else "")
    return Report(
        "issued",
        title,
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=tuple(_facts(reader, settings, accounts, batch, dated_from, dated_to)),
        tables=tuple(
            _table(name, currency, some, numbers, len(cheques), cleared.days(reader, name))
            for (name, currency), some in cheques.items()
        )
        or (Table("cheques", "", COLUMNS, (), empty=tr("No cheques.")),),
        notes=tuple(_notes(reader, forms, numbers, batch, account)),
    )


def _facts(
    reader: Reader, settings: Settings, accounts: list[str], batch: int, dated_from: str, dated_to: str
) -> Iterator[Fact]:
    if batch:
        found = batches.get(reader, batch)
        yield Fact("batch", "Batch", batch)
        yield Fact("source", "From", found.source)
    yield from account_facts(settings, accounts)
    if dated_from or dated_to:
        days = (
            tr("from {dated_from} to {dated_to}", dated_from=dated_from, dated_to=dated_to)
            if dated_from and dated_to
            else ""
        )
        yield Fact(
            "dated",
            "Dated",
            days
            or (
                tr("from {dated_from} on", dated_from=dated_from)
                if dated_from
                else tr("up to {dated_to}", dated_to=dated_to)
            ),
        )


def _table(
    account: str, currency: str, forms: list[Written], numbers: Preprinted, tables: int, paid: dict[int, str]
) -> Table:
    """Cleared, not yet cleared and voided, each with its sum, which together are what was issued."""
    good = [form for form in forms if form.state == State.PRINTED]
    voided = [form for form in forms if form.state == State.VOIDED]
    gone = [form for form in good if form.number in paid]
    out = [form for form in good if form.number not in paid]
    parts = ((tr("Cleared: paid by the bank"), gone), (tr("Good, not yet cleared") if gone else "Good", out))
    shown = [(title, some) for title, some in (*parts, (tr("Voided since"), voided)) if some]
    groups = []
    for title, some in shown:
        subtotal = (sum_of(COLUMNS, some, currency),) if len(shown) > 1 else ()
        named = title if len(shown) > 1 or gone else ""
        groups.append(Group(named, tuple(_row(form, numbers, paid) for form in some), subtotal))
    return Table(
        "cheques",
        tr("Account {account}, {currency}", account=account, currency=currency)
        if tables > 1
        else tr("Amounts in {currency}", currency=currency),
        COLUMNS,
        tuple(groups),
        (sum_of(COLUMNS, forms, currency, tr(" issued") if len(shown) > 1 else ""),),
    )


def _row(form: Written, numbers: Preprinted, paid: dict[int, str]) -> Row:
    return line_of(
        COLUMNS,
        {
            "number": numbers.of(form),
            "date": form.date,
            "payee": form.payee,
            "amount": Money(form.amount or 0, form.currency),
            "reference": form.reference,
            "account": form.account,
            "state": "voided" if form.state == State.VOIDED else "good",
            "batch": form.batch,
            "payment": form.item,
            "paid_on": paid.get(form.number),
        },
    )


def _notes(reader: Reader, forms: list[Written], numbers: Preprinted, batch: int, account: str) -> Iterator[str]:
    by_hand = [numbers.of(form) for form in forms if form.role == Role.CHEQUE and not form.run]
    if by_hand:
        yield tr("Written by hand: {by_hand}.", by_hand=", ".join(by_hand))
    boxes: dict[int, list[Written]] = {}
    for form in forms:
        boxes.setdefault(form.stock, []).append(form)
    for some in boxes.values():
        yield from moved.notes(reader, some[0].account, {form.number for form in some}, len(numbers.of(some[0])))
    advices = sum(1 for form in forms if form.role == Role.ADVICE and form.state == State.PRINTED)
    if advices:
        yield tr(
            "{advices}, which cannot be paid, {more} not in it.",
            advices=counted(advices, "advice"),
            more=tr("is") if advices == 1 else tr("are"),
        )
    going_on = [numbers.of(form) for form in forms if form.role == Role.CONTINUATION and form.state == State.PRINTED]
    if going_on:
        yield tr("Stubs go on on {going_on}: struck VOID, paying nobody, and not in it.", going_on=", ".join(going_on))
    doubt = list(written(reader, states=(State.SENT, State.RESERVED), batch=batch, account=account))
    if doubt:
        named = numbers.of(doubt[0]) + (tr(" and {count} more", count=len(doubt) - 1) if len(doubt) > 1 else "")
        yield tr("In doubt, and not in it until somebody has looked at the paper: {named}.", named=named)
