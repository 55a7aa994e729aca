"""The list of cheques that were out when the book was begun: CSV with the titles number, date, payee and amount.

UTF-8, commas, days as YYYY-MM-DD, amounts such as 812.40; a column `reference` may be there. Every line is told of
that cannot be read.
"""

import csv
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from cheque.errors import Fault
from cheque.money import AmountError, parse

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
            yield Fault(
                f"{name} line 1", f"no {', no '.join(wrong)}", "the titles number, date, payee, amount, once each"
            )
            return
        strange = sorted({*titles} - {*TITLES, "reference"})
        if strange:
            found = f"a column {strange[0][:40]!a}"
            yield Fault(f"{name} line 1", found, "number, date, payee, amount, and reference", "take it out")
            return
        for cells in records:
            where = f"{name} line {records.line_num}"
            if any(cell.strip() for cell in cells):
                yield _line(dict(zip(titles, cells, strict=False)), len(cells) == len(titles), where, currency)
    except csv.Error as error:
        yield Fault(name, f"a line that is not comma-separated text ({error})", "one that is")


def _line(said: dict[str, str], whole: bool, where: str, currency: str) -> Listed | Fault:
    if not whole:
        return Fault(where, "more or fewer fields than titles", "one for each")
    said = {title: " ".join(cell.split()) for title, cell in said.items()}
    if not said["payee"] or not said["payee"].isprintable():
        return Fault(where, f"payee {said['payee'][:40]!a}", "a name in plain text")
    if not said.get("reference", "").isprintable():
        return Fault(where, "a reference with a character that is not printed", "plain text")
    try:
        amount = parse(said["amount"], currency)
    except AmountError as error:
        return Fault(where, str(error), f"an amount of {currency}")
    return Listed(said["number"], said["date"], said["payee"], amount, said.get("reference", ""), where)
