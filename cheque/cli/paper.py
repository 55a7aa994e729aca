"""What a person is asked and told about paper: before it is struck, while it runs, and afterwards."""

import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

from cheque.cli.desk import ask, ask_yes, say
from cheque.errors import UsageRefused
from cheque.run import Progress, Watch

CAUTION = (
    "Load paper before you go on: printing on a bare platen damages the print head. Keep hair, ties and fingers "
    "away from the moving head and the tractors; the head is hot."
)
RIGHT = "right number, right place, the last part readable"


def paper_is_loaded(given: bool) -> None:
    """Make sure that a person says paper is loaded: many printers do not notice that it is missing."""
    say(CAUTION)
    if not given and not ask_yes("--paper-loaded", "Is the paper loaded, its first form at the head?"):
        raise UsageRefused("paper is not loaded: load it, then print.")


def number_at_head(given: str | None, option: str = "--first-number") -> str:
    """The number preprinted on the form at the head, as digits."""
    question = "Which number is preprinted on the form at the head?"
    if given is not None:
        if not (given.isascii() and given.isdigit()):
            raise UsageRefused(f"found {option} {given!r}; wanted the number preprinted on the form at the head.")
        return given
    return ask(option, question, _digits)


def _digits(text: str) -> str:
    if not (text.isascii() and text.isdigit()):
        raise ValueError("Type its digits.")
    return text


def after_first(how: str | None) -> Callable[[str], str]:
    """What happens when the first form has left: ask, stop, or go on. Without a terminal it must be said."""
    if how is None:
        if not sys.stdin.isatty():
            raise UsageRefused(
                "an answer is missing: who looks at the first form? --after-first stop ends the run there, to be "
                "resumed when it has been looked at; --after-first go-on prints on."
            )
        how = "ask"

    def check(number: str) -> str:
        if how == "go-on":
            return ""
        if how == "stop":
            return "it was to stop after the first form"
        say()
        good = ask_yes("--after-first", f"Look at form {number}: is it good ({RIGHT})?")
        return "" if good else "the first form was not right"

    return check


@contextmanager
def watched(first_form: Callable[[str], str]) -> Iterator[Watch]:
    """A watch whose Ctrl-C (and SIGTERM, SIGHUP) stops at the end of the form in hand; a second one at once."""
    asked: list[str] = []

    def handle(which: int, _: FrameType | None) -> None:
        if asked and which == signal.SIGINT:
            raise KeyboardInterrupt("stopped at once by the operator")
        asked.append(f"stopped by {signal.Signals(which).name}")
        say("\nStopping at the end of the form in hand. Ctrl-C again stops at once.")

    kept = {which: signal.signal(which, handle) for which in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)}
    try:
        yield Watch(_progress(), first_form, lambda: asked[0] if asked else "")
    finally:
        for which, before in kept.items():
            signal.signal(which, before)


def _progress() -> Callable[[Progress], None]:
    """Form number, done, left, rate, time left: over itself on a terminal, a line a second elsewhere."""
    begun = time.monotonic()
    terminal = sys.stderr.isatty()
    last = [0.0]

    def show(progress: Progress) -> None:
        now = time.monotonic()
        ended = progress.done == progress.forms
        if not terminal and now - last[0] < 1 and not ended and progress.done > 1:
            return
        last[0] = now
        spent = max(now - begun, 0.001)
        left = progress.forms - progress.done
        seconds = int(left * spent / progress.done)
        text = (
            f"form {progress.number}  {progress.done} of {progress.forms} sent  {left} left  "
            f"{int(progress.done * 60 / spent)} a minute  {seconds // 60}:{seconds % 60:02d} to go"
        )
        if terminal:
            sys.stderr.write(f"\r{text:<78}" + ("\n" if ended else ""))
            sys.stderr.flush()
        else:
            say(text)

    return show
