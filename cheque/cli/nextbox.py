"""A run that goes over from one box to the next: `--then NUMBER`, with the forms that are lost at the change.

The forms torn off at the end of a box, and those led in at the start of the next, are consumed without becoming a
cheque: they are entered as spoiled, in the same step as the run on the next box begins. That run is one of its own,
because paper is loaded anew: its first form is looked at, and its feed is counted from there.
"""

from collections.abc import Callable
from typing import Any, NamedTuple

import click

from cheque.book import batches, runs, stock
from cheque.book.book import Reader
from cheque.cli.desk import ask, ask_yes, interactive, say, whole
from cheque.errors import BookRefused, RunStopped, UsageRefused
from cheque.sending import Lost
from cheque.tongue import counted, tr

TORN_OFF = "torn off at the end of the box"
LED_IN = "led in at the start of the box"


class Next(NamedTuple):
    """What was said about the next box, as options; None is asked for."""

    then: str | None = None
    tear_off: int | None = None
    lead_in: int | None = None
    loaded: bool = False


class Change(NamedTuple):
    """A change of boxes: how many forms are printed on the first, what is lost, where it goes on, and how far."""

    before: int
    lost: tuple[Lost, ...]
    first: int
    text: str
    forms: int
    loaded: bool


def options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of print and resume that speak of the next box."""
    for option in (
        click.option("--next-loaded", is_flag=True, help="Somebody loads the next box at the change; do not ask."),
        click.option("--lead-in", type=click.IntRange(0, 50), help="Forms lost at the start of the next box."),
        click.option("--tear-off", type=click.IntRange(0, 50), help="Forms lost at the end of the box."),
        click.option(
            "--then", metavar="NUMBER", help="The first number of the next box, if this one does not suffice."
        ),
    ):
        command = option(command)
    return command


def change_of(reader: Reader, batch: batches.Batch, first: int, forms: int, said: Next) -> Change | None:
    """How a print from `first` on goes over to the next box; None when it need not.

    UsageRefused when something must be asked and nobody is there, BookRefused when the next box cannot be used.
    """
    if said.then is None:
        if said.tear_off is not None or said.lead_in is not None or said.loaded:
            raise UsageRefused("--tear-off, --lead-in and --next-loaded speak of the next box: name it with --then.")
        return None
    box = stock.range_of(reader, batch.account, first)
    then = _first_of(reader, batch, box, said.then)
    left = len(runs.to_print(reader, batch.id, first, forms))
    if first + left - 1 + (said.tear_off or 0) <= box.last:
        return None
    tear_off = _so_many(
        said.tear_off,
        "--tear-off",
        tr("How many forms at the end of the box, {last}, are torn off?", last=box.text(box.last)),
    )
    lead_in = _so_many(said.lead_in, "--lead-in", tr("How many forms are lost in loading the next box?"))
    before = box.last - first + 1 - tear_off
    if before < 1:
        raise BookRefused(
            tr(
                "the box ends at {last}, and {forms} of it are torn off: begin with the next box, and enter what "
                "is left of this one with `cheque spoil`.",
                last=box.text(box.last),
                forms=counted(tear_off, "form"),
            )
        )
    if not said.loaded and not interactive():
        raise UsageRefused(
            tr("an answer is missing: who loads the next box? Say that somebody does with --next-loaded.")
        )
    planned = runs.plan(reader, batch.id, first, before)
    before = len(planned)  # less than there is room for, where the next payment takes more forms than are left
    runs.plan(reader, batch.id, then.first + lead_in, left - before, skip=len(planned.items))
    lost = []
    if first + before <= box.last:
        lost.append(Lost(first + before, box.last, TORN_OFF))
    if lead_in:
        lost.append(Lost(then.first, then.first + lead_in - 1, LED_IN))
    for one in lost:
        where = stock.range_of(reader, batch.account, one.first)
        if stock.on_hand(reader, where, one.first, one.last) != [[one.first, one.last]]:
            numbers = tr("{first} to {last}", first=where.text(one.first), last=where.text(one.last))
            raise BookRefused(
                tr("{numbers} are not all on hand, so they cannot be {reason}.", numbers=numbers, reason=one.reason)
            )
    at = then.first + lead_in
    return Change(before, tuple(lost), at, then.text(at), left - before, said.loaded)


def _first_of(reader: Reader, batch: batches.Batch, box: stock.Range, text: str) -> stock.Range:
    """The next box, its `first` being the number given. UsageRefused when that is no number of another box."""
    if not (text.isascii() and text.isdigit() and len(text) <= 18):
        raise UsageRefused(
            tr("found --then {text!r}; wanted the number preprinted on the first form of the next box.", text=text)
        )
    found = stock.range_of(reader, batch.account, int(text))
    if text != found.text(int(text)):
        raise UsageRefused(
            tr("found --then {text}; wanted it as preprinted, {int}.", text=text, int=found.text(int(text)))
        )
    if found.id == box.id:
        raise UsageRefused(f"--then {text} is of the same box, {box.text(box.first)} to {box.text(box.last)}.")
    return found._replace(first=int(text))


def _so_many(given: int | None, option: str, question: str) -> int:
    return given if given is not None else ask(option, question, whole)


def load_next(change: Change) -> None:
    """Make sure that the next box is loaded. RunStopped when it is not: the payments that are left wait."""
    told = "".join(
        tr(" {first} to {last}: {reason}.", first=one.first, last=one.last, reason=one.reason) for one in change.lost
    )
    say(tr("The box is at its end. Load the next one, form {text} at the head.{told}", text=change.text, told=told))
    if not change.loaded and not ask_yes("--next-loaded", tr("Is form {text} at the head?", text=change.text)):
        raise RunStopped(tr("the next box is not loaded: what is left waits. Confirm what is printed, then resume."))
