"""Forms in doubt whose two numbers differ, told of and put right in one step.

Two ways lead there. Somebody keyed in a number that was not the one at the head, and it shows on the first form: that
form is spoiled, and the run's own forms are all still blank (`began_elsewhere`). Or a form was skipped in the midst
of a run, and good cheques stand on other numbers than the book reserved: those are entered as good and moved to their
own numbers (`settle`), which a second person approves, as `cheque.book.renumber` has it.
"""

from typing import NamedTuple

from cheque.book import renumber, runs, stock
from cheque.book.book import Book
from cheque.book.doubt import InDoubt
from cheque.book.runs import Seen
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused
from cheque.tongue import tr


def began_elsewhere(book: Book, doubt: InDoubt, on: int, reason: str) -> Seen:
    """A run of which one form was sent, which was struck on form `on` and not on the run's first.

    That form is spoiled, whether the run holds it or it is on hand; every other form of the run is blank.
    """
    held = {form.number for form in doubt.held}
    if len(doubt.sent) != 1:
        raise BookRefused(
            tr(
                "more than one form of the run may be struck: {in_words}. Say it form by form.",
                in_words=doubt.in_words(),
            )
        )
    if on == doubt.sent[0]:
        raise UsageRefused(tr("{on} is the number that was sent: the two numbers agree.", on=doubt.box.text(on)))
    spoiled = {on: reason} if on in held else {}
    seen = Seen((), spoiled, {}, tuple(sorted(held - {on})))
    with book.change():
        runs.seen(book, doubt.run.id, seen, how="resume")
        if not spoiled:
            stock.spoil(book, account=doubt.run.account, first=on, last=on, reason=reason)
    return seen


class Off(NamedTuple):
    """How the paper stands against the book: from the form with `first` struck on it on, each stands `by` further.

    `left`: what became of the forms skipped; `reason` how it was found; `approved` the second person.
    """

    first: int
    by: int
    left: State
    reason: str
    approved: str


def settle(book: Book, doubt: InDoubt, off: Off, *, last_good: int, spoiled: dict[int, str], after: dict[int, str],
           how: str) -> Seen:  # fmt: skip
    """Close a run whose forms are off from some form on.

    `last_good` and the keys of `spoiled` are the numbers *struck*, as the book has them; a bad form before the last
    good one goes with its stretch. The keys of `after` are the numbers *preprinted* on the bad forms that follow the
    last good one, with what became of each: their payments wait for another form.
    """
    held = {form.number for form in doubt.held}
    good = sorted(number for number in doubt.sent if number <= last_good and number not in spoiled)
    bad = {number: why for number, why in spoiled.items() if number < last_good}
    if not good or good[-1] != last_good:
        raise BookRefused(
            tr(
                "{last_good} is no good cheque of this run: {in_words}.",
                last_good=doubt.box.text(last_good),
                in_words=doubt.in_words(),
            )
        )
    moved = [number for number in good if number >= off.first]
    if not moved or off.first not in held:
        raise BookRefused(
            tr("{first} is not the number struck on a form of this run.", first=doubt.box.text(off.first))
        )
    if moved[0] != off.first and off.left is not State.SPOILED:
        raise UsageRefused(
            tr("the first form that is off is itself no good cheque: enter the skipped one as spoiled too.")
        )
    seen = Seen(tuple(good), bad, {}, tuple(sorted(held - set(good) - set(bad))))
    account = doubt.run.account
    with book.change():  # all of what was told, or nothing
        runs.seen(book, doubt.run.id, seen, how=how)
        renumber.move(
            book,
            account=account,
            first=moved[0],
            last=last_good,
            by=off.by,
            left=off.left,
            reason=off.reason,
            approved=off.approved,
        )
        for number, reason in sorted(after.items()):
            stock.spoil(book, account=account, first=number, last=number, reason=reason)
    return seen
