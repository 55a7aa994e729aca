"""Whom to write to about cheques that were not cashed: for each payee the address, the numbers, dates and amounts.

A payee at two addresses, or paid from two accounts, is two letters: whether it is one person no program can say.
"""

from typing import NamedTuple

from cheque.book.book import Reader
from cheque.report import unpaid
from cheque.report.ages import days_old, limits
from cheque.report.page import (
    Cell,
    Column,
    Fact,
    Group,
    Kind,
    Money,
    Place,
    Report,
    Row,
    Table,
    Total,
    cell_text,
    line_of,
)
from cheque.report.parts import account_facts, accounts_of, counted, firm
from cheque.report.unpaid import Unpaid, address
from cheque.report.when import When
from cheque.settings import Settings
from cheque.tongue import tr

_LEAST_LINES = 4


class _Letter(NamedTuple):
    """To whom, and about what."""

    account: str
    currency: str
    payee: str
    address: tuple[str, ...]


def build(
    reader: Reader, settings: Settings, when: When, *, batch: int = 0, account: str = "", over: int | None = None
) -> Report:
    """One row for each payee with something not cashed that is older than `over` days; None: stale by its account.

    An account that is no longer in the settings is stale after no days: with `over` it is in, without it is left out.
    """
    found: dict[_Letter, list[Unpaid]] = {}
    for one in unpaid.every(reader, batch=batch, account=account):
        least = limits(settings, one.account).stale if over is None else over
        if least is not None and days_old(one.date, when.today) > least:
            letter = _Letter(one.account, one.currency, one.payee, address(reader, one))
            found.setdefault(letter, []).append(one)
    accounts = accounts_of((letter.account for letter in found), account, settings)
    lines = max([_LEAST_LINES, *(len(letter.address) for letter in found)])
    columns = _columns(lines)
    rows = tuple(_row(columns, letter, sorted(some, key=_order)) for letter, some in sorted(found.items()))
    return Report(
        "letters",
        tr("Letters about cheques not cashed") + (tr(", batch {batch}", batch=batch) if batch else ""),
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=(
            *account_facts(settings, accounts),
            Fact(
                "older",
                tr("Older than"),
                tr("the account's stale cheques") if over is None else tr("{over} days", over=over),
            ),
        ),
        tables=(Table("letters", "", columns, (Group("", rows),), tuple(_totals(columns, found)), empty="Nobody."),),
        notes=(tr("Addresses are the register's, as they were on payday: look whether there is a later one."),)
        if found
        else (),
    )


def _order(one: Unpaid) -> tuple[str, str]:
    return one.date, one.number


def _columns(lines: int) -> tuple[Column, ...]:
    return (
        Column("payee", "Payee"),
        Column("cheques", "Cheques", Kind.COUNT),
        Column("total", "In all", Kind.MONEY),
        Column("address", "Address", place=Place.BELOW),
        *(Column(f"address{line}", place=Place.DATA) for line in range(1, lines + 1)),
        Column("numbers", "Numbers", place=Place.BELOW),
        Column("dates", "Dates", place=Place.BELOW),
        Column("amounts", "Amounts", place=Place.BELOW),
        Column("what", "What they are", place=Place.BELOW),
        Column("references", place=Place.DATA),
        Column("account", place=Place.DATA),
    )


def _row(columns: tuple[Column, ...], letter: _Letter, some: list[Unpaid]) -> Row:
    def each(cells: list[str]) -> str:
        return ", ".join(cells)

    cells: dict[str, Cell] = {
        "payee": letter.payee,
        "cheques": len(some),
        "total": Money(sum(one.amount for one in some), letter.currency),
        "address": each(list(letter.address)) or tr("none in the register"),
        "numbers": each([one.number for one in some]),
        "dates": each([one.date for one in some]),
        "amounts": each([cell_text(Money(one.amount, one.currency)) for one in some]),
        "what": each(list(dict.fromkeys(one.what for one in some))),
        "references": each([one.reference for one in some]),
        "account": letter.account,
        **{f"address{line}": text for line, text in enumerate(letter.address, 1)},
    }
    return line_of(columns, cells)


def _totals(columns: tuple[Column, ...], found: dict[_Letter, list[Unpaid]]) -> list[Total]:
    told = []
    for currency in sorted({letter.currency for letter in found}):
        some = [one for letter, ones in found.items() if letter.currency == currency for one in ones]
        letters = sum(letter.currency == currency for letter in found)
        cells: dict[str, Cell] = {"cheques": len(some), "total": Money(sum(one.amount for one in some), currency)}
        told.append(Total(counted(letters, "letter"), line_of(columns, cells)))
    return told
