"""The list of cheques that were out when the book was begun: CSV with the titles number, date, payee and amount.

UTF-8, commas, days as YYYY-MM-DD, amounts such as 812.40; a column `reference` may be there. Every line is told of
that cannot be read.
"""

import csv
from collections.abc import Iterable, Iterator
from datetime import date
from typing import NamedTuple

from cheque.errors import Fault
from cheque.money import AmountError, parse
from cheque.tongue import tr

TITLES = ("number", "date", "payee", "amount")
#: characters of one line, and lines of a list
LONGEST, MOST = 4096, 100_000


class Listed(NamedTuple):
    """One line: the number as preprinted, its day, the payee, minor units, a reference or "", and where it stood."""

    number: str
    date: str
    payee: str
    amount: int
    reference: str
    where: str


def read(lines: Iterable[str], name: str, currency: str) -> Iterator[Listed | Fault]:
    """The lines of a list and what is wrong with it, in its order."""
    try:
        records = csv.reader(lines, strict=True)
        titles = [title.strip().casefold().removeprefix("\ufeff") for title in next(records, [])]
        wrong = [title for title in TITLES if titles.count(title) != 1]
        if wrong:
            known = ", ".join(title[:40] for title in titles if title) or "nothing"
            yield Fault(
                tr("{name} line 1", name=name),
                tr("the titles {known!a}", known=known),
                tr("the titles number, date, payee, amount, once each, with commas between"),
            )
            return
        strange = sorted({*titles} - {*TITLES, "reference"})
        if strange:
            found = tr("a column {title!a}", title=strange[0][:40])
            yield Fault(
                tr("{name} line 1", name=name),
                found,
                tr("number, date, payee, amount, and reference"),
                tr("take it out"),
            )
            return
        for cells in records:
            where = f"{name} line {records.line_num}"
            if any(cell.strip() for cell in cells):
                yield from _line(dict(zip(titles, cells, strict=False)), len(cells) == len(titles), where, currency)
    except csv.Error as error:
        yield Fault(name, tr("a line that is not comma-separated text ({error})", error=error), tr("one that is"))


def _line(said: dict[str, str], whole: bool, where: str, currency: str) -> Iterator[Listed | Fault]:
    """A line, or everything that is wrong with it."""
    if not whole:
        yield Fault(where, tr("more or fewer fields than titles"), tr("one for each"))
        return
    said = {title: " ".join(cell.split()) for title, cell in said.items()}
    faults = list(_faults(said, where))
    try:
        amount = parse(said["amount"], currency)
    except AmountError as error:
        faults.append(Fault(where, tr("amount {error}", error=error), tr("an amount of {currency}", currency=currency)))
    if faults:
        yield from faults
    else:
        yield Listed(said["number"], said["date"], said["payee"], amount, said.get("reference", ""), where)


def _faults(said: dict[str, str], where: str) -> Iterator[Fault]:
    if not said["payee"] or not said["payee"].isprintable():
        yield Fault(where, tr("payee {payee!a}", payee=said["payee"][:40]), tr("a name in plain text"))
    if not said.get("reference", "").isprintable():
        yield Fault(where, tr("a reference with a character that is not printed"), tr("plain text"))
    try:
        date.fromisoformat(said["date"])
    except ValueError:
        yield Fault(where, tr("date {date!a}", date=said["date"][:40]), tr("a day such as 2026-10-30"))
