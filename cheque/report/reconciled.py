"""The numbers of a batch reconciled, as a report: what `cheque.reconcile.numbers` found, for the binder."""

from collections.abc import Iterable, Iterator

from cheque.book.batches import Batch
from cheque.book.state import State
from cheque.reconcile.finding import Finding, Line, Step
from cheque.report.boxes import identities
from cheque.report.moved import sentence
from cheque.report.page import Cell, Column, Fact, Group, Kind, Money, Place, Report, Row, Table, Total, line_of
from cheque.report.parts import account_facts, counted, firm
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import tr

LINE_COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("expected", "Expected", Kind.NUMBER),
    Column("item", "Line", Kind.COUNT),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("state", "Is"),
    Column("reason", "Reason"),
    Column("batch", place=Place.DATA, kind=Kind.COUNT),
    Column("forms", place=Place.DATA, kind=Kind.COUNT),
)
STEP_COLUMNS = (
    Column("step", "Step"),
    Column("payments", "Payments", Kind.COUNT),
    Column("amount", "Amount", Kind.MONEY),
    Column("named", "Which", place=Place.BELOW),
    Column("key", place=Place.DATA),
)
NAMED = 12


def build(finding: Finding, settings: Settings, when: When) -> Report:
    """The report of a finding."""
    batch = finding.batch
    return Report(
        "reconcile",
        tr("Numbers reconciled, batch {id}", id=batch.id),
        firm(settings, [batch.account]),
        when.as_of,
        when.read,
        facts=(
            Fact("batch", "Batch", batch.id),
            *account_facts(settings, [batch.account]),
            Fact("source", "Register", batch.source),
            Fact("unexplained", "Unexplained", len(finding.unexplained)),
        ),
        tables=tuple(_tables(finding)),
        agrees=finding.agrees,
    )


def _tables(finding: Finding) -> Iterator[Table]:
    batch = finding.batch
    for stretch in finding.stretches:
        box = stretch.box
        title = tr(
            "{account}:{first}-{last} on {printer}",
            account=box.account,
            first=box.text(stretch.first),
            last=box.text(stretch.last),
            printer=stretch.printer,
        )
        yield _lines("numbers", title, stretch.lines, batch)
    if finding.by_hand:
        yield _lines("by_hand", tr("Outside the runs"), finding.by_hand, batch)
    if not finding.stretches and not finding.by_hand:
        yield Table("numbers", "Numbers", LINE_COLUMNS, (), empty=tr("Nothing of the batch was printed."))
    yield _said("shifts", tr("Against the numbers that payroll expected"), _shifts(finding))
    if finding.moved:
        width = max(len(stretch.box.text(stretch.first)) for stretch in finding.stretches)
        yield _said("moved", tr("Numbers moved after printing"), (sentence(one, width) for one in finding.moved))
    yield steps_table(finding.steps, batch)
    yield identities(finding.identities)
    if finding.attention:
        yield _said("attention", tr("To be done"), finding.attention)
    yield _said(
        "unexplained", tr("Not explained"), finding.unexplained, empty=tr("Nothing: every number is accounted for.")
    )


def _shifts(finding: Finding) -> tuple[str, ...]:
    if finding.shifts:
        return finding.shifts
    lines = [line for stretch in finding.stretches for line in stretch.lines]
    if any(line.expected for line in lines):
        return (tr("Every number is the one that payroll expected."),)
    return (tr("The register gives no numbers."),)


def steps_table(steps: Iterable[Step], batch: Batch) -> Table:
    """From the register's total to the good cheques."""
    rows = [
        line_of(
            STEP_COLUMNS,
            {
                "step": step.label,
                "payments": step.items,
                "amount": Money(step.amount, batch.currency),
                "named": _named(step.named),
                "key": step.key,
            },
        )
        for step in steps
    ]
    return Table("steps", tr("From the register to the good cheques"), STEP_COLUMNS, (Group("", tuple(rows)),))


def _named(payments: tuple[str, ...]) -> str:
    """The payments by name; of many, the first few and how many more."""
    rest = len(payments) - NAMED
    return "; ".join(payments[:NAMED]) + (tr("; and {rest} more", rest=rest) if rest > 0 else "")


def _lines(key: str, title: str, lines: Iterable[Line], batch: Batch) -> Table:
    rows = tuple(_row(line, batch) for line in lines)
    forms = sum(line.forms for line in lines)
    total = Total(counted(forms, "number"), line_of(LINE_COLUMNS, {}))
    return Table(key, title, LINE_COLUMNS, (Group("", rows),), (total,))


def line_amount(line: Line) -> Money | None:
    """The amount on a form; a spoiled one is no money."""
    if line.amount is None or line.state == State.SPOILED:
        return None
    return Money(line.amount, line.currency)


def _row(line: Line, batch: Batch) -> Row:
    mine = line.batch in (0, batch.id)
    cells: dict[str, Cell] = {
        "number": line.text,
        "expected": line.expected,
        "item": line.item if line.item and mine else None,
        "payee": line.payee if mine else tr("batch {batch}: {payee}", batch=line.batch, payee=line.payee),
        "amount": line_amount(line),
        "state": line.state,
        "reason": line.reason,
        "batch": line.batch or None,
        "forms": line.forms,
    }
    return line_of(LINE_COLUMNS, cells)


def _said(key: str, title: str, sentences: Iterable[str], *, empty: str = "") -> Table:
    """A table of sentences only."""
    notes = tuple(_sentence(text) for text in sentences)
    return Table(key, title, (), (), notes=notes, empty="" if notes else empty)


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."
