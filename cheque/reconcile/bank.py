"""The bank's list against the book: every item booked in some days, judged; and what that comes to.

Read from the book as it stands, in one pass by day: memory does not grow with the statement. `Finding` keeps the
exceptions and the items that pay no cheque, up to `MOST` of each; the rest are counted.
"""

import json
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from cheque.book import statements, stops
from cheque.book.book import Reader
from cheque.book.move import stock_of
from cheque.book.schema import BUCKET
from cheque.book.state import State
from cheque.book.statements import Item
from cheque.reconcile.judge import Case, Exception_, Held, Rules, in_order, judge, other

#: exceptions, and other items, that are told one by one
MOST = 10_000
_ITEM = ", ".join(f"e.{name}" for name in Item._fields)
_HELD = "coalesce(n.state, ''), coalesce(n.role, ''), coalesce(n.stop, ''), coalesce(n.reason, '')"
_JUDGED = f"""SELECT {_ITEM}, {_HELD}, coalesce(c.amount, 0), coalesce(c.date, ''), coalesce(c.payee, ''),
    (SELECT count(*) FROM bank_item o WHERE o.account = e.account AND o.number = e.number)
    FROM bank_item e LEFT JOIN number n ON n.account = e.account AND n.number = e.number
    LEFT JOIN claim c ON c.batch = n.batch AND c.item = n.item AND n.batch > 0
    WHERE e.account = ? AND e.booked BETWEEN ? AND ? AND e.number > 0
    ORDER BY e.booked, e.number, e.amount, e.nth"""


class Line(NamedTuple):
    """One item that does not agree, with what the book has and what is wrong."""

    item: Item
    held: Held
    digits: int
    wrong: tuple[Exception_, ...]


class Finding(NamedTuple):
    """What was found among the items of some days.

    `paid`, `amount`: payments of cheques and their money; `as_issued`, `as_issued_amount`: those that agree; `lines`:
    what does not; `unlisted`: how many more of those there are; `kinds`: how often each kind; `others`: items that
    pay no cheque of ours, by day; `other_items`, `other_total`: how many, and their sum.
    """

    account: str
    first: str
    last: str
    paid: int
    amount: int
    as_issued: int
    as_issued_amount: int
    lines: tuple[Line, ...]
    unlisted: int
    kinds: dict[str, int]
    others: tuple[Item, ...]
    other_items: int
    other_total: int

    @property
    def agrees(self) -> bool:
        """Whether nothing is wrong."""
        return not self.lines and not self.unlisted


def find(reader: Reader, account: str, rules: Rules, first: str, last: str) -> Finding:
    """Judge what was booked on an account from one day to another."""
    paid = amount = as_issued = as_issued_amount = unlisted = 0
    lines: list[Line] = []
    kinds: Counter[str] = Counter()
    for item, held, wrong in _judged(reader, account, rules, first, last):
        if item.amount < 0:
            paid, amount = paid + 1, amount - item.amount
        if not wrong:
            as_issued, as_issued_amount = as_issued + 1, as_issued_amount - item.amount
            continue
        kinds.update(one.kind for one in wrong)
        if len(lines) < MOST:
            lines.append(Line(item, held, _digits(reader, account, item.number), tuple(wrong)))
        else:
            unlisted += 1
    others: list[Item] = []
    other_items = other_total = 0
    for item in _others(reader, account, first, last):
        other_items, other_total = other_items + 1, other_total + item.amount
        wrong = list(other(item))
        kinds.update(one.kind for one in wrong)
        if wrong and len(lines) < MOST:
            lines.append(Line(item, Held("-"), 0, tuple(wrong)))
        elif wrong:
            unlisted += 1
        if len(others) < MOST:
            others.append(item)
    return Finding(
        account,
        first,
        last,
        paid,
        amount,
        as_issued,
        as_issued_amount,
        tuple(lines),
        unlisted,
        dict(kinds),
        tuple(others),
        other_items,
        other_total,
    )


def _others(reader: Reader, account: str, first: str, last: str) -> Iterator[Item]:
    """Items that pay no cheque of ours, by day."""
    rows = reader.rows(
        f"SELECT {', '.join(Item._fields)} FROM bank_item WHERE account = ? AND booked BETWEEN ? AND ? "
        "AND number = 0 ORDER BY booked, amount, nth",
        account,
        first,
        last,
    )
    return (Item(*row) for row in rows)


def _judged(
    reader: Reader, account: str, rules: Rules, first: str, last: str
) -> Iterator[tuple[Item, Held, list[Exception_]]]:
    width = len(Item._fields)
    for row in reader.rows(_JUDGED, account, first, last):
        item = Item(*row[:width])
        state, role, stop, reason, amount, day, payee, alike = row[width:]
        if not state and stock_of(reader.store, account, item.number):
            state = State.ON_HAND.value
        told = reason if state in ("spoiled", "missing", "voided", "destroyed") else ""
        stopped = stop_day(reader, account, item.number) if stop else ""
        order = stops.get(reader, account, item.number) if stopped else None
        lapsed = order.lapses if order and order.state == "confirmed" else ""
        held = Held(state, role, amount, day, payee, stopped, told, lapsed)
        earlier: list[Item] = []
        if alike > 1:
            every = in_order(statements.of_number(reader, account, item.number), amount)
            earlier = every[: every.index(item)]
        yield item, held, judge(Case(item, held, earlier, rules))


def stop_day(reader: Reader, account: str, number: int) -> str:
    """The first day on which the bank confirmed the stop of a number, or "" when it did not."""
    rows = reader.rows(
        "SELECT e.body FROM touch t JOIN event e ON e.seq = t.seq WHERE t.account = ? AND t.bucket = ? "
        "AND t.first = ? AND t.last = ? AND e.kind = 'stop.confirmed' ORDER BY e.seq",
        account,
        number // BUCKET,
        number,
        number,
    )
    return min((str(json.loads(body)["on"]) for (body,) in rows), default="")


def _digits(reader: Reader, account: str, number: int) -> int:
    box = stock_of(reader.store, account, number)
    return box[4] if box else 0
