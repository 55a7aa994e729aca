"""The records of a file, one by one: lines or fixed lengths, ASCII or EBCDIC, with printers' controls taken off.

A host's report was made to be printed: its first column may be ASA carriage control (blank a line, 0 two, - three, +
none, 1 to a new page; POSIX `asa`, and - from manuals of the host languages), or form feeds stand between pages. Both
tell where a page begins, and are taken off. A line printed over another must repeat or underline it.
"""

from collections.abc import Iterator
from typing import BinaryIO, NamedTuple

from cheque.errors import Fault
from cheque.register import Reading
from cheque.register import encodings as enc
from cheque.register.characters import shown
from cheque.register.maps import Map
from cheque.tongue import tr

#: bytes of one line
LINE_LIMIT = 65_536
_CHUNK = 65_536
_EBCDIC_ENDS = bytes.maketrans(b"\x25", b"\x15")
_ASA = {" ": 1, "0": 2, "-": 3, "+": 0, "1": 1}
_FILL = b"\0\x1a\x20\x40"


class Record(NamedTuple):
    """One record. In `raw` and `text` the same positions, if the encoding has one byte a character."""

    number: int
    raw: bytes
    text: str
    new_page: bool = False
    overprints: bool = False


def records(stream: BinaryIO, reading: Reading, by: Map, encoding: str) -> Iterator[Record | Fault]:
    """Every record of a file, with faults where one cannot be made out; a fault of its end is the last."""
    ebcdic = enc.family(encoding) == "ebcdic"
    if by.record_length:
        raws = _fixed(stream, reading, by.record_length)
    elif ebcdic:
        raws = _ebcdic_lines(stream, reading)
    else:
        if enc.family(encoding) == "wide":
            stream, encoding = enc.transcoded(stream, encoding), enc.UTF8
        raws = _lines(stream, reading)
    new_page = True
    for number, raw in enumerate(raws, 1):
        if isinstance(raw, Fault):
            yield raw
            return
        try:
            text = raw.decode(encoding, "replace" if by.record_length else "strict")
        except UnicodeDecodeError as error:
            at = tr("{source} line {number}", source=reading.source, number=number)
            found = tr("byte {raw:02X} hex as byte {start} of the line", raw=raw[error.start], start=error.start + 1)
            yield Fault(at, found, encoding, tr("name the file's encoding in the map"))
            continue
        if number == 1 and text.startswith("\ufeff"):
            text = text[1:]
        for piece in _printed(Record(number, raw, text, new_page), reading, by):
            yield piece
            new_page = False
        new_page = (text.endswith("\f") and not by.record_length) or (new_page and not text.strip("\f \0\x1a"))


def _lines(stream: BinaryIO, reading: Reading) -> Iterator[bytes | Fault]:
    """Lines ended by LF or CR LF."""
    number = 0
    while raw := stream.readline(LINE_LIMIT):
        number += 1
        if len(raw) == LINE_LIMIT and not raw.endswith(b"\n"):
            yield _too_long(reading, number)
            return
        yield raw.removesuffix(b"\n").removesuffix(b"\r")


def _ebcdic_lines(stream: BinaryIO, reading: Reading) -> Iterator[bytes | Fault]:
    """Lines ended by NEL (15 hex) or LF (25 hex), with CR (0D) before it or not."""
    rest, number = b"", 0
    while chunk := stream.read(_CHUNK):
        *whole, rest = (rest + chunk.translate(_EBCDIC_ENDS)).split(b"\x15")
        for raw in whole:
            number += 1
            yield raw.removesuffix(b"\r")
        if len(rest) > LINE_LIMIT:
            yield _too_long(reading, number + 1)
            return
    if rest:
        yield rest.removesuffix(b"\r")


def _fixed(stream: BinaryIO, reading: Reading, length: int) -> Iterator[bytes | Fault]:
    """Records of one length, with nothing between them."""
    number = 0
    while raw := stream.read(length):
        number += 1
        if len(raw) == length:
            yield raw
        elif raw.strip(_FILL):
            at = tr("{source} line {number}", source=reading.source, number=number)
            do = tr("look whether the file is cut short, was changed on its way, or has other records")
            yield Fault(
                at, tr("{count} bytes at the end", count=len(raw)), tr("records of {length}", length=length), do
            )
            return


def _too_long(reading: Reading, number: int) -> Fault:
    at, found = (
        tr("{source} line {number}", source=reading.source, number=number),
        tr("a line of more than {line_limit} bytes", line_limit=LINE_LIMIT),
    )
    return Fault(at, found, tr("a shorter one"), tr("name the record_length in the map, if records have no line ends"))


def _printed(record: Record, reading: Reading, by: Map) -> Iterator[Record | Fault]:
    """A record without its controls for a printer: none, one, or the lines printed over one another in it."""
    number, raw, text, new_page, _ = record
    if by.carriage_control:
        control = text[:1] or " "
        if control not in _ASA:
            at = tr("{source} line {number}, position 1", source=reading.source, number=number)
            found = tr("{control} for carriage control", control=shown(control))
            yield Fault(at, found, tr("a blank, 0, -, + or 1"), tr("correct the file, or carriage_control in the map"))
            return
        yield Record(number, raw[1:], text[1:], new_page or control == "1", control == "+")
        return
    if by.record_length or not ("\f" in text or "\r" in text or "\x1a" in text):
        yield record
        return
    bare = text.lstrip("\f")
    new_page = new_page or bare != text
    cut = len(text) - len(bare)
    for place, part in enumerate(bare.rstrip("\f\x1a").split("\r")):
        yield Record(number, raw[cut : cut + len(part)], part, new_page and not place, place > 0)
        cut += len(part) + 1
