"""The order in which a batch is printed: as the register has it, or by payee, department or postal code.

The order is chosen when a batch is accepted and stays: it is the order of the proof, of the numbers and of the paper.
Payments that sort the same stay as they were in the register. Sorting holds no register in memory: sorted pieces go to
a file without a name in the book's own folder, and are merged.
"""

import heapq
import json
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from cheque import collate
from cheque.payment import Payment, from_text, to_text
from cheque.register import postal
from cheque.spill import Spill, lines_of
from cheque.tongue import mark, tr

REGISTER, PAYEE, DEPARTMENT, POSTAL_CODE = "register", "payee", "department", "postal-code"
ORDERS = (REGISTER, PAYEE, DEPARTMENT, POSTAL_CODE)
GROUPS = (DEPARTMENT,)
#: payments in one sorted piece
_PIECE = 8_192
#: sorts after every key
_LAST = "\U0010ffff"


class Order(NamedTuple):
    """How a batch is ordered: by what, within which groups ("" for none), and by whose alphabet (en_US)."""

    by: str = REGISTER
    group: str = ""
    locale: str = ""

    @property
    def is_the_registers(self) -> bool:
        """Whether nothing is moved."""
        return self.by == REGISTER and not self.group

    def record(self) -> dict[str, str]:
        """What the book keeps of it: nothing for the register's own order."""
        if self.is_the_registers:
            return {}
        return {"order": self.by, "collation": self.locale, **({"group": self.group} if self.group else {})}


#: nothing is moved
THE_REGISTERS = Order()

#: what the payments are put in order by, when one of them has none
LACKING = (mark("payee"), mark("department"), mark("postal code"))
#: order -> what it is called
_CALLED = {
    REGISTER: mark("as in the register"),
    PAYEE: mark("by payee"),
    DEPARTMENT: mark("by department"),
    POSTAL_CODE: mark("by postal code"),
}


def said(by: str, group: str = "") -> str:
    """An order in words.

    >>> said("payee", "department"), said("register")
    ('department by department, in each by payee', 'as in the register')
    """
    called = tr(_CALLED.get(by or REGISTER, by))
    return tr("department by department, in each {called}", called=called) if group else called


def key(payment: Payment, order: Order) -> tuple[str, ...]:
    """What a payment sorts by; what has no department or no postal code comes last."""
    parts = []
    for what in dict.fromkeys((order.group, order.by)):
        if what == PAYEE:
            parts.append(collate.key(payment.payee, order.locale))
        elif what == DEPARTMENT:
            parts.append(collate.key(payment.department, order.locale) if payment.department else _LAST)
        elif what == POSTAL_CODE:
            parts.append(postal.code_of(payment.address, order.locale[-2:]) or _LAST)
    return tuple(parts)


class Sorter:
    """Takes payments in the register's order and gives them in another, numbered anew.

    `folder` is where pieces may lie that are too many for memory. Each payment given has `item`, its place in the
    batch, and `place`, where it stood in the register when that is another. `unknown` counts those that had nothing to
    sort by.
    """

    def __init__(self, order: Order, folder: Path) -> None:
        self._order, self._pieces = order, Spill(folder)
        self._rows: list[tuple[tuple[str, ...], int, str]] = []
        self.unknown = 0

    def add(self, payment: Payment) -> None:
        """Take one payment."""
        found = key(payment, self._order)
        self.unknown += found[-1:] == (_LAST,)
        self._rows.append((found, payment.item, to_text(payment)))
        if len(self._rows) >= _PIECE:
            self._rows.sort()
            self._pieces.add("".join(f"{json.dumps(row)}\n" for row in self._rows).encode())
            self._rows.clear()

    def payments(self) -> Iterator[Payment]:
        """Everything that was taken, in order."""
        self._rows.sort()
        pieces = map(_read, self._pieces.pieces())
        for item, (_, place, text) in enumerate(heapq.merge(self._rows, *pieces), 1):
            yield from_text(text)._replace(item=item, place=0 if place == item else place)


def _read(piece: Iterator[bytes]) -> Iterator[tuple[tuple[str, ...], int, str]]:
    for line in lines_of(piece):
        found, place, text = json.loads(line)
        yield tuple(found), place, text
