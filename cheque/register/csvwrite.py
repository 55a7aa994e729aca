"""Payments to a comma-separated register, exactly as `cheque.register.csvfile` reads them back."""

import codecs
import csv
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import BinaryIO
from unicodedata import normalize

from cheque.money import plain
from cheque.payment import Kind, Payment, Role, StubLine
from cheque.register import Reading
from cheque.register.columns import ADDRESS, GROUPS, SINGLE, name_of
from cheque.register.encodings import UTF8
from cheque.register.mapped import plan_for, titles_of, written
from cheque.register.maps import NO_MAP, Map
from cheque.register.rows import Plan
from cheque.tongue import tr

_ALWAYS = ("payee", "amount", "date")
_ENDS, _SEPARATORS = frozenset("\r\n"), frozenset(",;\t|")


def dialect_reader(lines: Iterable[str], separator: str, by: Map) -> Iterator[list[str]]:
    """The csv module, set to the dialect of a map."""
    return csv.reader(
        lines,
        delimiter=separator,
        quotechar=by.quote or '"',
        escapechar=by.escape or None,
        quoting=csv.QUOTE_MINIMAL if by.quote else csv.QUOTE_NONE,
        strict=True,
    )


def write(
    payments: Iterable[Payment],
    stream: BinaryIO,
    currency: str,
    *,
    hash_column: str = "employee",
    separator: str = ",",
    line_end: str = "\r\n",
    byte_order_mark: bool = False,
    quote_all: bool = False,
    by: Map = NO_MAP,
) -> None:
    """Write a register with just the columns that its payments need, by a map if given. Holds all of them in memory.

    Raises ValueError, naming the payee, for a payment that would not read back the same: one with stub lines
    out of the order of kinds, say, or with a hash value that is not in its column.
    """
    payments = list(payments)
    names = columns_needed(payments, currency, name_of(hash_column), by)
    titles = titles_of(names, by.columns)
    plan = plan_to_check(titles, Reading("", currency, hash_column, map=by))
    line = liner(by, by.separator or separator, line_end, quote_all=quote_all)
    if byte_order_mark:
        stream.write(b"\xef\xbb\xbf")
    for _ in range(by.skip_lines):
        stream.write(line([""]))
    if by.header:
        stream.write(line(titles))
    for item, payment in enumerate(payments, 1):
        try:
            cells = cells_of(payment, currency, name_of(hash_column))
            row = [written(name, cells.get(name, ""), by, currency) for name in names]
            check(plan, [normalize("NFC", cell).strip(" ") for cell in row], payment, item)
            stream.write(line(row))
        except ValueError as error:
            raise ValueError(
                tr("the payment to {payee!r} cannot be written: {why}", payee=payment.payee, why=error)
            ) from None


def plan_to_check(titles: Sequence[str], reading: Reading, *, convert: bool = True) -> Plan:
    """The plan by which rows will be read back. ValueError when there is none."""
    plan = plan_for(titles, reading, tr("the register"), convert=convert)
    if isinstance(plan, list):
        raise ValueError(tr("these payments cannot be written: {why}", why=plan[0]))
    return plan


def check(plan: Plan, row: list[str], payment: Payment, item: int) -> None:
    """ValueError when a row does not read back as the payment it is of."""
    back, faults = plan.payment(row, item, 0)
    if faults or back != payment._replace(item=item, line=0):
        raise ValueError(str(faults[0]) if faults else tr("it would not read back the same"))


def liner(
    by: Map, separator: str, line_end: str, encoding: str = "", *, quote_all: bool = False
) -> Callable[[Sequence[str]], bytes]:
    """A function from texts to a line of the file's dialect and encoding. It raises ValueError for what has no line."""
    mark, escape = by.quote, by.escape
    encoder = codecs.getincrementalencoder(
        encoding or by.encoding or UTF8
    )()  # one for the file: its byte-order mark comes once
    # a separator that is not named is found by the header, so that no other may stand bare
    awkward = _ENDS | (frozenset() if by.separator else _SEPARATORS) | {separator, mark, escape} - {""}

    def field(text: str) -> str:
        if not (quote_all or text[:1] == " " or text[-1:] == " " or awkward.intersection(text)):
            return text
        if escape:
            text = text.replace(escape, escape * 2)
        if mark:
            return mark + text.replace(mark, mark * 2) + mark
        return text.replace(separator, escape + separator) if escape else text

    def line(texts: Sequence[str]) -> bytes:
        made = separator.join(map(field, texts)) + line_end
        lines = made.splitlines(keepends=True) if "\n" in made[:-1] else [made]
        back = list(dialect_reader(_physical(lines), separator, by))
        if back != ([list(texts)] if any(texts) else [[]]):
            raise ValueError(tr("this dialect cannot carry it"))
        return encoder.encode(made)

    return line


def _physical(lines: list[str]) -> Iterator[str]:
    """Lines as a file has them: ended by LF alone or CR LF, and nothing else that Unicode calls a line end."""
    held = ""
    for line in lines:
        held += line
        if held.endswith("\n"):
            yield held
            held = ""
    if held:
        yield held


def columns_needed(payments: list[Payment], currency: str, hashed: str, by: Map = NO_MAP) -> list[str]:
    """Our names of the columns that these payments need, in the order in which they are written."""
    names = [name for name in _names(payments, currency, hashed, by.columns) if name not in by.always]
    if by.header:
        return names
    places = {name: place for name, place in by.columns.items() if isinstance(place, int)}
    if set(names) - set(places) or sorted(places.values()) != list(range(1, len(places) + 1)):
        raise ValueError(
            tr("these payments cannot be written: without a header, every column needs its place in the map")
        )
    return sorted(places, key=lambda name: places[name])


def _names(payments: list[Payment], currency: str, hashed: str, mapped: Iterable[str]) -> Iterator[str]:
    """The columns that are needed, in the order of the documents: those of a map, and those with anything in them."""
    used = {*_ALWAYS, *mapped}
    used.update(name for payment in payments for name, cell in cells_of(payment, currency, hashed).items() if cell)
    yield from (name for name in SINGLE if name in used)
    if hashed in used and hashed not in SINGLE:
        yield hashed
    for kind, parts in GROUPS.items():
        for number in range(1, 100):
            stem = f"{kind}{number}"
            yield from (name for name in (stem, *(f"{stem}_{part}" for part in parts)) if name in used)


def cells_of(payment: Payment, currency: str, hashed: str) -> dict[str, str]:
    """Every cell of a payment, as plain text, by the name of its column."""
    cells = {
        "payee": payment.payee,
        "amount": plain(payment.amount, currency),
        "date": payment.date,
        "reference": payment.reference,
        "number": payment.expected,
        "paid_by": "transfer" if payment.role is Role.ADVICE and payment.amount else "",
        "employee": payment.employee,
        "identity": payment.identity,
        "department": payment.department,
        **dict(zip(ADDRESS, payment.address, strict=False)),
        "period_from": payment.period_from,
        "period_to": payment.period_to,
        "memo": payment.memo,
        "transfer": plain(payment.by_transfer, currency) if payment.by_transfer else "",
    }
    if payment.hash_value is not None and not cells.get(hashed):
        cells[hashed] = str(payment.hash_value)
    counts = dict.fromkeys(Kind, 0)
    for line in payment.stub:
        counts[line.kind] += 1
        cells |= _stub_cells(line, f"{line.kind}{counts[line.kind]}", currency)
    return cells


def _stub_cells(line: StubLine, stem: str, currency: str) -> dict[str, str]:
    def money(minor: int | None) -> str:
        return "" if minor is None else plain(minor, currency)

    every = {
        "hours": line.hours,
        "rate": line.rate,
        "quantity": line.hours,
        "price": line.rate,
        "amount": money(line.amount),
        "to_date": money(line.to_date),
        "date": line.date,
        "gross": money(line.gross),
        "discount": money(line.discount),
        "net": money(line.amount),
    }
    return {stem: line.text, **{f"{stem}_{part}": every[part] for part in GROUPS[line.kind]}}
