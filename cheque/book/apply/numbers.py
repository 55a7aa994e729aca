"""Stock and forms: received, counted, destroyed, spoiled, missing, found, moved; and shifts."""

from cheque.book import free
from cheque.book.apply.law import Apply, Body, law, uncleared
from cheque.book.event import Event
from cheque.book.move import add, leave_box, move, stock_of, touch
from cheque.book.state import State
from cheque.book.store import Store


def _stock_received(store: Store, event: Event, body: Body) -> None:
    first, last = body["first"], body["last"]
    store.execute(
        "INSERT INTO stock (id, account, form, first, last, digits, seq) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (event.seq, body["account"], body["form"], first, last, body["digits"], event.seq),
    )
    add(store, event.seq, "received", last - first + 1)
    add(store, event.seq, State.ON_HAND, last - first + 1)
    free.give(store, event.seq, first, last)
    touch(store, event, body["account"], first, last)


def _stock_counted(store: Store, event: Event, body: Body) -> None:
    touch(store, event, body["account"], body["first"], body["last"])


def _stock_destroyed(store: Store, event: Event, body: Body) -> None:
    leave_box(store, event, body["account"], body["first"], body["last"], State.DESTROYED, reason=body["reason"])


def _form_spoiled(store: Store, event: Event, body: Body) -> None:
    leave_box(store, event, body["account"], body["first"], body["last"], State.SPOILED, reason=body["reason"])


def _form_missing(store: Store, event: Event, body: Body) -> None:
    leave_box(store, event, body["account"], body["first"], body["last"], State.MISSING, reason=body["reason"])


def _form_found(store: Store, event: Event, body: Body) -> None:
    account, first, last, to = body["account"], body["first"], body["last"], State(body["as"])
    where = "FROM number WHERE account = ? AND number BETWEEN ? AND ?"
    odd = store.row(f"SELECT number {where} AND state <> 'missing' LIMIT 1", account, first, last)
    law(event, not odd, "only what is missing is found")
    sent = store.row(f"SELECT number {where} AND sent > 0 LIMIT 1", account, first, last)
    law(event, to is State.SPOILED or not sent, "a form that may bear a cheque is never on hand again")
    changes = {"reason": body["reason"]} if to is State.SPOILED else {}
    move(store, event, account, first, last, to, **changes)


def _numbers_moved(store: Store, event: Event, body: Body) -> None:
    """The paper was `by` forms off: each payment is on the number so many further on; what it left bears none."""
    account, first, last, by = body["account"], body["first"], body["last"], body["by"]
    left = State(body["left"])
    law(event, by and left in (State.SPOILED, State.MISSING), "what is left bears no payment and is not used again")
    where = "FROM number WHERE account = ? AND number BETWEEN ? AND ?"
    rows = list(store.rows(f"SELECT number, state, run, stop {where} ORDER BY number", account, first, last))
    fit = all(state in (State.PRINTED, State.SPOILED) and run and not stop for _, state, run, stop in rows)
    law(event, fit and len(rows) == last - first + 1, "only cheques that a run printed are moved")
    beyond = (last + 1, last + by) if by > 0 else (first + by, first - 1)
    vacant = (first, first + by - 1) if by > 0 else (last + by + 1, last)
    if abs(by) > last - first + 1:  # nothing overlaps
        beyond, vacant = (first + by, last + by), (first, last)
    uncleared(store, event, account, min(first, first + by), max(last, last + by))
    box = stock_of(store, account, first)
    law(event, box and box[2] <= first + by and last + by <= box[3], "the numbers stay in their box")
    law(event, not store.row(f"SELECT 1 {where}", account, *beyond), "the paper's own numbers were on hand")
    known: dict[int, int] = dict(store.rows("SELECT number, struck FROM struck WHERE account = ?", account))
    for number, _, run, _ in reversed(rows) if by > 0 else rows:
        to = number + by
        store.execute("DELETE FROM struck WHERE account = ? AND number IN (?, ?)", (account, number, to))
        store.execute(
            "INSERT INTO struck (account, number, struck, seq) VALUES (?, ?, ?, ?)",
            (account, to, known.get(number, number), event.seq),
        )
        store.execute(
            "UPDATE number SET number = ?, seq = ? WHERE account = ? AND number = ?", (to, event.seq, account, number)
        )
        store.execute("UPDATE batch SET replaces = ? WHERE account = ? AND replaces = ?", (to, account, number))
        store.execute("UPDATE run SET first = ? WHERE id = ? AND first > ?", (to, run, to))
        store.execute("UPDATE run SET last = ? WHERE id = ? AND last < ?", (to, run, to))
    if box:
        free.take(store, box[0], *beyond)
        free.give(store, box[0], *vacant)
    leave_box(store, event, account, *vacant, left, reason=body["reason"])
    touch(store, event, account, min(first, first + by), max(last, last + by))


def _shift_set(store: Store, event: Event, body: Body) -> None:
    store.execute(
        "INSERT INTO shift (printer, form, right_by, down_by, seq) VALUES (?, ?, ?, ?, ?) "
        "ON CONFLICT (printer, form) DO UPDATE SET right_by = excluded.right_by, "
        "down_by = excluded.down_by, seq = excluded.seq",
        (body["printer"], body["form"], body["right"], body["down"], event.seq),
    )


KINDS: dict[str, Apply] = {
    "stock.received": _stock_received,
    "stock.counted": _stock_counted,
    "stock.destroyed": _stock_destroyed,
    "form.spoiled": _form_spoiled,
    "form.missing": _form_missing,
    "form.found": _form_found,
    "shift.set": _shift_set,
    "numbers.moved": _numbers_moved,
}
