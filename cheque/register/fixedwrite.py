"""Payments to a fixed-width report, exactly as `cheque.register.fixedwidth` reads them back by the same map."""

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from typing import BinaryIO

from cheque.errors import Fault
from cheque.money import plain
from cheque.payment import Kind, Payment
from cheque.register import Reading
from cheque.register import encodings as enc
from cheque.register.assembly import Assembly
from cheque.register.columns import group_of, name_of
from cheque.register.csvwrite import cells_of
from cheque.register.layout import Condition, RecordType
from cheque.register.maps import Map
from cheque.register.recordfields import write_field
from cheque.register.records import Record
from cheque.tongue import tr

_EBCDIC_END = b"\x15"


def write(
    payments: Iterable[Payment], stream: BinaryIO, currency: str, *, by: Map, hash_column: str = "employee"
) -> None:
    """Write a report by a map: header, each payment with its stub lines, trailer. Holds all payments in memory.

    Raises ValueError, naming the payee, for a payment that would not read back the same: one longer than its field,
    with a stub line for which the map has no record, or with anything that no field holds.
    """
    payments = list(payments)
    writer = RecordWriter(by, currency, hash_column)
    out = list(writer.around("header", payments))
    assembly = Assembly(by, Reading(tr("the register"), currency, hash_column, map=by), ebcdic=writer.ebcdic)
    for header in out:
        list(assembly.feed(header))
    for item, payment in enumerate(payments, 1):
        try:
            records = writer.payment(payment)
            back = [each for record in records for each in assembly.feed(record)] + list(assembly.flush())
        except ValueError as error:
            raise ValueError(
                tr("the payment to {payee!r} cannot be written: {why}", payee=payment.payee, why=error)
            ) from None
        if back != [payment._replace(item=item, line=0)]:
            why = next((str(each) for each in back if isinstance(each, Fault)), tr("it would not read back the same"))
            raise ValueError(tr("the payment to {payee!r} cannot be written: {why}", payee=payment.payee, why=why))
        out += records
    out += list(writer.around("trailer", payments, len(out)))
    stream.write(writer.heading())
    stream.writelines(writer.line(record) for record in out)


class RecordWriter:
    """Makes records of cells, by a map."""

    def __init__(self, by: Map, currency: str, hash_column: str) -> None:
        self._by, self._currency, self._hashed = by, currency, name_of(hash_column)
        self._encoding = by.encoding or enc.UTF8
        self.ebcdic = enc.family(self._encoding) == "ebcdic"

    def heading(self) -> bytes:
        """As many empty lines as every page has headings."""
        empty = Record(0, b" " * self._by.record_length if not self.ebcdic else b"\x40" * self._by.record_length, "")
        return self.line(empty) * self._by.page_heading_lines

    def line(self, record: Record) -> bytes:
        """A record as it stands in the file."""
        control = " ".encode(self._encoding) if self._by.carriage_control else b""
        if self._by.record_length:
            fill = b"\x40" if self.ebcdic else b" "
            return (control + record.raw).ljust(self._by.record_length, fill)
        return control + record.raw + (_EBCDIC_END if self.ebcdic else "\n".encode(self._encoding))

    def record(self, type_: RecordType, cells: dict[str, str]) -> Record:
        """One record, with what tells it and its fields. ValueError when something does not fit."""
        width = max(type_.width, 1)
        text = [" "] * width
        for condition in type_.when:
            _fulfil(condition, text)
        over: list[tuple[int, bytes]] = []
        for field in type_.fields:
            made = write_field(field, cells.get(field.column, ""), self._by, self._currency, ebcdic=self.ebcdic)
            if isinstance(made, bytes):
                over.append((field.at, made))
            else:
                text[field.at : field.at + field.width] = made
        joined = "".join(text)
        raw = bytearray(joined.encode(self._encoding))
        for at, made in over:
            raw[at : at + len(made)] = made
        if over or self._by.record_length:
            joined = raw.decode(self._encoding, "replace")
        if any(mark in joined for mark in "\n\r\f\x1a\x85") and not self._by.record_length:
            raise ValueError(tr("a character that ends a line"))
        if not type_.fits(joined):
            raise ValueError(tr("its record would not be known by {where}", where=type_.where))
        return Record(0, bytes(raw), joined)

    def around(self, what: str, payments: Sequence[Payment], records: int = 0) -> Iterator[Record]:
        """The headers or the trailers. ValueError when what they say of all payments does not fit."""
        for type_ in sorted(self._by.records, key=lambda type_: type_.whole_file):
            if type_.what == what:
                try:
                    yield self.record(type_, self.of_all(type_, payments, records))
                except ValueError as error:
                    raise ValueError(tr("these payments cannot be written: {why}", why=error)) from None

    def of_all(self, type_: RecordType, payments: Sequence[Payment], records: int = 0) -> dict[str, str]:
        """The cells of a header or trailer: totals, and what all payments have alike."""
        cells = {
            "item_count": str(len(payments)),
            "total": plain(sum(payment.amount for payment in payments), self._currency),
            "hash_total": str(sum(payment.hash_value or 0 for payment in payments)),
            "record_count": str(records - sum(each.what == "header" for each in self._by.records)),
        }
        if type_.what == "header":
            every = [cells_of(payment, self._currency, self._hashed) for payment in payments]
            if any(field.column == "record_count" for field in type_.fields):
                raise ValueError(tr("a header that counts records cannot be written before them"))
            for field in type_.fields:
                if field.column not in cells and len({each.get(field.column, "") for each in every}) == 1:
                    cells[field.column] = every[0].get(field.column, "")
        return cells

    def payment(self, payment: Payment) -> list[Record]:
        """The record of a payment, and those that go on with it."""
        cells = cells_of(payment, self._currency, self._hashed)
        queues: dict[Kind, deque[int]] = {kind: deque() for kind in Kind}
        for name in cells:
            group = group_of(name)
            if group and not group[2]:
                queues[group[0]].append(group[1])
        begins = next(type_ for type_ in self._by.records if type_.what == "payment")
        first = self.record(begins, self._filled(begins, cells, queues))
        return [first, *self.going_on(cells, queues, {field.column for field in begins.fields})]

    def going_on(self, cells: dict[str, str], queues: dict[Kind, deque[int]], done: set[str]) -> list[Record]:
        """The records that go on with a payment: its columns that are not done, and the stub lines in the queues."""
        made = []
        for type_ in self._by.records:
            if type_.what == "stub" and any(self._single(f.column) and cells.get(f.column) for f in type_.fields):
                fresh = {name: "" if name in done else cell for name, cell in cells.items()}
                made.append(self.record(type_, self._filled(type_, fresh, queues)))
                done |= {field.column for field in type_.fields}
        while kind := next((kind for kind in Kind if queues[kind]), None):
            stub = next((t for t in self._by.records if t.what == "stub" and kind in kinds_of(t)), None)
            if stub is None:
                raise ValueError(tr("the map has no record for its {kind} lines", kind=kind))
            only = {name: cell for name, cell in cells.items() if group_of(name)}
            made.append(self.record(stub, self._filled(stub, only, queues)))
        return made

    @staticmethod
    def _single(name: str) -> bool:
        return group_of(name) is None

    def _filled(self, type_: RecordType, cells: dict[str, str], queues: dict[Kind, deque[int]]) -> dict[str, str]:
        """The cells of one record: the next stub lines, for as many as it has room for."""
        filled = {field.column: cells.get(field.column, "") for field in type_.fields if self._single(field.column)}
        stems: dict[tuple[Kind, int], int] = {}
        for column in [*(field.column for field in type_.fields), *(name for name, _ in type_.always)]:
            group = group_of(column)
            if group and group[:2] not in stems and queues[group[0]]:
                stems[group[:2]] = queues[group[0]].popleft()
        for field in type_.fields:
            group = group_of(field.column)
            if group and group[:2] in stems:
                stem = f"{group[0]}{stems[group[:2]]}"
                filled[field.column] = cells.get(f"{stem}_{group[2]}" if group[2] else stem, "")
        return filled


def kinds_of(type_: RecordType) -> set[Kind]:
    """The kinds of stub lines that a record can hold."""
    groups = [group_of(field.column) for field in type_.fields]
    return {group[0] for group in groups if group}


def _fulfil(condition: Condition, text: list[str]) -> None:
    """Put what a condition asks for in a record's text."""
    if condition.test == "is":
        text[condition.at : condition.at + condition.width] = condition.texts[0]
    elif condition.test == "contains":
        text += condition.texts[0]
