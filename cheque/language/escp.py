"""ESC/P as 9-pin and 24-pin printers share it: tables, quality, pitch, direction.

Source: ESC/P Reference Manual (1997), by the documents' table; the numbers of the registered character
tables from memory of the same manual, compared with the `escp` package. A reset (ESC @) opens every form;
what a printer falls back to is set by its switches, so every state is set again after it.
"""

from functools import partial

from cheque.language import LanguageError, Look, Printer
from cheque.language.esc import WEIGHT_COMMANDS, form_length, skip_over_perforation
from cheque.language.repertoire import (
    CONDENSED,
    FIFTEENTH,
    TENTH,
    TWELFTH,
    Command,
    Jump,
    Known,
    numbered,
    setting,
)
from cheque.language.tables import NATIONAL
from cheque.tongue import tr
from cheque.units import INCH

RESET = "\x1b@"
ABILITIES = {
    "15-to-the-inch": "ESC g, not on older models",
    "bold": "ESC E, ESC F",
    "double-strike": "ESC G, ESC H",
    "letter-quality": "ESC x",
    "one-direction": "ESC U",
    "horizontal-position": "ESC $, in 1/60 in; without it columns are reached by blanks",
    "character-tables": "ESC t; without it the table is the one set on the printer's panel",
    "assigned-tables": "ESC ( t, later models; without it ESC t chooses table 437 only",
}
#: pitch -> (bytes, ability). Condensed narrows 10 and 12 to the inch.
PITCHES = {
    TENTH: ("\x12\x1bP", ""),
    TWELFTH: ("\x12\x1bM", ""),
    FIFTEENTH: ("\x12\x1bg", "15-to-the-inch"),
    CONDENSED[TENTH]: ("\x1bP\x0f", ""),
    CONDENSED[TWELFTH]: ("\x1bM\x0f", ""),
}
POSITION = Jump(INCH // 60, "\x1b$", "horizontal-position")
#: d2 and d3 of ESC ( t
ASSIGNED = {
    "cp437": "\x01\x00",
    "cp850": "\x03\x00",
    "cp852": "\x0a\x00",
    "cp866": "\x0e\x00",
    "latin-1": "\x1d\x10",
    "latin-2": "\x7f\x02",
}
#: states that must be set -> the ability without which a model does not have them
NEEDS = {
    "reset": "",
    "quality": "letter-quality",
    "one_direction": "one-direction",
    "base": "",
    "condensed": "",
    "double": "double-strike",
    "bold": "bold",
    "table": "character-tables",
    "national": "",
    "upper": "",
    "skip": "",
}
_SETS = {number: name for name, (number, _) in NATIONAL.items()}


def tables(printer: Printer) -> tuple[str, ...]:
    """The tables that commands choose: 437, the registered ones where ESC ( t is known, the national sets."""
    assigned = ASSIGNED if "assigned-tables" not in printer.without else {"cp437": ""}
    return (*assigned, *NATIONAL)


def opening(look: Look, printer: Printer) -> str:
    """Quality, direction, table, national set, skip off; after the reset."""
    sent = ""
    if "letter-quality" not in printer.without:
        sent += "\x1bx\x01" if look.quality == "letter" else "\x1bx\x00"
    if "one-direction" not in printer.without:
        sent += "\x1bU\x01" if look.one_direction else "\x1bU\x00"
    if "character-tables" not in printer.without:
        if printer.table in ASSIGNED and printer.table != "cp437":
            sent += "\x1b(t\x03\x00\x01" + ASSIGNED[printer.table]
        sent += "\x1bt\x01"
    number = NATIONAL[printer.table][0] if printer.table in NATIONAL else 0
    return sent + "\x1b6" + "\x1bR" + chr(number) + "\x1bO"


def _assign(known: Known, parameters: str, printer: Printer) -> Known:
    for name, numbers in ASSIGNED.items():
        if parameters == numbers:
            return known._replace(assigned=name, table=None)  # some models change it at once, some at ESC t
    raise LanguageError(tr("a character table that this decoder does not know"))


def _choose(known: Known, parameters: str, printer: Printer) -> Known:
    if not known.reset:
        raise LanguageError(tr("table 1 is chosen, but what it holds was never reset"))
    return known._replace(table=known.assigned or "cp437")


def _national(known: Known, parameters: str, printer: Printer) -> Known:
    return known._replace(national=_SETS[ord(parameters)])


def _pitch(base: int, known: Known, parameters: str, printer: Printer) -> Known:
    condensed = False if known.condensed is False else None  # on some models a pitch ends condensed
    return known._replace(base=base, condensed=condensed)


COMMANDS: tuple[Command, ...] = (
    *WEIGHT_COMMANDS,
    numbered("\x1bP", "", partial(_pitch, TENTH)),
    numbered("\x1bM", "", partial(_pitch, TWELFTH)),
    numbered("\x1bg", "", partial(_pitch, FIFTEENTH), "15-to-the-inch"),
    setting("\x0f", condensed=True),
    setting("\x12", condensed=False),
    setting("\x1bx\x00", "letter-quality", quality="draft"),
    setting("\x1bx\x01", "letter-quality", quality="letter"),
    setting("\x1bU\x00", "one-direction", one_direction=False),
    setting("\x1bU\x01", "one-direction", one_direction=True),
    setting("\x1b2", spacing=INCH // 6),
    setting("\x1b0", spacing=INCH // 8),
    setting("\x1b6", upper=True),
    numbered("\x1b(t\x03\x00\x01", "..", _assign, "assigned-tables"),
    numbered("\x1bt", "\\x01", _choose, "character-tables"),
    numbered("\x1bR", "[\\x00-\\x0d]", _national),
    *form_length("[\\x01-\\x7f]"),
    *skip_over_perforation(),
)
