"""The decoder that the ESC languages share: bytes to strikes, by the command table of a `Repertoire`.

It begins knowing no state, and knows nothing that was not said: a reset makes every state unknown again
(what a printer falls back to is set by its switches). It refuses any byte that is not in the table, a
character under a state never set, a feed that is no whole number of the printer's steps, a character whose
column is unknown because the carriage may not have returned, and a line left unprinted at the end. Time and
memory grow with the input only; the one error it raises is DecodeError.
"""

import re
from functools import lru_cache
from typing import Any, NamedTuple

from cheque.language import DecodeError, LanguageError, Printer, Strikes
from cheque.language.repertoire import AVOIDED, Known, Repertoire, escaped
from cheque.language.tables import NOTHING, TABLES, Table, as_letters, table_of
from cheque.page import Mark
from cheque.tongue import tr

_PRINTED = r"[ -~\x80-\xff]"
_CONTROL = r"[\x00-\x1f]"
_NEVER = "(?!)"
_AVOIDED = bytes(sorted(AVOIDED))
_new = tuple.__new__  # a Mark without the cost of its own constructor
_NOTHING_KNOWN, _RESET_ONLY = Known(), Known(reset=True)
_LINE, _TEXT, _SETTINGS, _FEED, _JUMP, _RESET = 4, 6, 7, 8, 9, 10
#: runs of settings, and of commands, longer than this are not kept
_LONGEST_KEPT = 200
#: so many frames are kept
_MOST_FRAMES = 500


class Frame(NamedTuple):
    """Where runs of commands put the texts after them: column (None: where the last one ended), y, pitch, weight
    and table (None: a text there is refused) each; and how far the paper moves."""

    places: tuple[tuple[int | None, int, int, int, Table | None], ...]
    advance: int


def decode(rep: Repertoire, data: bytes, printer: Printer) -> Strikes:
    """What these bytes strike on a printer that was in no known state, and how far they feed."""
    if len(data.translate(None, _AVOIDED)) != len(data):  # even as a number it may never reach the printer
        offset = min(place for place in map(data.find, map(bytes, zip(_AVOIDED))) if place >= 0)
        raise DecodeError(tr("{data:02X} may be taken for flow control", data=data[offset]), offset)
    return reader_of(rep, printer).read(data.decode("latin-1"))


@lru_cache(maxsize=64)
def reader_of(rep: Repertoire, printer: Printer) -> "Reader":
    """The decoder for one printer."""
    return Reader(rep, printer)


class Head:
    """Where the print head stands: x is None when that is not known; whether the line has strikes not printed."""

    __slots__ = ("unprinted", "x")

    def __init__(self) -> None:
        self.x: int | None = None
        self.unprinted = False


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
        # The last group of each kind tells which it is: _LINE, _TEXT, _SETTINGS, _FEED, _JUMP, _RESET, a LF.
        self.token = re.compile(
            rf"\r(\n*)(?:{jump}(..))?( *)({_PRINTED}*)|(?=[ -~\x80-\xff])( *)({_PRINTED}*)|((?:{any_command})+)"
            rf"|({escaped(feed.before)}.)|({jump}..)|({escaped(rep.reset) or _NEVER})|(\n)",
            re.DOTALL,
        )
        # a run of commands, none, one or several; then a text, perhaps with nothing in it
        command = rf"{any_command}|{escaped(feed.before)}.|{jump}..|{escaped(rep.reset) or _NEVER}"
        self.pieces = re.compile(
            rf"([\r\n]++(?![\x00-\x1f])|(?:[\r\n]++|(?={_CONTROL})(?:{command}))*+)({_PRINTED}*+)", re.DOTALL
        )
        self.only_settings = re.compile(rf"(?:{any_command})+", re.DOTALL)
        self._frames: dict[tuple[str, ...], Frame | None] = {}
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

    def feed(self, known: Known, distance: int | None, offset: int) -> int:
        """How far the paper moves; refused when the printer cannot move it just so far."""
        if known.skip is not False:
            raise DecodeError(tr("paper is fed, but skip over perforation was never switched off"), offset)
        if self.rep.reset and not known.reset:
            raise DecodeError(tr("paper is fed, but the reset was never sent"), offset)
        if distance is None:
            raise DecodeError(tr("a line feed, but the line spacing was never set"), offset)
        if self.printer.step <= 0 or distance % self.printer.step:
            raise DecodeError(tr("a feed that is no whole number of this printer's steps"), offset)
        return distance

    def read(self, stream: str) -> Strikes:
        """All of it; DecodeError at the first thing not known."""
        return self._by_frame(stream) or self._by_tokens(stream)

    def _by_frame(self, stream: str) -> Strikes | None:
        """The quick way: None when anything is out of the ordinary, which `_by_tokens` then judges.

        A stream is runs of commands with a text after each, and from form to form only the texts differ. Where the
        commands put the texts, their frame, is worked out by `_walk` once and kept under the very bytes of the
        commands. (Most of decoding went into working out the same moves for every form.)
        """
        pieces = self.pieces.findall(stream)
        pieces.pop()  # the nothing at the end
        if not pieces:
            return None
        commands, texts = zip(*pieces, strict=True)
        if commands in self._frames:
            frame = self._frames[commands]
        else:
            if len(self._frames) >= _MOST_FRAMES:
                self._frames.clear()
            frame = self._frames[commands] = self._frame(commands)
        if frame is None or texts[-1]:
            return None
        marks: list[Mark] = []
        put = marks.append
        width = self.printer.width
        plain = stream.isascii()
        end = 0
        for (to, y, pitch, weight, table), text in zip(frame.places, texts, strict=True):
            x = end if to is None else to
            if text:
                if table is None:
                    return None
                if text[0] == " ":
                    bare = text.lstrip(" ")
                    x += pitch * (len(text) - len(bare))
                    text = bare
                if not (table.ascii and (plain or text.isascii())):
                    text = as_letters(text, table)
                    if NOTHING in text:
                        return None
                if text:
                    put(_new(Mark, (x, y, pitch, weight, text)))
                    x += pitch * len(text)
            if x > width:
                return None
            end = x
        return Strikes(tuple(marks), frame.advance)

    def _frame(self, commands: tuple[str, ...]) -> "Frame | None":
        """Where runs of commands put the texts after them; None when that depends on more than the commands.

        A run with a CR in it does the same wherever the head was, and one that only sets states leaves it there.
        Anything else is left to `_by_tokens`, as is whatever `_walk` refuses: it is given the least that could be
        known of the head, a column not known and strikes not yet printed.
        """
        known, y = _NOTHING_KNOWN, 0
        x: int | None = None
        places: list[tuple[int | None, int, int, int, Table | None]] = []
        for run in commands:
            try:
                known, marks, x, down, _, end = self._walk(run, known, None, bool(places))
            except DecodeError:
                return None
            if not run or marks or end != len(run):
                return None
            if x is None and (not places or not self.only_settings.fullmatch(run)):
                return None
            y += down
            try:
                style: tuple[int, int, Table | None] = self.ready(known, 0)
            except DecodeError:
                style = (0, 0, None)
            places.append((x, y, *style))
        return Frame(tuple(places), y) if x is not None else None

    def _by_tokens(self, stream: str) -> Strikes:
        """All of it, token by token, from a state in which nothing is known."""
        _, marks, _, y, unprinted, end = self._walk(stream, _NOTHING_KNOWN, None, False)
        if end != len(stream):
            raise DecodeError(tr("{shown} is no command that this decoder knows", shown=_shown(stream, end)), end)
        if unprinted:
            raise DecodeError(tr("the last line is never printed: no CR after it"), end)
        return Strikes(tuple(marks), y)

    def _walk(
        self, stream: str, known: Known, x: int | None, unprinted: bool
    ) -> tuple[Known, list[Mark], int | None, int, bool, int]:
        """Token by token as far as they are known: the state then, marks, x, y, unprinted, and the place reached.

        x is None where the column of the head is not known. One long loop: the decoder's own rules are here.
        """
        marks: list[Mark] = []
        head = Head()
        width = self.printer.width
        y = pitch = weight = 0
        table: Table | None = None  # None: pitch, weight and table are to be looked up
        line = 0  # what a LF feeds; 0: to be looked up
        match = None
        for match in iter(self.scanner(stream).match, None):
            kind = match.lastindex
            if kind == _LINE:
                lines, jumped, blanks, text = match.group(1, 2, 3, 4)
                if lines:
                    line = line or self.feed(known, known.spacing, match.start())
                    y += line * len(lines)
                x = self.column(jumped, match.start()) if jumped else 0
                unprinted = False
            elif kind == _SETTINGS:
                known = self.settings(known, match.group(), match.start())
                table, line = None, 0
                continue
            elif kind == _TEXT:
                blanks, text = match.group(5, 6)
                if x is None:
                    raise DecodeError(tr("a character is struck, but its column is not known: no CR"), match.start())
            else:
                head.x, head.unprinted = x, unprinted
                y += self._motion(match, known, head)
                x, unprinted = head.x, head.unprinted
                if kind == _RESET:
                    known, table, line = _RESET_ONLY, None, 0
                continue
            if blanks or text:
                if table is None:
                    pitch, weight, table = self.ready(known, match.start())
                x += pitch * len(blanks)
                if text:
                    if not (table.ascii and text.isascii()):
                        text = self._letters(text, table, match.end())
                    marks.append(_new(Mark, (x, y, pitch, weight, text)))
                    x += pitch * len(text)
                    unprinted = True
                if x > width:
                    raise DecodeError(tr("a character right of the carriage"), match.start())
        return known, marks, x, y, unprinted, match.end() if match else 0

    def _motion(self, match: re.Match[str], known: Known, head: "Head") -> int:
        """The rarer tokens: feed, jump, reset, a LF without CR. Returns how far the paper moves."""
        kind, offset = match.lastindex, match.start()
        if kind == _RESET:
            if head.unprinted:
                raise DecodeError(tr("a reset with characters not yet printed: they may be lost"), offset)
            head.x = None
            return 0
        if kind == _JUMP:
            jump = self.rep.jump
            if jump.from_start:  # just after a CR it would be part of the line's token
                raise DecodeError(tr("a move right that does not follow a CR"), offset)
            x = self.column(match.group()[-2:], offset)
            if head.x is None or x < head.x:
                raise DecodeError(tr("a move left without a CR, which some models do not make"), offset)
            head.x = x
            return 0
        # A feed prints the line; on some models it also takes the head back, on others it does not.
        head.x, head.unprinted = (0 if head.x == 0 else None), False
        if kind == _FEED:
            return self.feed(known, ord(match.group()[-1]) * self.feed_unit, offset)
        return self.feed(known, known.spacing, offset)

    def column(self, parameters: str, offset: int) -> int:
        """Where a jump goes, counted from the first column."""
        x = (ord(parameters[0]) + 256 * ord(parameters[1])) * self.rep.jump.unit
        if x > self.printer.width:
            raise DecodeError(tr("a move right of the carriage"), offset)
        return x

    def _letters(self, text: str, table: Table, end: int) -> str:
        letters = as_letters(text, table)
        place = letters.find(NOTHING)
        if place >= 0:
            raise DecodeError(tr("{ord:02X} is no letter of the table", ord=ord(text[place])), end - len(text) + place)
        return letters


def _shown(stream: str, at: int) -> str:
    return " ".join(f"{ord(c):02X}" for c in stream[at : at + 3])
