"""The forms in the practice printer: each number one form, what is struck on it, and what became of it.

Places on the paper are units (1/2,743,200 in) from the top of the form that was at the head when paper was
last loaded. A form is *whole* when something was struck on it from its top on, the head has passed its foot,
and nothing happened to it meanwhile: only such a form can be a good cheque.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

from cheque import tongue
from cheque.page import Mark


class Sheet(NamedTuple):
    """One form as somebody sees it: its preprinted number, what is struck on it, and what became of it.

    `marks` are measured from the form's top. `harm`: every mishap, in words, in order. `passed`: the head has
    gone past its foot.
    """

    number: int
    marks: tuple[Mark, ...]
    harm: tuple[str, ...]
    passed: bool

    @property
    def blank(self) -> bool:
        """Nothing is struck on it, and nothing happened to it: it could be used yet."""
        return not self.marks and not self.harm

    @property
    def whole(self) -> bool:
        """Struck from top to foot, and nothing happened to it."""
        return bool(self.marks) and not self.harm and self.passed

    @property
    def text(self) -> str:
        """What is struck on it, line by line, words apart by a blank."""
        lines: dict[int, list[Mark]] = {}
        for mark in self.marks:
            lines.setdefault(mark.y, []).append(mark)
        return "\n".join(" ".join(" ".join(m.text.split()) for m in sorted(lines[y])) for y in sorted(lines))


@dataclass(slots=True)
class _Kept:
    """A form while it is in the printer."""

    marks: list[Mark] = field(default_factory=list)
    harm: list[str] = field(default_factory=list)
    passed: bool = False


class Paper:
    """Numbered forms hanging together, as loaded. `length` of a form and `slack` (the feed's rounding) in units."""

    def __init__(self, length: int, slack: int) -> None:
        self._length, self._slack = length, slack
        self._kept: dict[int, _Kept] = {}
        self._first: int | None = None  # the number at the head when paper was last loaded; None: no paper
        self._end: int | None = None  # the last number there is
        self.at = 0  # how far the paper has been fed since
        self.platen = 0  # characters struck where there was no paper

    def load(self, number: int) -> None:
        """Paper anew, the top of form `number` at the head; a form struck only in part is pulled out of the way."""
        self._pull_out(tongue.mark("pulled out before it was finished"))
        self._first, self._end, self.at = number, None, 0
        self._form(number)

    def number(self, at: int) -> int | None:
        """The number of the form at a place; None where there is no paper."""
        if self._first is None:
            return None
        number = self._first + (at + self._slack) // self._length
        return None if self._end is not None and number > self._end else number

    @property
    def here(self) -> int | None:
        """The number of the form at the head."""
        return self.number(self.at)

    def at_top(self, at: int) -> bool:
        """Whether a place is the top of a form, as near as the feed's rounding lets it be."""
        return (at + self._slack) % self._length <= self._slack

    def end_here(self) -> None:
        """There is no form after the one at the head."""
        self._end = self.here if self._end is None else self._end

    def take_out(self) -> None:
        """All paper out of the printer."""
        self._pull_out(tongue.mark("pulled out before it was finished"))
        self._first = None

    def strike(self, marks: Iterable[tuple[int, Mark]], *, astray: bool) -> None:
        """Marks with the places their lines fall on; `astray`: the print is not in step with the forms."""
        for at, mark in marks:
            number = self.number(at)
            if number is None:
                self.platen += len(mark.text.replace(" ", ""))
                continue
            form, first = self._form(number), self._first or 0
            if form.passed:
                self.harm(number, tongue.mark("struck again"))
            if astray:
                self.harm(number, tongue.mark("the print is out of its place"))
            form.marks.append(mark._replace(y=at - (number - first) * self._length))

    def feed_to(self, at: int) -> list[int]:
        """Feed the paper; gives the numbers of the forms whose foot has passed the head."""
        before, self.at = self.at, at
        passed = []
        for place in range((before + self._slack) // self._length, (at + self._slack) // self._length):
            number = self.number(place * self._length)
            if number is not None:
                self._form(number).passed = True
                passed.append(number)
        if self.here is not None:
            self._form(self.here)
        return passed

    def harm(self, number: int, what: str) -> None:
        """Something happened to a form."""
        harm = self._form(number).harm
        if what not in harm:
            harm.append(what)

    def harm_here(self, what: str) -> None:
        """Something happened to the form at the head, if the head is in the midst of one."""
        if self.here is not None and not self.at_top(self.at):
            self.harm(self.here, what)

    def known(self, number: int) -> bool:
        """Whether a number has been in the printer."""
        return number in self._kept

    def sheet(self, number: int) -> Sheet:
        """One form as it is now."""
        kept = self._kept.get(number, _Kept())
        return Sheet(number, tuple(kept.marks), tuple(kept.harm), kept.passed)

    def sheets(self) -> list[Sheet]:
        """Every form that has been in the printer, by number."""
        return [self.sheet(number) for number in sorted(self._kept)]

    def _form(self, number: int) -> _Kept:
        return self._kept.setdefault(number, _Kept())

    def _pull_out(self, what: str) -> None:
        here = self.here
        if here is not None and not self.at_top(self.at) and self._form(here).marks:
            self.harm(here, what)
