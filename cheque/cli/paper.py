"""What a person is asked and told about paper: before it is struck, while it runs, and afterwards."""

import sys
import time
from contextlib import suppress

import click

from cheque.attendant import CAUTION, RIGHT, Attendant
from cheque.cli.desk import ask, ask_yes, interactive, say
from cheque.errors import UsageRefused
from cheque.tongue import tr


def paper_is_loaded(given: bool) -> None:
    """Make sure that a person says paper is loaded: many printers do not notice that it is missing."""
    say(tr(CAUTION))
    if not given and not ask_yes("--paper-loaded", tr("Is the paper loaded, its first form at the head?")):
        raise UsageRefused(tr("paper is not loaded: load it, then print."))


def number_at_head(given: str | None, option: str = "--first-number") -> str:
    """The number preprinted on the form at the head, as digits."""
    question = tr("Which number is preprinted on the form at the head?")
    if given is not None:
        try:
            return digits(given)
        except ValueError:
            wanted = tr("the number preprinted on the form at the head")
            raise UsageRefused(
                tr("found {option} {given!r}; wanted {wanted}.", option=option, given=given, wanted=wanted)
            ) from None
    return ask(option, question, digits)


def digits(text: str) -> str:
    """A number as preprinted, typed. ValueError when it is none."""
    if not (text.isascii() and text.isdigit() and len(text) <= 18):
        raise ValueError(tr("Type its digits, as they are preprinted."))
    return text


class _Desk:
    """The person at a bare command: questions as every command asks them, progress on standard error."""

    leaving: type[BaseException] = click.Abort

    def __init__(self) -> None:
        self._shown = 0.0

    def tell(self, text: str) -> None:
        """Say it."""
        say(text)

    def good(self, number: str) -> bool:
        """Ask for a yes or no about the first form."""
        say()
        return ask_yes("--after-first", tr("Is form {number} good: {right}?", number=number, right=tr(RIGHT)))

    def put_right(self, what: str) -> bool:
        """Ask for go or stop; nobody there is a stop."""
        if not interactive():
            return False
        say(f"\n{what}.")
        question = tr(
            "The printer takes nothing (paper out, cover open, off line?). Put it right and type go, or stop:"
        )
        return ask("--after-first", question, _go_or_stop)

    def far(self, text: str, *, ended: bool, first: bool) -> None:
        """Over itself on a terminal, a line a second elsewhere."""
        terminal, now = sys.stderr.isatty(), time.monotonic()
        if not terminal and now - self._shown < 1 and not ended and not first:
            return
        self._shown = now
        if not terminal:
            say(text)
            return
        with suppress(OSError, ValueError):  # a terminal that has gone
            sys.stderr.write(f"\r{text:<78}" + ("\n" if ended else ""))
            sys.stderr.flush()


def attendant(how: str | None) -> Attendant:
    """Who attends a run at a bare command; `how` None asks about the first form, and needs a terminal."""
    if how in (None, "ask") and not interactive():
        raise UsageRefused(
            tr(
                "an answer is missing: who looks at the first form? --after-first stop ends the run there, to be "
                "resumed when it has been looked at; --after-first go-on prints on."
            )
        )
    return Attendant(_Desk(), how or "ask")


def _go_or_stop(text: str) -> bool:
    if text.lower() not in ("go", "stop"):
        raise ValueError(tr("Type go or stop."))
    return text.lower() == "go"
