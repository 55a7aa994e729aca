"""A printer as a machine that was left in some state: what a stream then strikes.

Apart from the tool's decoder, and its opposite: it begins in whatever state it is given and refuses only what
it does not know. Run from several starts and with the habits in which models differ, it tells whether a
stream strikes the same on all of them. Commands are those of the trade's published tables (ESC/P Reference
Manual, 1997; makers' command tables for PPDS; both partly from memory).
"""

from dataclasses import dataclass, field

from cheque.language import HIGH_LETTERS
from cheque.language.tables import NATIONAL, NOTHING, TABLES, table_of
from cheque.units import INCH

CONDENSED = {INCH // 10: 7 * INCH // 120, INCH // 12: INCH // 20, INCH // 15: INCH // 15}
SETS = [name for name, _ in sorted(NATIONAL.items(), key=lambda item: item[1][0])]
ASSIGNED = {
    (1, 0): "cp437",
    (3, 0): "cp850",
    (10, 0): "cp852",
    (14, 0): "cp866",
    (29, 16): "latin-1",
    (127, 2): "latin-2",
}
PAGES = {437: "cp437", 850: "cp850", 852: "cp852", 858: "cp858", 866: "cp866"}


class Garbage(Exception):
    """The stream says something that this printer does not know, or would do in part."""


@dataclass
class Carriage:
    """State and habits. A habit is something that models do in different ways."""

    language: str
    printer: object
    base: int = INCH // 10
    condensed: bool = False
    bold: bool = False
    double: bool = False
    letter: bool = False
    upper: bool = False
    national: int = 0
    table: str = "cp437"
    spacing: int = INCH // 6
    prepared: int = INCH // 8
    length: int = 11 * INCH
    skip: int = 0
    x: int = 0
    lf_returns: bool = True
    quality_sets_pitch: bool = False
    pitch_ends_condensed: bool = False
    assigns_at_once: bool = False
    jumps_left: bool = True
    reset_returns: bool = True
    y: int = 0
    held: list = field(default_factory=list)
    struck: list = field(default_factory=list)

    def __post_init__(self):
        self.top = 0
        self.assigned = "cp437"
        self.at = 0
        self.table = self.table if self.own_table() is None else self.own_table()

    def own_table(self):
        """The table set on the panel of a model that commands cannot tell one."""
        lacks = {"plain"} if self.language == "plain" else {"character-tables", "code-pages"}
        told = self.language == "plain" or lacks & self.printer.without
        return self.printer.table if told else None

    def run(self, data):
        """All the cells struck, sorted, and how far the paper moved."""
        self.data, self.at = data, 0
        while self.at < len(data):
            byte = self.take()
            if byte in (0x11, 0x13):
                raise Garbage("flow control")
            if byte == 0x1B:
                self.escape()
            elif byte == 0x0D:
                self.print_line()
                self.x = 0
            elif byte == 0x0A:
                self.feed(self.spacing)
            elif byte in (0x0F, 0x12) and self.language != "plain":
                self.condensed = byte == 0x0F
                if self.language == "ppds" and byte == 0x12:
                    self.base = INCH // 10
            else:
                self.strike(byte)
        return sorted(self.struck), self.y

    def take(self):
        if self.at == len(self.data):
            raise Garbage("the stream ends inside a command")
        self.at += 1
        byte = self.data[self.at - 1]
        if byte in (0x11, 0x13):
            raise Garbage("flow control")
        return byte

    def strike(self, byte):
        if (
            byte < 0x20
            or byte == 0x7F
            or (0x80 <= byte < 0xA0 and not self.upper and HIGH_LETTERS not in self.printer.vouched)
        ):
            raise Garbage(f"{byte:02X}")
        base = self.table if self.table in TABLES else "cp437"
        national = SETS[self.national] if self.language in ("escp9", "escp24") else ""
        letter = table_of(base, national).letters[byte]
        if letter == NOTHING:
            raise Garbage(f"{byte:02X} is no letter")
        pitch = CONDENSED[self.base] if self.condensed else self.base
        heavy = self.double and not (self.language == "escp9" and self.letter)
        if letter != " ":
            self.held.append((self.y, self.x, pitch, int(heavy) + 2 * self.bold, letter))
        self.x += pitch

    def print_line(self):
        self.struck += self.held
        self.held = []

    def feed(self, distance):
        self.print_line()
        if distance % self.printer.step:
            raise Garbage("part of a step")
        if self.lf_returns:
            self.x = 0
        self.y += distance
        if self.skip:
            past = (self.y - self.top) % self.length
            if past >= self.length - self.skip:
                self.y += self.length - past

    def escape(self):
        name = chr(self.take())
        escp = self.language in ("escp9", "escp24")
        if self.language == "plain":
            raise Garbage("ESC")
        if name in "EFGH":
            setattr(self, "bold" if name in "EF" else "double", name in "EG")
        elif name == "J":
            self.feed(self.take() * self.unit())
        elif name == "3":
            self.spacing = self.take() * self.unit()
        elif name == "0":
            self.spacing = INCH // 8
        elif name == "U":
            self.flag()
        elif name == "6":
            self.upper = True
        elif name == "O":
            self.skip = 0
        elif name == "N":
            self.skip = self.take() * self.spacing
        elif name == "C":
            lines = self.take()
            if lines == 0 and not escp:
                raise Garbage("inches on some models only")
            self.length = lines * self.spacing if lines else self.take() * INCH
            self.top = self.y
            if not self.length:
                raise Garbage("no length")
        elif escp:
            self.escp(name)
        else:
            self.ppds(name)

    def unit(self):
        if self.language == "ppds":
            return INCH // 180 if "216ths" in self.printer.without else INCH // 216
        return INCH // 216 if self.language == "escp9" else INCH // 180

    def flag(self):
        value = self.take()
        if value > 1:
            raise Garbage("neither on nor off")
        return value

    def escp(self, name):
        if name == "@":
            self.held = []  # some models lose what is on the line
            self.top = self.y
            self.skip, self.assigned = 0, "cp437"
            if self.reset_returns:
                self.x = 0
        elif name in "PMg":
            self.base = {"P": INCH // 10, "M": INCH // 12, "g": INCH // 15}[name]
            self.condensed = self.condensed and not self.pitch_ends_condensed
        elif name == "2":
            self.spacing = INCH // 6
        elif name == "x":
            self.letter = bool(self.flag())
        elif name == "t":
            if self.take() != 1:
                raise Garbage("italic or a user's table")
            self.table = self.assigned
        elif name == "R":
            self.national = self.take()
            if self.national > 13:
                raise Garbage("no national set")
        elif name == "$":
            low = self.take()
            column = (low + 256 * self.take()) * INCH // 60
            if column >= self.x or self.jumps_left:
                self.x = column
        elif name == "+" and self.language == "escp24":
            self.spacing = self.take() * INCH // 360
        elif name == "(" and [self.take() for _ in range(4)] == [ord("t"), 3, 0, 1]:
            self.assigned = ASSIGNED.get((self.take(), self.take()))
            if self.assigned is None:
                raise Garbage("a table not known")
            if self.assigns_at_once:
                self.table = self.assigned
        else:
            raise Garbage(f"ESC {name!r}")

    def ppds(self, name):
        if name == "I":
            if self.take() not in (0, 2):
                raise Garbage("no quality")
            if self.quality_sets_pitch:
                self.base, self.condensed = INCH // 12, False
        elif name == ":":
            self.base = INCH // 12
        elif name == "A":
            self.prepared = self.take() * INCH // 72
        elif name == "2":
            self.spacing = self.prepared
        elif name == "d":
            low = self.take()
            self.x += (low + 256 * self.take()) * INCH // 120
        elif name == "[" and [self.take() for _ in range(5)] == [ord("T"), 4, 0, 0, 0]:
            self.table = PAGES.get(256 * self.take() + self.take())
            if self.table is None:
                raise Garbage("a code page not known")
        else:
            raise Garbage(f"ESC {name!r}")


def starts(language, printer):
    """The same kind of printer, left in different states, with different habits."""
    contrary = {
        "base": INCH // 12,
        "condensed": True,
        "bold": True,
        "double": True,
        "letter": True,
        "upper": True,
        "national": 4,
        "table": "cp852",
        "spacing": INCH // 8,
        "prepared": INCH // 4,
        "length": 4 * INCH,
        "skip": INCH,
        "x": 3 * INCH,
        "lf_returns": False,
        "quality_sets_pitch": True,
        "pitch_ends_condensed": True,
        "assigns_at_once": True,
        "jumps_left": False,
        "reset_returns": False,
    }
    for ability, state in (("bold", "bold"), ("double-strike", "double"), ("letter-quality", "letter")):
        if ability in printer.without:  # what a model cannot do it was not left doing
            del contrary[state]
    if language == "plain":  # nothing can be set: the panel's settings are as they are said to be
        contrary = {"x": 3 * INCH, "lf_returns": False}
    return [Carriage(language, printer), Carriage(language, printer, **contrary)]


def struck_on_all(data, language, printer):
    """The cells and the feed that every start agrees on; Garbage when one does not know, or they differ."""
    answers = [carriage.run(data) for carriage in starts(language, printer)]
    if any(answer != answers[0] for answer in answers):
        raise Garbage("printers left in different states strike different things")
    return answers[0]
