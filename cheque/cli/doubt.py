"""The questions after a stop, asked or taken from options, and the answers entered."""

from collections.abc import Callable
from typing import Any, NamedTuple

import click

from cheque.book import batches, doubt, runs
from cheque.book.book import Book, Reader
from cheque.book.doubt import InDoubt
from cheque.book.runs import Run, Seen
from cheque.book.state import State
from cheque.cli.desk import ask, say, some_words, whole
from cheque.errors import BookRefused, Refusal, UsageRefused
from cheque.tongue import counted, tr

#: numbers in one range that is told of
MOST = 10_000


class Answers(NamedTuple):
    """What was given as options; None is asked for."""

    last_good: str | None
    next_number: str | None
    between: str | None
    spoiled: tuple[str, ...]
    missing: tuple[str, ...]
    incomplete: str | None = None


def incomplete_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option of resume and confirm that speaks of a cheque without the rest of its stub."""
    return click.option(
        "--incomplete",
        type=click.Choice([doubt.KEEP, doubt.AGAIN]),
        help="A good cheque whose stub goes on on a form that is not: keep it, or print all of it again.",
    )(command)


def entered(enter: Callable[[str], Seen], incomplete: str | None) -> Seen:
    """What `enter` gives; what is done with a good cheque whose stub is torn off is asked where nobody said."""
    try:
        return enter(incomplete or "")
    except doubt.Incomplete as found:
        return enter(ask("--incomplete", f"{found.question}?", _kept_or_again))


def _kept_or_again(text: str) -> str:
    if text.strip().lower() not in (doubt.KEEP, doubt.AGAIN):
        raise ValueError(tr("Say {keep} or {again}.", keep=doubt.KEEP, again=doubt.AGAIN))
    return text.strip().lower()


def nothing_to_say(batch: int, answers: Answers) -> None:
    """Refuse what is told of forms when none is in doubt: it would be lost."""
    for option, given in (
        ("--between", answers.between),
        ("--spoiled", answers.spoiled),
        ("--missing", answers.missing),
    ):
        if given:
            raise BookRefused(
                tr(
                    "no form of batch {batch} is in doubt any more, so nothing can be said of any with {option}. "
                    "Forms from the box are entered with `cheque spoil` or `cheque missing`.",
                    batch=batch,
                    option=option,
                )
            )
    if answers.last_good is not None:
        say(tr("No form of batch {batch} is in doubt any more: --last-good is not needed.", batch=batch))


def more_to_print(book: Book, batch: int, open_runs: list[Run]) -> bool:
    """Whether something of a batch is left to print, whatever became of the forms in doubt."""
    held = (form for run in open_runs for form in runs.forms(book, run.id))
    return bool(batches.left(book, batch)) or any(form.state is State.RESERVED for form in held)


def reasons(given: tuple[str, ...], option: str) -> dict[int, str]:
    """NUMBER=REASON options as a table; a range gives every number of it the reason."""
    found: dict[int, str] = {}
    for text in given:
        numbers, equals, reason = text.partition("=")
        if not equals or not reason.strip():
            raise UsageRefused(
                tr("found {option} {text!r}; wanted NUMBER=REASON, such as 100507=torn.", option=option, text=text)
            )
        for number in span(numbers, option):
            if found.setdefault(number, reason.strip()) != reason.strip():
                raise UsageRefused(
                    tr(
                        "number {number} is told twice with {option}: say one thing of it.",
                        number=number,
                        option=option,
                    )
                )
    return found


def span(text: str, option: str) -> range:
    """NUMBER, or a range of them such as 100507-100509, given with an option."""
    first, dash, last = text.strip().partition("-")
    try:
        low = whole(first)
        high = whole(last) if dash else low
    except ValueError:
        wanted = tr("a number such as 100507, or a range such as 100507-100509")
        raise UsageRefused(
            tr("found {option} {text!r}; wanted {wanted}.", option=option, text=text, wanted=wanted)
        ) from None
    if not low <= high < low + MOST:
        raise UsageRefused(
            tr(
                "found {option} {text!r}; wanted the lower number first, and at most {most:,} of them.",
                option=option,
                text=text,
                most=MOST,
            )
        )
    return range(low, high + 1)


def _answered(given: str | None, option: str, question: str, read: Callable[[str], int]) -> int:
    if given is not None:
        return read(given)

    def convert(text: str) -> int:
        try:
            return read(text)
        except Refusal as refusal:
            raise ValueError(refusal.message) from None

    return ask(option, question, convert)


def which_run(waiting: list[Run], run: int | None, printer: str | None) -> tuple[list[Run], tuple[int, ...]]:
    """The run to answer for, none when none waits; and those of other printers that stay as they are.

    UsageRefused when there are several and none is named, BookRefused when the one named does not wait.
    """
    named = [one for one in waiting if run in (None, one.id)]
    if len(waiting) > 1 and run is None:
        named = [one for one in waiting if one.printer == printer]
        if len(named) != 1:
            told = "; ".join(
                tr("run {id} on {printer} ({state})", id=one.id, printer=one.printer, state=one.state)
                for one in waiting
            )
            raise UsageRefused(tr("several runs wait for an answer: {told}. Name one with --run.", told=told))
    if run is not None and not named:
        raise BookRefused(tr("run {run} is none that waits for an answer here.", run=run))
    return named, tuple(one.id for one in waiting if one not in named)


def resolve(book: Book, run: Run, answers: Answers) -> str:
    """Close a run with what the person sees; gives the number now at the head, as preprinted."""
    found = doubt.in_doubt(book, run)
    say(
        tr(
            "Run {id} of batch {batch} on {printer}: {in_words}.",
            id=run.id,
            batch=run.batch,
            printer=run.printer,
            in_words=found.in_words(),
        )
    )
    if run.cause:
        say(tr("Why it stopped: {cause}.", cause=run.cause))
    if not found.held:
        runs.seen(book, run.id, Seen((), {}, {}, ()), how="resume")
        return answers.next_number or ""
    good_to = found.held[0].number - 1
    if found.sent:
        good_to = _answered(
            answers.last_good,
            "--last-good",
            tr("Which number is preprinted on the last good form (or none)?"),
            lambda text: doubt.last_good(found, text),
        )
    at_head = _answered(
        answers.next_number,
        "--next-number",
        tr("Which number is on the form now at the head, not yet printed?"),
        lambda text: doubt.head(book, found, good_to, text),
    )
    spoiled, missing = reasons(answers.spoiled, "--spoiled"), reasons(answers.missing, "--missing")
    between = answers.between or ""
    untold = [n for n in range(good_to + 1, at_head) if n not in spoiled and n not in missing]
    if untold and not between:
        text = found.box.text
        between = ask(
            "--between",
            tr(
                "What became of {untold} to {untold2} (torn, fed by hand, …)?",
                untold=text(untold[0]),
                untold2=text(untold[-1]),
            ),
            some_words,
        )
    told = doubt.Told(good_to, at_head, between, spoiled, missing)
    seen = entered(lambda said: doubt.settle(book, found, told, said), answers.incomplete)
    say(tell(seen, found))
    return found.box.text(at_head)


def tell(seen: Seen, found: InDoubt) -> str:
    """What was entered, in words; `found` is the run as it was in doubt."""
    parts = [tr("{count} good", count=len(seen.good))]
    parts += [tr("{count} spoiled", count=len(seen.spoiled))] if seen.spoiled else []
    parts += [tr("{count} missing", count=len(seen.missing))] if seen.missing else []
    parts += [tr("{count} still blank", count=len(seen.blank))] if seen.blank else []
    text = tr("Entered: {parts}.", parts=", ".join(parts))
    if seen.spoiled:
        text += tr(" Write VOID across the spoiled ones and keep them for the count.")
    goes_on = {form.number for form in found.held if form.goes_on}
    if set(seen.missing) - goes_on:
        text += tr(
            " A missing form may bear a good cheque: ask the bank to stop it before its payment is printed again."
        )
    if set(seen.missing) & goes_on:
        text += tr(" A missing form on which only a stub goes on pays nobody.")
    items = {form.number: form.item for form in found.held}
    kept = sorted({items[n] for n in goes_on - set(seen.good)} & {items[n] for n in seen.good if n not in goes_on})
    for item in kept:
        detail = tr("`cheque report listing {batch} --payment {item}`", batch=found.run.batch, item=item)
        text += tr(
            " Payment {item} is good without all of its stub: hand out {detail} with it.", item=item, detail=detail
        )
    return text


def held_back(reader: Reader, batch: int) -> str:
    """Which payments wait for no run, because their form is missing and may bear a good cheque; "" when none does."""
    held = batches.held(reader, batch)
    if not held:
        return ""
    numbers = ", ".join(str(number) for _, number in held[:5]) + (" …" if len(held) > 5 else "")
    return tr(
        "Held back: {payments} whose form is missing and may bear a good cheque ({numbers}). Look for "
        "it, then `cheque found`; or ask the bank for a stop, then `cheque reprint` its number.",
        payments=counted(len(held), "payment"),
        numbers=numbers,
    )
