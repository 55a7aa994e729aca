"""`cheque print --printer A=100501 --printer B=102001`: one batch on several printers, each on its own numbers."""

import sys
import time
from contextlib import ExitStack, suppress
from itertools import accumulate, pairwise
from typing import NamedTuple

from cheque import device, estimate, run, together
from cheque.book import batches, runs, stock
from cheque.book.book import Book
from cheque.book.ranges import whole
from cheque.cli.desk import answer_json, say
from cheque.cli.paper import attendant, digits, paper_is_loaded
from cheque.errors import BookRefused, RunStopped, UsageRefused
from cheque.run import Progress, Setting
from cheque.sending import at_head
from cheque.settings import PrinterSettings, Settings
from cheque.station import open_printer, setting_of
from cheque.together import Job
from cheque.tongue import counted, tr


class Place(NamedTuple):
    """A printer of the settings, and the number preprinted on the form at its head."""

    printer: PrinterSettings
    setting: Setting
    first: int


def one_or_several(given: tuple[str, ...]) -> tuple[str | None, list[tuple[str, str]]]:
    """`--printer` as given: one name or none, or several NAME=NUMBER."""
    if not any("=" in text for text in given):
        if len(given) > 1:
            raise UsageRefused(
                tr("several printers each want the number at their head: --printer NAME=NUMBER, for each.")
            )
        return (given[0] if given else None), []
    found = []
    for text in given:
        name, equals, number = text.partition("=")
        try:
            found.append((name, digits(number if equals else "")))
        except ValueError:
            raise UsageRefused(
                tr("found --printer {text!r}; wanted NAME=NUMBER, such as payroom=100501.", text=text)
            ) from None
    names = [name for name, _ in found]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise UsageRefused(f"--printer {twice} is given twice: a printer has one form at its head.")
    return None, found


def print_on_several(
    found: Settings,
    book: Book,
    batch: batches.Batch,
    given: list[tuple[str, str]],
    *,
    paper_loaded: bool,
    count: int,
    after: str | None,
    as_json: bool,
) -> None:
    """Divide a batch in order by the printers' speeds, and print it on all of them side by side.

    RunStopped (exit 4) when any of them did not get to its end; each is resumed by itself.
    """
    watcher = attendant(after)
    places = [_place(found, book, batch, name, number) for name, number in given]
    addresses = [place.printer.address for place in places]
    if len(set(addresses)) < len(addresses):
        raise UsageRefused(tr("two of these printers have the same address in the settings: they are one printer."))
    paper_is_loaded(paper_loaded)
    with ExitStack() as stack:
        holds = [stack.enter_context(ExitStack()) for _ in places]
        for place, hold in zip(places, holds, strict=True):
            hold.enter_context(run.holding(book.place, place.printer.name))
        jobs = _begun(book, batch, places, count, holds)
        display = _Display([job.printer for job in jobs], {job.printer: len(job.planned) for job in jobs})
        with watcher.watching() as watch:
            failed = together.send_together(book, jobs, watch, progress=display.show)
        for job in jobs:
            for remark in device.remarks(job.way):
                say(tr("  note: {printer}: {remark}", printer=job.printer, remark=remark))
    _tell(batch, jobs, failed, as_json)


def _place(found: Settings, book: Book, batch: batches.Batch, name: str, number: str) -> Place:
    printer = found.printer(name)
    at_head(book, batch.account, number)
    return Place(printer, setting_of(found, book, batch, name), int(number))


def _begun(book: Book, batch: batches.Batch, places: list[Place], count: int, holds: list[ExitStack]) -> list[Job]:
    """Everything looked at and opened first; then all the numbers reserved, or none."""
    every = runs.to_print(book, batch.id, 1, count)
    if not len(every):
        raise BookRefused(tr("batch {id} has no payment that lacks a form: there is nothing to print.", id=batch.id))
    ends = accumulate(estimate.shares(len(every), [place.printer.speed for place in places]))
    shares = [end - begin for begin, end in pairwise([0, *(whole(every, end) for end in ends)])]
    working, skip = [], 0
    for place, share, hold in zip(places, shares, holds, strict=True):
        if not share:
            say(tr("{name}: nothing is left for it to print.", name=place.printer.name))
            continue
        planned = runs.plan(book, batch.id, place.first, share, skip=skip)
        expected = run.look_ahead(book, batch.id, planned, place.setting, place.printer.speed)
        skip += len(planned.items)
        working.append((place, share, expected, hold))
    ways = []
    for place, _, _, hold in working:
        way = open_printer(place.printer)
        hold.callback(way.close)
        ways.append(way)
    parts = [
        runs.Part(p.printer.name, p.printer.address, p.printer.language, p.first, share) for p, share, _, _ in working
    ]
    begun = runs.begin_together(book, batch=batch.id, proof=batch.proof, parts=parts)
    jobs = []
    for (place, share, expected, hold), way, (run_id, planned) in zip(working, ways, begun, strict=True):
        printer = place.printer
        text = stock.range_of(book, batch.account, planned[0][0]).text
        numbers = tr("{planned} to {planned2}", planned=text(planned[0][0]), planned2=text(planned[-1][0]))
        say(
            tr(
                "Run {run_id}: {forms}, {numbers}, to {name} ({address}), on paper about {in_words}. ",
                run_id=run_id,
                forms=counted(share, "form"),
                numbers=numbers,
                name=printer.name,
                address=printer.address,
                in_words=estimate.in_words(expected),
            )
            + device.kind_of(printer.address).tells()
        )
        jobs.append(Job(printer.name, run_id, planned, place.setting, way, printer.window, hold.close))
    return jobs


def _tell(batch: batches.Batch, jobs: list[Job], failed: dict[str, Exception], as_json: bool) -> None:
    """What every printer did. RunStopped when any stopped, its own fault of the tool first."""
    for error in failed.values():
        if not isinstance(error, (RunStopped, BookRefused)):
            raise error
    if as_json:
        told = [
            {
                "run": job.run,
                "printer": job.printer,
                "first": job.planned[0][0],
                "last": job.planned[-1][0],
                "stopped": str(failed[job.printer]) if job.printer in failed else "",
            }
            for job in jobs
        ]
        answer_json({"batch": batch.id, "runs": told})
    for job in jobs:
        if job.printer not in failed:
            say(
                tr(
                    "{printer}: {forms} sent; none is printed until somebody has looked.",
                    printer=job.printer,
                    forms=counted(len(job.planned), "form"),
                )
            )
    if failed:
        stopped = [job for job in jobs if job.printer in failed]
        lines = [
            tr("{printer}, run {run}: {failed}", printer=job.printer, run=job.run, failed=failed[job.printer])
            for job in stopped
        ]
        how = tr(" and ").join(tr("`cheque resume {id} --run {run}`", id=batch.id, run=job.run) for job in stopped)
        raise RunStopped(
            tr("not every printer got to its end.\n  ") + "\n  ".join(lines) + tr("\nEach by itself: {how}.", how=how)
        )
    each = ", ".join(tr("cheque confirm {id} --run {run}", id=batch.id, run=job.run) for job in jobs)
    say(tr("Go through the paper of each printer, every number and the last part, then: {each}", each=each))


class _Display:
    """A line for each printer: over themselves on a terminal, a line a second for each elsewhere."""

    def __init__(self, printers: list[str], forms: dict[str, int]) -> None:
        self._lines = {
            name: tr("{name}: {forms}, none sent yet", name=name, forms=counted(forms[name], "form"))
            for name in printers
        }
        self._terminal = sys.stderr.isatty()
        self._shown = dict.fromkeys(printers, 0.0)
        self._drawn = False

    def show(self, printer: str, now: Progress) -> None:
        """One printer got on. Called from the threads of the runs; what is written is written at once."""
        left = now.forms - now.done
        text = tr(
            "{printer}: form {number}  {done} of {forms} sent  {left} left",
            printer=printer,
            number=now.number,
            done=now.done,
            forms=now.forms,
            left=left,
        )
        self._lines[printer] = text
        if self._terminal:
            up = f"\x1b[{len(self._lines)}A" if self._drawn else ""
            self._drawn = True
            with suppress(OSError, ValueError):  # a terminal that has gone
                sys.stderr.write(up + "".join(f"\r\x1b[K{line:.78}\n" for line in self._lines.values()))
                sys.stderr.flush()
        elif time.monotonic() - self._shown[printer] >= 1 or not left:
            self._shown[printer] = time.monotonic()
            say(text)
