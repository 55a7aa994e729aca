"""`cheque print` and `cheque resume`: a batch onto paper, form by form."""

from typing import NamedTuple

import click

from cheque import device, estimate, prove, run
from cheque.book import batches, runs, stock
from cheque.book.book import Book
from cheque.book.runs import Run
from cheque.book.state import State
from cheque.cli import doubt, nextbox
from cheque.cli.desk import (
    answer_json,
    ask,
    ask_yes,
    batch_number,
    counted,
    interactive,
    json_option,
    opened,
    say,
)
from cheque.cli.nextbox import Lost, Next, change_of, enter_lost, load_next
from cheque.cli.paper import Attendant, number_at_head, paper_is_loaded
from cheque.cli.several import one_or_several, print_on_several
from cheque.cli.station import form_of, open_printer, printer_for, setting_of
from cheque.errors import BookRefused, UsageRefused
from cheque.run import Setting
from cheque.settings import PrinterSettings, Settings

_AFTER = click.Choice(["ask", "stop", "go-on"])


@click.command("print")
@click.argument("batch")
@click.option(
    "--printer",
    "printers",
    multiple=True,
    metavar="NAME[=NUMBER]",
    help="The printer; several, each with the number at its head, print side by side.",
)
@click.option("--first-number", metavar="NUMBER", help="The number preprinted on the form at the head.")
@click.option("--proof-code", metavar="CODE", help="The code of the proof that was looked at.")
@click.option("--paper-loaded", is_flag=True, help="A person has loaded paper.")
@click.option("--count", type=click.IntRange(min=1), help="Print only so many forms now.")
@click.option("--after-first", "after", type=_AFTER, help="When the first form has left: ask, stop, or go on.")
@nextbox.options
@json_option
def print_command(
    batch: str,
    printers: tuple[str, ...],
    first_number: str | None,
    proof_code: str | None,
    paper_loaded: bool,
    count: int | None,
    after: str | None,
    then: str | None,
    tear_off: int | None,
    lead_in: int | None,
    next_loaded: bool,
    as_json: bool,
) -> None:
    """Print BATCH, form by form, on numbers that follow on from the one at the printer's head.

    Only what the proof showed is printed: the bytes of every form are decoded and held against it before they
    go. Ctrl-C stops at the end of the form in hand; `cheque resume` goes on from there.

    With --printer A=100501 --printer B=102001 the batch is divided in order by the printers' speeds, and each prints
    its share on its own numbers. One that stops is resumed by itself.

    With --then NUMBER it goes over to the next box when this one does not suffice.
    """
    printer, several = one_or_several(printers)
    if several and first_number is not None:
        raise UsageRefused(
            "with several printers each has its own number: --printer NAME=NUMBER, without --first-number."
        )
    next_box = Next(then, tear_off, lead_in, next_loaded)
    if several and next_box != Next():
        raise UsageRefused("several printers do not go over to a next box: print what their boxes hold, then resume.")
    with opened() as (found, book):
        which = batches.get(book, batch_number(batch))
        if which.state != "accepted":
            raise BookRefused(f"batch {which.id} was withdrawn; nothing of it can be printed.")
        code = proof_code if proof_code is not None else ask("--proof-code", "Proof code?", str)
        _same_code(which, code)
        if several:
            print_on_several(
                found,
                book,
                which,
                several,
                paper_loaded=paper_loaded,
                count=count or 0,
                after=after,
                as_json=as_json,
            )
            return
        name = printer_for(found, form_of(book, which), which, printer, only=True).name
        order = Order(name, first_number, paper_loaded, count or 0, after, next_box=next_box)
        outcome = _print(found, book, which, order)
    _sent_all(which, outcome, as_json)


def _same_code(batch: batches.Batch, code: str) -> None:
    if not batch.proof:
        raise BookRefused(
            f"batch {batch.id} has no proof, or none since a payment was pulled: `cheque proof {batch.id}`, look at "
            "it, and key in its code."
        )
    if not prove.same_code(code, prove.proof_code(batch.proof)):
        raise BookRefused(
            f"{code} is not the code of batch {batch.id}'s latest proof, so nothing is printed. "
            f"`cheque proof {batch.id}`, look at it, and key in the code it gives."
        )


def _as_it_was_approved(book: Book, batch: batches.Batch, last: Run, open_runs: list[Run], code: str | None) -> None:
    """A resume needs no new code for what was looked at before; for any other proof it needs that proof's code."""
    if batch.proof == runs.proof_of(book, last.id) or not doubt.more_to_print(book, batch.id, open_runs):
        return
    say("A new proof was made since this batch began to print: only what somebody has looked at is printed.")
    _same_code(batch, code if code is not None else ask("--proof-code", "Its proof code?", str))


class Outcome(NamedTuple):
    """Runs that came to their end: the numbers and payments that were sent, and milliseconds."""

    runs: tuple[int, ...]
    printer: str
    planned: list[tuple[int, int]]
    expected: int
    took: int


class Order(NamedTuple):
    """What was said about a print, as options; None is asked for."""

    printer: str | None
    first_number: str | None
    paper_loaded: bool
    forms: int
    after: str | None
    number_option: str = "--first-number"
    beside: tuple[int, ...] = ()  # runs of the batch, on other printers, that are answered for by themselves
    next_box: Next = Next()


class _Leg(NamedTuple):
    """The forms of one box: from a number on, so many at most (0: all), and what is lost before them."""

    first: int
    forms: int
    lost: tuple[Lost, ...] = ()


def _print(found: Settings, book: Book, batch: batches.Batch, order: Order) -> Outcome:
    """Ask what must be asked, reserve, and send; on the next box too, when the first does not suffice."""
    chosen = printer_for(found, form_of(book, batch), batch, order.printer)
    setting = setting_of(found, book, batch, chosen.name)
    attendant = Attendant(order.after)
    paper_is_loaded(order.paper_loaded)
    first = number_at_head(order.first_number, order.number_option)
    box = stock.range_of(book, batch.account, int(first))
    if first != box.text(int(first)):
        raise UsageRefused(f"found number {first}; wanted it as preprinted, {box.text(int(first))}.")
    change = change_of(book, batch, int(first), order.forms, order.next_box)
    leg = _Leg(int(first), change.before if change else order.forms)
    with run.holding(book.place, chosen.name):
        outcome = _one_box(book, batch, chosen, setting, attendant, leg, order.beside)
        if change:
            load_next(change)
            leg = _Leg(change.first, change.forms, change.lost)
            second = _one_box(book, batch, chosen, setting, attendant, leg, (*order.beside, *outcome.runs))
            outcome = Outcome(
                outcome.runs + second.runs,
                chosen.name,
                outcome.planned + second.planned,
                outcome.expected + second.expected,
                outcome.took + second.took,
            )
    return outcome


def _one_box(
    book: Book,
    batch: batches.Batch,
    chosen: PrinterSettings,
    setting: Setting,
    attendant: Attendant,
    leg: _Leg,
    beside: tuple[int, ...],
) -> Outcome:
    """One run, on the forms of one box."""
    planned = runs.plan(book, batch.id, leg.first, leg.forms)  # refused before anything is opened
    expected = run.look_ahead(book, batch.id, planned, setting, chosen.speed)
    earlier = _held_before(book, batch, chosen.address)
    box = stock.range_of(book, batch.account, leg.first)
    way = open_printer(chosen)
    try:
        with book.change():
            enter_lost(book, batch.account, leg.lost)
            run_id, planned = runs.begin(
                book,
                batch=batch.id,
                printer=chosen.name,
                address=chosen.address,
                language=chosen.language,
                first=leg.first,
                count=leg.forms,
                proof=batch.proof,
                beside=beside,
            )
        _before(run_id, f"{box.text(planned[0][0])} to {box.text(planned[-1][0])}", len(planned), chosen, expected)
        for note in filter(None, (earlier, _skipped(book, box, leg.first))):
            say(f"  warning: {note}")
        with attendant.watching() as watch:
            run.send(book, run_id, planned, setting, way, window=chosen.window, watch=watch)
        for remark in device.remarks(way):
            say(f"  note: {remark}")
    finally:
        way.close()
    return Outcome((run_id,), chosen.name, planned, expected, int(attendant.seconds * 1000))


def _before(run_id: int, numbers: str, forms: int, printer: PrinterSettings, expected: int) -> None:
    """What is about to happen, how long it will take, and what this way to the printer can tell."""
    numbers = numbers if forms > 1 else numbers.partition(" ")[0]
    say(f"Run {run_id}: {counted(forms, 'form')}, {numbers}, to {printer.name} ({printer.address}).")
    say(
        f"On paper about {estimate.in_words(expected)}, at {printer.speed} characters a second. "
        + device.kind_of(printer.address).tells()
    )
    if printer.address.startswith("file:"):
        say("Whoever has the file can print it again: keep it private, and delete it when it is done with.")


def _held_before(book: Book, batch: batches.Batch, address: str) -> str:
    """A warning when a file holds bytes already that are not of this batch; nothing for any other address."""
    if not address.startswith("file:") or any(one.address == address for one in runs.of_batch(book, batch.id)):
        return ""
    from cheque.device.file import held

    size = held(address)
    if not size:
        return ""
    return (
        f"{address.removeprefix('file:')} held {size:,} bytes before this run, which follows them: who "
        "carries the whole file to a printer prints those again too. A new name for each batch is safer."
    )


def _skipped(book: Book, box: stock.Range, first: int) -> str:
    """A warning when the form before the one at the head is still in the box, as far as the book knows."""
    if first == box.first or stock.state_of(book, box.account, first - 1) is not State.ON_HAND:
        return ""
    return (
        f"{box.text(first - 1)}, the form before {box.text(first)}, is on hand in the book. If it is not in the box, "
        "look at the number at the head again, and enter what became of it (`cheque spoil`, `cheque missing`)."
    )


def _sent_all(batch: batches.Batch, outcome: Outcome, as_json: bool) -> None:
    sent = outcome.planned
    if as_json:
        answer_json(
            {
                "batch": batch.id,
                "run": outcome.runs[-1],
                "runs": outcome.runs,
                "printer": outcome.printer,
                "sent": len(sent),
                "first": sent[0][0],
                "last": sent[-1][0],
                "expected_milliseconds": outcome.expected,
                "took_milliseconds": outcome.took,
            }
        )
        return
    how = [f"cheque confirm {batch.id}"]
    if len(outcome.runs) > 1:
        how = [f"cheque confirm {batch.id} --run {one}" for one in outcome.runs]
    say(
        f"{counted(len(sent), 'form')} sent in {estimate.in_words(outcome.took)}; none counts as printed until "
        f"somebody has looked. Go through the paper, every number and the last part, then: {', '.join(how)}"
    )


@click.command("resume")
@click.argument("batch")
@click.option("--last-good", metavar="NUMBER", help="The last good form, or none.")
@click.option("--next-number", metavar="NUMBER", help="The lowest number not yet printed, now at the head.")
@click.option("--between", metavar="REASON", help="What became of the forms between those two (torn, fed by hand).")
@click.option("--spoiled", multiple=True, metavar="NUMBER=REASON", help="A bad form before the last good one.")
@click.option("--missing", multiple=True, metavar="NUMBER=REASON", help="A form that is not there at all.")
@click.option("--power-cycled", is_flag=True, help="Printer and bridge were switched off and on.")
@click.option("--proof-code", metavar="CODE", help="Wanted when a new proof was made since: the code of the latest.")
@click.option("--paper-loaded", is_flag=True, help="A person has loaded paper.")
@click.option("--run", "run_id", type=click.IntRange(min=1), help="Which run, when several printers had one.")
@click.option("--printer", help="The printer to go on with; the same one unless given.")
@click.option("--count", type=click.IntRange(min=1), help="Print only so many forms now.")
@click.option("--after-first", "after", type=_AFTER, help="When the first form has left: ask, stop, or go on.")
@nextbox.options
@json_option
def resume_command(
    batch: str,
    last_good: str | None,
    next_number: str | None,
    between: str | None,
    spoiled: tuple[str, ...],
    missing: tuple[str, ...],
    power_cycled: bool,
    proof_code: str | None,
    paper_loaded: bool,
    run_id: int | None,
    printer: str | None,
    count: int | None,
    after: str | None,
    then: str | None,
    tear_off: int | None,
    lead_in: int | None,
    next_loaded: bool,
    as_json: bool,
) -> None:
    """Go on with BATCH after any stop: a few questions about the paper, then the payments that lack a form.

    Every form from the first of the run to the one now at the head is accounted for before anything prints.
    """
    with opened() as (found, book):
        which = batches.get(book, batch_number(batch))
        before = runs.of_batch(book, which.id)
        if not before:
            raise BookRefused(f"nothing of batch {which.id} was ever sent: `cheque print {which.id}` begins.")
        open_runs, beside = doubt.which_run(runs.unfinished(book, batch=which.id), run_id, printer)
        last = open_runs[-1] if open_runs else before[-1]
        _as_it_was_approved(book, which, last, open_runs, proof_code)
        _nothing_left_behind(last, power_cycled)
        answers = doubt.Answers(last_good, next_number, between, spoiled, missing)
        if not open_runs:
            doubt.nothing_to_say(which.id, answers)
        if not interactive() and doubt.more_to_print(book, which.id, open_runs):
            Attendant(after)  # what printing will want is wanted before anything is entered
            if not paper_loaded:
                paper_is_loaded(paper_loaded)
        for one in open_runs:
            with run.holding(book.place, one.printer):  # a run that is still at work holds it
                next_number = doubt.resolve(book, one, answers)
        left = batches.waiting(book, which.id)
        if not left:
            if as_json:
                answer_json({"batch": which.id, "sent": 0})
            held = doubt.held_back(book, which.id)
            say(held or f"Every payment of batch {which.id} has its form; nothing is left to print.")
            return
        say(f"Still without a form: {counted(len(left), 'payment')}.")
        name = printer or (last.printer if last.printer in found.printers else None)
        next_box = Next(then, tear_off, lead_in, next_loaded)
        order = Order(name, next_number, paper_loaded, count or 0, after, "--next-number", beside, next_box)
        outcome = _print(found, book, which, order)
    _sent_all(which, outcome, as_json)


def _nothing_left_behind(last: Run, power_cycled: bool) -> None:
    """Bytes left in a printer, a bridge or a spooler are how people get paid twice."""
    say(
        f"Switch {last.printer} (and a bridge, if it has one) off and on, and cancel what a spooler still holds for "
        "it: bytes left in somebody's buffer print a cheque again."
    )
    if not power_cycled and not ask_yes("--power-cycled", "Is that done?"):
        raise UsageRefused("switch the printer off and on first; then resume.")
