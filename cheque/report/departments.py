"""Departments: a subtotal at each change, for the control report, and whose a numbered form is, for slips."""

from collections.abc import Iterator
from typing import Any

from cheque.book import batches
from cheque.book.batches import Batch
from cheque.book.book import Reader
from cheque.payment import Role
from cheque.report.page import Cell, Column, Group, Kind, Money, Row, Table, Total, line_of
from cheque.report.parts import counted
from cheque.tongue import mark, tr

#: what is said of payments that name none
NONE = mark("(no department)")
COLUMNS = (
    Column("department", "Department"),
    Column("lines", "Lines"),
    Column("cheques", "Cheques", Kind.COUNT),
    Column("advices", "Advices", Kind.COUNT),
    Column("amount", "Amount by cheque", Kind.MONEY),
)


class _Sum:
    """One department's payments, one after the other."""

    def __init__(self, name: str, first: int) -> None:
        self.name, self.first, self.last = name, first, first
        self.cheques = self.advices = self.amount = 0

    def row(self, currency: str) -> Row:
        return line_of(
            COLUMNS,
            {
                "department": self.name or tr(NONE),
                "lines": str(self.first) if self.first == self.last else f"{self.first}-{self.last}",
                "cheques": self.cheques,
                "advices": self.advices,
                "amount": Money(self.amount, currency),
            },
        )


def tables(reader: Reader, batch: Batch, accepted: dict[str, Any]) -> Iterator[Table]:
    """A subtotal for each department, when the batch was accepted department by department; pulled ones left out."""
    if accepted.get("group") != "department":
        return
    sums: list[_Sum] = []
    for payment in batches.payments(reader, batch.id):
        if not sums or payment.department != sums[-1].name:
            sums.append(_Sum(payment.department, payment.item))
        now = sums[-1]
        now.last = payment.item
        if payment.role is Role.CHEQUE:
            now.cheques += 1
            now.amount += payment.amount
        else:
            now.advices += 1
    cells: dict[str, Cell] = {
        "cheques": sum(one.cheques for one in sums),
        "advices": sum(one.advices for one in sums),
        "amount": Money(sum(one.amount for one in sums), batch.currency),
    }
    yield Table(
        "departments",
        tr("Subtotals by department, payments pulled left out"),
        COLUMNS,
        (Group("", tuple(one.row(batch.currency) for one in sums)),),
        (Total(counted(len(sums), "department"), line_of(COLUMNS, cells)),),
        empty=tr("No payments."),
    )


def of_items(reader: Reader, batch: int) -> dict[int, str]:
    """The department of each payment of a batch that names one, by its place in it."""
    found = {}
    for payment in batches.payments(reader, batch, pulled=True):
        if payment.department:
            found[payment.item] = payment.department
    return found
