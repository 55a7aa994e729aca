"""The separate listing, on plain paper: every stub line of payments whose form has no room for all of them.

It goes to the payee with the cheque, each payment on a page of its own. It is no cheque and shows no number but that of
the form that it belongs to.
"""

from collections.abc import Iterable, Iterator

from cheque.book import batches
from cheque.book.book import Reader
from cheque.payment import Payment, Role, StubLine
from cheque.reconcile import money
from cheque.reconcile.written import Preprinted
from cheque.report.page import Cell, Column, Fact, Group, Kind, Money, Report, Table, Total, line_of
from cheque.report.parts import firm
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import tr

_COLUMNS = (
    Column("kind", "Line"),
    Column("text", "What"),
    Column("date", "Date", Kind.DATE),
    Column("hours", "Hours, number", to_right=True),
    Column("rate", "Rate, price", to_right=True),
    Column("gross", "Gross", Kind.MONEY),
    Column("discount", "Discount", Kind.MONEY),
    Column("amount", "Amount", Kind.MONEY),
    Column("to_date", "To date", Kind.MONEY),
)
_ALWAYS = frozenset({"kind", "text", "amount"})


def build(reader: Reader, settings: Settings, when: When, *, batch: int, items: Iterable[int]) -> Report:
    """Every stub line of the payments `items` of a batch, each payment in a table of its own."""
    found, numbers = batches.get(reader, batch), Preprinted(reader)
    wanted = set(items)
    fates = money.fates(found, money.claims(reader, batch), money.forms(reader, batch)) if wanted else []
    on = {
        fate.claim.item: numbers.text(fate.form.stock, fate.form.number)
        for fate in fates
        if fate.form and fate.key in ("good", "elsewhere", "doubt")
    }
    tables = [
        _table(payment, found.currency, on.get(payment.item, ""))
        for payment in batches.payments(reader, batch)
        if payment.item in wanted
    ]
    return Report(
        "listing",
        tr("Detail of payments, batch {batch}", batch=batch),
        firm(settings, [found.account]),
        when.as_of,
        when.read,
        facts=(Fact("batch", "Batch", batch), Fact("payments", "Payments", len(tables))),
        tables=tuple(tables)
        or (Table("lines", "", _COLUMNS, (), empty=tr("No payment of it needs a listing: every stub is whole.")),),
    )


def _table(payment: Payment, currency: str, number: str) -> Table:
    rows = [_cells(line, currency) for line in payment.stub]
    columns = tuple(c for c in _COLUMNS if c.key in _ALWAYS or any(row[c.key] not in (None, "") for row in rows))
    what = tr("Paid by transfer") if payment.role is Role.ADVICE else tr("This cheque")
    amount = Money(payment.amount, currency)
    named = filter(
        None,
        (
            payment.payee,
            payment.reference,
            tr("dated {date}", date=payment.date),
            number and tr("form {number}", number=number),
        ),
    )
    return Table(
        f"payment_{payment.item}",
        ", ".join(named) + tr(", amounts in {currency}", currency=currency),
        columns,
        (Group("", tuple(line_of(columns, {c.key: row[c.key] for c in columns}) for row in rows)),),
        (Total(what, line_of(columns, {"amount": amount})),),
        notes=tuple(_notes(payment)),
        new_page=True,
    )


def _cells(line: StubLine, currency: str) -> dict[str, Cell]:
    def amount(minor: int | None) -> Money | None:
        return None if minor is None else Money(minor, currency)

    return {
        "kind": line.kind.value,
        "text": line.text,
        "date": line.date,
        "hours": line.hours,
        "rate": line.rate,
        "gross": amount(line.gross),
        "discount": amount(line.discount),
        "amount": amount(line.amount),
        "to_date": amount(line.to_date),
    }


def _notes(payment: Payment) -> Iterator[str]:
    if payment.period_from or payment.period_to:
        yield tr(
            "Pay period {period_from} to {period_to}.", period_from=payment.period_from, period_to=payment.period_to
        )
    yield tr(
        "{count} line{more}, all of them. This is no cheque.",
        count=len(payment.stub),
        more="" if len(payment.stub) == 1 else "s",
    )
