"""Printer control languages: placed characters to bytes, and bytes back to placed characters.

One file a language, behind the small interface below. A decoder is written from the printers' command
tables alone: it begins knowing no state at all, refuses to strike under a state that was never set, and
refuses every byte it does not know; so what it reads back is what a printer that was in any state before
would strike. `get(name)` finds a language; `NAMES` lists them.
"""

from dataclasses import dataclass, field
from importlib import import_module
from typing import NamedTuple, Protocol, cast

from cheque.page import Mark
from cheque.tongue import tr
from cheque.units import INCH

NAMES = ("escp9", "escp24", "plain", "ppds")
#: on this printer bytes 80-9F are letters of its table: in other states of its panel they steer it
HIGH_LETTERS = "high-letters"
#: what a printer can be vouched for -> what it is, for settings (`vouched`) and the documents
VOUCHABLE = {HIGH_LETTERS: "in plain text, bytes 80 to 9F print as letters of the table, as the panel is set"}


class LanguageError(ValueError):
    """What was asked cannot be done exactly in this language on this printer."""


class DecodeError(LanguageError):
    """The bytes are not what this decoder knows; `offset` is the first byte of what it refuses."""

    def __init__(self, message: str, offset: int) -> None:
        super().__init__(tr("byte {offset}: {message}", offset=offset, message=message))
        self.offset = offset


@dataclass(frozen=True, slots=True)
class Printer:
    """What a language must know of one printer.

    step: the true vertical step of its paper feed (units); all feeds are whole numbers of it.
    table: name of its character table ("cp437", "latin-1", …).
    without: abilities of the language that this model lacks, by the names in the language's `abilities`.
    width: how far right of the first column it can strike (units): 13.6 in on a wide carriage, 8 in on a narrow one.
    vouched: what no command can set, but somebody has seen it to be so, by the names in VOUCHABLE.
    """

    language: str
    step: int
    table: str = "cp437"
    without: frozenset[str] = field(default_factory=frozenset)
    width: int = 136 * INCH // 10
    vouched: frozenset[str] = field(default_factory=frozenset)


class Look(NamedTuple):
    """How a form is to be printed, whatever is on it. `length`, and `spacing` from line to line, in units."""

    length: int
    spacing: int
    quality: str = "draft"  # or "letter"
    one_direction: bool = False


class Strikes(NamedTuple):
    """What a decoder read: marks in the order struck (texts may hold blanks), and how far the paper moved."""

    marks: tuple[Mark, ...]
    advance: int


class Language(Protocol):
    """The interface of every language module."""

    name: str
    #: abilities by name -> what they are, for settings (`without`) and the documents
    abilities: dict[str, str]

    def cannot(self, look: Look, marks: tuple[Mark, ...], printer: Printer) -> list[str]:
        """Every reason why these marks cannot be struck, or this form fed, exactly. Empty when they can."""
        ...

    def encode(self, marks: tuple[Mark, ...], look: Look, printer: Printer, advance: int) -> bytes:
        """The bytes of one form: every state set, the marks struck, the paper fed `advance` units in all.

        Marks are already shifted. Raises LanguageError for what `cannot` names.
        """
        ...

    def decode(self, data: bytes, printer: Printer) -> Strikes:
        """Bytes to strikes. Raises DecodeError, and nothing else, on anything it does not know."""
        ...


def get(name: str) -> Language:
    """The language of that name; KeyError when there is none."""
    if name not in NAMES:
        raise KeyError(name)
    return cast(Language, import_module(f"cheque.language.{name}").LANGUAGE)
