"""ESC/P of 24-pin printers: feeds of 1/180 in, and of 1/360 in by ESC + where the printer steps so.

Source of every command: ESC/P Reference Manual (1997), as in the documents' table. Never sent: ESC 8
(paper-out detector off), ESC Q and ESC j (deselect some printers), FF (its length is the printer's setting),
and 11, 13 and 1A hex even as numbers.
"""

from cheque.language import Printer, escp
from cheque.language.esc import WEIGHTS, EscLanguage, counted_spacing, spacing_bytes
from cheque.language.repertoire import Feed, Repertoire
from cheque.units import INCH

UNIT, FINE = INCH // 180, INCH // 360


def feeds(printer: Printer) -> tuple[Feed, ...]:
    """ESC J n; and, for a step of 1/360 in, a line feed of ESC + n."""
    usual = Feed(UNIT, "\x1bJ")
    return (usual,) if "360ths" in printer.without else (usual, Feed(FINE, "\x1b+", "\n"))


def spacing(units: int, printer: Printer) -> str:
    """ESC 2, ESC 0, ESC 3 n or ESC + n."""
    counted = (("\x1b3", UNIT),) if "360ths" in printer.without else (("\x1b3", UNIT), ("\x1b+", FINE))
    return spacing_bytes(units, {INCH // 6: "\x1b2", INCH // 8: "\x1b0"}, counted)


LANGUAGE = EscLanguage(
    Repertoire(
        name="escp24",
        abilities={**escp.ABILITIES, "360ths": "ESC +, line spacing in 1/360 in"},
        pitches=escp.PITCHES,
        weights=WEIGHTS,
        feeds=feeds,
        spacing=spacing,
        jump=escp.POSITION,
        opening=escp.opening,
        most_lines=127,
        commands=(
            *escp.COMMANDS,
            counted_spacing("\x1b3", lambda printer: UNIT),
            counted_spacing("\x1b+", lambda printer: FINE, "360ths"),
        ),
        needs=escp.NEEDS,
        tables=escp.tables,
        table_ability="character-tables",
        reset=escp.RESET,
    )
)
