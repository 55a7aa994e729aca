"""The person at the printer, as a run sees them: told how far it is, asked, and heard when they want it to stop.

How they are spoken to is not settled here: whoever runs the run gives a `Person`, at a bare command or in the guided
run alike. What a signal means, when the first form is looked at and how the time is reckoned are the same for all.
"""

import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Protocol, TypeVar

from cheque.run import Progress, Watch
from cheque.tongue import mark, tr

T = TypeVar("T")
CAUTION = mark(
    "Load paper before you go on: printing on a bare platen damages the print head. Keep hair, ties and fingers "
    "away from the moving head and the tractors; the head is hot."
)
#: what a signal means to the person who reads why a run stopped
SIGNALS = {
    signal.SIGINT: mark("stopped by the operator (Ctrl-C)"),
    signal.SIGTERM: mark("stopped from outside (SIGTERM)"),
    # what only some systems have: a terminal that goes away; Ctrl-Break
    **{
        getattr(signal, name): said
        for name, said in (
            ("SIGHUP", mark("stopped because its terminal went away (SIGHUP)")),
            ("SIGBREAK", mark("stopped by the operator (Ctrl-Break)")),
        )
        if hasattr(signal, name)
    },
}
RIGHT = mark("right number and place, last part readable")


class Person(Protocol):
    """Who attends a run. `leaving` is what is raised when they stop instead of answering a question."""

    leaving: type[BaseException]

    def tell(self, text: str) -> None:
        """Tell them something while the run goes."""

    def far(self, text: str, *, ended: bool, first: bool) -> None:
        """Tell them how far the run is; `ended` with the last form, `first` with the first."""

    def good(self, number: str) -> bool:
        """Whether the first form is good, when they have looked at it."""

    def put_right(self, what: str) -> bool:
        """Whether a printer that takes nothing was put right, and the run is to go on."""


class Attendant:
    """A run's watch over one person.

    Ctrl-C (and SIGTERM, SIGHUP) stops at the end of the form in hand, a second Ctrl-C at once; so does one at a
    question, when nothing is on its way. `how`: what is done when the first form has left: ask, stop or go-on.
    """

    def __init__(self, person: Person, how: str) -> None:
        self._person, self._how = person, how
        self._asked = ""
        self._at_question = False
        self._begun = time.monotonic()
        self._waited = 0.0

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
        self._asked = self._asked or tr(SIGNALS[which])
        if self._at_question or (again and which == signal.SIGINT):
            raise KeyboardInterrupt(tr("stopped at once by the operator"))
        self._person.tell(tr("\nStopping at the end of the form in hand. Ctrl-C again stops at once."))

    def _question(self, answer: Callable[[], T], stopped: T) -> T:
        """Ask; the time it takes is not the run's. `stopped` when the person stops instead of answering."""
        begun = time.monotonic()
        self._at_question = True
        try:
            return answer()
        except (KeyboardInterrupt, self._person.leaving):
            self._asked = self._asked or tr("stopped by the operator")
            return stopped
        finally:
            self._at_question = False
            self._waited += time.monotonic() - begun

    def _first_form(self, number: str) -> str:
        if self._how == "go-on":
            return ""
        if self._how == "stop":
            return tr("it was to stop after the first form")
        good = self._question(lambda: self._person.good(number), False)
        return "" if good else self._asked or tr("the first form was not right")

    def _stalled(self, what: str) -> bool:
        return self._question(lambda: self._person.put_right(what), False)

    def _progress(self, progress: Progress) -> None:
        """Form number, done, left, rate, time left."""
        spent = max(self.seconds, 0.001)
        left = progress.forms - progress.done
        seconds = int(left * spent / progress.done)
        text = tr(
            "form {number}  {done} of {forms} sent  {left} left",
            number=progress.number,
            done=progress.done,
            forms=progress.forms,
            left=left,
        )
        if spent > 5:  # a file, or a printer's memory, takes the first forms faster than paper is struck
            text += tr(
                "  {int} a minute  {seconds}:{seconds2:02d} to go",
                int=int(progress.done * 60 / spent),
                seconds=seconds // 60,
                seconds2=seconds % 60,
            )
        self._person.far(text, ended=not left, first=progress.done == 1)
