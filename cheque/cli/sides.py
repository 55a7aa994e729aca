"""Payee and amount side by side, new payees first: kept in files without names, however long the register is."""

import json
from collections.abc import Callable, Iterator
from itertools import chain
from typing import Any

import click

from cheque.money import plain
from cheque.payment import Payment, Role
from cheque.spill import Spill
from cheque.tongue import tr

#: rows held at once
_HELD = 1_000
Rows = Iterator[list[str]]
_HEAD = ("payee", "amount", "reference", "")


class Sides:
    """Takes payments in the register's order; gives those to new payees, then the others."""

    def __init__(self, currency: str) -> None:
        self._currency = currency
        self._files = {new: Spill() for new in (True, False)}
        self._held: dict[bool, list[str]] = {True: [], False: []}
        self._widths = [len(title) for title in _HEAD]

    def add(self, payment: Payment, new: bool, *, advices: bool = True) -> None:
        """Take one payment; an advice is called one unless no paper of the register pays."""
        told = [tr("new payee")] if new else []
        if advices and payment.role is Role.ADVICE:
            told.append("advice")
        row = (payment.payee, plain(payment.amount, self._currency), payment.reference, ", ".join(told))
        self._widths = [max(width, len(cell)) for width, cell in zip(self._widths, row, strict=True)]
        held = self._held[new]
        held.append(json.dumps(row) + "\n")
        if len(held) >= _HELD:
            self._files[new].add("".join(held).encode())
            held.clear()

    def _rows(self, new: bool) -> Rows:
        return map(json.loads, chain(self._files[new].lines(), self._held[new]))

    def show(self) -> None:
        """Answer with the table, a line at a time."""
        payee, amount, reference, _ = self._widths
        for name, figures, own, told in chain([list(_HEAD)], self._rows(True), self._rows(False)):
            click.echo(f"{name:<{payee}}  {figures:>{amount}}  {own:<{reference}}  {told}".rstrip())

    def listed(self, new: bool) -> "Listed":
        """Those to new payees, or the others, for an answer as JSON."""
        return Listed(lambda: self._rows(new))


class Listed(list[Any]):
    """A list that JSON writes one by one, and that is never whole in memory."""

    def __init__(self, rows: Callable[[], Rows]) -> None:
        super().__init__()
        self._rows = rows

    def __bool__(self) -> bool:
        return next(self._rows(), None) is not None

    def __len__(self) -> int:
        return sum(1 for _ in self._rows())

    def __iter__(self) -> Iterator[dict[str, str]]:
        for payee, amount, reference, _ in self._rows():
            yield {"payee": payee, "amount": amount, "reference": reference}
