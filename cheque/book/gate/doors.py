"""How a station knocks: what it writes beside the chain, said as a call of the function that takes it in."""

from collections.abc import Iterable, Sequence
from typing import Any

from cheque.book.gate import Asks
from cheque.likeness import invoices
from cheque.payment import MAYBE_INVOICE, from_kept

_PAYMENT = "INSERT INTO payment "
#: how a statement begins -> what is said in its place
_DOORS = {
    "INSERT INTO content ": "SELECT {gate}.keep_text(?, ?)",
    _PAYMENT: "SELECT {gate}.keep_payment(?, ?, ?, ?)",
    "INSERT INTO proof_page ": "SELECT {gate}.keep_page(?, ?, ?)",
}


def by_its_door(gate: str, sql: str, rows: Sequence[Sequence[Any]]) -> tuple[str, Sequence[Sequence[Any]]]:
    """A statement, and rows of what it is given, as they are said to a gate; any other statement as it is."""
    for begins, door in _DOORS.items():
        if sql.startswith(begins):
            given = [(*row, _invoices(row[1], row[2])) for row in rows] if begins == _PAYMENT else rows
            return door.format(gate=gate), given
    return sql, rows


def _invoices(item: int, kept: str) -> list[int]:
    """The keys of the invoices that a payment pays: the server cannot compute them."""
    return list(invoices(from_kept(item, kept))) if MAYBE_INVOICE in kept else []


def told(rows: Iterable[Sequence[Any]]) -> Asks:
    """The duties that a gate asks, from its rows (duty, account, amount)."""
    found = list(rows)
    duties = {row[0] for row in found}
    over = {account: amount for duty, account, amount in found if duty == "second_approval_over"}
    return Asks("approve" in duties, "reconcile" in duties, "second_person" in duties, over)
