"""PPDS: no reset common to all models, DC2 always back to 10 to the inch, feeds of 1/216 in or 1/180 in.

Source of every command: several makers' command tables, as in the documents' table; the code pages other
than 437 and 850 by their numbers, from memory. Never sent: ESC @ (not a reset on all), ESC R (clears tabs),
ESC P and ESC 4, ESC 5 (different things on different models), ESC 8, ESC Q, ESC j, FF, and 11, 13 and 1A hex
even as numbers. ESC I comes first, because on some models it sets the pitch too: the decoder forgets the
pitch at ESC I.
"""

from cheque.language import LanguageError, Look, Printer
from cheque.language.esc import (
    WEIGHT_COMMANDS,
    WEIGHTS,
    EscLanguage,
    counted_spacing,
    form_length,
    skip_over_perforation,
    spacing_bytes,
)
from cheque.language.repertoire import CONDENSED, TENTH, TWELFTH, Feed, Jump, Known, Repertoire, numbered, setting
from cheque.tongue import tr
from cheque.units import INCH

ABILITIES = {
    "bold": "ESC E, ESC F",
    "double-strike": "ESC G, ESC H",
    "letter-quality": "ESC I 2; without it quality is set on the printer's panel",
    "one-direction": "ESC U",
    "horizontal-position": "ESC d after a CR, in 1/120 in, later models; without it columns are reached by blanks",
    "code-pages": "ESC [ T; without it the table is the one set on the printer's panel",
    "216ths": "ESC 3 and ESC J count 1/216 in; without it they count 1/180 in",
}
#: 12 to the inch is begun from 10, condensed from either
PITCHES = {
    TENTH: ("\x12", ""),
    TWELFTH: ("\x12\x1b:", ""),
    CONDENSED[TENTH]: ("\x12\x0f", ""),
    CONDENSED[TWELFTH]: ("\x12\x1b:\x0f", ""),
}
#: high and low byte of the code page's number
PAGES = {
    "cp437": "\x01\xb5",
    "cp850": "\x03\x52",
    "cp852": "\x03\x54",
    "cp858": "\x03\x5a",
    "cp866": "\x03\x62",
}
NEEDS = {
    "quality": "letter-quality",
    "one_direction": "one-direction",
    "base": "",
    "condensed": "",
    "double": "double-strike",
    "bold": "bold",
    "table": "code-pages",
    "upper": "",
    "skip": "",
}


def unit(printer: Printer) -> int:
    """What ESC 3 and ESC J count on this model."""
    return INCH // 180 if "216ths" in printer.without else INCH // 216


def feeds(printer: Printer) -> tuple[Feed, ...]:
    """ESC J n."""
    return (Feed(unit(printer), "\x1bJ"),)


def spacing(units: int, printer: Printer) -> str:
    """ESC A 12 with ESC 2, ESC 0, or ESC 3 n."""
    return spacing_bytes(units, {INCH // 6: "\x1bA\x0c\x1b2", INCH // 8: "\x1b0"}, (("\x1b3", unit(printer)),))


def opening(look: Look, printer: Printer) -> str:
    """Quality first, then direction, table, skip off."""
    sent = ""
    if "letter-quality" not in printer.without:
        sent += "\x1bI\x02" if look.quality == "letter" else "\x1bI\x00"
    if "one-direction" not in printer.without:
        sent += "\x1bU\x01" if look.one_direction else "\x1bU\x00"
    sent += "\x1b6"
    if "code-pages" not in printer.without:
        sent += "\x1b[T\x04\x00\x00\x00" + PAGES.get(printer.table, PAGES["cp437"])
    return sent + "\x1bO"


def _ten(known: Known, parameters: str, printer: Printer) -> Known:
    return known._replace(base=TENTH, condensed=False)


def _twelve(known: Known, parameters: str, printer: Printer) -> Known:
    if known.base != TENTH or known.condensed:
        raise LanguageError(tr("12 to the inch is begun, but not from 10 to the inch (DC2)"))
    return known._replace(base=TWELFTH)


def _condensed(known: Known, parameters: str, printer: Printer) -> Known:
    if known.base is None:
        raise LanguageError(tr("condensed is begun, but the pitch was never set (DC2)"))
    return known._replace(condensed=True)


def _quality(known: Known, parameters: str, printer: Printer) -> Known:
    quality = "letter" if parameters == "\x02" else "draft"
    return known._replace(quality=quality, base=None, condensed=None)


def _prepare(known: Known, parameters: str, printer: Printer) -> Known:
    return known._replace(prepared=INCH // 6)


def _sixth(known: Known, parameters: str, printer: Printer) -> Known:
    if known.prepared is None:
        raise LanguageError(tr("ESC 2 without ESC A 12 before it"))
    return known._replace(spacing=known.prepared)


def _page(known: Known, parameters: str, printer: Printer) -> Known:
    for name, number in PAGES.items():
        if parameters == number:
            return known._replace(table=name)
    raise LanguageError(tr("a code page that this decoder does not know"))


LANGUAGE = EscLanguage(
    Repertoire(
        name="ppds",
        abilities=ABILITIES,
        pitches=PITCHES,
        weights=WEIGHTS,
        feeds=feeds,
        spacing=spacing,
        jump=Jump(INCH // 120, "\x1bd", "horizontal-position", from_start=True),
        opening=opening,
        most_lines=255,
        commands=(
            *WEIGHT_COMMANDS,
            numbered("\x12", "", _ten),
            numbered("\x1b:", "", _twelve),
            numbered("\x0f", "", _condensed),
            numbered("\x1bI", "[\\x00\\x02]", _quality, "letter-quality"),
            setting("\x1bU\x00", "one-direction", one_direction=False),
            setting("\x1bU\x01", "one-direction", one_direction=True),
            numbered("\x1bA", "\\x0c", _prepare),
            numbered("\x1b2", "", _sixth),
            setting("\x1b0", spacing=INCH // 8),
            counted_spacing("\x1b3", unit),
            setting("\x1b6", upper=True),
            numbered("\x1b[T\x04\x00\x00\x00", "..", _page, "code-pages"),
            *form_length("[\\x01-\\xff]")[1:],
            *skip_over_perforation(),
        ),
        needs=NEEDS,
        tables=lambda printer: (*PAGES, "ascii"),
        table_ability="code-pages",
    )
)
