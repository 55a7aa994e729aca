"""A printer as paper sees it: what is struck, where, and how far the paper moved.

Written from the published command tables of the ESC/P family for 9-pin printers, and from nothing else, so
that it can contradict the tool. It is not a model of any one machine. Where makers differ it does not guess:
it raises.

What it takes for granted (the ESC/P Reference Manual, from memory, where the table of commands is silent):

* A line is held until something prints it: CR, LF, FF or ESC J. CAN drops it and leaves the head where it is.
  Whatever is still held at the end of the stream was never struck, and is in `Paper.unstruck`.
* LF feeds only; it does not return the head. FF feeds only too, and where the head then stands is not known
  until CR or ESC $ says so.
* ESC @ and ESC C make the present line the top of form. ESC @ puts everything else back to the defaults:
  10 to the inch, 6 lines to the inch, no weight, draft, no skip, the United States set, `table`.
* The form length at power-on is an unseen switch, so FF before ESC C is an error unless `form` tells it.
* 80 to 9F and FF hex are control codes until ESC 6 makes them print.
* 11 and 13 hex are flow control wherever they are on the wire, inside a command's parameters too.
* Near-letter quality overrides double strike.
* y is the top of a line of print, x the left edge of a character's cell.
"""

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Flag
from fractions import Fraction
from math import floor

ESC, NUL, XON, XOFF = 0x1B, 0x00, 0x11, 0x13

CONDENSED = {10: Fraction(120, 7), 12: Fraction(20), 15: Fraction(15)}

LONGEST_FORM = Fraction(22)

# Characters that a national set replaces, and what each set puts there (ESC R n). From memory of the table of
# international character sets in the ESC/P Reference Manual.
NATIONAL_PLACES = "#$@[\\]^`{|}~"
NATIONAL_SETS = {
    0: "#$@[\\]^`{|}~",
    1: "#$à°ç§^`éùè¨",
    2: "#$§ÄÖÜ^`äöüß",
    3: "£$@[\\]^`{|}~",
    4: "#$@ÆØÅ^`æøå~",
    5: "#¤ÉÄÖÅÜéäöåü",
    6: "#$@°\\é^ùàòèì",
    7: "₧$@¡Ñ¿^`¨ñ}~",
    8: "#$@[¥]^`{|}~",
    9: "#¤ÉÆØÅÜéæøåü",
    10: "#$ÉÆØÅÜéæøåü",
    11: "#$á¡Ñ¿é`íñóú",
    12: "#$á¡Ñ¿éüíñóú",
    13: "#$@[₩]^`{|}~",
    64: "#$§°'\"¶`©®†™",
}

# d2, d3 of ESC ( t, and the codec. From memory of the same manual; (0, 0) is the italic table: no codec.
TABLE_NAMES: Mapping[tuple[int, int], str] = {
    (1, 0): "cp437",
    (3, 0): "cp850",
    (7, 0): "cp860",
    (8, 0): "cp863",
    (9, 0): "cp865",
    (10, 0): "cp852",
    (11, 0): "cp857",
    (24, 0): "cp861",
}
ITALIC = ""


class PaperError(ValueError):
    """The stream says something that this printer does not know, or that printers disagree about."""


class NeverSendError(PaperError):
    """The stream holds a command that must never be sent."""


class Weight(Flag):
    """How heavily a character was struck."""

    NONE = 0
    BOLD = 1
    DOUBLE = 2


@dataclass(frozen=True, slots=True)
class Strike:
    """A character on the paper: inches from the first column and from the top, characters to the inch."""

    x: Fraction
    y: Fraction
    character: str
    weight: Weight
    pitch: Fraction
    letter: bool = False

    @property
    def right(self) -> Fraction:
        """The right edge of its cell."""
        return self.x + 1 / self.pitch


@dataclass
class Paper:
    """All that a stream struck, in the order of striking, and how far it fed. Paper never goes back."""

    strikes: list[Strike] = field(default_factory=list)
    fed: Fraction = Fraction(0)
    unstruck: list[Strike] = field(default_factory=list)

    def form(self, n: int, length: Fraction, *, step: Fraction | None = None) -> list[Strike]:
        """The strikes on form n, counted from 0, with y from the top of that form.

        Where the length is no whole number of the printer's steps, the paper stands at the last whole step
        before each top of form: give that step, and the forms are divided there.
        """
        top, end = self._edge(n, length, step), self._edge(n + 1, length, step)
        first, last = (bisect_left(self.strikes, y, key=lambda s: s.y) for y in (top, end))
        return [Strike(s.x, s.y - top, s.character, s.weight, s.pitch, s.letter) for s in self.strikes[first:last]]

    def text_at(
        self,
        n: int,
        length: Fraction,
        x: Fraction,
        y: Fraction,
        width: Fraction,
        *,
        step: Fraction | None = None,
    ) -> str:
        """What stands on the line at exactly y of form n, in cells that begin in [x, x + width).

        Blanks stand for empty cells at the box's commonest pitch, to the full width of the box; a box with
        nothing in it gives no text at all. The same character struck again in the same place is read once;
        two different characters in one place cannot be read, and are an error.
        """
        here = [s for s in self.form(n, length, step=step) if s.y == y and x <= s.x < x + width]
        if not here:
            return ""
        counts = Counter(s.pitch for s in here)
        pitch = max(counts, key=lambda p: (counts[p], p))
        text, reached = "", x
        for strike in _in_reading_order(here):
            if strike.x < reached:
                raise PaperError(f"two characters in one place: {text[-1:]!r} and {strike.character!r}")
            text += " " * floor((strike.x - reached) * pitch + Fraction(1, 2)) + strike.character
            reached = strike.right
        return text + " " * max(0, floor((x + width - reached) * pitch))

    @staticmethod
    def _edge(n: int, length: Fraction, step: Fraction | None) -> Fraction:
        exact = n * Fraction(length)
        return exact if step is None else floor(exact / step) * step


def _in_reading_order(strikes: list[Strike]) -> list[Strike]:
    """From left to right, a repeated strike left out."""
    once = {(s.x, s.character, s.pitch): s for s in strikes}
    return [once[key] for key in sorted(once)]


def read(
    stream: bytes,
    language: str,
    *,
    table: str = "cp437",
    form: Fraction | None = None,
    width: Fraction = Fraction(136, 10),
    upper_prints: bool = False,
    flow_bytes_in_parameters: bool = False,
    table_names: Mapping[tuple[int, int], str] = TABLE_NAMES,
) -> Paper:
    """Read a whole stream in `escp9` or `plain`, and give the paper.

    `form` is the form length on the printer's switches; `width` how far the head can go; `upper_prints` says
    that 80 to 9F print at power-on. `flow_bytes_in_parameters` allows 11 and 13 hex inside commands, for a
    line that is known to pass them. `table_names` says which codec each d2, d3 of ESC ( t stands for.
    """
    kinds: dict[str, type[_Plain]] = {"escp9": _Escp9, "plain": _Plain}
    if language not in kinds:
        raise ValueError(f"no such language here: {language!r}")
    printer = kinds[language](stream, table, form, width, upper_prints)
    if isinstance(printer, _Escp9):
        printer.flow_bytes_in_parameters = flow_bytes_in_parameters
        printer.table_names = table_names
    return printer.run()


class _Plain:
    """A head and paper that know CR, LF, FF and printable characters."""

    def __init__(self, stream: bytes, table: str, form: Fraction | None, width: Fraction, upper_prints: bool) -> None:
        self.stream, self.at = stream, 0
        self.table, self.switch_form, self.width, self.switch_upper = table, form, width, upper_prints
        self.x = self.y = Fraction(0)
        self.head_known = True
        self.held: list[Strike] = []
        self.struck: list[Strike] = []
        self.controls: dict[int, Callable[[], None]] = {
            0x0D: self.carriage_return,
            0x0A: self.line_feed,
            0x0C: self.form_feed,
        }
        self.defaults()

    def defaults(self) -> None:
        """The settings at power-on."""
        self.base, self.condensed = 10, False
        self.bold = self.double = self.letter = False
        self.spacing = Fraction(1, 6)
        self.length, self.skip = self.switch_form, Fraction(0)
        self.top = self.y
        self.upper = self.switch_upper
        self.national = 0
        self.tables, self.selected = {0: ITALIC, 1: self.table}, 1

    def run(self) -> Paper:
        while self.at < len(self.stream):
            byte = self.stream[self.at]
            self.at += 1
            if byte in (XON, XOFF):
                raise self.never(f"{byte:02X} hex, which is flow control")
            if byte in self.controls:
                self.controls[byte]()
            elif self.prints(byte):
                self.character(byte)
            else:
                raise self.wrong(f"{byte:02X} hex is not known")
        return Paper(self.struck, self.y, self.held)

    def wrong(self, what: str) -> PaperError:
        return PaperError(f"byte {self.at - 1}: {what}")

    def never(self, what: str) -> NeverSendError:
        return NeverSendError(f"byte {self.at - 1}: never to be sent: {what}")

    def prints(self, byte: int) -> bool:
        if 0x80 <= byte <= 0x9F or byte == 0xFF:
            return self.upper
        return byte >= 0x20 and byte != 0x7F

    def pitch(self) -> Fraction:
        return CONDENSED[self.base] if self.condensed else Fraction(self.base)

    def shape(self, byte: int) -> str:
        """The character that a byte stands for now."""
        if byte < 0x80:
            place = NATIONAL_PLACES.find(chr(byte))
            return chr(byte) if place < 0 else NATIONAL_SETS[self.national][place]
        table = self.tables.get(self.selected, ITALIC)
        if table == ITALIC:
            raise self.wrong(f"{byte:02X} hex in the italic table")
        try:
            shape = bytes([byte]).decode(table)
        except UnicodeDecodeError:
            raise self.wrong(f"{byte:02X} hex has no character in {table}") from None
        if len(shape) != 1 or not (shape.isprintable() or shape == "\xa0"):
            raise self.wrong(f"{byte:02X} hex prints nothing in {table}")
        return shape

    def character(self, byte: int) -> None:
        if not self.head_known:
            raise self.wrong("printing after FF without CR: where the head stands is not known")
        weight = Weight.BOLD if self.bold else Weight.NONE
        if self.double and not self.letter:
            weight |= Weight.DOUBLE
        strike = Strike(self.x, self.y, self.shape(byte), weight, self.pitch(), self.letter)
        if strike.right > self.width:
            raise self.wrong(f"{strike.character!r} at {self.x} in is beyond the right edge")
        if strike.character not in " \xa0":
            self.held.append(strike)
        self.x = strike.right

    def strike_line(self) -> None:
        self.struck += self.held
        self.held = []

    def carriage_return(self) -> None:
        self.strike_line()
        self.x, self.head_known = Fraction(0), True

    def line_feed(self) -> None:
        self.strike_line()
        self.y = self.landing(self.y + self.spacing)

    def landing(self, y: Fraction) -> Fraction:
        """Where a feed to y ends: past the lines to be skipped."""
        if not self.skip or self.length is None:
            return y
        following = self.next_top()
        return following if y >= following - self.skip else y

    def next_top(self) -> Fraction:
        if self.length is None:
            raise self.wrong("the form length was never set")
        return self.top + self.length * (floor((self.y - self.top) / self.length) + 1)

    def form_feed(self) -> None:
        self.strike_line()
        self.y = self.next_top()
        self.head_known = self.head_known and self.x == 0


class _Escp9(_Plain):
    """The same head and paper, steered by ESC/P as 9-pin printers take it."""

    flow_bytes_in_parameters = False
    table_names: Mapping[tuple[int, int], str] = TABLE_NAMES

    def __init__(self, stream: bytes, table: str, form: Fraction | None, width: Fraction, upper_prints: bool) -> None:
        super().__init__(stream, table, form, width, upper_prints)
        self.controls |= {
            0x07: self.bell,
            0x0F: self.set_to("condensed", True),
            0x12: self.set_to("condensed", False),
            0x18: self.cancel,
            ESC: self.escape,
        }
        self.escapes: dict[str, Callable[[], None]] = {
            "@": self.reset,
            "P": self.set_to("base", 10),
            "M": self.set_to("base", 12),
            "g": self.set_to("base", 15),
            "2": self.set_to("spacing", Fraction(1, 6)),
            "0": self.set_to("spacing", Fraction(1, 8)),
            "3": lambda: setattr(self, "spacing", Fraction(self.parameter(), 216)),
            "A": lambda: setattr(self, "spacing", Fraction(self.parameter(0, 85), 72)),
            "J": self.advance,
            "C": self.form_length,
            "N": self.skip_perforation,
            "O": self.set_to("skip", Fraction(0)),
            "G": self.set_to("double", True),
            "H": self.set_to("double", False),
            "E": self.set_to("bold", True),
            "F": self.set_to("bold", False),
            "x": lambda: setattr(self, "letter", self.digit(1) == 1),
            "$": self.position,
            "t": lambda: setattr(self, "selected", self.digit(1)),
            "(": self.assign_table,
            "6": self.set_to("upper", True),
            "7": self.set_to("upper", False),
            "R": self.national_set,
            "U": self.one_direction,
        }

    def set_to(self, name: str, value: object) -> Callable[[], None]:
        return lambda: setattr(self, name, value)

    def parameter(self, least: int = 0, most: int = 255) -> int:
        if self.at >= len(self.stream):
            self.at += 1
            raise self.wrong("the stream ends inside a command")
        value = self.stream[self.at]
        self.at += 1
        if value in (XON, XOFF) and not self.flow_bytes_in_parameters:
            raise self.never(f"{value:02X} hex, which is flow control, in a parameter")
        if not least <= value <= most:
            raise self.wrong(f"parameter {value} is not {least} to {most}")
        return value

    def digit(self, most: int) -> int:
        """A parameter that may also be given as the character of the figure."""
        value = self.parameter(0, 0x30 + most)
        value -= 0x30 if value >= 0x30 else 0
        if value > most:
            raise self.wrong(f"parameter {value} is not 0 to {most}")
        return value

    def escape(self) -> None:
        name = chr(self.parameter())
        if name in "8Qj":
            raise self.never(f"ESC {name}")
        if name not in self.escapes:
            raise self.wrong(f"ESC {name!r} is not known")
        self.escapes[name]()

    def reset(self) -> None:
        if self.held:
            raise self.wrong("ESC @ with a line unprinted: printers print it or drop it")
        self.x, self.head_known = Fraction(0), True
        self.defaults()

    def bell(self) -> None:
        """Heard, not seen."""

    def cancel(self) -> None:
        self.held = []

    def advance(self) -> None:
        amount = Fraction(self.parameter(), 216)
        self.strike_line()
        if self.landing(self.y + amount) != self.y + amount:
            raise self.wrong("ESC J into lines to be skipped: printers differ")
        self.y += amount

    def form_length(self) -> None:
        lines = self.parameter(0, 127)
        length = lines * self.spacing if lines != NUL else Fraction(self.parameter(1, 22))
        if not 0 < length <= LONGEST_FORM:
            raise self.wrong(f"a form of {length} in")
        self.length, self.skip, self.top = length, Fraction(0), self.y

    def skip_perforation(self) -> None:
        skip = self.parameter(1, 127) * self.spacing
        if self.length is None:
            raise self.wrong("lines to be skipped on a form whose length was never set")
        if not 0 < skip < self.length:
            raise self.wrong(f"{skip} in to be skipped on a form of {self.length} in")
        self.skip = skip

    def position(self) -> None:
        low = self.parameter()
        x = Fraction(low + 256 * self.parameter(), 60)
        if x >= self.width:
            raise self.wrong(f"{x} in is beyond the right edge")
        self.x, self.head_known = x, True

    def one_direction(self) -> None:
        self.digit(1)

    def national_set(self) -> None:
        value = self.parameter()
        if value not in NATIONAL_SETS:
            raise self.wrong(f"no national set {value}")
        self.national = value

    def assign_table(self) -> None:
        if chr(self.parameter()) != "t":
            raise self.wrong("ESC ( with anything but t is not known")
        if (self.parameter(), self.parameter()) != (3, 0):
            raise self.wrong("ESC ( t takes three bytes")
        place = self.digit(3)
        name = (self.parameter(), self.parameter())
        if name == (0, 0):
            self.tables[place] = ITALIC
        elif name in self.table_names:
            self.tables[place] = self.table_names[name]
        else:
            raise self.wrong(f"no character table {name} is known")
