"""What the bank says it has done: its statements, and by them which cheques are cleared; and what was out before.

The items of a statement are written once, beside the chain, in lists of a bounded size: one item a line, canonical
JSON `[booked, number, amount, nth, valued, reference, payee, about]` as in the table `bank_item`.
"""

import json
from collections.abc import Iterator
from typing import Any

from cheque.book import free
from cheque.book.apply.law import Apply, Body, in_batch, law
from cheque.book.event import Event
from cheque.book.move import add, leave_box
from cheque.book.state import State
from cheque.book.store import Store
from cheque.errors import BookRefused
from cheque.tongue import tr

FIELDS = ("booked", "number", "amount", "nth", "valued", "reference", "payee", "about")
_PAID = """FROM bank_item WHERE account = ? AND number > 0
    AND number IN (SELECT number FROM bank_item WHERE seq = ? AND number > 0)"""


def _statement_read(store: Store, event: Event, body: Body) -> None:
    account = body["account"]
    store.execute(
        "INSERT INTO statement (seq, account, name, digest, first_day, last_day, opening, closing, entries, fresh) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            event.seq,
            account,
            *(body[name] for name in ("statement", "digest", "first", "last")),
            body.get("opening"),
            body.get("closing"),
            *(body[name] for name in ("entries", "fresh")),
        ),
    )
    for digest in body["lists"]:
        store.many(
            f"INSERT INTO bank_item (account, seq, {', '.join(FIELDS)}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            ((account, event.seq, *item) for item in _items(store, event, digest)),
        )
    written = store.row("SELECT count(*) FROM bank_item WHERE seq = ?", event.seq)
    law(event, written == (body["fresh"],), "the items are as many as the statement brings")
    store.execute(
        "DELETE FROM cleared WHERE account = ? AND number IN (SELECT number FROM bank_item WHERE seq = ?)",
        (account, event.seq),
    )
    store.execute(
        "INSERT INTO cleared (account, number, booked, amount, payments, seq) "
        "SELECT account, number, min(CASE WHEN amount < 0 THEN booked ELSE '9999-12-31' END), -sum(amount), "
        f"sum(CASE WHEN amount < 0 THEN 1 ELSE -1 END), max(seq) {_PAID} "
        "GROUP BY account, number HAVING sum(CASE WHEN amount < 0 THEN 1 ELSE -1 END) > 0",
        (account, event.seq),
    )


def _items(store: Store, event: Event, digest: str) -> Iterator[list[Any]]:
    row = store.row("SELECT body FROM content WHERE digest = ?", digest)
    if row is None:
        raise BookRefused(
            tr(
                "event {seq}: the book lacks the items of the statement, text {digest}…",
                seq=event.seq,
                digest=digest[:16],
            )
        )
    for line in row[0].split("\n")[:-1]:  # never splitlines: a payee may hold any character
        item = json.loads(line)
        law(event, len(item) == len(FIELDS) and item[2] != 0, "an item of a statement is of an amount")
        yield item


def _opening_entered(store: Store, event: Event, body: Body) -> None:
    """Cheques that were out when the book was begun: numbers of their own, every one of them a good cheque."""
    account, first, last, batch = body["account"], body["first"], body["last"], body["batch"]
    in_batch(store, event, batch)
    forms, item = last - first + 1, body["item"]
    store.execute(
        "INSERT INTO stock (id, account, form, first, last, digits, seq) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (event.seq, account, body["form"], first, last, body["digits"], event.seq),
    )
    add(store, event.seq, "received", forms)
    add(store, event.seq, State.ON_HAND, forms)
    free.give(store, event.seq, first, last)
    which = (batch, item, item + forms - 1, account)
    wanted = "FROM claim WHERE batch = ? AND item BETWEEN ? AND ? AND account = ? AND pulled = '' AND role = 'cheque'"
    law(event, store.row(f"SELECT count(*) {wanted}", *which) == (forms,), "each number bears one payment of the list")
    leave_box(
        store,
        event,
        account,
        first,
        last,
        State.PRINTED,
        payments=store.rows(f"SELECT role, item, origin_batch, origin_item {wanted} ORDER BY item", *which),
        batch=batch,
        custody="handed over",
    )


KINDS: dict[str, Apply] = {"statement.read": _statement_read, "opening.entered": _opening_entered}
