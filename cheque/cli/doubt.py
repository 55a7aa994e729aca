"""The questions after a stop, asked or taken from options, and the answers entered."""

from collections.abc import Callable
from typing import NamedTuple

from cheque.book import doubt, runs
from cheque.book.book import Book
from cheque.book.runs import Run, Seen
from cheque.cli.desk import ask, say
from cheque.errors import Refusal, UsageRefused


class Answers(NamedTuple):
    """What was given as options; None is asked for."""

    last_good: str | None
    next_number: str | None
    between: str | None
    spoiled: tuple[str, ...]
    missing: tuple[str, ...]


def reasons(given: tuple[str, ...], option: str) -> dict[int, str]:
    """NUMBER=REASON options as a table; a range gives every number of it the reason."""
    found: dict[int, str] = {}
    for text in given:
        numbers, equals, reason = text.partition("=")
        first, dash, last = numbers.partition("-")
        ends = (first, last) if dash else (first, first)
        if not equals or not reason.strip() or not all(end.isascii() and end.isdigit() for end in ends):
            raise UsageRefused(f"found {option} {text!r}; wanted NUMBER=REASON, such as 100507=torn.")
        if not 0 <= int(ends[1]) - int(ends[0]) <= 10_000:
            raise UsageRefused(f"found {option} {text!r}; wanted the lower number first, and fewer than 10,000.")
        for number in range(int(ends[0]), int(ends[1]) + 1):
            found[number] = reason.strip()
    return found


def _answered(given: str | None, option: str, question: str, read: Callable[[str], int]) -> int:
    if given is not None:
        return read(given)

    def convert(text: str) -> int:
        try:
            return read(text)
        except Refusal as refusal:
            raise ValueError(refusal.message) from None

    return ask(option, question, convert)


def resolve(book: Book, run: Run, answers: Answers) -> str:
    """Close a run with what the person sees; gives the number now at the head, as preprinted."""
    found = doubt.in_doubt(book, run)
    say(f"Run {run.id} of batch {run.batch} on {run.printer}: {found.in_words()}.")
    if run.cause:
        say(f"It stopped: {run.cause}.")
    if not found.held:
        runs.seen(book, run.id, Seen((), {}, {}, ()), how="resume")
        return answers.next_number or ""
    good_to = found.held[0].number - 1
    if found.sent:
        good_to = _answered(
            answers.last_good,
            "--last-good",
            "Which number is preprinted on the last good form (or none)?",
            lambda text: doubt.last_good(found, text),
        )
    at_head = _answered(
        answers.next_number,
        "--next-number",
        "Which number is on the form now at the head, not yet printed?",
        lambda text: doubt.head(book, found, good_to, text),
    )
    spoiled, missing = reasons(answers.spoiled, "--spoiled"), reasons(answers.missing, "--missing")
    between = answers.between or ""
    untold = [n for n in range(good_to + 1, at_head) if n not in spoiled and n not in missing]
    if untold and not between:
        text = found.box.text
        between = ask(
            "--between",
            f"What became of {text(untold[0])} to {text(untold[-1])} (torn, fed by hand, …)?",
            _some_words,
        )
    seen = doubt.settle(book, found, doubt.Told(good_to, at_head, between, spoiled, missing))
    say(tell(seen))
    return found.box.text(at_head)


def _some_words(text: str) -> str:
    if not text.strip():
        raise ValueError("Say it in a word or two.")
    return text.strip()


def tell(seen: Seen) -> str:
    """What was entered, in words."""
    parts = [f"{len(seen.good)} good"]
    parts += [f"{len(seen.spoiled)} spoiled"] if seen.spoiled else []
    parts += [f"{len(seen.missing)} missing"] if seen.missing else []
    parts += [f"{len(seen.blank)} still blank"] if seen.blank else []
    text = f"Entered: {', '.join(parts)}."
    if seen.spoiled:
        text += " Write VOID across the spoiled ones and keep them for the count."
    if seen.missing:
        text += " A missing form may bear a good cheque: ask the bank to stop it before its payment is printed again."
    return text
