"""The interface of a language, for any `Repertoire`; and the parts of command tables that languages share."""

from collections.abc import Callable

from cheque.language import LanguageError, Look, Printer, Strikes, reading, writing
from cheque.language.repertoire import AVOIDED, Command, Known, Repertoire, numbered, setting
from cheque.page import Mark, Weight
from cheque.tongue import tr
from cheque.units import INCH


class EscLanguage:
    """A language of `cheque.language.Language`, told by its repertoire."""

    def __init__(self, repertoire: Repertoire) -> None:
        self.repertoire = repertoire
        self.name = repertoire.name
        self.abilities = repertoire.abilities

    def cannot(self, look: Look, marks: tuple[Mark, ...], printer: Printer) -> list[str]:
        """Every reason why these marks cannot be struck, or this form fed, exactly."""
        return writing.cannot(self.repertoire, look, marks, printer)

    def encode(self, marks: tuple[Mark, ...], look: Look, printer: Printer, advance: int) -> bytes:
        """The bytes of one form."""
        return writing.encode(self.repertoire, marks, look, printer, advance)

    def decode(self, data: bytes, printer: Printer) -> Strikes:
        """Bytes to strikes."""
        return reading.decode(self.repertoire, data, printer)


#: double strike and bold are the same bytes in all three languages
WEIGHTS = (
    ("bold", Weight.BOLD, "\x1bF", "\x1bE"),
    ("double-strike", Weight.DOUBLE, "\x1bH", "\x1bG"),
)
WEIGHT_COMMANDS = (
    setting("\x1bE", "bold", bold=True),
    setting("\x1bF", "bold", bold=False),
    setting("\x1bG", "double-strike", double=True),
    setting("\x1bH", "double-strike", double=False),
)


def counted_spacing(name: str, unit: Callable[[Printer], int], ability: str = "") -> Command:
    """ESC 3 or ESC +: the spacing is n units."""

    def effect(known: Known, parameters: str, printer: Printer) -> Known:
        return known._replace(spacing=ord(parameters) * unit(printer))

    return numbered(name, "[\\x01-\\xff]", effect, ability)


def form_length(lines: str) -> tuple[Command, ...]:
    """ESC C with a number of lines (a pattern) or NUL and inches. Nothing is fed by it: only noted.

    It makes the current line the top of form, for the front panel's form feed; FF itself is never read.
    """

    def in_lines(known: Known, parameters: str, printer: Printer) -> Known:
        if known.spacing is None:
            raise LanguageError(tr("a form length in lines, but the line spacing was never set"))
        return known._replace(length=ord(parameters) * known.spacing)

    def in_inches(known: Known, parameters: str, printer: Printer) -> Known:
        return known._replace(length=ord(parameters) * INCH)

    return (
        numbered("\x1bC\x00", "[\\x01-\\x16]", in_inches),
        numbered("\x1bC", lines, in_lines),
    )


def skip_over_perforation() -> tuple[Command, ...]:
    """ESC N n, ESC O. Under a skip the feed depends on where the page is: nothing is fed or struck then."""

    def on(known: Known, parameters: str, printer: Printer) -> Known:
        return known._replace(skip=True)

    return (numbered("\x1bN", "[\\x01-\\x7f]", on), setting("\x1bO", skip=False))


def spacing_bytes(units: int, fixed: dict[int, str], counted: tuple[tuple[str, int], ...]) -> str:
    """The command for a line spacing: a fixed one, or n of the first unit that gives it; "" when none does."""
    if units in fixed:
        return fixed[units]
    for name, unit in counted:
        number, off = divmod(units, unit)
        if not off and 0 < number <= 255 and number not in AVOIDED:
            return name + chr(number)
    return ""
