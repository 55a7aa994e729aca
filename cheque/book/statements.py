"""Statements of the bank, entered in the book: what was booked, once and for good.

What a statement says is judged nowhere here. An item is known by its day, its cheque number, its amount and which of
several alike on that day it is, so that the same item on two statements that overlap is one.
"""

import json
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import NamedTuple

from cheque.book.book import Book, Reader
from cheque.book.event import Event

#: items in one text: small enough to be read whole, large enough that a year's statements are few texts
AT_ONCE = 2048


class Item(NamedTuple):
    """One item booked by the bank.

    `booked`, `valued`: ISO 8601 days; `number`: the cheque of ours that it names, 0 when none; `amount`: minor units,
    less than 0 when it was paid out of the account; `nth`: which of those with the same day, number and amount, from
    1; `reference`: the bank's own; `about`: what it says of itself, where it is no cheque.
    """

    booked: str
    number: int
    amount: int
    nth: int = 1
    valued: str = ""
    reference: str = ""
    payee: str = ""
    about: str = ""


class Statement(NamedTuple):
    """One statement that was read. `opening`, `closing`: its balances in minor units, None when it gave none."""

    seq: int
    account: str
    name: str
    digest: str
    first_day: str
    last_day: str
    opening: int | None
    closing: int | None
    entries: int
    fresh: int


_ITEM = ", ".join(Item._fields)
_COLUMNS = ", ".join(Statement._fields)


def every(reader: Reader, account: str) -> list[Statement]:
    """The statements of an account that were read, by the last day that they cover."""
    rows = reader.rows(f"SELECT {_COLUMNS} FROM statement WHERE account = ? ORDER BY last_day, seq", account)
    return [Statement(*row) for row in rows]


def items(reader: Reader, account: str, first: str, last: str) -> Iterator[Item]:
    """What was booked on an account from one day to another, by day, number and amount."""
    rows = reader.rows(
        f"SELECT {_ITEM} FROM bank_item WHERE account = ? AND booked BETWEEN ? AND ? ORDER BY booked, number, amount",
        account,
        first,
        last,
    )
    return (Item(*row) for row in rows)


def of_number(reader: Reader, account: str, number: int) -> list[Item]:
    """Every item that names a cheque, by day."""
    rows = reader.rows(
        f"SELECT {_ITEM} FROM bank_item WHERE account = ? AND number = ? ORDER BY booked, amount, nth", account, number
    )
    return [Item(*row) for row in rows]


def references(reader: Reader, account: str, booked: str, number: int, amount: int) -> list[str]:
    """The bank's references of the items of one day, number and amount that are in the book, in their order."""
    rows = reader.rows(
        "SELECT reference FROM bank_item WHERE account = ? AND booked = ? AND number = ? AND amount = ? ORDER BY nth",
        account,
        booked,
        number,
        amount,
    )
    return [row[0] for row in rows]


def any_between(reader: Reader, account: str, first: str, last: str) -> bool:
    """Whether the book has any item of an account between two days."""
    sql = "SELECT 1 FROM bank_item WHERE account = ? AND booked BETWEEN ? AND ? LIMIT 1"
    return reader.row(sql, account, first, last) is not None


def enter(
    book: Book,
    fresh: Iterable[Item],
    *,
    account: str,
    name: str,
    source: str,
    digest: str,
    first: str,
    last: str,
    opening: int | None,
    closing: int | None,
    entries: int,
) -> Event:
    """Enter a statement with those of its items that are not in the book yet, all of it or nothing.

    `entries`: how many items it has in all. BookRefused when one is in the book already.
    """
    body: dict[str, object] = {
        "account": account,
        "statement": name,
        "source": source,
        "digest": digest,
        "first": first,
        "last": last,
        "entries": entries,
    }
    if opening is not None:
        body["opening"] = opening
    if closing is not None:
        body["closing"] = closing
    with book.change() as change:
        lists, count, rest = [], 0, iter(fresh)
        while some := list(islice(rest, AT_ONCE)):
            count += len(some)
            lists.append(change.keep("".join(_line(item) for item in some)))
        return change.append("statement.read", {**body, "fresh": count, "lists": lists})


def _line(item: Item) -> str:
    return json.dumps(item, ensure_ascii=False, separators=(",", ":")) + "\n"
