"""ESC/P of 9-pin printers: feeds of 1/216 in, ESC $ in 1/60 in; letter quality overrides double strike.

Source of every command: ESC/P Reference Manual (1997), as in the documents' table. Never sent: ESC 8 (paper-out
detector off), ESC Q and ESC j (deselect some printers), FF (its length is the printer's setting), and 11, 13
and 1A hex even as numbers.
"""

from cheque.language import Printer, escp
from cheque.language.esc import WEIGHTS, EscLanguage, counted_spacing, spacing_bytes
from cheque.language.repertoire import Feed, Repertoire
from cheque.units import INCH

UNIT = INCH // 216


def feeds(printer: Printer) -> tuple[Feed, ...]:
    """ESC J n. A model that steps 1/72 in takes it too, three units a step."""
    return (Feed(UNIT, "\x1bJ"),)


def spacing(units: int, printer: Printer) -> str:
    """ESC 2, ESC 0 or ESC 3 n."""
    return spacing_bytes(units, {INCH // 6: "\x1b2", INCH // 8: "\x1b0"}, (("\x1b3", UNIT),))


LANGUAGE = EscLanguage(
    Repertoire(
        name="escp9",
        abilities=escp.ABILITIES,
        pitches=escp.PITCHES,
        weights=WEIGHTS,
        feeds=feeds,
        spacing=spacing,
        jump=escp.POSITION,
        opening=escp.opening,
        most_lines=127,
        commands=(*escp.COMMANDS, counted_spacing("\x1b3", lambda printer: UNIT)),
        needs=escp.NEEDS,
        tables=escp.tables,
        table_ability="character-tables",
        reset=escp.RESET,
        letter_overrides_double=True,
    )
)
