"""Records, one by one, to payments: what begins one, what goes on with it, and the totals that must agree.

Used by every reader whose files are laid out by a map's records (`cheque.register.layout`). Holds one payment at a
time, and running totals: a million records take no memory.
"""

from collections.abc import Iterator
from typing import Any, NamedTuple

from cheque.errors import Fault
from cheque.money import plain
from cheque.payment import Kind, Payment, StubLine
from cheque.register import LineFault, Reading
from cheque.register.columns import ADDRESS, group_of, name_of
from cheque.register.layout import TOTALS, RecordType
from cheque.register.mapped import instead_of
from cheque.register.maps import Map
from cheque.register.recordfields import ReadField, field_reader
from cheque.register.records import Record
from cheque.register.rows import Plan, Unread
from cheque.tongue import tr

#: stub lines of one payment: more than any form and its continuations can hold
MOST_STUB_LINES = 1_000
_ORDER = {kind: place for place, kind in enumerate(Kind)}
_ATTRIBUTES = {"number": "expected"}


class Compiled(NamedTuple):
    """A record type ready to read: a function for each field, and the plan of its columns."""

    type: RecordType
    readers: tuple[ReadField, ...]
    names: tuple[str, ...]
    plan: Plan
    #: places and names of the fields of a stub record that are no stub lines
    singles: tuple[tuple[int, str], ...]


def compiled(record: RecordType, by: Map, reading: Reading, *, ebcdic: bool) -> Compiled:
    """A record type made ready."""
    names = tuple(field.column for field in record.fields)
    readers = tuple(field_reader(field, by, reading.currency, ebcdic=ebcdic) for field in record.fields)
    plan = Plan(names, reading, always=dict(record.always), leave_out_zeros=by.leave_out_zero_lines)
    singles = tuple((place, name) for place, name in enumerate(names) if group_of(name) is None)
    return Compiled(record, readers, names, plan, singles)


class _Sums:
    """What a header or trailer can be held against."""

    def __init__(self) -> None:
        self.items = self.records = self.total = self.hash = 0
        self.complete = True

    def add(self, payment: Payment, *, whole: bool) -> None:
        self.items += 1
        self.total += payment.amount
        self.hash += payment.hash_value or 0
        self.complete = self.complete and whole


class Assembly:
    """Takes records in their order; `feed` and `finish` yield the payments and faults they make."""

    def __init__(self, by: Map, reading: Reading, *, ebcdic: bool = False) -> None:
        self._by, self._reading = by, reading
        self._types = [compiled(record, by, reading, ebcdic=ebcdic) for record in by.records]
        self._item = self.passed_over = 0
        self._payment: Payment | None = None
        self._stub: list[StubLine] = []
        self._faults: list[Fault] = []
        self._whole_file, self._batch = _Sums(), _Sums()
        self._header: dict[str, str] = {}
        self._promised: list[tuple[str, str, str, bool]] = []
        self._begun = self._ended = ""
        self._batch_open = self._file_ended = False

    def faults_of_map(self) -> list[Fault]:
        """What the reading asks for and the map's payments do not have."""
        hashed = name_of(self._reading.hash_column)
        if hashed in ("", "employee"):
            return []
        return [
            Fault(
                each.type.where,
                tr("no field {hashed!r}", hashed=hashed),
                tr("the column of the hash total"),
                tr("name another"),
            )
            for each in self._types
            if each.type.what == "payment" and hashed not in each.names
        ]

    def feed(self, record: Record) -> Iterator[Payment | Fault]:
        """The next record of the file."""
        text = record.text
        for each in self._types:
            if each.type.fits(text):
                break
        else:
            found = tr("a record that is none of those of the map")
            do = tr("add a [[record]] for it to the map, to be read or skipped")
            yield Fault(self._at(record), found, tr("one of them"), do)
            return
        what = each.type.what
        if what == "skip":
            self.passed_over += 1
        elif what == "payment":
            yield from self.flush()
            self._begins(each, record)
        elif what == "stub":
            yield from self._goes_on(each, record)
        else:
            yield from self.flush()
            yield from self._header_of(each, record) if what == "header" else self._trailer_of(each, record)

    def finish(self) -> Iterator[Payment | Fault]:
        """The end of the file."""
        yield from self.flush()
        yield from self._kept_promises()
        source = self._reading.source
        required = [each.type for each in self._types if each.type.required]
        if any(type_.what == "trailer" and not self._closed_by(type_) for type_ in required):
            do = tr("look whether the file is cut short")
            yield Fault(source, tr("no trailer at its end"), tr("one, as the map says"), do)
        if any(type_.what == "header" for type_ in required) and self._item and not self._begun:
            yield Fault(source, tr("no header"), tr("one, as the map says"), tr("look whether its beginning is lost"))

    def _closed_by(self, trailer: RecordType) -> bool:
        return self._file_ended if trailer.whole_file else not self._batch_open

    def _at(self, record: Record, field: str = "") -> str:
        return tr("{source} line {number}", source=self._reading.source, number=record.number) + (
            f", {field}" if field else ""
        )

    def _cells(self, each: Compiled, record: Record, faults: list[Fault]) -> list[str]:
        """The plain texts of a record's fields."""
        raw, text = record.raw, record.text
        try:
            return [read(raw, text) for read in each.readers]
        except Unread:
            pass
        cells = []
        for name, read in zip(each.names, each.readers, strict=True):
            try:
                cells.append(read(raw, text))
            except Unread as unread:
                faults.append(Fault(self._at(record, name), unread.found, unread.wanted, unread.do))
                cells.append("0" if name in TOTALS else instead_of(name, self._reading.hash_column))
        return cells

    def _begins(self, each: Compiled, record: Record) -> None:
        """A payment."""
        self._item += 1
        self._batch.records += 1
        self._whole_file.records += 1
        self._batch_open = True
        if self._file_ended:
            found = tr("a payment after the trailer of {ended}", ended=self._ended)
            self._faults.append(Fault(self._at(record), found, tr("the trailer last"), tr("look at the file")))
        cells = self._cells(each, record, self._faults)
        payment, faults = each.plan.payment(cells, self._item, record.number)
        self._faults += faults
        self._payment, self._stub = payment, list(payment.stub)

    def _goes_on(self, each: Compiled, record: Record) -> Iterator[Fault]:
        """A stub line, or more of the payment."""
        self._batch.records += 1
        self._whole_file.records += 1
        if self._payment is None:
            found = tr("what goes on with a payment, before any")
            yield Fault(self._at(record), found, tr("a payment first"), tr("look whether the file is damaged"))
            return
        cells = self._cells(each, record, self._faults)
        for place, name in each.singles:
            if cells[place]:
                self._more(name, cells[place], record)
        lines = each.plan.stub(cells, record.number, self._faults)
        if len(self._stub) + len(lines) <= MOST_STUB_LINES:
            self._stub += lines
        elif len(self._stub) <= MOST_STUB_LINES:
            wanted = tr("at most {most_stub_lines} stub lines of one payment", most_stub_lines=MOST_STUB_LINES)
            self._faults.append(Fault(self._at(record), tr("another stub line"), wanted, tr("look at the file")))
            self._stub += [StubLine(Kind.NOTE, "")] * (MOST_STUB_LINES + 1 - len(self._stub))

    def _more(self, name: str, text: str, record: Record) -> None:
        """A column of the payment that stands in another record."""
        payment = self._payment
        assert payment
        if name in ADDRESS:
            if len(payment.address) == len(ADDRESS):
                at = self._at(record, name)
                wanted = tr("at most {count} lines of an address", count=len(ADDRESS))
                self._faults.append(Fault(at, tr("another line of the address"), wanted, tr("shorten it")))
            else:
                self._payment = payment._replace(address=(*payment.address, text))
            return
        attribute = _ATTRIBUTES.get(name, name)
        there = getattr(payment, attribute)
        if there and there != text:
            self._faults.append(
                Fault(
                    self._at(record, name), tr("a second {name}", name=name), tr("one of a payment"), tr("take one out")
                )
            )
        changed: dict[str, Any] = {attribute: text}
        self._payment = payment._replace(**changed)

    def going_on(
        self, payment: Payment, faults: list[Fault], lines: list[tuple[int, StubLine | str]]
    ) -> Iterator[Payment | Fault]:
        """A payment made elsewhere, and what goes on with it: stub lines, and texts that are records of the map.

        A text that is none of the map's records is a note. Yields the payment, or all its faults.
        """
        self._payment, self._stub, self._faults = payment, list(payment.stub), faults
        for number, line in lines:
            if isinstance(line, StubLine):
                self._stub.append(line)
                continue
            record = Record(number, b"", line)
            if each := next((each for each in self._types if each.type.fits(line)), None):
                yield from self._goes_on(each, record)
            elif note := line.strip(" "):
                self._stub.append(StubLine(Kind.NOTE, note))
        yield from self.flush()

    def flush(self) -> Iterator[Payment | Fault]:
        """The payment in hand, if any: whole, or its faults."""
        payment, faults = self._payment, self._faults
        if payment is None:
            return
        self._payment, self._faults = None, []
        given: dict[str, Any] = {name: text for name, text in self._header.items() if not getattr(payment, name)}
        payment = payment._replace(stub=in_order(self._stub), **given)
        self._batch.add(payment, whole=not faults)
        self._whole_file.add(payment, whole=not faults)
        if not faults:
            yield payment
            return
        yield from faults[:-1]
        last = faults[-1]
        yield LineFault(last.where, last.found, last.wanted, last.do, payment)

    def _header_of(self, each: Compiled, record: Record) -> Iterator[Fault]:
        """A header: values for what follows, and totals to be held against it."""
        yield from self._kept_promises()
        if self._batch_open and any(t.type.what == "trailer" and not t.type.whole_file for t in self._types):
            found = tr("a header, and no trailer for what was begun on {begun}", begun=self._begun or tr("line 1"))
            yield Fault(self._at(record), found, tr("a trailer first"), tr("look whether records are lost"))
        faults: list[Fault] = []
        cells = self._cells(each, record, faults)
        yield from faults
        self._begun = tr("line {number}", number=record.number)
        self._batch, self._batch_open = _Sums(), False
        self._header = {name: cell for name, cell in zip(each.names, cells, strict=True) if cell and name not in TOTALS}
        for name, cell in zip(each.names, cells, strict=True):
            if cell and name in TOTALS and not faults:
                self._promised.append((self._at(record, name), name, cell, each.type.whole_file))

    def _trailer_of(self, each: Compiled, record: Record) -> Iterator[Fault]:
        """A trailer: totals of what came before."""
        faults: list[Fault] = []
        cells = self._cells(each, record, faults)
        yield from faults
        if not faults:
            sums = self._whole_file if each.type.whole_file else self._batch
            for name, cell in zip(each.names, cells, strict=True):
                if cell:
                    yield from self._compared(self._at(record, name), name, cell, sums)
        if each.type.whole_file:
            self._file_ended, self._ended = True, tr("line {number}", number=record.number)
        else:
            yield from self._kept_promises()
            self._batch, self._batch_open = _Sums(), False

    def _kept_promises(self) -> Iterator[Fault]:
        """The totals of the last header, held against what came after it."""
        promised, self._promised = self._promised, []
        for at, name, cell, whole in promised:
            yield from self._compared(at, name, cell, self._whole_file if whole else self._batch)

    def _compared(self, at: str, name: str, cell: str, sums: _Sums) -> Iterator[Fault]:
        """One total of the file, held against its records."""
        currency = self._reading.currency
        counted = {"item_count": sums.items, "record_count": sums.records, "hash_total": sums.hash}
        found = plain(sums.total, currency) if name == "total" else str(counted[name])
        given = cell.lstrip("0") or "0" if name != "total" else cell
        if name in ("total", "hash_total") and not sums.complete:
            return
        if given != found:
            wanted = tr("{found}, by the records it covers", found=found)
            yield Fault(at, given, wanted, tr("ask who made the file; it may be cut short or changed"))


def in_order(lines: list[StubLine]) -> tuple[StubLine, ...]:
    """Stub lines by kind, and within a kind as they stood."""
    return tuple(sorted(lines, key=lambda line: _ORDER[line.kind]))
