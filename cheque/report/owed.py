"""What is owed behind voided and missing cheques: a voided cheque is no payment, and voiding a wage does not cancel it.

Listed until it is printed again, the bank has paid it all the same, or somebody has said, with a reason, that it is
not owed or was paid otherwise; what was so settled is listed after it, with the reason.
"""

from collections.abc import Iterable, Iterator

from cheque.book import owed, stops
from cheque.book.book import Reader
from cheque.book.owed import Debt
from cheque.reconcile.written import Preprinted
from cheque.report.ages import days_old
from cheque.report.page import Cell, Column, Group, Kind, Money, Place, Report, Row, Table, Total, line_of
from cheque.report.parts import account_facts, accounts_of, counted, firm
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import mark, tr

COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("date", "Date", Kind.DATE),
    Column("days", "Days", Kind.COUNT),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("why", "Why it is void", place=Place.BELOW),
    Column("reason", "Decided because", place=Place.BELOW),
    Column("waits", "Printed again", place=Place.BELOW),
    Column("paper", "Paper", place=Place.BELOW),
    Column("disposition", place=Place.DATA),
    Column("reference", place=Place.DATA),
    Column("account", place=Place.DATA),
    Column("state", place=Place.DATA),
)
_TITLES = {
    "missing": mark("Missing after it was printed: find it, or have it stopped and print it again"),
    "": mark("Nothing decided"),
    "still owed": mark("Still owed"),
    "reissue": mark("To be reissued"),
    "not owed": mark("Not owed"),
    "paid otherwise": mark("Paid otherwise"),
}
_CAUTION = mark(
    "Voiding a cheque does not cancel what it was for. Wages that were earned are owed whether or not the cheque "
    "is cashed, and when they have to be paid is a matter of local law."
)


def build(reader: Reader, settings: Settings, when: When, *, batch: int = 0, account: str = "") -> Report:
    """The debts behind the voided and missing cheques of a batch, of an account, or of all."""
    debts = list(owed.every(reader, batch=batch, account=account))
    accounts = accounts_of((debt.account for debt in debts), account, settings)
    numbers = Preprinted(reader)
    due = [debt for debt in debts if not debt.settled]
    return Report(
        "owed",
        tr("Owed behind voided cheques") + (tr(", batch {batch}", batch=batch) if batch else ""),
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=tuple(account_facts(settings, accounts)),
        tables=(
            _table("owed", tr("Owed"), tr("Nothing is owed behind a voided cheque."), due, when, numbers),
            _table(
                "settled",
                tr("Settled without a cheque"),
                tr("None was."),
                [d for d in debts if d.settled],
                when,
                numbers,
            ),
        ),
        notes=(
            *((_CAUTION,) if due else ()),
            *_may_be_paid(due, numbers, stops.lapsed_by(reader, when.today.isoformat())),
        ),
    )


def _may_be_paid(due: list[Debt], numbers: Preprinted, lapsed: dict[tuple[str, int], str]) -> Iterator[str]:
    out = [numbers.text(debt.stock, debt.number) for debt in due if debt.stop in ("needed", "requested") or _lost(debt)]
    if out:
        yield tr(
            "The bank has confirmed no stop of {out}: it may be paid yet, so ask before paying again.",
            out=", ".join(out),
        )
    past = [numbers.text(debt.stock, debt.number) for debt in due if (debt.account, debt.number) in lapsed]
    if past:
        yield (
            tr(
                "The bank's stop of {past} HAS LAPSED: it may be paid yet. Ask the bank for a new stop, and "
                "whether it was paid meanwhile, before paying again.",
                past=", ".join(past),
            )
        )


def _lost(debt: Debt) -> bool:
    return debt.state == "missing" and debt.stop != "confirmed"


def _table(key: str, title: str, empty: str, debts: list[Debt], when: When, numbers: Preprinted) -> Table:
    groups = []
    for kind, named in _TITLES.items():
        some = [debt for debt in debts if (debt.state if debt.state == "missing" else debt.disposition) == kind]
        if some:
            groups.append(Group(named, tuple(_row(debt, when, numbers) for debt in some), tuple(_sums(some))))
    return Table(key, title, COLUMNS, tuple(groups), tuple(_sums(debts)) if len(groups) > 1 else (), empty=empty)


def _sums(debts: Iterable[Debt]) -> Iterator[Total]:
    found = list(debts)
    for currency in sorted({debt.currency for debt in found}):
        some = [debt.amount for debt in found if debt.currency == currency]
        yield Total(counted(len(some)), line_of(COLUMNS, {"amount": Money(sum(some), currency)}))


def _row(debt: Debt, when: When, numbers: Preprinted) -> Row:
    cells: dict[str, Cell] = {
        "number": numbers.text(debt.stock, debt.number),
        "date": debt.date,
        "days": days_old(debt.date, when.today),
        "payee": debt.payee,
        "amount": Money(debt.amount, debt.currency),
        "why": debt.why,
        "reason": debt.reason,
        "waits": tr("waits as batch {waits}", waits=debt.waits) if debt.waits else "",
        "paper": tr("not found") if debt.state == "missing" else debt.custody,
        "disposition": debt.disposition,
        "reference": debt.reference,
        "account": debt.account,
        "state": debt.state,
    }
    return line_of(COLUMNS, cells)
