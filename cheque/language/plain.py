"""Plain text: printable characters, CR and LF, for any printer: 10 to the inch, 6 lines to the inch.

Nothing can be set, so nothing is: pitch, table and quality are as the printer's own panel has them, and its
settings must say so. A form is exactly so many lines, and lines are counted: FF is never sent (its length is
the printer's setting). Every LF follows a CR. Double strike is a line struck again after a CR: the same
letter twice at one place is weight DOUBLE, on paper as in the reading.

Bytes 80 to 9F are letters in some tables, but in some states of a printer's panel they are the control codes 00
to 1F once more, and ESC 6, which ends that, cannot be sent in plain text. So a payee's é of table 437 (82) is
neither sent nor read, unless the printer is vouched for: `Printer.vouched` has "high-letters".

>>> from cheque.units import INCH
>>> printer, look = Printer("plain", INCH // 6), Look(INCH // 2, INCH // 6)
>>> LANGUAGE.encode((Mark(2 * TENTH, SIXTH, TENTH, 0, "Pay"),), look, printer, INCH // 2)
b'\\r\\r\\n  Pay\\r\\n\\r\\n'
"""

import re
from collections import Counter
from functools import lru_cache
from operator import itemgetter
from typing import Any

from cheque.language import HIGH_LETTERS, DecodeError, LanguageError, Look, Printer, Strikes
from cheque.language.repertoire import weight_words
from cheque.language.tables import NOTHING, TABLES, Table, as_bytes, as_letters, table_of, unprintable
from cheque.page import Mark, Weight
from cheque.tongue import counted, tr
from cheque.units import INCH, write_length

TENTH, SIXTH = INCH // 10, INCH // 6
_READING_ORDER = itemgetter(1, 0)
_STEERING = re.compile(r"[\x80-\x9f]")
_TOKEN = re.compile(r"([ -~\x80-\xff]+)|((?:\r\n)+)|(\r)")


class Plain:
    """The language of printers of which nothing is known."""

    def __init__(self) -> None:
        self.name = "plain"
        self.abilities = {"double-strike": "a line struck again after a CR (some printers feed at every CR)"}

    def cannot(self, look: Look, marks: tuple[Mark, ...], printer: Printer) -> list[str]:
        """Every reason why these marks cannot be struck, or this form fed, exactly."""
        if _look_refusals(look, printer):
            return list(_look_refusals(look, printer))
        try:
            self._write(marks, look, printer, look.length // SIXTH * SIXTH)
        except LanguageError as error:
            reasons = []
            for mark in marks:
                name = tr(
                    "{text!r} at {write_length} right, {write_length2} down",
                    text=mark.text,
                    write_length=write_length(mark.x),
                    write_length2=write_length(mark.y),
                )
                reasons += [f"{name} {reason}" for reason in _mark_refusals(mark, look, printer)]
            return reasons or [str(error)]
        return []

    def encode(self, marks: tuple[Mark, ...], look: Look, printer: Printer, advance: int) -> bytes:
        """The bytes of one form."""
        try:
            return self._write(marks, look, printer, advance).encode("latin-1")
        except LanguageError as error:
            raise LanguageError("; ".join(self.cannot(look, marks, printer) or [str(error)])) from None

    def decode(self, data: bytes, printer: Printer) -> Strikes:
        """Bytes to strikes. Raises DecodeError, and nothing else, on anything it does not know."""
        stream = data.decode("latin-1")
        table = table_of(printer.table if printer.table in TABLES else "ascii")
        marks: list[Mark] = []
        passes: list[str] = []
        started = False  # the column is not known before the first CR
        text = ""
        y = end = 0
        scanner: Any = _TOKEN.scanner(stream)  # type: ignore[attr-defined]  # contiguous matches, not in typeshed
        for match in iter(scanner.match, None):
            kind, end = match.lastindex, match.end()
            if kind == 1:
                text = _letters(match, table, started, printer)
                continue
            started = True
            if text:
                passes.append(text)
                text = ""
            if kind == 2:
                if passes:
                    _strike(passes, y, marks, match.start())
                    passes = []
                y += SIXTH * ((end - match.start()) // 2)
        if end != len(stream):
            raise DecodeError(tr("{ord:02X} is not plain text (LF must follow CR)", ord=ord(stream[end])), end)
        if text:
            raise DecodeError(tr("the last line is never printed: no CR after it"), end)
        if passes:
            _strike(passes, y, marks, end)
        return Strikes(tuple(marks), y)

    def _write(self, marks: tuple[Mark, ...], look: Look, printer: Printer, advance: int) -> str:
        refusals = _look_refusals(look, printer)
        if refusals:
            raise LanguageError(refusals[0])
        table = table_of(printer.table)
        letters = "".join([mark[4] for mark in marks])
        if not (table.ascii and letters.isascii() and letters.isprintable()):
            try:
                marks = tuple([mark._replace(text=as_bytes(mark[4], table)) for mark in marks])
            except ValueError as error:
                raise LanguageError(str(error)) from None
            if HIGH_LETTERS not in printer.vouched and any(_STEERING.search(mark[4]) for mark in marks):
                raise LanguageError(tr("letters whose bytes could steer the printer"))
        sent = ["\r"]
        line: list[Mark] = []
        at = 0
        for mark in sorted(marks, key=_READING_ORDER):
            if mark[1] != at:
                if line:
                    sent.append(_line(line, printer))
                    line = []
                sent.append(_feed(mark[1] - at))
                at = mark[1]
            line.append(mark)
        if line:
            sent.append(_line(line, printer))
        if at >= advance:
            raise LanguageError(tr("a mark is below the form"))
        sent.append(_feed(advance - at))
        return "".join(sent)


@lru_cache(maxsize=64)
def _look_refusals(look: Look, printer: Printer) -> tuple[str, ...]:
    found = []
    if look.length <= 0 or look.spacing <= 0 or printer.step <= 0:
        return (tr("step, length and line spacing must be more than nothing"),)
    if SIXTH % printer.step:
        found.append(
            tr("a line of {write_length} is no whole number of the printer's steps", write_length=write_length(SIXTH))
        )
    off = min(look.length % SIXTH, -look.length % SIXTH)
    if off:
        within = (SIXTH // 2) // off
        found.append(
            tr(
                "a form of {write_length} is no whole number of lines at 6 to the inch: plain text would be more "
                "than half a line out after {forms}",
                write_length=write_length(look.length),
                forms=counted(within, "form"),
            )
        )
    if look.spacing % SIXTH:
        found.append(
            tr(
                "a line spacing of {write_length}: plain text has 6 lines to the inch",
                write_length=write_length(look.spacing),
            )
        )
    if look.quality != "draft":
        found.append(tr("{quality} quality cannot be asked for in plain text", quality=look.quality))
    if look.one_direction:
        found.append(tr("printing in one direction cannot be asked for in plain text"))
    if printer.table not in TABLES:
        found.append(
            tr("{table!r} is no character table known here: {tables}", table=printer.table, tables=", ".join(TABLES))
        )
    return tuple(found)


def _mark_refusals(mark: Mark, look: Look, printer: Printer) -> list[str]:
    found = []
    if mark.pitch != TENTH:
        found.append(
            tr(
                "has a pitch of {write_length}; plain text has {write_length2}",
                write_length=write_length(mark.pitch),
                write_length2=write_length(TENTH),
            )
        )
    if mark.weight not in (Weight.NORMAL, Weight.DOUBLE):
        found.append(
            tr("asks for {weight_words}; plain text has none but double strike", weight_words=weight_words(mark.weight))
        )
    elif mark.weight and "double-strike" in printer.without:
        found.append(tr("asks for double strike, which this printer lacks"))
    if mark.x < 0 or mark.x % TENTH:
        found.append(tr("is not at a whole column"))
    elif mark.x + TENTH * len(mark.text) > printer.width:
        found.append(
            tr("ends right of the carriage, which is {write_length} wide", write_length=write_length(printer.width))
        )
    if mark.y < 0 or mark.y % SIXTH:
        found.append(tr("is not on a whole line"))
    elif mark.y >= look.length // SIXTH * SIXTH:
        found.append(tr("is below the form, which is {write_length} long", write_length=write_length(look.length)))
    wrong = unprintable(mark.text, printer.table) if printer.table in TABLES else []
    if wrong:
        letters = ", ".join(dict.fromkeys(f"{letter!r} (U+{ord(letter):04X})" for _, letter in wrong))
        found.append(tr("has {letters}, not in table {table}", letters=letters, table=printer.table))
    steering = _steering(mark.text, printer) if printer.table in TABLES else ""
    if steering:
        found.append(
            tr(
                "has {steering}, which on some printers are control codes in plain text; see what it prints, and "
                'say vouched = ["{high_letters}"], or choose a table of ISO 8859',
                steering=steering,
                high_letters=HIGH_LETTERS,
            )
        )
    return found


def _steering(text: str, printer: Printer) -> str:
    """The letters that must not be sent to a printer that nobody vouches for, and their bytes."""
    if HIGH_LETTERS in printer.vouched:
        return ""
    places = table_of(printer.table).places
    bytes_of = {letter: places.get(ord(letter), " ") for letter in text}
    return ", ".join(
        tr("{letter!r} (byte {ord:02X})", letter=letter, ord=ord(byte))
        for letter, byte in bytes_of.items()
        if _STEERING.match(byte)
    )


def _feed(gap: int) -> str:
    lines, off = divmod(gap, SIXTH)
    if off or lines < 0:
        raise LanguageError(tr("{write_length} is no whole number of lines", write_length=write_length(gap)))
    return "\r\n" * lines


def _line(marks: list[Mark], printer: Printer) -> str:
    """One line: struck once, and again after a CR for what is struck twice or lies over something else."""
    first, second = "", ""
    for x, _, pitch, weight, text in marks:
        column, off = divmod(x, TENTH)
        if pitch != TENTH or off or column < 0 or weight not in (0, 1):
            raise LanguageError(tr("a mark that is not at a whole column, at 10 to the inch"))
        if weight and "double-strike" in printer.without:
            raise LanguageError(tr("double strike, which this printer lacks"))
        if x + TENTH * len(text) > printer.width:
            raise LanguageError(tr("a mark ends right of the carriage"))
        if column < len(first):
            return "\r".join(_overstruck(marks))
        first = first.ljust(column) + text
        if weight:
            second = second.ljust(column) + text
    return f"{first}\r{second}" if second else first


def _overstruck(marks: list[Mark]) -> list[str]:
    """The passes of a line where marks lie over each other. The same letter twice is weight DOUBLE only."""
    columns: dict[int, list[str]] = {}
    for x, _, _, weight, text in marks:
        for column, letter in enumerate(text, x // TENTH):
            if letter != " ":
                there = columns.setdefault(column, [])
                if letter in there:
                    raise LanguageError(
                        tr(
                            "{letter!r} is struck more than once at {write_length} right, {write_length2} down: in "
                            "plain "
                            "text that is double strike",
                            letter=letter,
                            write_length=write_length(column * TENTH),
                            write_length2=write_length(marks[0].y),
                        )
                    )
                there.extend(letter * (1 + weight))
    return _rows(columns)


def _rows(columns: dict[int, list[str]]) -> list[str]:
    """Row n holds the n-th letter of every column that has so many, blanks elsewhere."""
    rows: list[str] = []
    for column in sorted(columns):
        for depth, letter in enumerate(columns[column]):
            if depth == len(rows):
                rows.append("")
            rows[depth] = rows[depth].ljust(column) + letter
    return rows


def _letters(match: re.Match[str], table: Table, started: bool, printer: Printer) -> str:
    text, columns = match.group(), printer.width // TENTH
    if not started:
        raise DecodeError(tr("a character is struck, but its column is not known: no CR"), match.start())
    if len(text) > columns:
        raise DecodeError(tr("a character right of the carriage"), match.start() + columns)
    if not (table.ascii and text.isascii()):
        steering = None if HIGH_LETTERS in printer.vouched else _STEERING.search(text)
        if steering:
            raise DecodeError(
                tr("{ord:02X} could steer the printer", ord=ord(steering.group())), match.start() + steering.start()
            )
        text = as_letters(text, table)
        place = text.find(NOTHING)
        if place >= 0:
            raise DecodeError(tr("a byte that is no letter of the table"), match.start() + place)
    return text if text.strip(" ") else ""


def _strike(passes: list[str], y: int, marks: list[Mark], offset: int) -> None:
    """The marks of one line from its passes."""
    if len(passes) == 1:
        marks.append(Mark(0, y, TENTH, Weight.NORMAL, passes[0]))
        return
    struck: dict[int, Counter[str]] = {}
    for text in passes:
        for column, letter in enumerate(text):
            if letter != " ":
                struck.setdefault(column, Counter())[letter] += 1
    once: dict[int, list[str]] = {}
    twice: dict[int, list[str]] = {}
    for column, letters in struck.items():
        for letter, times in sorted(letters.items()):
            if times > 2:
                raise DecodeError(
                    tr("{letter!r} is struck {times} times at one place", letter=letter, times=times), offset
                )
            (once if times == 1 else twice).setdefault(column, []).append(letter)
    marks += [Mark(0, y, TENTH, Weight.NORMAL, row) for row in _rows(once)]
    marks += [Mark(0, y, TENTH, Weight.DOUBLE, row) for row in _rows(twice)]


LANGUAGE = Plain()
