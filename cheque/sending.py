"""A stretch of a batch onto the forms of one box: what is looked at before, and the order in which things happen.

Everything that can be refused is refused before the printer is opened, the printer is opened before a number is
reserved, and what is worth a second look (a gap in the box, a file that holds other bytes) is told before anything
goes. Who is asked and how they are told is the caller's: a bare command, or the guided run.
"""

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import NamedTuple

from cheque import device, duties, made, prove, run
from cheque.book import batches, runs, stock
from cheque.book.book import Book, Reader
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused
from cheque.run import Setting, Watch
from cheque.settings import PrinterSettings, Settings
from cheque.station import open_printer
from cheque.tongue import tr


class Lost(NamedTuple):
    """Forms that are consumed before a stretch begins without becoming a cheque, and how."""

    first: int
    last: int
    reason: str


class Leg(NamedTuple):
    """The forms of one box: from a number on, so many at most (0: all), and what is lost before them."""

    first: int
    forms: int = 0
    lost: tuple[Lost, ...] = ()


class Begun(NamedTuple):
    """A run that is about to send: its numbers, how long it should take (milliseconds), and what to look at first."""

    run: int
    printer: PrinterSettings
    box: stock.Range
    planned: Sequence[tuple[int, int]]
    expected: int
    warnings: tuple[str, ...]

    @property
    def numbers(self) -> str:
        """Its numbers as preprinted: 100501, or 100501 to 100524."""
        first, last = self.box.text(self.planned[0][0]), self.box.text(self.planned[-1][0])
        return first if first == last else tr("{first} to {last}", first=first, last=last)


class Sent(NamedTuple):
    """A run that came to its end: its numbers and payments, how long it should take, and what the device remarked."""

    run: int
    planned: Sequence[tuple[int, int]]
    expected: int
    remarks: tuple[str, ...]


def same_code(batch: batches.Batch, code: str) -> None:
    """Refuse a code that is not the one of a batch's latest proof."""
    if not batch.proof:
        raise BookRefused(
            tr(
                "batch {id} has no proof, or none since a payment was pulled: `cheque proof {id}`, look at it, "
                "and key in its code.",
                id=batch.id,
            )
        )
    if not prove.same_code(code, prove.proof_code(batch.proof)):
        raise BookRefused(
            tr(
                "{code} is not the code of batch {id}'s latest proof, so nothing is printed or approved. `cheque "
                "proof {id}`, look at it, and key in the code it gives.",
                code=code,
                id=batch.id,
            )
        )


def may_print(settings: Settings, reader: Reader, batch: batches.Batch, code: str) -> None:
    """Refuse a code that is not the one of a batch's latest proof, and a batch that lacks an approval."""
    same_code(batch, code)
    duties.printing(settings, reader, batch)


def at_head(reader: Reader, account: str, number: str) -> stock.Range:
    """The box that the number preprinted on the form at the head is of. UsageRefused when it is not as preprinted."""
    box = stock.range_of(reader, account, int(number))
    if number != box.text(int(number)):
        raise UsageRefused(
            tr("found number {number}; wanted it as preprinted, {int}.", number=number, int=box.text(int(number)))
        )
    return box


def send_leg(
    book: Book,
    batch: batches.Batch,
    printer: PrinterSettings,
    setting: Setting,
    leg: Leg,
    *,
    beside: tuple[int, ...],
    begun: Callable[[Begun], None],
    watching: Callable[[], AbstractContextManager[Watch]],
) -> Sent:
    """One run, on the forms of one box; `begun` is told of it once its numbers are reserved.

    The caller holds the printer (`run.holding`). RunStopped when it did not get to its end.
    """
    planned = runs.plan(book, batch.id, leg.first, leg.forms)  # refused before anything is opened
    expected = run.look_ahead(book, batch.id, planned, setting, printer.speed)
    earlier = held_before(book, batch, printer.address)
    box = stock.range_of(book, batch.account, leg.first)
    way = open_printer(printer)
    try:
        with book.change():
            for one in leg.lost:
                stock.spoil(book, account=batch.account, first=one.first, last=one.last, reason=one.reason)
            run_id, planned = runs.begin(
                book,
                batch=batch.id,
                printer=printer.name,
                address=printer.address,
                language=printer.language,
                first=leg.first,
                count=leg.forms,
                proof=batch.proof,
                beside=beside,
            )
        warnings = tuple(filter(None, (earlier, skipped(book, box, leg.first))))
        if printer.address.startswith("file:"):
            made.remember(book.place, made.STREAM, Path(printer.address.removeprefix("file:")), batch.id)
        begun(Begun(run_id, printer, box, planned, expected, warnings))
        with watching() as watch:
            run.send(book, run_id, planned, setting, way, window=printer.window, watch=watch)
        return Sent(run_id, planned, expected, tuple(device.remarks(way)))
    finally:
        way.close()


def held_before(reader: Reader, batch: batches.Batch, address: str) -> str:
    """A warning when a file holds bytes already that are not of this batch; nothing for any other address."""
    if not address.startswith("file:") or any(one.address == address for one in runs.of_batch(reader, batch.id)):
        return ""
    from cheque.device.file import held

    size = held(address)
    if not size:
        return ""
    return tr(
        "{removeprefix} held {size:,} bytes before this run, which follows them: who carries the whole "
        "file to a printer prints those again too. A new name for each batch is safer.",
        removeprefix=address.removeprefix("file:"),
        size=size,
    )


def skipped(reader: Reader, box: stock.Range, first: int) -> str:
    """A warning when the form before the one at the head is still in the box, as far as the book knows."""
    if first == box.first or stock.state_of(reader, box.account, first - 1) is not State.ON_HAND:
        return ""
    return tr(
        "{first}, the form before {first2}, is on hand in the book. If it is not in the box, look at the "
        "number at the head again, and enter what became of it (`cheque spoil`, `cheque missing`).",
        first=box.text(first - 1),
        first2=box.text(first),
    )
