"""From events to tables: what each kind of event changes. One small function a kind, in the table `KINDS`.

These functions trust nothing and judge nothing twice: a rule is refused by the commands that append events
(`stock`, `batches`, `runs`, `cheques`); but a step that the diagram of states does not allow is refused here
too, so that no path around the commands can break it, and so that a rebuilt book meets the same law.
"""

from collections.abc import Callable, Iterable
from typing import Any

from cheque.book.event import Event
from cheque.book.schema import BUCKET
from cheque.book.state import FOLLOWS, State
from cheque.book.store import SqliteStore
from cheque.errors import BookRefused
from cheque.payment import Role, from_text

Body = dict[str, Any]


def apply(store: SqliteStore, event: Event, body: Body) -> None:
    """Bring the derived tables up to this event. BookRefused when it breaks the law of states."""
    if event.kind not in KINDS:
        raise BookRefused(
            f"event {event.seq} is of a kind {event.kind!r} that this version does not know: "
            "the book was written by a newer one. Use that one."
        )
    KINDS[event.kind](store, event, body)


def ranges_of(numbers: Iterable[int]) -> list[list[int]]:
    """Numbers in rising order as ranges: 1 2 3 7 -> [[1, 3], [7, 7]]."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][1] + 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    return found


def _touch(store: SqliteStore, event: Event, account: str, first: int, last: int) -> None:
    store.many(
        "INSERT INTO touch (account, bucket, first, last, seq) VALUES (?, ?, ?, ?, ?)",
        ((account, bucket, first, last, event.seq) for bucket in range(first // BUCKET, last // BUCKET + 1)),
    )


def _touch_batch(store: SqliteStore, event: Event, batch: int) -> None:
    store.execute("INSERT INTO batch_event (batch, seq) VALUES (?, ?)", (batch, event.seq))


def _count(store: SqliteStore, stock: int, state: str, forms: int) -> None:
    store.execute(
        "INSERT INTO tally (stock, state, forms) VALUES (?, ?, ?) "
        "ON CONFLICT (stock, state) DO UPDATE SET forms = tally.forms + excluded.forms",
        (stock, state, forms),
    )


def stock_of(store: SqliteStore, account: str, number: int) -> tuple[int, str, int, int, int] | None:
    """The range of stock that holds a number: id, form, first, last, digits; or None."""
    found = store.row(
        "SELECT id, form, first, last, digits FROM stock WHERE account = ? AND first <= ? ORDER BY first DESC LIMIT 1",
        account,
        number,
    )
    if found is None or number > found[3]:
        return None
    return found


def _move(store: SqliteStore, event: Event, account: str, first: int, last: int, to: State, **changes: Any) -> None:
    """Move every number of a range to a state, each from the state it is in; counts follow."""
    place = stock_of(store, account, first)
    if place is None or last > place[3]:
        raise BookRefused(f"event {event.seq}: {account}:{first}-{last} is not within one range of stock")
    stock = place[0]
    known = {
        row[0]: row[1]
        for row in store.rows(
            "SELECT number, state FROM number WHERE account = ? AND number BETWEEN ? AND ?",
            account,
            first,
            last,
        )
    }
    moved: dict[str, int] = {}
    for number in range(first, last + 1):
        state = State(known.get(number, State.ON_HAND))
        if to not in FOLLOWS[state]:
            raise BookRefused(f"number {number} of {account} is {state}: it cannot become {to}")
        moved[state] = moved.get(state, 0) + 1
    for before, forms in moved.items():
        _count(store, stock, before, -forms)
    _count(store, stock, to, last - first + 1)
    if to is State.ON_HAND:
        store.execute("DELETE FROM number WHERE account = ? AND number BETWEEN ? AND ?", (account, first, last))
    else:
        store.many(
            "INSERT INTO number (account, number, stock, state, role, batch, item, run, origin_batch, "
            "origin_item, reason, custody, stop, seq) VALUES (?, ?, ?, ?, '', 0, 0, 0, 0, 0, '', '', '', ?) "
            "ON CONFLICT (account, number) DO UPDATE SET state = excluded.state, seq = excluded.seq",
            ((account, number, stock, to.value, event.seq) for number in range(first, last + 1)),
        )
        for column, value in changes.items():
            store.execute(
                f"UPDATE number SET {column} = ? WHERE account = ? AND number BETWEEN ? AND ?",
                (value, account, first, last),
            )
    _touch(store, event, account, first, last)


def _begun(store: SqliteStore, event: Event, body: Body) -> None:
    if event.seq != 1:
        raise BookRefused(f"event {event.seq} begins a book again")


def _stock_received(store: SqliteStore, event: Event, body: Body) -> None:
    first, last = body["first"], body["last"]
    store.execute(
        "INSERT INTO stock (id, account, form, first, last, digits, seq) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (event.seq, body["account"], body["form"], first, last, body["digits"], event.seq),
    )
    _count(store, event.seq, "received", last - first + 1)
    _count(store, event.seq, State.ON_HAND, last - first + 1)
    _touch(store, event, body["account"], first, last)


def _told(store: SqliteStore, event: Event, body: Body) -> None:
    """Something said that changes no table but the story of some numbers."""
    if "first" in body:
        _touch(store, event, body["account"], body["first"], body["last"])


def _stock_destroyed(store: SqliteStore, event: Event, body: Body) -> None:
    _move(store, event, body["account"], body["first"], body["last"], State.DESTROYED, reason=body["reason"])


def _batch_accepted(store: SqliteStore, event: Event, body: Body) -> None:
    batch = body["batch"]
    replaces = body.get("replaces", {})
    store.execute(
        "INSERT INTO batch (id, account, form, form_digest, currency, items, total, hash, source, kind, "
        "pairs, state, replaces, proof, at, seq) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 'accepted', ?, '', ?, ?)",
        (
            batch,
            body["account"],
            body["form"],
            body["form_digest"],
            body["currency"],
            body["items"],
            body["total"],
            body["hash"],
            body["source"],
            body["kind"],
            body["pairs"],
            replaces.get("number", 0),
            event.at,
            event.seq,
        ),
    )
    origin = (replaces["batch"], replaces["item"]) if replaces else None
    account = body["account"]
    cursor = store.rows("SELECT item, body FROM payment WHERE batch = ? ORDER BY item", batch)
    store.many(
        "INSERT INTO claim (batch, item, origin_batch, origin_item, account, payee, amount, date, reference, "
        "role, expected, pulled) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '')",
        ((batch, item, *(origin or (batch, item)), account, *_claim(text)) for item, text in cursor),
    )
    _touch_batch(store, event, batch)


def _claim(text: str) -> tuple[str, int, str, str, str, str]:
    payment = from_text(text)
    return (
        payment.payee,
        payment.amount,
        payment.date,
        payment.reference,
        payment.role.value,
        payment.expected,
    )


def _payment_pulled(store: SqliteStore, event: Event, body: Body) -> None:
    store.execute(
        "UPDATE claim SET pulled = ? WHERE batch = ? AND item = ?",
        (body["reason"], body["batch"], body["item"]),
    )
    _touch_batch(store, event, body["batch"])


def _batch_withdrawn(store: SqliteStore, event: Event, body: Body) -> None:
    store.execute("UPDATE batch SET state = 'withdrawn' WHERE id = ?", (body["batch"],))
    _touch_batch(store, event, body["batch"])


def _proof_made(store: SqliteStore, event: Event, body: Body) -> None:
    store.execute("UPDATE batch SET proof = ? WHERE id = ?", (body["proof"], body["batch"]))
    _touch_batch(store, event, body["batch"])


def _run_begun(store: SqliteStore, event: Event, body: Body) -> None:
    run, batch, account = body["run"], body["batch"], body["account"]
    first = min(start for start, _, _ in body["forms"])
    last = max(start + count - 1 for start, _, count in body["forms"])
    store.execute(
        "INSERT INTO run (id, batch, account, printer, address, language, first, last, state, cause, "
        "at, seq) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, 'open', '', ?, ?)",
        (
            run,
            batch,
            account,
            body["printer"],
            body["address"],
            body["language"],
            first,
            last,
            event.at,
            event.seq,
        ),
    )
    for start, item, count in body["forms"]:
        _move(store, event, account, start, start + count - 1, State.RESERVED, run=run, batch=batch)
        claims = store.rows(
            "SELECT item, role, origin_batch, origin_item FROM claim WHERE batch = ? AND item BETWEEN ? AND ?",
            batch,
            item,
            item + count - 1,
        )
        store.many(
            "UPDATE number SET item = ?, role = ?, origin_batch = ?, origin_item = ? WHERE account = ? AND number = ?",
            [(i, role, ob, oi, account, start + i - item) for i, role, ob, oi in claims],
        )
    _touch_batch(store, event, batch)


def _run_sent(store: SqliteStore, event: Event, body: Body) -> None:
    row = store.row("SELECT account, batch FROM run WHERE id = ?", body["run"])
    if row is None:
        raise BookRefused(f"event {event.seq} speaks of run {body['run']}, which never began")
    _move(store, event, row[0], body["first"], body["last"], State.SENT)


def _run_state(store: SqliteStore, event: Event, body: Body) -> None:
    state = {"run.stopped": "stopped", "run.finished": "finished"}[event.kind]
    store.execute("UPDATE run SET state = ?, cause = ? WHERE id = ?", (state, body.get("cause", ""), body["run"]))
    row = store.row("SELECT batch FROM run WHERE id = ?", body["run"])
    if row:
        _touch_batch(store, event, row[0])


def _paper_seen(store: SqliteStore, event: Event, body: Body) -> None:
    """A person looked at the paper of a run: good, spoiled and missing forms, and those still blank."""
    row = store.row("SELECT account, batch FROM run WHERE id = ?", body["run"])
    if row is None:
        raise BookRefused(f"event {event.seq} speaks of run {body['run']}, which never began")
    account = row[0]
    told = [r[:2] for group in ("good", "spoiled", "missing", "blank") for r in body[group]]
    for first, last in told:
        owned = store.row(
            "SELECT count(*) FROM number WHERE account = ? AND number BETWEEN ? AND ? AND run = ? "
            "AND state IN ('reserved', 'sent')",
            account,
            first,
            last,
            body["run"],
        )
        if owned is None or owned[0] != last - first + 1:
            raise BookRefused(f"numbers {first}-{last} are not all in doubt in run {body['run']}")
    for first, last in body["good"]:
        _move(store, event, account, first, last, State.PRINTED, custody="to be signed")
    for first, last, reason in body["spoiled"]:
        _move(store, event, account, first, last, State.SPOILED, reason=reason)
    for first, last, reason in body["missing"]:
        _move(store, event, account, first, last, State.MISSING, reason=reason)
    for first, last in body["blank"]:
        _move(store, event, account, first, last, State.ON_HAND)
    store.execute("UPDATE run SET state = 'closed' WHERE id = ?", (body["run"],))
    _touch_batch(store, event, row[1])


def _form_spoiled(store: SqliteStore, event: Event, body: Body) -> None:
    _move(store, event, body["account"], body["first"], body["last"], State.SPOILED, reason=body["reason"])


def _form_missing(store: SqliteStore, event: Event, body: Body) -> None:
    _move(store, event, body["account"], body["first"], body["last"], State.MISSING, reason=body["reason"])


def _form_found(store: SqliteStore, event: Event, body: Body) -> None:
    to = State(body["as"])
    changes = {"reason": body["reason"]} if to is State.SPOILED else {}
    _move(store, event, body["account"], body["first"], body["last"], to, **changes)


def _cheque_voided(store: SqliteStore, event: Event, body: Body) -> None:
    number = body["number"]
    stop = "" if body["paper"] in ("in hand", "returned") else "needed"
    _move(
        store,
        event,
        body["account"],
        number,
        number,
        State.VOIDED,
        reason=body["reason"],
        custody=body["paper"],
        stop=stop,
    )


def _stop(store: SqliteStore, event: Event, body: Body) -> None:
    number = body["number"]
    store.execute(
        "UPDATE number SET stop = ?, seq = ? WHERE account = ? AND number = ?",
        (body["stop"], event.seq, body["account"], number),
    )
    _touch(store, event, body["account"], number, number)


def _custody(store: SqliteStore, event: Event, body: Body) -> None:
    first, last = body["first"], body["last"]
    store.execute(
        "UPDATE number SET custody = ?, seq = ? WHERE account = ? AND number BETWEEN ? AND ? AND state = 'printed'",
        (body["place"], event.seq, body["account"], first, last),
    )
    _touch(store, event, body["account"], first, last)


def _manual(store: SqliteStore, event: Event, body: Body) -> None:
    """A cheque written by hand on a form from the box."""
    account, number, batch, item = body["account"], body["number"], body["batch"], body["item"]
    claim = store.row("SELECT origin_batch, origin_item FROM claim WHERE batch = ? AND item = ?", batch, item)
    if claim is None:
        raise BookRefused(f"event {event.seq} speaks of payment {item} of batch {batch}, which is not there")
    _move(
        store,
        event,
        account,
        number,
        number,
        State.PRINTED,
        role=Role.CHEQUE.value,
        batch=batch,
        item=item,
        origin_batch=claim[0],
        origin_item=claim[1],
        custody="to be signed",
    )
    _touch_batch(store, event, batch)


def _shift_set(store: SqliteStore, event: Event, body: Body) -> None:
    store.execute(
        "INSERT INTO shift (printer, form, right_by, down_by, seq) VALUES (?, ?, ?, ?, ?) "
        "ON CONFLICT (printer, form) DO UPDATE SET right_by = excluded.right_by, "
        "down_by = excluded.down_by, seq = excluded.seq",
        (body["printer"], body["form"], body["right"], body["down"], event.seq),
    )


KINDS: dict[str, Callable[[SqliteStore, Event, Body], None]] = {
    "book.begun": _begun,
    "stock.received": _stock_received,
    "stock.counted": _told,
    "stock.destroyed": _stock_destroyed,
    "batch.refused": _told,
    "batch.accepted": _batch_accepted,
    "payment.pulled": _payment_pulled,
    "batch.withdrawn": _batch_withdrawn,
    "proof.made": _proof_made,
    "run.begun": _run_begun,
    "run.sent": _run_sent,
    "run.stopped": _run_state,
    "run.finished": _run_state,
    "paper.seen": _paper_seen,
    "form.spoiled": _form_spoiled,
    "form.missing": _form_missing,
    "form.found": _form_found,
    "cheque.voided": _cheque_voided,
    "stop.confirmed": _stop,
    "stop.overridden": _stop,
    "custody.changed": _custody,
    "cheque.manual": _manual,
    "shift.set": _shift_set,
}
