"""Payments to a comma-separated register, exactly as `cheque.register.csvfile` reads them back."""

import re
from collections.abc import Iterable, Iterator
from typing import BinaryIO
from unicodedata import normalize

from cheque.money import plain
from cheque.payment import Kind, Payment, Role, StubLine
from cheque.register import Reading
from cheque.register.columns import ADDRESS, GROUPS, SINGLE, name_of
from cheque.register.rows import Plan

_ALWAYS = ("payee", "amount", "date")
_QUOTED = re.compile(r"[\",;\t\r\n]|^[ ]|[ ]$")


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
) -> None:
    """Write a register with just the columns that its payments need. Holds all of them in memory.

    Raises ValueError, naming the payee, for a payment that would not read back the same: one with stub lines
    out of the order of kinds, say, or with a hash value that is not in its column.
    """
    payments = list(payments)
    hashed = name_of(hash_column)
    names = list(_names(payments, currency, hashed))
    plan = Plan(names, Reading("", currency, hash_column))

    def line(cells: list[str]) -> bytes:
        quoted = ('"' + c.replace('"', '""') + '"' if quote_all or _QUOTED.search(c) else c for c in cells)
        return (separator.join(quoted) + line_end).encode()

    stream.write(b"\xef\xbb\xbf" * byte_order_mark + line(names))
    for item, payment in enumerate(payments, 1):
        cells = _cells(payment, currency, hashed)
        row = [cells.get(name, "") for name in names]
        back, faults = plan.payment([normalize("NFC", cell).strip(" ") for cell in row], item, 0)
        if faults or back != payment._replace(item=item, line=0):
            reason = str(faults[0]) if faults else "it would not read back the same"
            raise ValueError(f"the payment to {payment.payee!r} cannot be written: {reason}")
        stream.write(line(row))


def _names(payments: list[Payment], currency: str, hashed: str) -> Iterator[str]:
    """The columns that are needed, in the order of the documents."""
    used = set(_ALWAYS)
    used.update(name for payment in payments for name, cell in _cells(payment, currency, hashed).items() if cell)
    yield from (name for name in SINGLE if name in used)
    if hashed in used and hashed not in SINGLE:
        yield hashed
    for kind, parts in GROUPS.items():
        for number in range(1, 100):
            stem = f"{kind}{number}"
            yield from (name for name in (stem, *(f"{stem}_{part}" for part in parts)) if name in used)


def _cells(payment: Payment, currency: str, hashed: str) -> dict[str, str]:
    """Every cell of a payment by the name of its column."""
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
        "amount": money(line.amount),
        "to_date": money(line.to_date),
        "date": line.date,
        "gross": money(line.gross),
        "discount": money(line.discount),
        "net": money(line.amount),
    }
    return {stem: line.text, **{f"{stem}_{part}": every[part] for part in GROUPS[line.kind]}}
