"""`cheque print` and `cheque resume`: a batch onto paper, form by form."""

from collections.abc import Sequence
from typing import NamedTuple

import click

from cheque import device, duties, estimate, run
from cheque.attendant import Attendant
from cheque.book import batches, runs
from cheque.book.book import Book
from cheque.book.runs import Run
from cheque.cli import doubt, nextbox
from cheque.cli.desk import (
    answer_json,
    ask,
    ask_yes,
    batch_number,
    interactive,
    json_option,
    opened,
    say,
)
from cheque.cli.nextbox import Next, change_of, load_next
from cheque.cli.paper import attendant, number_at_head, paper_is_loaded
from cheque.cli.several import one_or_several, print_on_several
from cheque.errors import BookRefused, UsageRefused
from cheque.run import Setting
from cheque.sending import Begun, Leg, at_head, may_print, send_leg
from cheque.settings import PrinterSettings, Settings
from cheque.station import form_of, printer_for, setting_of
from cheque.tongue import counted, tr

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
            tr("with several printers each has its own number: --printer NAME=NUMBER, without --first-number.")
        )
    next_box = Next(then, tear_off, lead_in, next_loaded)
    if several and next_box != Next():
        raise UsageRefused(
            tr("several printers do not go over to a next box: print what their boxes hold, then resume.")
        )
    with opened() as (found, book):
        duties.allowed(book, "run.begun", tr("print"))
        which = batches.get(book, batch_number(batch))
        if which.state != "accepted":
            raise BookRefused(tr("batch {id} was withdrawn; nothing of it can be printed.", id=which.id))
        code = proof_code if proof_code is not None else ask("--proof-code", tr("Proof code?"), str)
        may_print(found, book, which, code)
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


def _as_it_was_approved(
    found: Settings, book: Book, batch: batches.Batch, last: Run, open_runs: list[Run], code: str | None
) -> None:
    """A resume needs no new code for what was looked at before; for any other proof it needs that proof's code."""
    if batch.proof == runs.proof_of(book, last.id) or not doubt.more_to_print(book, batch.id, open_runs):
        return
    say(tr("A new proof was made since this batch began to print: only what somebody has looked at is printed."))
    may_print(found, book, batch, code if code is not None else ask("--proof-code", tr("Its proof code?"), str))


class Outcome(NamedTuple):
    """Runs that came to their end: the numbers and payments that were sent, and milliseconds."""

    runs: tuple[int, ...]
    printer: str
    planned: Sequence[tuple[int, int]]
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


def _print(found: Settings, book: Book, batch: batches.Batch, order: Order) -> Outcome:
    """Ask what must be asked, reserve, and send; on the next box too, when the first does not suffice."""
    chosen = printer_for(found, form_of(book, batch), batch, order.printer)
    setting = setting_of(found, book, batch, chosen.name)
    watcher = attendant(order.after)
    paper_is_loaded(order.paper_loaded)
    first = number_at_head(order.first_number, order.number_option)
    at_head(book, batch.account, first)
    change = change_of(book, batch, int(first), order.forms, order.next_box)
    leg = Leg(int(first), change.before if change else order.forms)
    with run.holding(book.place, chosen.name):
        outcome = _one_box(book, batch, chosen, setting, watcher, leg, order.beside)
        if change:
            load_next(change)
            leg = Leg(change.first, change.forms, change.lost)
            second = _one_box(book, batch, chosen, setting, watcher, leg, (*order.beside, *outcome.runs))
            outcome = Outcome(
                outcome.runs + second.runs,
                chosen.name,
                [*outcome.planned, *second.planned],
                outcome.expected + second.expected,
                outcome.took + second.took,
            )
    return outcome


def _one_box(
    book: Book,
    batch: batches.Batch,
    chosen: PrinterSettings,
    setting: Setting,
    watcher: Attendant,
    leg: Leg,
    beside: tuple[int, ...],
) -> Outcome:
    """One run, on the forms of one box."""
    sent = send_leg(book, batch, chosen, setting, leg, beside=beside, begun=_before, watching=watcher.watching)
    for remark in sent.remarks:
        say(tr("  note: {remark}", remark=remark))
    return Outcome((sent.run,), chosen.name, sent.planned, sent.expected, int(watcher.seconds * 1000))


def _before(begun: Begun) -> None:
    """What is about to happen, how long it will take, and what this way to the printer can tell."""
    printer, forms = begun.printer, len(begun.planned)
    say(
        tr(
            "Run {run}: {forms}, {numbers}, to {name} ({address}).",
            run=begun.run,
            forms=counted(forms, "form"),
            numbers=begun.numbers,
            name=printer.name,
            address=printer.address,
        )
    )
    say(
        tr(
            "On paper about {in_words}, at {speed} characters a second. ",
            in_words=estimate.in_words(begun.expected),
            speed=printer.speed,
        )
        + device.kind_of(printer.address).tells()
    )
    if printer.address.startswith("file:"):
        say(tr("Whoever has the file can print it again: keep it private, and delete it when it is done with."))
    for note in begun.warnings:
        say(tr("  warning: {note}", note=note))


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
    how = [tr("cheque confirm {id}", id=batch.id)]
    if len(outcome.runs) > 1:
        how = [tr("cheque confirm {id} --run {one}", id=batch.id, one=one) for one in outcome.runs]
    say(
        tr(
            "{forms} sent in {in_words}; none counts as printed until somebody has looked. Go through the "
            "paper, every number and the last part, then: {how}",
            forms=counted(len(sent), "form"),
            in_words=estimate.in_words(outcome.took),
            how=", ".join(how),
        )
    )


@click.command("resume")
@click.argument("batch")
@click.option("--last-good", metavar="NUMBER", help="The last good form, or none.")
@click.option("--next-number", metavar="NUMBER", help="The lowest number not yet printed, now at the head.")
@click.option("--between", metavar="REASON", help="What became of the forms between those two (torn, fed by hand).")
@click.option("--spoiled", multiple=True, metavar="NUMBER=REASON", help="A bad form before the last good one.")
@click.option("--missing", multiple=True, metavar="NUMBER=REASON", help="A form that is not there at all.")
@doubt.incomplete_option
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
    incomplete: str | None,
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
        duties.allowed(book, "paper.seen", tr("say what is on the paper"))
        duties.allowed(book, "run.begun", tr("print"))
        which = batches.get(book, batch_number(batch))
        before = runs.of_batch(book, which.id)
        if not before:
            raise BookRefused(tr("nothing of batch {id} was ever sent: `cheque print {id}` begins.", id=which.id))
        open_runs, beside = doubt.which_run(runs.unfinished(book, batch=which.id), run_id, printer)
        last = open_runs[-1] if open_runs else before[-1]
        _as_it_was_approved(found, book, which, last, open_runs, proof_code)
        _nothing_left_behind(last, power_cycled)
        answers = doubt.Answers(last_good, next_number, between, spoiled, missing, incomplete)
        if not open_runs:
            doubt.nothing_to_say(which.id, answers)
        if not interactive() and doubt.more_to_print(book, which.id, open_runs):
            attendant(after)  # what printing will want is wanted before anything is entered
            if not paper_loaded:
                paper_is_loaded(paper_loaded)
        for one in open_runs:
            with run.holding(book.place, one.printer):  # a run that is still at work holds it
                next_number = doubt.resolve(book, one, answers)
        left = batches.left(book, which.id)
        if not left:
            if as_json:
                answer_json({"batch": which.id, "sent": 0})
            held = doubt.held_back(book, which.id)
            say(held or tr("Every payment of batch {id} has its form; nothing is left to print.", id=which.id))
            return
        say(tr("Still without a form: {payments}.", payments=counted(left, "payment")))
        name = printer or (last.printer if last.printer in found.printers else None)
        next_box = Next(then, tear_off, lead_in, next_loaded)
        order = Order(name, next_number, paper_loaded, count or 0, after, "--next-number", beside, next_box)
        outcome = _print(found, book, which, order)
    _sent_all(which, outcome, as_json)


def _nothing_left_behind(last: Run, power_cycled: bool) -> None:
    """Bytes left in a printer, a bridge or a spooler are how people get paid twice."""
    say(
        tr(
            "Switch {printer} (and a bridge, if it has one) off and on, and cancel what a spooler still "
            "holds for it: bytes left in somebody's buffer print a cheque again.",
            printer=last.printer,
        )
    )
    if not power_cycled and not ask_yes("--power-cycled", tr("Is that done?")):
        raise UsageRefused(tr("switch the printer off and on first; then resume."))
