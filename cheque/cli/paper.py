"""What a person is asked and told about paper: before it is struck, while it runs, and afterwards."""

import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType
from typing import TypeVar

import click

from cheque.cli.desk import ask, ask_yes, interactive, say
from cheque.errors import UsageRefused
from cheque.run import Progress, Watch

T = TypeVar("T")
CAUTION = (
    "Load paper before you go on: printing on a bare platen damages the print head. Keep hair, ties and fingers "
    "away from the moving head and the tractors; the head is hot."
)
#: what a signal means to the person who reads why a run stopped
SIGNALS = {
    signal.SIGINT: "stopped by the operator (Ctrl-C)",
    signal.SIGTERM: "stopped from outside (SIGTERM)",
    signal.SIGHUP: "stopped because its terminal went away (SIGHUP)",
}
RIGHT = "right number and place, last part readable"


def paper_is_loaded(given: bool) -> None:
    """Make sure that a person says paper is loaded: many printers do not notice that it is missing."""
    say(CAUTION)
    if not given and not ask_yes("--paper-loaded", "Is the paper loaded, its first form at the head?"):
        raise UsageRefused("paper is not loaded: load it, then print.")


def number_at_head(given: str | None, option: str = "--first-number") -> str:
    """The number preprinted on the form at the head, as digits."""
    question = "Which number is preprinted on the form at the head?"
    if given is not None:
        try:
            return digits(given)
        except ValueError:
            wanted = "the number preprinted on the form at the head"
            raise UsageRefused(f"found {option} {given!r}; wanted {wanted}.") from None
    return ask(option, question, digits)


def digits(text: str) -> str:
    """A number as preprinted, typed. ValueError when it is none."""
    if not (text.isascii() and text.isdigit() and len(text) <= 18):
        raise ValueError("Type its digits, as they are preprinted.")
    return text


class Attendant:
    """The person at the printer, as a run sees them: told how far it is, asked, and heard when they want it to stop.

    Ctrl-C (and SIGTERM, SIGHUP) stops at the end of the form in hand, a second Ctrl-C at once; so does one at a
    question, when nothing is on its way. `how`: what is done when the first form has left: ask, stop or go-on;
    None asks, and needs a terminal.
    """

    def __init__(self, how: str | None) -> None:
        if how in (None, "ask") and not interactive():
            raise UsageRefused(
                "an answer is missing: who looks at the first form? --after-first stop ends the run there, to be "
                "resumed when it has been looked at; --after-first go-on prints on."
            )
        self._how = how or "ask"
        self._asked = ""
        self._at_question = False
        self._begun = time.monotonic()
        self._waited = 0.0
        self._shown = 0.0

    @property
    def seconds(self) -> float:
        """How long the run has taken so far, without the time that questions took."""
        return time.monotonic() - self._begun - self._waited

    @contextmanager
    def watching(self) -> Iterator[Watch]:
        """A watch over a run that begins now."""
        self._begun = time.monotonic()
        kept = {one: signal.signal(one, self._signalled) for one in SIGNALS}
        try:
            yield Watch(self._progress, self._first_form, lambda: self._asked, self._stalled)
        finally:
            for one, before in kept.items():
                signal.signal(one, before)

    def _signalled(self, number: int, _: FrameType | None) -> None:
        which, again = signal.Signals(number), bool(self._asked)
        self._asked = self._asked or SIGNALS[which]
        if self._at_question or (again and which == signal.SIGINT):
            raise KeyboardInterrupt("stopped at once by the operator")
        say("\nStopping at the end of the form in hand. Ctrl-C again stops at once.")

    def _question(self, answer: Callable[[], T], stopped: T) -> T:
        """Ask; the time it takes is not the run's. `stopped` when the person stops instead of answering."""
        begun = time.monotonic()
        self._at_question = True
        try:
            return answer()
        except (click.Abort, KeyboardInterrupt):
            self._asked = self._asked or "stopped by the operator"
            return stopped
        finally:
            self._at_question = False
            self._waited += time.monotonic() - begun

    def _first_form(self, number: str) -> str:
        if self._how == "go-on":
            return ""
        if self._how == "stop":
            return "it was to stop after the first form"
        say()
        question = f"Is form {number} good: {RIGHT}?"
        good = self._question(lambda: ask_yes("--after-first", question), False)
        return "" if good else self._asked or "the first form was not right"

    def _stalled(self, what: str) -> bool:
        if not interactive():
            return False
        say(f"\n{what}.")
        question = "The printer takes nothing (paper out, cover open, off line?). Put it right and type go, or stop:"
        return self._question(lambda: ask("--after-first", question, _go_or_stop), False)

    def _progress(self, progress: Progress) -> None:
        """Form number, done, left, rate, time left: over itself on a terminal, a line a second elsewhere."""
        terminal = sys.stderr.isatty()
        ended, now = progress.done == progress.forms, time.monotonic()
        if not terminal and now - self._shown < 1 and not ended and progress.done > 1:
            return
        self._shown = now
        spent = max(self.seconds, 0.001)
        left = progress.forms - progress.done
        seconds = int(left * spent / progress.done)
        text = f"form {progress.number}  {progress.done} of {progress.forms} sent  {left} left"
        if spent > 5:  # a file, or a printer's memory, takes the first forms faster than paper is struck
            text += f"  {int(progress.done * 60 / spent)} a minute  {seconds // 60}:{seconds % 60:02d} to go"
        if not terminal:
            say(text)
            return
        with suppress(OSError, ValueError):  # a terminal that has gone
            sys.stderr.write(f"\r{text:<78}" + ("\n" if ended else ""))
            sys.stderr.flush()


def _go_or_stop(text: str) -> bool:
    if text.lower() not in ("go", "stop"):
        raise ValueError("Type go or stop.")
    return text.lower() == "go"
