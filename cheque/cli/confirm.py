"""`cheque confirm`: somebody has looked at the paper; these are good, these are not."""

import click

from cheque import run
from cheque.book import batches, doubt, runs
from cheque.book.book import Book
from cheque.book.doubt import InDoubt
from cheque.book.runs import Seen
from cheque.cli.desk import (
    answer_json,
    ask,
    ask_yes,
    batch_number,
    interactive,
    json_option,
    opened,
    say,
    some_words,
    whole,
)
from cheque.cli.doubt import entered, held_back, incomplete_option, reasons, span, tell, which_run
from cheque.errors import BookRefused, UsageRefused
from cheque.tongue import counted, tr


@click.command("confirm")
@click.argument("batch")
@click.option("--run", "run_id", type=click.IntRange(min=1), help="Which run, when several printers had one.")
@click.option("--good-count", type=int, help="How many good forms were counted.")
@click.option("--spoiled", multiple=True, metavar="NUMBER=REASON", help="A form that is not good.")
@click.option("--missing", multiple=True, metavar="NUMBER=REASON", help="A form that is not there at all.")
@click.option("--blank", multiple=True, metavar="NUMBER", help="A form that came out unprinted.")
@incomplete_option
@json_option
def confirm_command(
    batch: str,
    run_id: int | None,
    good_count: int | None,
    spoiled: tuple[str, ...],
    missing: tuple[str, ...],
    blank: tuple[str, ...],
    incomplete: str | None,
    as_json: bool,
) -> None:
    """Say what came out of the printer for BATCH: how many forms are good, and which are not.

    The count is keyed in, not agreed to: count the forms, look at every number, and at the last part.
    """
    with opened() as (_, book):
        which = batches.get(book, batch_number(batch))
        waiting = runs.unfinished(book, batch=which.id)
        if not waiting:
            raise BookRefused(tr("nothing of batch {id} is waiting to be confirmed.", id=which.id))
        if run_id is not None:
            waiting, _ = which_run(waiting, run_id, None)
        unprinted = {number for text in blank for number in span(text, "--blank")}
        told = (reasons(spoiled, "--spoiled"), reasons(missing, "--missing"), unprinted)
        seen = []
        for one in waiting:
            with run.holding(book.place, one.printer):
                found = doubt.in_doubt(book, one)
                seen.append(_confirm(book, found, good_count, *told, incomplete, alone=len(waiting) == 1))
        open_runs = [one.id for one in runs.unfinished(book, batch=which.id)]
        left = batches.left(book, which.id)
        held = batches.held(book, which.id)
        sentence = held_back(book, which.id)
    if as_json:
        answer_json(
            {
                "batch": which.id,
                "good": sum(len(s.good) for s in seen),
                "spoiled": sorted(n for s in seen for n in s.spoiled),
                "missing": sorted(n for s in seen for n in s.missing),
                "blank": sorted(n for s in seen for n in s.blank),
                "still_to_print": left,
                "held_back": [number for _, number in held],
            }
        )
        return
    if sentence:
        say(sentence)
    if left:
        say(
            tr(
                "Still without a good form: {payments}. Next: cheque resume {id}",
                payments=counted(left, "payment"),
                id=which.id,
            )
        )
    elif open_runs:
        say(
            tr(
                "Still to be looked at, of batch {id}: {runs}. Next: cheque confirm {id}",
                id=which.id,
                runs=tr(" and ").join(tr("run {run}", run=one) for one in open_runs),
            )
        )
    elif not held:
        say(tr("Every payment of batch {id} has its form. Next: cheque reconcile numbers {id}", id=which.id))


def _confirm(
    book: Book,
    found: InDoubt,
    good_count: int | None,
    spoiled: dict[int, str],
    missing: dict[int, str],
    blank: set[int],
    incomplete: str | None,
    *,
    alone: bool,
) -> Seen:
    sent = set(found.sent)
    mine = {form.number for form in found.held}
    strays = sorted(n for n in (*spoiled, *missing, *blank) if n not in mine)
    if strays and alone:
        raise BookRefused(
            tr(
                "number {strays} is not in doubt in run {id}: {in_words}.",
                strays=strays[0],
                id=found.run.id,
                in_words=found.in_words(),
            )
        )
    bad, lost = ({n: why for n, why in told.items() if n in mine} for told in (spoiled, missing))
    unprinted = blank & mine
    say(tr("Run {id} on {printer}: {in_words}.", id=found.run.id, printer=found.run.printer, in_words=found.in_words()))
    if not alone and good_count is not None:
        raise UsageRefused(tr("there are several runs to confirm: name one with --run, or leave out --good-count."))
    good = sent - set(bad) - set(lost) - unprinted
    question = tr("How many good forms do you count?")
    count = 0 if good_count is None and not sent else good_count
    if count is None:
        count = ask("--good-count", question, whole)
    if good_count is None and count < len(good):
        _exceptions(found, good, count, bad, lost, unprinted)
    seen = entered(lambda said: doubt.counted(found, count, bad, lost, unprinted, said), incomplete)
    if good_count is None and interactive():
        _read_back(found, seen)
    runs.seen(book, found.run.id, seen, how="confirm")
    say(tell(seen, found))
    return seen


def _read_back(found: InDoubt, seen: Seen) -> None:
    """What is about to be entered, read back to the one who keyed it in: nothing of it can be taken back."""
    text = found.box.text
    told = [f"{text(number)} {why}" for number, why in sorted({**seen.spoiled, **seen.missing}.items())]
    told += [tr("{number} blank", number=text(number)) for number in seen.blank if number in found.sent]
    say(
        "; ".join([tr("To be entered, for good: {good_forms}", good_forms=counted(len(seen.good), "good form")), *told])
        + "."
    )
    if not ask_yes("--good-count", tr("Is that right?")):
        raise UsageRefused(tr("nothing was entered; begin again."))


def _exceptions(
    found: InDoubt, good: set[int], count: int, bad: dict[int, str], lost: dict[int, str], unprinted: set[int]
) -> None:
    """Ask for every form that is not good and not told of yet, one at a time; each leaves `good`."""
    untold = len(good) - count
    for place in range(1, untold + 1):
        number = ask(
            "--spoiled",
            tr("Bad form {place} of {untold}: its number?", place=place, untold=untold),
            lambda text: _of(found, good, text),
        )
        what = ask("--spoiled", tr("  What is wrong with it (missing, blank, or a reason such as torn)?"), some_words)
        good.remove(number)
        if what.lower() == "missing":
            lost[number] = tr("missing after the run")
        elif what.lower() == "blank":
            unprinted.add(number)
        else:
            bad[number] = what


def _of(found: InDoubt, good: set[int], text: str) -> int:
    number = whole(text)
    if number not in found.sent:
        raise ValueError(tr("It is not one of them: {in_words}.", in_words=found.in_words()))
    if number not in good:
        raise ValueError(tr("That one was told of already."))
    return number
