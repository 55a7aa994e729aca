"""Comma-separated registers (RFC 4180): one payment a record, stub lines as repeated groups of columns.

UTF-8, with or without a byte-order mark, UTF-16 where the first bytes tell, or the encoding that is named; lines
end in LF, CR LF or CR; fields are separated by commas, semicolons, tabs or bars, whichever makes the header line
a register's, or by the mark that the map names (the reader states all of these). A field with
the separator, a quote or a line end in it stands in double quotes, and a quote within is doubled. Blanks at
the ends of a field are dropped, and texts are brought to Unicode normalisation form C, in which equal texts
have equal code points. A record with nothing in any field is passed over. Nothing else is changed, and
nothing is guessed: amounts have a point before their decimals and no marks between thousands, unless a map
(`cheque.register.maps`) says how the file writes them, and what it calls its columns.

A line is bounded, so that no file can fill the memory; a record that runs over ends the reading.
"""

import codecs
import csv
import io
from collections.abc import Iterator
from itertools import islice
from typing import BinaryIO

from cheque.errors import Fault
from cheque.payment import Payment
from cheque.register import Reading
from cheque.register import encodings as enc
from cheque.register.characters import shown
from cheque.register.columns import known, name_of
from cheque.register.csvwrite import dialect_reader, write
from cheque.register.mapped import Columns, map_of
from cheque.register.maps import Map
from cheque.register.rows import Row
from cheque.tongue import mark, tr

__all__ = ["looks_like", "read", "rows", "suffixes", "write"]

suffixes = (".csv", ".tsv", ".txt")
#: bytes of one record, line ends included
RECORD_LIMIT = 65_536
SEPARATORS = {",": mark("commas"), ";": mark("semicolons"), "\t": mark("tabs"), "|": mark("bars")}
_ENDS = {"\n": "LF", "\r\n": "CR LF"}


def looks_like(head: bytes) -> bool:
    """Whether the first line can be a header: text, with a separator in it, and no mark of another kind."""
    encoding = enc.detect(head)
    if encoding != enc.UTF8:
        head = head[: len(head) // 4 * 4].decode(encoding, "replace").encode()
    head = head.removeprefix(codecs.BOM_UTF8)
    first = head.lstrip(b"\r\n").split(b"\n", 1)[0]
    binary = b"\0" in head or head.startswith((b"PK\x03\x04", b"<", b"%PDF"))
    return not binary and any(separator.encode() in first for separator in SEPARATORS)


class _TooLong(Exception):
    """A record ran over RECORD_LIMIT."""


class _Lines:
    """The stream's lines as text, counted; `record` is how many bytes the record in hand has so far."""

    def __init__(self, stream: BinaryIO, reading: Reading, encoding: str, shown_as: str) -> None:
        self._stream, self._reading, self._encoding = stream, reading, encoding
        #: the file's own encoding when `stream` is not the file but UTF-8 made of it, else ""
        self._made_of = shown_as if shown_as != encoding else ""
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
        at = tr("{source} line {number}", source=self._reading.source, number=self.number)
        self.ascii = self.ascii and raw.isascii()
        if (place := raw.find(0)) >= 0:
            found = tr("a NUL byte at byte {offset} of the file", offset=offset + place + 1)
            self.faults.append(Fault(at, found, tr("text"), tr("export the register again, as UTF-8 text")))
            raw = raw.replace(b"\0", b"?")
        try:
            text = raw.decode(self._encoding)
        except UnicodeDecodeError as error:
            found = tr(
                "byte {raw:02X} hex at byte {offset} of the file", raw=raw[error.start], offset=offset + error.start + 1
            )
            wanted = "UTF-8" if self._encoding == enc.UTF8 else self._encoding
            do = tr("save the register as UTF-8, or name its encoding: --encoding NAME")
            self.faults.append(Fault(at, found, wanted, do))
            return raw.decode(self._encoding, errors="replace")
        if self._made_of and "\ufffd" in text:
            do = tr("save the register as UTF-8, or name its encoding: --encoding NAME")
            self.faults.append(Fault(at, tr("bytes that do not belong there"), self._made_of, do))
        return text


def read(stream: BinaryIO, reading: Reading) -> Iterator[Payment | Fault]:
    """The payments and faults of a comma-separated register, one by one, in its order.

    A line with faults yields them all, the last one a LineFault. Faults of the header end the reading,
    because no line can then be understood. Nothing is raised but what the stream itself raises.
    """
    for one in rows(stream, reading):
        if isinstance(one, Row):
            yield from one.items()
        else:
            yield one


def rows(stream: BinaryIO, reading: Reading) -> Iterator[Row | Fault]:
    """As `read`, the records that have as many fields as the header still to be read."""
    by = map_of(reading)
    lines, encoding, made_of_cr = _opened(stream, reading, by)
    texts = iter(lines)
    try:
        for _ in islice(texts, by.skip_lines):
            lines.record = 0
        lines.record = 0
        header = next((text for text in texts if text.strip()), "")
    except _TooLong:
        yield _too_long(reading, lines.number, lines.number)
        return
    if lines.faults or not header:
        yield from lines.faults or [Fault(reading.source, tr("nothing"), tr("a header line and payments"))]
        return
    separator, fields = _separated(header, by)
    where = tr("{source} line {number}", source=reading.source, number=lines.number)
    if not by.header:
        fields = [str(place) for place in range(1, len(fields) + 1)]
        texts = _again(header, lines, texts)
    columns = Columns(fields, reading, where)
    if isinstance(columns.plan, list):
        yield from columns.plan
        return
    ends = "CR LF" if header.endswith("\r\n") else "CR" if made_of_cr else "LF"
    reading.state(
        tr(
            "{source}: {encoding}, {called} between fields, lines end in {ends}.",
            source=reading.source,
            encoding=encoding,
            called=_called(separator),
            ends=ends,
        )
    )
    yield from _records(lines, texts, separator, columns, reading)


def _opened(stream: BinaryIO, reading: Reading, by: Map) -> tuple[_Lines, str, bool]:
    """The lines of a file, what to say of its encoding, and whether its lines end in a lone CR."""
    stream, head = enc.peeked(stream)
    name = reading.encoding or by.encoding
    encoding = enc.named(name) if name else enc.detect(head)
    if not name and encoding.startswith("utf-16") and not head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        told = tr("{upper} (by its NUL bytes)", upper=encoding.upper())
    else:
        told = enc.stated(encoding, by_name=bool(name))
    wide = enc.family(encoding) != "ascii"
    only_cr = not wide and b"\r" in head and b"\n" not in head
    if wide or only_cr:
        stream = enc.transcoded(stream, encoding, "\r" if only_cr else "")
        return _Lines(stream, reading, enc.UTF8, told), told, only_cr
    return _Lines(stream, reading, encoding, encoding), told, False


def dialect_of(beginning: bytes, reading: Reading) -> tuple[str, str, str]:
    """A file's separator, line end and encoding, by how it begins; those of our own files where there is nothing."""
    by = map_of(reading)
    lines, _, made_of_cr = _opened(io.BytesIO(beginning), reading, by)
    try:
        header = next((text for text in islice(lines, by.skip_lines, None) if text.strip()), "")
    except _TooLong:
        header = ""
    separator = _separated(header, by)[0] if header else by.separator or ","
    ends = "\r" if made_of_cr else "\n" if header and not header.endswith("\r\n") else "\r\n"
    name = reading.encoding or by.encoding
    return separator, ends, enc.named(name) if name else enc.detect(beginning[: enc.HEAD])


def _again(line: str, lines: _Lines, rest: Iterator[str]) -> Iterator[str]:
    """A line that was looked at once more, and those after it."""
    lines.number -= 1

    def every() -> Iterator[str]:
        lines.number += 1
        yield line
        yield from rest

    return every()


def _called(separator: str) -> str:
    return tr(SEPARATORS.get(separator, "")) or tr("the character {separator}", separator=shown(separator))


def _separated(header: str, by: Map) -> tuple[str, list[str]]:
    """The separator under which the header has the most columns of a register, and its fields."""
    best: tuple[int, int, str, list[str]] = (-1, 0, ",", [])
    theirs = {name_of(title) for title in (*by.columns.values(), *by.ignore) if isinstance(title, str)}
    for separator in [by.separator] if by.separator else SEPARATORS:
        try:
            fields = next(dialect_reader([header], separator, by), [])
        except csv.Error:
            fields = header.split(separator)
        names = [name_of(field) for field in fields]
        score = (sum(known(name) or name in theirs for name in names), len(fields), separator, fields)
        best = max(best, score, key=lambda s: s[:2])
    return best[2], best[3]


def _records(
    lines: _Lines, texts: Iterator[str], separator: str, columns: Columns, reading: Reading
) -> Iterator[Row | Fault]:
    """Every record after the header. A record is named by the line on which it begins."""
    records = dialect_reader(texts, separator, map_of(reading))
    width = len(columns.titles)
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
        if lines.faults:
            item += 1
            yield from _taken(lines)
        elif "".join(cells).strip(" "):
            item += 1
            if len(cells) != width:
                found = tr("{count} fields", count=len(cells))
                do = tr("look for a missing or a stray one of the {called} between fields", called=_called(separator))
                at = tr("{source} line {first}", source=reading.source, first=first)
                yield Fault(at, found, tr("{width}, as in the header", width=width), do)
                continue
            yield Row(cells, item, first, lines.ascii, columns)


def _taken(lines: _Lines) -> list[Fault]:
    """The faults of bytes noted so far, which are then forgotten."""
    faults, lines.faults = lines.faults, []
    return faults


def _too_long(reading: Reading, first: int, last: int) -> Fault:
    at = tr("{source} line {first}", source=reading.source, first=first) + (
        tr(" to {last}", last=last) if last > first else ""
    )
    found = tr("a record of more than {record_limit} bytes", record_limit=RECORD_LIMIT)
    return Fault(at, found, tr("a shorter one"), tr("look for a quote that is never closed; nothing after it was read"))


def _broken(message: str, reading: Reading, first: int, last: int) -> Fault:
    """What the csv module could not make out, in the words of the trade."""
    at = tr("{source} line {first}", source=reading.source, first=first) + (
        tr(" to {last}", last=last) if last > first else ""
    )
    if "unexpected end" in message:
        return Fault(at, tr("a quoted field that is never closed"), tr("a closing quote"), tr("add it"))
    if "expected after" in message:
        return Fault(
            at, tr("text after a closing quote"), tr("a separator there"), tr("double every quote within a field")
        )
    if "new-line character" in message:
        return Fault(
            at, tr("a carriage return inside a line"), tr("lines ended by LF or CR LF"), tr("save the file so")
        )
    return Fault(at, shown(message), tr("a comma-separated record"))
