"""One question at a time, for an 80 by 24 terminal, a slow line or a screen reader.

A question is said, then a line begins with the mark `>` (in plain mode with the word `Answer:`), and one line is
read. To every question `?` gives help, `q` leaves, and `back` goes to the question before it where there is one.
Plain mode never goes back over a line, draws nothing and sends no escape.
"""

import textwrap
import time
from collections.abc import Callable, Sequence
from typing import TypeVar

from cheque.tongue import tr, yes_or_no

T = TypeVar("T")
WIDEST = 79
#: seconds between two words on how far a run is, so that a line of 300 characters a second keeps up
EVERY = 2.0
PLAIN_EVERY = 15.0


class Left(Exception):
    """The person left. `how`: quit, interrupt (Ctrl-C) or end (of input)."""

    def __init__(self, how: str) -> None:
        super().__init__(how)
        self.how = how


class Back(Exception):
    """The person wants the question before this one."""


class Talk:
    """A conversation. `read` gives one line, "" at the end of input; `write` shows text as it is."""

    def __init__(
        self,
        read: Callable[[], str],
        write: Callable[[str], None],
        *,
        width: int = WIDEST,
        plain: bool = False,
        bold: bool = False,
    ) -> None:
        self._read, self._write, self.plain, self._bold = read, write, plain, bold and not plain
        self._width = max(20, min(width, WIDEST))
        self._back = self._asked = False
        self._over = 0  # characters on a line that the next progress goes over
        self._shown = 0.0

    def say(self, text: str = "") -> None:
        """Say something, broken between words; what begins with blanks is set in."""
        self._write("".join(line + "\n" for part in text.split("\n") for line in self._lines(part)))

    def _lines(self, line: str) -> list[str]:
        bare = line.lstrip()
        if not bare:
            return [""]
        begin = line[: len(line) - len(bare)]
        more = begin + "  " if begin or bare.startswith("- ") else ""
        return textwrap.wrap(
            bare, self._width, initial_indent=begin, subsequent_indent=more, break_long_words=True,
            break_on_hyphens=False,
        )  # fmt: skip

    def title(self, text: str) -> None:
        """Say what the next questions are about."""
        self.say()
        self._write("\x1b[1m" if self._bold else "")
        self.say(text)
        self._write("\x1b[0m" if self._bold else "")

    def ask(self, question: str, convert: Callable[[str], T], help: str) -> T:
        """Ask until the answer can be read. ValueError of `convert` is said, and the question asked again."""
        while True:
            if not self.plain:
                self.say()
            self.say(question.lstrip("\n"))
            text = self._line()
            if text == "?":
                self.say(f"  {help}")
                self.say(tr("  q leaves{more}.", more=tr(", back goes to the question before") if self._back else ""))
                continue
            if text.lower() in ("q", "quit"):
                raise Left("quit")
            if text.lower() == "back":
                if self._back:
                    raise Back
                self.say(tr("  There is no question here to go back to. ? explains, q leaves."))
                continue
            try:
                return convert(text)
            except ValueError as error:
                self.say(f"  {error}")

    def _line(self) -> str:
        self._write(tr("Answer: ") if self.plain else "> ")
        self._asked = True
        try:
            text = self._read()
        except UnicodeDecodeError:
            return "\ufffd"
        except KeyboardInterrupt:
            self._write("\n")
            raise Left("interrupt") from None
        except OSError:
            text = ""
        if not text:
            self._write("\n")
            raise Left("end")
        return text.strip()

    def yes(self, question: str, help: str) -> bool:
        """A yes or no, typed out: nothing irreversible hangs on a single key."""

        def convert(text: str) -> bool:
            said = yes_or_no(text)
            if said is None:
                raise ValueError(tr("Type yes or no, and Enter."))
            return said

        return self.ask(tr("{question} (yes or no)", question=question), convert, help)

    def one_of(self, question: str, words: Sequence[str], help: str, *, default: str = "") -> str:
        """One of a few words; Enter alone is the default, if there is one."""

        def convert(text: str) -> str:
            found = text.lower() or default
            if found not in words:
                raise ValueError(tr("Type one of: {words}.", words=", ".join(words)))
            return found

        return self.ask(question, convert, help)

    def in_order(self, *questions: Callable[[], None]) -> None:
        """Questions of which each can be gone back from to the one before it."""
        before, place = self._back, 0
        asking: list[int] = []  # the places of those that asked something: the others are not gone back to
        try:
            while place < len(questions):
                self._back, self._asked = bool(asking), False
                try:
                    questions[place]()
                except Back:
                    place = asking.pop()
                else:
                    asking += [place] if self._asked else []
                    place += 1
        finally:
            self._back = before

    def far(self, text: str, *, ended: bool, first: bool) -> None:
        """How far a run is: over itself every two seconds; in plain mode a line of its own every quarter minute."""
        now = time.monotonic()
        if not (ended or first) and now - self._shown < (PLAIN_EVERY if self.plain else EVERY):
            return
        self._shown = now
        if self.plain:
            self.say(text)
            return
        text = text[: self._width]
        self._write(f"\r{text:<{self._over}}" + ("\n" if ended else ""))
        self._over = 0 if ended else len(text)

    def fresh(self) -> None:
        """Begin a new line, if progress stands on this one."""
        if self._over:
            self._write("\n")
            self._over = 0


def digits(text: str) -> str:
    """A number as preprinted. ValueError when it is none."""
    if not (text.isascii() and text.isdigit() and len(text) <= 18):
        raise ValueError(tr("Type its digits, as they are preprinted."))
    return text


def whole(text: str) -> int:
    """A whole number. ValueError when it is none."""
    if not (text.isascii() and text.isdigit() and len(text) <= 18):
        raise ValueError(tr("Type a whole number, in digits."))
    return int(text)


def grouped(text: str) -> int:
    """A whole number as a slip has it, its thousands parted by commas or not: 51877, 51,877. ValueError for others."""
    bare = text.replace(",", "")
    return whole(bare if bare.isascii() and bare.isdigit() and f"{int(bare):,}" == text else text)


def words(text: str) -> str:
    """A reason or a name. ValueError when it is blank or no plain text."""
    if not text or not text.isprintable():
        raise ValueError(tr("Say it in a word or two."))
    return text
