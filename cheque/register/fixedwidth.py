"""Fixed-width reports of a host, by a map that lays out their records: a field is a place and a width.

Lines or records of one length, ASCII or EBCDIC, numbers with implied decimals, signs of every kind, packed or edited
(`cheque.register.layout`, `picture`, `zoned`); ASA carriage control and form feeds are taken off, page headings and
repeated titles passed over by the map's rules (`records`). A record that no rule fits is a fault: nothing is passed
over in silence. Totals of headers and trailers are checked against the records; they came with the file, so they
prove nothing about it, and the slip's totals are asked for all the same.
"""

from collections.abc import Iterator
from typing import BinaryIO

from cheque.errors import Fault
from cheque.payment import Payment
from cheque.register import Reading
from cheque.register import encodings as enc
from cheque.register.assembly import Assembly
from cheque.register.fixedwrite import write
from cheque.register.maps import Map
from cheque.register.records import Record, records
from cheque.tongue import tr

__all__ = ["looks_like", "read", "suffixes", "write"]

suffixes = (".prn", ".lst", ".rpt", ".dat")
_UNDERLINE = " _-="


def looks_like(head: bytes) -> bool:
    """Never: a report that a map describes is known by its map."""
    return False


def read(stream: BinaryIO, reading: Reading) -> Iterator[Payment | Fault]:
    """The payments and faults of a fixed-width report, one by one, in its order."""
    by = reading.map
    if by is None or not by.records:
        wanted = tr("a map that lays out its records, because nothing in the file tells")
        yield Fault(reading.source, tr("a fixed-width report"), wanted, tr("write one and name it: --map FILE"))
        return
    stream, head = enc.peeked(stream)
    name = reading.encoding or by.encoding
    encoding = enc.named(name) if name else enc.detect(head)
    if by.record_length and enc.family(encoding) == "wide":
        yield Fault(
            reading.source, encoding, tr("one byte a character, for records of one length"), tr("name the encoding")
        )
        return
    assembly = Assembly(by, reading, ebcdic=enc.family(encoding) == "ebcdic")
    if faults := assembly.faults_of_map():
        yield from faults
        return
    told = enc.stated(encoding, by_name=bool(name))
    length = (
        tr("records of {record_length} bytes", record_length=by.record_length)
        if by.record_length
        else tr("one record a line")
    )
    reading.state(
        tr(
            "{source}: {encoding}, {length}, laid out by {map}.",
            source=reading.source,
            encoding=told,
            length=length,
            map=by.source,
        )
    )
    pages = _Pages(by)
    for record in records(stream, reading, by, encoding):
        if isinstance(record, Fault):
            yield record
        elif pages.passes_over(record):
            continue
        elif record.overprints:
            yield from _overprinted(record, pages, reading)
        else:
            pages.last = record.text
            yield from assembly.feed(record)
    yield from assembly.finish()
    if passed := pages.headings + assembly.passed_over:
        reading.state(
            tr("{source}: 1 line was passed over by the rules of {map}.", source=reading.source, map=by.source)
            if passed == 1
            else tr(
                "{source}: {count} lines were passed over by the rules of {map}.",
                source=reading.source,
                count=passed,
                map=by.source,
            )
        )


class _Pages:
    """Counts the lines of a page, and passes over blank ones and as many headings as the map says."""

    def __init__(self, by: Map) -> None:
        self._headings = self._left = by.page_heading_lines
        self.headings = 0
        self.last = ""

    def passes_over(self, record: Record) -> bool:
        """Whether there is nothing on a line, or it is a heading."""
        if record.new_page:
            self._left = self._headings
        if self._left and not record.overprints:
            self._left -= 1
            self.headings += bool(record.text.strip(" \0\f"))
            self.last = record.text
            return True
        return not record.text.strip(" \0\f\x1a")


def _overprinted(record: Record, pages: _Pages, reading: Reading) -> Iterator[Fault]:
    """A line printed over the one before it is for weight or underlining; anything else would be lost."""
    last = pages.last.ljust(len(record.text))
    if all(new in _UNDERLINE or new == old for new, old in zip(record.text, last, strict=False)):
        return
    at = tr("{source} line {number}", source=reading.source, number=record.number)
    yield Fault(
        at, tr("a line printed over another"), tr("the same text again, or a line under it"), tr("look at the file")
    )
