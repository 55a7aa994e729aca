"""The practice printer's inside: memory, print head and paper feed. No sockets and no clock: time is told to it.

Bytes wait in the memory until they are struck, so many a second. A line is struck when it is complete (CR, LF
or a feed after it), as printers do; what is in the memory or in an incomplete line is lost with the power.

The stream is read by the tool's own decoder, which begins each form knowing nothing and refuses what it does
not know. What it refuses, a printer would do *something* with: the form is then marked as garbled, and reading
goes on with the next byte, as on a printer that skips what it does not know.
"""

from collections import deque
from collections.abc import Callable

from cheque import tongue
from cheque.language import DecodeError, Language, Printer, Strikes
from cheque.page import Mark
from cheque.practice.paper import Paper, Sheet
from cheque.tongue import tr

#: what fails within so many bytes of the end may be a command of which the rest is still to come
LONGEST_COMMAND = 12
#: a stream that feeds no form in so many bytes is none of ours; what was read of it is let go
LONGEST_FORM = 1 << 16
#: bits flipped in a garbled byte: another letter, or no command that is known
GARBLE = 0x15
ESC = 0x1B


class Mechanism:
    """A printer for forms `length` units long; `memory` bytes wait at the most.

    `sensor`: it notices missing paper and stops; without one it strikes the bare platen. `finished` is called
    with every form whose foot passes the head.
    """

    def __init__(
        self,
        language: Language,
        printer: Printer,
        length: int,
        *,
        memory: int = 8192,
        sensor: bool = True,
        finished: Callable[[Sheet], None] = lambda sheet: None,
    ) -> None:
        self._language, self._printer, self._length = language, printer, length
        self.memory, self._sensor, self._finished = memory, sensor, finished
        self.paper = Paper(length, printer.step - 1)
        self.powered = True
        self.jammed = False
        self._waiting: deque[bytes | None] = deque()  # None: another stream begins here
        self._held = 0
        self._garble = 0
        self._read = bytearray()  # of the present stream, from the last whole form on
        self._base = 0  # how far that stream had fed when the paper was last handled; and where the paper was then
        self._top = 0
        self._good = 0  # how many bytes of it were decoded last: what follows may be a line not complete yet
        self._struck = 0  # how many of its marks are on the paper for good
        self._on: int | None = None  # the number of the form that its first mark is on
        self._skips = 0  # forms to be fed at the next top of form

    # -- bytes ------------------------------------------------------------------------------------------

    @property
    def room(self) -> int:
        """Bytes that can be taken now; none while the power is off."""
        return self.memory - self._held if self.powered else 0

    @property
    def idle(self) -> bool:
        """Nothing waits to be struck."""
        return not self._held

    @property
    def stands(self) -> bool:
        """It strikes nothing at present: no power, or no paper and a sensor that has seen it."""
        return not self.powered or (self._sensor and self.paper.here is None)

    def begin_stream(self) -> None:
        """Another connection, or another job: what comes now does not continue what came before."""
        self._waiting.append(None)

    def take(self, data: bytes) -> None:
        """Bytes into the memory. ValueError when there is no room for them."""
        if len(data) > self.room:
            raise ValueError(tr("there is no room for that in the printer's memory"))
        self._waiting.append(bytes(data))
        self._held += len(data)

    def strike(self, most: int) -> int:
        """Strike up to `most` bytes of the memory; gives how many it was."""
        done = 0
        while self._waiting and done < most and not self.stands:
            piece = self._waiting.popleft()
            if piece is None:
                self._stream_ends()
                continue
            line = self._one_line(piece, most - done)
            if len(line) < len(piece):
                self._waiting.appendleft(piece[len(line) :])
            self._held -= len(line)
            done += len(line)
            line = self._garbled(line)
            self._read += line
            self._follow()
        return done

    @staticmethod
    def _one_line(piece: bytes, most: int) -> bytes:
        """As far as the next move of the paper, so that nothing that happens to it falls into the midst of a line."""
        feed, line = piece.find(b"\x1bJ"), piece.find(b"\n")
        ends = ([feed + 3] if feed >= 0 else []) + ([line + 1] if line >= 0 else [])
        return piece[: min(most, *ends)] if ends else piece[:most]

    def _follow(self) -> None:
        """Feed the paper as far as what has been read says, and let go of a form that is whole."""
        end, strikes = self._decoded()
        place = self._top if self.jammed else self._top + strikes.advance - self._base
        if strikes.advance + self._printer.step > self._length or len(self._read) > LONGEST_FORM:
            self._settle(strikes, place)
            del self._read[:end]
            self._base = self._struck = self._good = 0
            self._on = None
            self._skip_now()
            self._top = self.paper.at
        elif place != self.paper.at:
            self._settle(strikes, place)

    def _decoded(self) -> tuple[int, Strikes]:
        """How many bytes are struck by now, and what they strike."""
        end = len(self._read)
        while True:
            try:
                strikes = self._language.decode(bytes(self._read[:end]), self._printer)
                self._good = end
                return end, strikes
            except DecodeError as error:
                if error.offset >= end:  # a line that is not complete yet
                    end = max(self._good, self._read.rfind(b"\r", 0, end - 1) + 1)
                elif error.offset >= len(self._read) - LONGEST_COMMAND:
                    end = error.offset
                else:
                    self._drop(error.offset)
                    end = len(self._read)

    def _drop(self, offset: int) -> None:
        """What no printer language says: the form is garbled; reading goes on after it."""
        self._mark_garbled()
        del self._read[offset : offset + (2 if self._read[offset] == ESC else 1)]

    def _garbled(self, line: bytes) -> bytes:
        """The bytes as they arrive: one of them another one, when it was ordered and its turn has come."""
        place, self._garble = self._garble, max(0, self._garble - len(line))
        if not 0 < place <= len(line):
            return line
        self._mark_garbled()
        return line[: place - 1] + bytes([line[place - 1] ^ GARBLE]) + line[place:]

    def _mark_garbled(self) -> None:
        if self.paper.here is not None:
            self.paper.harm(self.paper.here, tongue.mark("garbled"))

    def _settle(self, strikes: Strikes, place: int) -> None:
        """Put on the paper, for good, what has been struck so far, and feed to a place."""
        astray = not self.paper.at_top(self._top - self._base) or self.jammed
        fallen = self._fallen(strikes)
        self.paper.strike(fallen, astray=astray)
        for at, _ in fallen:
            number = self.paper.number(at)
            self._on = number if self._on is None else self._on
            if number is not None and number != self._on:
                self.paper.harm(number, tongue.mark("begun in the midst of it"))
        self._struck = len(strikes.marks)
        self._feed(place)

    def _fallen(self, strikes: Strikes) -> list[tuple[int, Mark]]:
        """What was struck since the paper was last handled, each mark with the place where its line falls."""
        return [
            (self._top if self.jammed else self._top + mark.y - self._base, mark)
            for mark in strikes.marks[self._struck :]
        ]

    def _feed(self, place: int) -> None:
        for number in self.paper.feed_to(place):
            self._finished(self.paper.sheet(number))

    def _handle(self) -> None:
        """Somebody is about to touch the paper: all struck so far stays where it fell."""
        _, strikes = self._decoded()
        self._settle(strikes, self.paper.at)
        self._base = strikes.advance
        self._top = self.paper.at

    def _stream_ends(self) -> None:
        """What comes next begins a stream of its own, wherever the paper stands; half a line is lost."""
        self._handle()
        self._read.clear()
        self._base = self._struck = self._good = 0
        self._on = None

    # -- what happens to it -----------------------------------------------------------------------------

    def jam(self) -> None:
        """The paper no longer moves: what follows is struck on the form at the head, over and over."""
        self._handle()
        if self.paper.here is not None:
            self.paper.harm(self.paper.here, tongue.mark("crumpled in a jam"))
        self.jammed = True

    def clear(self) -> None:
        """The jam is cleared: the crumpled form is out, and the next one is at the head."""
        if self.jammed:
            here = self.paper.here
            self._handle()
            self.jammed = False
            if here is not None:
                self._load(here + 1)

    def load(self, number: int) -> None:
        """Paper, the form of this number at the head."""
        self._handle()
        self.jammed = False
        self._load(number)

    def _load(self, number: int) -> None:
        self.paper.load(number)
        self._top = self.paper.at
        self._skips = 0

    def skip(self) -> None:
        """One form goes through blank, the next one that is not begun: every later cheque is a number further on.

        ValueError while the paper is jammed.
        """
        if self.jammed:
            raise ValueError(tr("the paper is jammed and does not move: clear it first"))
        self._skips += 1
        self._handle()
        here = self.paper.here
        if self.paper.at_top(self.paper.at) and (here is None or not self.paper.sheet(here).marks):
            self._skip_now()
            self._top = self.paper.at

    def _skip_now(self) -> None:
        """Feed as many forms as were to be skipped."""
        while self._skips:
            self._skips -= 1
            self._feed(self.paper.at + self._length)

    def paper_out(self) -> None:
        """The form at the head is the last one there is."""
        self.paper.end_here()

    def tear(self, number: int) -> None:
        """A form is torn. ValueError when that number has not been in the printer."""
        if not self.paper.known(number):
            raise ValueError(tr("form {number} has not been in the printer", number=number))
        self.paper.harm(number, tongue.mark("torn"))

    def power_off(self) -> None:
        """No power: what the memory holds, and half a line, are lost; the paper stays where it stands."""
        self._stream_ends()
        here = self.paper.here
        if here is not None and self.paper.sheet(here).marks:
            self.paper.harm_here(tongue.mark("broken off by a loss of power"))
        self._waiting.clear()
        self._held = 0
        self.powered = False

    def power_on(self) -> None:
        """Power again: nothing is remembered. The paper stands where it stood: load it anew."""
        self.powered = True

    def garble(self, after: int = 40) -> None:
        """The byte that comes after so many others arrives as another one."""
        self._garble = after

    # -- what is on the paper ---------------------------------------------------------------------------

    def sheets(self) -> list[Sheet]:
        """Every form that has been in the printer, by number, with what is struck on it by now."""
        _, strikes = self._decoded()
        extra: dict[int, list[Mark]] = {}
        for at, mark in self._fallen(strikes):
            number = self.paper.number(at)
            if number is not None:
                extra.setdefault(number, []).append(mark)
        return [sheet._replace(marks=(*sheet.marks, *extra.get(sheet.number, ()))) for sheet in self.paper.sheets()]
