"""What the reports say of numbers put right after printing: the correction, and the number struck on each form."""

from collections.abc import Collection, Iterator

from cheque.book.batches import Batch
from cheque.book.book import Reader
from cheque.reconcile.moved import Moved, moves, struck_numbers
from cheque.reconcile.written import Preprinted, written
from cheque.report.page import Cell, Column, Group, Kind, Money, Table, line_of
from cheque.report.when import local_minutes
from cheque.tongue import tr

COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("struck", "Struck on it", Kind.NUMBER),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("state", "Is"),
)


def sentence(moved: Moved, width: int = 0) -> str:
    """One correction, as a sentence; numbers have leading zeros up to `width` digits."""

    def stretch(first: int, last: int) -> str:
        return f"{first:0{width}d}" if first == last else f"{first:0{width}d}-{last:0{width}d}"

    return tr(
        "Numbers moved: the cheques that the book had on {stretch} are on {stretch2} ({by:+d}). Entered "
        "{local_minutes} by {who}, approved by {approved}: {rstrip}.",
        stretch=stretch(moved.first, moved.last),
        stretch2=stretch(moved.first + moved.by, moved.last + moved.by),
        by=moved.by,
        local_minutes=local_minutes(moved.at),
        who=moved.who,
        approved=moved.approved,
        rstrip=moved.reason.rstrip("."),
    )


def notes(reader: Reader, account: str, wanted: Collection[int], width: int = 0) -> Iterator[str]:
    """A sentence for each correction that speaks of some numbers, and one with the number struck on each."""
    if not wanted:
        return
    first, last = min(wanted), max(wanted)
    yield from (sentence(one, width) for one in moves(reader, account, first, last) if one.reaches(wanted))
    struck = {n: on for n, on in struck_numbers(reader, account, first, last).items() if n in wanted}
    if struck:
        told = ", ".join(
            tr("{number} (struck {on})", number=f"{number:0{width}d}", on=f"{on:0{width}d}")
            for number, on in struck.items()
        )
        yield tr("The number struck is not the one preprinted: {told}.", told=told)


def tables(reader: Reader, batch: Batch, numbers: Preprinted) -> Iterator[Table]:
    """For the control report: the batch's forms on which another number is struck; nothing when none was moved."""
    forms = {form.number: form for form in written(reader, batch=batch.id)}
    if not forms:
        return
    first, last = min(forms), max(forms)
    found = [one for one in moves(reader, batch.account, first, last) if one.reaches(forms)]
    if not found:
        return
    rows = []
    for number, struck in struck_numbers(reader, batch.account, first, last).items():
        form = forms.get(number)
        if form is not None:
            cells: dict[str, Cell] = {
                "number": numbers.of(form),
                "struck": numbers.text(form.stock, struck),
                "payee": form.payee,
                "amount": None if form.amount is None else Money(form.amount, form.currency),
                "state": form.state,
            }
            rows.append(line_of(COLUMNS, cells))
    width = len(numbers.of(forms[first]))
    yield Table(
        "moved",
        tr("Numbers moved after printing"),
        COLUMNS,
        (Group("", tuple(rows)),),
        notes=tuple(sentence(one, width) for one in found),
        empty=tr("None now bears another number than the one preprinted."),
    )
