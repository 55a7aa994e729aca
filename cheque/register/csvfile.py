"""Comma-separated registers (RFC 4180): one payment a record, stub lines as repeated groups of columns.

UTF-8, with or without a byte-order mark; lines end in LF or CR LF; fields are separated by commas,
semicolons or tabs, whichever makes the header line a register's (the reader states which). A field with
the separator, a quote or a line end in it stands in double quotes, and a quote within is doubled. Blanks at
the ends of a field are dropped, and texts are brought to Unicode normalisation form C, in which equal texts
have equal code points. A record with nothing in any field is passed over. Nothing else is changed, and
nothing is guessed: amounts have a point before their decimals and no marks between thousands.

A line is bounded, so that no file can fill the memory; a record that runs over ends the reading.
"""

import codecs
import csv
from collections.abc import Iterator
from typing import BinaryIO
from unicodedata import normalize

from cheque.errors import Fault
from cheque.payment import Payment
from cheque.register import LineFault, Reading
from cheque.register.characters import shown
from cheque.register.columns import header_faults, known, name_of
from cheque.register.csvwrite import write
from cheque.register.rows import Plan

__all__ = ["looks_like", "read", "suffixes", "write"]

suffixes = (".csv", ".tsv", ".txt")
#: bytes of one record, line ends included
RECORD_LIMIT = 65_536
SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}


def looks_like(head: bytes) -> bool:
    """Whether the first line can be a header: text, with a separator in it, and no mark of another kind."""
    first = head.removeprefix(codecs.BOM_UTF8).lstrip(b"\r\n").split(b"\n", 1)[0]
    binary = b"\0" in head or head.startswith((b"PK\x03\x04", b"<", b"%PDF"))
    return not binary and any(mark.encode() in first for mark in SEPARATORS)


class _TooLong(Exception):
    """A record ran over RECORD_LIMIT."""


class _Lines:
    """The stream's lines as text, counted; `record` is how many bytes the record in hand has so far."""

    def __init__(self, stream: BinaryIO, reading: Reading) -> None:
        self._stream, self._reading = stream, reading
        self.number = 0
        self.record = 0
        self.ascii = True
        #: what is wrong with the bytes of the record in hand
        self.faults: list[Fault] = []

    def __iter__(self) -> Iterator[str]:
        readline = self._stream.readline
        offset = 0
        while raw := readline(RECORD_LIMIT):
            self.number += 1
            self.record += len(raw)
            if self.record > RECORD_LIMIT or (len(raw) == RECORD_LIMIT and raw[-1] != 10):
                raise _TooLong
            if self.number == 1:
                offset = len(raw)
                raw = raw.removeprefix(codecs.BOM_UTF8)
                yield self._decoded(raw, offset - len(raw))
                continue
            if raw.isascii() and b"\0" not in raw:
                yield raw.decode("ascii")
            else:
                yield self._decoded(raw, offset)
            offset += len(raw)

    def _decoded(self, raw: bytes, offset: int) -> str:
        """The line as text; what is not text is noted, and read as the mark of damaged text."""
        at = f"{self._reading.source} line {self.number}"
        self.ascii = self.ascii and raw.isascii()
        if (place := raw.find(0)) >= 0:
            found = f"a NUL byte at byte {offset + place + 1} of the file"
            self.faults.append(Fault(at, found, "text", "export the register again, as UTF-8 text"))
            raw = raw.replace(b"\0", b"?")
        try:
            return raw.decode()
        except UnicodeDecodeError as error:
            found = f"byte {raw[error.start]:02X} hex at byte {offset + error.start + 1} of the file"
            if self.number == 1 and raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
                found = "UTF-16"
            self.faults.append(Fault(at, found, "UTF-8", "save the register as UTF-8"))
            return raw.decode(errors="replace")


def read(stream: BinaryIO, reading: Reading) -> Iterator[Payment | Fault]:
    """The payments and faults of a comma-separated register, one by one, in its order.

    A line with faults yields them all, the last one a LineFault. Faults of the header end the reading,
    because no line can then be understood. Nothing is raised but what the stream itself raises.
    """
    lines = _Lines(stream, reading)
    texts = iter(lines)
    try:
        header = next((text for text in texts if text.strip()), "")
    except _TooLong:
        yield _too_long(reading, 1, lines.number)
        return
    if lines.faults or not header:
        yield from lines.faults or [Fault(reading.source, "nothing", "a header line and payments")]
        return
    separator, fields = _separated(header)
    names = [name_of(field) for field in fields]
    if faults := header_faults(names, reading, f"{reading.source} line {lines.number}"):
        yield from faults
        return
    ends = "CR LF" if header.endswith("\r\n") else "LF"
    reading.state(f"{reading.source}: UTF-8, {SEPARATORS[separator]} between fields, lines end in {ends}.")
    yield from _records(lines, texts, separator, Plan(names, reading), reading)


def _separated(header: str) -> tuple[str, list[str]]:
    """The separator under which the header has the most columns of a register, and its fields."""
    best: tuple[int, int, str, list[str]] = (-1, 0, ",", [])
    for separator in SEPARATORS:
        try:
            fields = next(csv.reader([header], delimiter=separator, strict=True), [])
        except csv.Error:
            fields = header.split(separator)
        score = (sum(known(name_of(field)) for field in fields), len(fields), separator, fields)
        best = max(best, score, key=lambda s: s[:2])
    return best[2], best[3]


def _records(
    lines: _Lines, texts: Iterator[str], separator: str, plan: Plan, reading: Reading
) -> Iterator[Payment | Fault]:
    """Every record after the header. A record is named by the line on which it begins."""
    records = csv.reader(texts, delimiter=separator, strict=True)
    item = 0
    while True:
        first = lines.number + 1
        lines.record, lines.ascii = 0, True
        try:
            cells = next(records)
        except StopIteration:
            return
        except csv.Error as error:
            item += 1
            yield from _taken(lines)
            yield _broken(str(error), reading, first, lines.number)
            continue
        except _TooLong:
            yield from _taken(lines)
            yield _too_long(reading, first, lines.number)
            return
        if not lines.ascii:
            cells = [normalize("NFC", cell) for cell in cells]
        cells = [cell.strip(" ") for cell in cells]
        if lines.faults:
            item += 1
            yield from _taken(lines)
        elif any(cells):
            item += 1
            if len(cells) != plan.width:
                found = f"{len(cells)} fields"
                do = f"look for a missing or a stray one of the {SEPARATORS[separator]} between fields"
                at = f"{reading.source} line {first}"
                yield Fault(at, found, f"{plan.width}, as in the header", do)
                continue
            payment, faults = plan.payment(cells, item, first)
            if not faults:
                yield payment
                continue
            yield from faults[:-1]
            last = faults[-1]
            yield LineFault(last.where, last.found, last.wanted, last.do, payment)


def _taken(lines: _Lines) -> list[Fault]:
    """The faults of bytes noted so far, which are then forgotten."""
    faults, lines.faults = lines.faults, []
    return faults


def _too_long(reading: Reading, first: int, last: int) -> Fault:
    at = f"{reading.source} line {first}" + (f" to {last}" if last > first else "")
    found = f"a record of more than {RECORD_LIMIT} bytes"
    return Fault(at, found, "a shorter one", "look for a quote that is never closed; nothing after it was read")


def _broken(message: str, reading: Reading, first: int, last: int) -> Fault:
    """What the csv module could not make out, in the words of the trade."""
    at = f"{reading.source} line {first}" + (f" to {last}" if last > first else "")
    if "unexpected end" in message:
        return Fault(at, "a quoted field that is never closed", "a closing quote", "add it")
    if "expected after" in message:
        return Fault(at, "text after a closing quote", "a separator there", "double every quote within a field")
    if "new-line character" in message:
        return Fault(at, "a carriage return inside a line", "lines ended by LF or CR LF", "save the file so")
    return Fault(at, shown(message), "a comma-separated record")
