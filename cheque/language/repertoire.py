"""What one ESC language can do, as data: the shape that `escp9`, `escp24` and `ppds` fill in.

Commands are text of one character a byte (00-FF), as are all streams inside the language rooms; lengths are
units. `Command.pattern` is the command's bytes with the parameters it may have, as a regular expression;
`effect` says what a printer then knows. Nothing a printer did not hear is known: a state is None until set.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

from cheque.language import LanguageError, Look, Printer
from cheque.page import Weight
from cheque.tongue import mark, tr
from cheque.units import INCH

TENTH, TWELFTH, FIFTEENTH = INCH // 10, INCH // 12, INCH // 15
#: condensed: 10 becomes 17.1 (7/120 in), 12 becomes 20, 15 stays
CONDENSED = {TENTH: 7 * INCH // 120, TWELFTH: INCH // 20, FIFTEENTH: FIFTEENTH}
#: the longest form that ESC C sets (ESC/P Reference Manual, 1997)
LONGEST = 22 * INCH
#: XON, XOFF, and the end-of-file mark that some spoolers and bridges swallow: never sent, not even as numbers
AVOIDED = frozenset({0x11, 0x13, 0x1A})


class Known(NamedTuple):
    """What a printer has been told since it was last in an unknown state. None: never told."""

    reset: bool | None = None
    quality: str | None = None
    one_direction: bool | None = None
    base: int | None = None
    condensed: bool | None = None
    double: bool | None = None
    bold: bool | None = None
    assigned: str | None = None
    table: str | None = None
    national: str | None = None
    upper: bool | None = None
    skip: bool | None = None
    spacing: int | None = None
    prepared: int | None = None
    length: int | None = None


#: what the states are called in a message
WORDS = {
    "reset": mark("the reset"),
    "quality": mark("the quality"),
    "one_direction": mark("the direction of printing"),
    "base": mark("the pitch"),
    "condensed": mark("condensed or not"),
    "double": mark("double strike or not"),
    "bold": mark("bold or not"),
    "table": mark("the character table"),
    "national": mark("the national set"),
    "upper": mark("whether 80-9F print"),
    "skip": mark("skip over perforation"),
    "spacing": mark("the line spacing"),
}


def weight_words(weight: int) -> str:
    """A weight as people call it."""
    known = {0: tr("normal"), 1: tr("double strike"), 2: tr("bold"), 3: tr("double strike and bold")}
    return known.get(weight) or tr("weight {weight}", weight=weight)


class Command(NamedTuple):
    """One command: its bytes as a pattern, how many of them name it, what it changes, what a model needs."""

    pattern: str
    named_by: int
    effect: Callable[[Known, str, Printer], Known]
    ability: str = ""


def setting(name: str, ability: str = "", **states: Any) -> Command:
    """A command without parameters that sets the states named."""

    def effect(known: Known, parameters: str, printer: Printer) -> Known:
        return known._replace(**states)

    return Command(escaped(name), len(name), effect, ability)


def numbered(name: str, parameters: str, effect: Callable[[Known, str, Printer], Known], ability: str = "") -> Command:
    """A command with parameters, given as a regular expression of the bytes they may be."""
    return Command(escaped(name) + parameters, len(name), effect, ability)


def escaped(text: str) -> str:
    """A regular expression of just this text, safe beside anything."""
    return "".join(f"\\x{ord(c):02x}" for c in text)


class Feed(NamedTuple):
    """A way to feed: `before` + one byte n + `after` moves the paper n `unit`s."""

    unit: int
    before: str
    after: str = ""


class Jump(NamedTuple):
    """A way to go right: `name` + two bytes, low first, of `unit`s, counted from the first column.

    `from_start`: the language counts from where the head is, so it is sent just after a CR, and only there.
    """

    unit: int
    name: str
    ability: str
    from_start: bool = False


@dataclass(frozen=True, eq=False)
class Repertoire:
    """Everything the shared encoder and decoder need to know of one language."""

    name: str
    abilities: dict[str, str]
    #: pitch -> (bytes, ability needed or "")
    pitches: dict[int, tuple[str, str]]
    #: (ability, weight, bytes that end it, bytes that begin it)
    weights: tuple[tuple[str, Weight, str, str], ...]
    #: ways to feed on this printer, the usual one first; the second is for steps the first cannot make
    feeds: Callable[[Printer], tuple[Feed, ...]]
    #: bytes that set a line spacing, or "" when none does
    spacing: Callable[[int, Printer], str]
    jump: Jump
    #: the states set at the top of every form, before form length, spacing, pitch and weight
    opening: Callable[[Look, Printer], str]
    #: most lines that ESC C takes
    most_lines: int
    commands: tuple[Command, ...]
    #: states that must be set before anything is struck -> ability without which the state does not exist
    needs: dict[str, str]
    #: the tables that commands can choose on this printer
    tables: Callable[[Printer], tuple[str, ...]]
    table_ability: str
    reset: str = ""
    letter_overrides_double: bool = False

    def can(self, ability: str, printer: Printer) -> bool:
        """Whether this printer has an ability; the ability "" is had by all."""
        return ability not in printer.without

    def style(self, known: Known, printer: Printer) -> tuple[int, int]:
        """Pitch and weight as they stand. LanguageError naming a state that was never set."""
        for state, ability in self.needs.items():
            if getattr(known, state) is None and self.can(ability, printer):
                raise LanguageError(tr("a character is struck, but {words} was never set", words=tr(WORDS[state])))
        if known.base is None or known.skip is not False or not known.upper:
            raise LanguageError(tr("a character is struck under a setting that is not for printing forms"))
        pitch = CONDENSED[known.base] if known.condensed else known.base
        weight = Weight.NORMAL
        if known.double and not (self.letter_overrides_double and known.quality == "letter"):
            weight |= Weight.DOUBLE
        if known.bold:
            weight |= Weight.BOLD
        return pitch, int(weight)
