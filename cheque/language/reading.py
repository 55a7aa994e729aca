"""The decoder that the ESC languages share: bytes to strikes, by the command table of a `Repertoire`.

It begins knowing no state, and knows nothing that was not said: a reset makes every state unknown again
(what a printer falls back to is set by its switches). It refuses any byte that is not in the table, a
character under a state never set, a feed that is no whole number of the printer's steps, a character whose
column is unknown because the carriage may not have returned, and a line left unprinted at the end. Time and
memory grow with the input only; the one error it raises is DecodeError.
"""

import re
from functools import lru_cache
from typing import Any

from cheque.language import DecodeError, LanguageError, Printer, Strikes
from cheque.language.repertoire import WIDEST, Known, Repertoire, escaped
from cheque.language.tables import NOTHING, TABLES, Table, as_letters, table_of
from cheque.page import Mark

_PRINTED = r"[ -~\x80-\xff]"
_NEVER = "(?!)"
#: runs of settings longer than this are not kept
_LONGEST_KEPT = 200


def decode(rep: Repertoire, data: bytes, printer: Printer) -> Strikes:
    """What these bytes strike on a printer that was in no known state, and how far they feed."""
    return reader_of(rep, printer).read(data.decode("latin-1"))


@lru_cache(maxsize=64)
def reader_of(rep: Repertoire, printer: Printer) -> "Reader":
    """The decoder for one printer."""
    return Reader(rep, printer)


class Reader:
    """The decoder of one language for one printer. Keeps nothing of one stream for the next but settings."""

    def __init__(self, rep: Repertoire, printer: Printer) -> None:
        self.rep, self.printer = rep, printer
        self.table = printer.table if printer.table in TABLES else "ascii"
        self.commands = [c for c in rep.commands if rep.can(c.ability, printer)]
        any_command = "|".join(c.pattern for c in self.commands)
        feed = rep.feeds(printer)[0]
        self.feed_unit = feed.unit
        jump = escaped(rep.jump.name) if rep.can(rep.jump.ability, printer) else _NEVER
        self.one_command = re.compile("|".join(f"({c.pattern})" for c in self.commands), re.DOTALL)
        # The groups are told apart by their number in `read`.
        self.token = re.compile(
            rf"\r(\n*)({_PRINTED}*)|({_PRINTED}+)|((?:{any_command})+)|{escaped(feed.before)}(.)"
            rf"|{jump}(..)|({escaped(rep.reset) or _NEVER})|(\n)",
            re.DOTALL,
        )
        self._kept: dict[tuple[Known, str], Known] = {}
        self._ready: dict[Known, tuple[int, int, Table]] = {}

    def scanner(self, stream: str) -> Any:
        """Matches tokens one after another with no gap between; the fast way that typeshed does not list."""
        return self.token.scanner(stream)  # type: ignore[attr-defined]

    def settings(self, known: Known, run: str, offset: int) -> Known:
        """What is known after a run of settings."""
        key = (known, run)
        kept = self._kept.get(key)
        if kept is not None:
            return kept
        for match in self.one_command.finditer(run):
            command = self.commands[(match.lastindex or 1) - 1]
            try:
                known = command.effect(known, match.group()[command.named_by :], self.printer)
            except LanguageError as error:
                raise DecodeError(str(error), offset + match.start()) from None
        if len(run) <= _LONGEST_KEPT:
            if len(self._kept) >= 1000:
                self._kept.clear()
            self._kept[key] = known
        return known

    def ready(self, known: Known, offset: int) -> tuple[int, int, Table]:
        """Pitch, weight and table to strike with."""
        kept = self._ready.get(known)
        if kept is not None:
            return kept
        try:
            pitch, weight = self.rep.style(known, self.printer)
        except LanguageError as error:
            raise DecodeError(str(error), offset) from None
        found = (pitch, weight, table_of(known.table or self.table, known.national or ""))
        if len(self._ready) >= 1000:
            self._ready.clear()
        self._ready[known] = found
        return found

    def feed(self, known: Known, distance: int | None, times: int, offset: int) -> int:
        """How far the paper moves; refused when the printer cannot move it just so far."""
        if known.skip is not False:
            raise DecodeError("paper is fed, but skip over perforation was never switched off", offset)
        if self.rep.reset and not known.reset:
            raise DecodeError("paper is fed, but the reset was never sent", offset)
        if distance is None:
            raise DecodeError("a line feed, but the line spacing was never set", offset)
        if distance % self.printer.step:
            raise DecodeError("a feed that is no whole number of this printer's steps", offset)
        return distance * times

    def read(self, stream: str) -> Strikes:
        """All of it; DecodeError at the first thing not known."""
        known = Known()
        marks: list[Mark] = []
        strike = marks.append
        x: int | None = None  # None: where the head stands is not known
        fresh = False  # just after a CR
        unprinted = False
        y = 0
        ready: tuple[int, int, Table] | None = None
        end = 0
        for match in iter(self.scanner(stream).match, None):
            kind = match.lastindex
            end = match.end()
            text = ""
            if kind == 2:
                lines, text = match.groups("")[:2]
                if lines:
                    y += self.feed(known, known.spacing, len(lines), match.start())
                x = 0
                unprinted = False
                fresh = not text
            elif kind == 3:
                text = match.group()
            elif kind == 4:
                known = self.settings(known, match.group(), match.start())
                ready = None
                continue
            else:
                x, y, fresh, unprinted, known = self._motion(match, known, x, y, fresh, unprinted)
                if kind == 7:
                    ready = None
                continue
            if text:
                fresh = False
                if ready is None:
                    ready = self.ready(known, match.start())
                pitch, weight, table = ready
                if x is None:
                    raise DecodeError("a character is struck, but its column is not known: no CR", match.start())
                if not (table.ascii and text.isascii()):
                    text = self._letters(text, table, match)
                after = x + pitch * len(text)
                if after > WIDEST:
                    raise DecodeError("a character right of the widest carriage", match.start())
                if not text.isspace():
                    strike(Mark(x, y, pitch, weight, text))
                    unprinted = True
                x = after
        if end != len(stream):
            raise DecodeError(f"{_shown(stream, end)} is no command that this decoder knows", end)
        if unprinted:
            raise DecodeError("the last line is never printed: no CR after it", end)
        return Strikes(tuple(marks), y)

    def _motion(
        self, match: re.Match[str], known: Known, x: int | None, y: int, fresh: bool, unprinted: bool
    ) -> tuple[int | None, int, bool, bool, Known]:
        """The rarer tokens: feed, jump, reset, a LF without CR."""
        kind, offset = match.lastindex, match.start()
        if kind == 5:
            y += self.feed(known, ord(match.group(5)) * self.feed_unit, 1, offset)
            return (0 if x == 0 else None), y, fresh, False, known
        if kind == 8:
            y += self.feed(known, known.spacing, 1, offset)
            return (0 if x == 0 else None), y, fresh, False, known
        if kind == 7:
            if unprinted:
                raise DecodeError("a reset with characters not yet printed: they may be lost", offset)
            return None, y, False, False, Known(reset=True)
        jump = self.rep.jump
        if jump.from_start and not fresh:
            raise DecodeError("a move right that does not follow a CR", offset)
        jumped = match.group(6)
        x = (ord(jumped[0]) + 256 * ord(jumped[1])) * jump.unit
        if x > WIDEST:
            raise DecodeError("a move right of the widest carriage", offset)
        return x, y, False, unprinted, known

    def _letters(self, text: str, table: Table, match: re.Match[str]) -> str:
        letters = as_letters(text, table)
        place = letters.find(NOTHING)
        if place >= 0:
            raise DecodeError(f"{ord(text[place]):02X} is no letter of the table", match.end() - len(text) + place)
        return letters


def _shown(stream: str, at: int) -> str:
    return " ".join(f"{ord(c):02X}" for c in stream[at : at + 3])
