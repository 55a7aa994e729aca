"""Every number of a box or of a batch, and what became of it; each box's forms add up to what was received.

received = on hand + reserved + sent + printed + spoiled + voided + missing + destroyed
"""

from collections.abc import Iterator

from cheque.book import batches, runs
from cheque.book.book import Reader
from cheque.book.stock import Range, range_of, ranges
from cheque.reconcile.finding import Line
from cheque.reconcile.lines import accounted, identity
from cheque.report import moved
from cheque.report.boxes import identities
from cheque.report.page import Cell, Column, Group, Kind, Place, Report, Row, Table, Total, line_of
from cheque.report.parts import account_facts, accounts_of, counted, firm
from cheque.report.reconciled import line_amount
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import tr

COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("forms", "Forms", Kind.COUNT),
    Column("state", "Is"),
    Column("payee", "Payment"),
    Column("amount", "Amount", Kind.MONEY),
    Column("reason", "Reason"),
    Column("account", place=Place.DATA),
    Column("batch", place=Place.DATA, kind=Kind.COUNT),
    Column("payment", place=Place.DATA, kind=Kind.COUNT),
)


def build(
    reader: Reader,
    settings: Settings,
    when: When,
    *,
    batch: int = 0,
    account: str = "",
    first: int = 0,
    last: int = 0,
) -> Report:
    """The numbers of a batch (from the first to the last of its runs), from first to last, or of every box."""
    if batch:
        account = batches.get(reader, batch).account
    wanted = list(_wanted(reader, batch, account, first, last))
    boxes = [identity(reader, box) for box in dict.fromkeys(box for box, _, _ in wanted)]
    accounts = accounts_of((box.account for box, _, _ in wanted), account, settings)
    title = tr("Numbers of batch {batch}", batch=batch) if batch else tr("Numbers accounted for")
    return Report(
        "numbers",
        title,
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=tuple(account_facts(settings, accounts)),
        tables=(
            *(_table(reader, box, low, high) for box, low, high in wanted),
            identities(boxes, empty=tr("No box: `cheque stock receive` enters one.")),
        ),
        notes=(*_strangers(wanted, first, last), *_moved(reader, wanted)),
        agrees=all(one.agrees for one in boxes),
    )


def _strangers(wanted: list[tuple[Range, int, int]], first: int, last: int) -> tuple[str, ...]:
    """What is said of numbers asked for that are in no box."""
    strangers = last - first + 1 - sum(high - low + 1 for _, low, high in wanted) if last else 0
    if not strangers:
        return ()
    return (
        tr(
            "{numbers} of {first}-{last} {more} in no box.",
            numbers=counted(strangers, "number"),
            first=first,
            last=last,
            more=tr("is") if strangers == 1 else tr("are"),
        ),
    )


def _moved(reader: Reader, wanted: list[tuple[Range, int, int]]) -> Iterator[str]:
    """What is said of numbers that were put right after printing."""
    for box, low, high in wanted:
        yield from moved.notes(reader, box.account, range(low, high + 1), len(box.text(low)))


def _wanted(reader: Reader, batch: int, account: str, first: int, last: int) -> Iterator[tuple[Range, int, int]]:
    """Boxes, and the first and last number wanted of each."""
    if not batch:
        for box in ranges(reader, account):
            low, high = max(first, box.first), min(last or box.last, box.last)
            if low <= high:
                yield box, low, high
        return
    spans: dict[Range, tuple[int, int]] = {}
    found = [(run.account, run.first, run.last) for run in runs.of_batch(reader, batch)]
    found += [
        (row[0], row[1], row[1]) for row in reader.rows("SELECT account, number FROM number WHERE batch = ?", batch)
    ]
    for owner, low, high in found:
        box = range_of(reader, owner, low)
        before = spans.get(box, (low, high))
        spans[box] = (min(low, before[0]), max(high, before[1]))
    for box, (low, high) in sorted(spans.items(), key=lambda span: (span[0].account, span[0].first)):
        yield box, low, high


def _table(reader: Reader, box: Range, first: int, last: int) -> Table:
    lines = accounted(reader, box, first, last)
    part = (
        ""
        if (first, last) == (box.first, box.last)
        else tr(", of the box {first}-{last}", first=box.text(box.first), last=box.text(box.last))
    )
    forms = sum(line.forms for line in lines)
    return Table(
        "numbers",
        f"{box.account}:{box.text(first)}-{box.text(last)}, {box.form}{part}",
        COLUMNS,
        (Group("", tuple(_row(box, line) for line in lines)),),
        (Total(tr("In all"), line_of(COLUMNS, {"forms": forms})),),
    )


def _row(box: Range, line: Line) -> Row:
    cells: dict[str, Cell] = {
        "number": line.text,
        "forms": line.forms,
        "state": line.state,
        "payee": line.payee,
        "amount": line_amount(line),
        "reason": line.reason,
        "account": box.account,
        "batch": line.batch or None,
        "payment": line.item or None,
    }
    return line_of(COLUMNS, cells)
