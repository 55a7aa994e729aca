"""From events to tables: what each kind of event changes. One small function a kind, in the table `KINDS`.

These functions judge little twice: a rule of the trade is refused, with what to do, by the commands that
append events (`stock`, `batches`, `runs`, `cheques`). But whatever would break a promise of the book is
refused here too, so that no path around the commands can do it.

The bodies, for good. Every number is an `account` and a whole number; `first` and `last` are a range of them.

    book.begun        book, format
    stock.received    account, form, first, last, digits
    stock.counted     account, first, last, counted, expected
    stock.destroyed   account, first, last, witness, reason
    batch.refused     what was given and what was found: of its own making, told and never used
    batch.accepted    batch, account, form, form_digest, currency, items, total, hash, source, kind, register,
                      pairs, payments; replaces (number, batch, item) for a reprint; more that is only told
    payment.pulled    batch, item, reason
    batch.withdrawn   batch, reason
    proof.made        batch, proof, pages
    run.begun         run, batch, account, printer, address, language, proof, forms: [number, item, how many] each
    run.sent          run, first, last, digest, length, k
    run.stopped       run, cause
    run.finished      run
    paper.seen        run, how, good and blank: [first, last] each, spoiled and missing: [first, last, reason] each
    form.spoiled      account, first, last, reason
    form.missing      account, first, last, reason
    form.found        account, first, last, as (on hand, spoiled), reason
    cheque.voided     account, number, reason, paper (in hand, returned, not in hand)
    cheque.manual     account, number, batch, item, reason
    stop.confirmed    account, number, by, on
    stop.overridden   account, number, reason
    custody.changed   account, first, last, place (to be signed, held, handed over, mailed, returned), to
    shift.set         printer, form, right, down
    numbers.moved     account, first, last, by, left (spoiled, missing), reason, approved
"""

from collections.abc import Callable
from typing import Any

from cheque.book.event import Event
from cheque.book.move import add, change, leave_box, move, touch, touch_batch
from cheque.book.move import ranges_of as ranges_of
from cheque.book.move import stock_of as stock_of
from cheque.book.state import State
from cheque.book.store import Row, SqliteStore
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


def _law(event: Event, holds: object, broken: str) -> None:
    if not holds:
        raise BookRefused(f"event {event.seq} ({event.kind}) breaks the law of the book: {broken}")


def _begun(store: SqliteStore, event: Event, body: Body) -> None:
    _law(event, event.seq == 1, "a book begins once")


def _stock_received(store: SqliteStore, event: Event, body: Body) -> None:
    first, last = body["first"], body["last"]
    store.execute(
        "INSERT INTO stock (id, account, form, first, last, digits, seq) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (event.seq, body["account"], body["form"], first, last, body["digits"], event.seq),
    )
    add(store, event.seq, "received", last - first + 1)
    add(store, event.seq, State.ON_HAND, last - first + 1)
    touch(store, event, body["account"], first, last)


def _stock_counted(store: SqliteStore, event: Event, body: Body) -> None:
    touch(store, event, body["account"], body["first"], body["last"])


def _batch_refused(store: SqliteStore, event: Event, body: Body) -> None:
    """An attempt is told, and changes nothing."""


def _stock_destroyed(store: SqliteStore, event: Event, body: Body) -> None:
    leave_box(store, event, body["account"], body["first"], body["last"], State.DESTROYED, reason=body["reason"])


def _batch_accepted(store: SqliteStore, event: Event, body: Body) -> None:
    batch, account = body["batch"], body["account"]
    replaces = body.get("replaces", {})
    store.execute(
        "INSERT INTO batch (id, account, form, form_digest, currency, items, total, hash, source, kind, pairs, "
        "state, replaces, proof, at, seq, proof_seq) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 'accepted', ?, '', ?, ?, 0)",
        (
            batch,
            account,
            *(body[name] for name in ("form", "form_digest", "currency", "items", "total", "hash")),
            *(body[name] for name in ("source", "kind", "pairs")),
            replaces.get("number", 0),
            event.at,
            event.seq,
        ),
    )
    origin = (replaces["batch"], replaces["item"]) if replaces else None
    store.many(
        "INSERT INTO claim (batch, item, origin_batch, origin_item, account, payee, amount, date, reference, "
        "role, expected, pulled) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '')",
        (
            (batch, item, *(origin or (batch, item)), account, *_claim(text))
            for item, text in store.rows("SELECT item, body FROM payment WHERE batch = ? ORDER BY item", batch)
        ),
    )
    held = store.row(
        "SELECT count(*), min(item), max(item), sum(CASE role WHEN 'cheque' THEN amount ELSE 0 END) "
        "FROM claim WHERE batch = ?",
        batch,
    )
    _law(
        event, held == (body["items"], 1, body["items"], body["total"]), "the payments add up to the batch's own totals"
    )
    _law(event, body["items"] == 1 or not replaces, "a reprint is a batch of one")
    touch_batch(store, event, batch)
    if replaces:
        touch(store, event, account, replaces["number"], replaces["number"])


def _claim(text: str) -> tuple[str, int, str, str, str, str]:
    payment = from_text(text)
    return (payment.payee, payment.amount, payment.date, payment.reference, payment.role.value, payment.expected)


def _in_batch(store: SqliteStore, event: Event, batch: int) -> None:
    row = store.row("SELECT state FROM batch WHERE id = ?", batch)
    _law(event, row == ("accepted",), f"batch {batch} is not one that was accepted")
    touch_batch(store, event, batch)


def _payment_pulled(store: SqliteStore, event: Event, body: Body) -> None:
    batch, item = body["batch"], body["item"]
    _in_batch(store, event, batch)
    claim = store.row("SELECT origin_batch, origin_item FROM claim WHERE batch = ? AND item = ?", batch, item)
    _law(event, claim is not None, f"payment {item} is in no batch {batch}")
    live = store.row(
        "SELECT 1 FROM number WHERE origin_batch = ? AND origin_item = ?AND state IN ('reserved', 'sent', 'printed')",
        *(claim or ()),
    )
    _law(event, not live, "a payment that has its form is not pulled")
    store.execute("UPDATE claim SET pulled = ? WHERE batch = ? AND item = ?", (body["reason"], batch, item))
    # what the proof showed is no longer what would be printed
    store.execute("UPDATE batch SET proof = '', proof_seq = 0 WHERE id = ?", (batch,))


def _batch_withdrawn(store: SqliteStore, event: Event, body: Body) -> None:
    _in_batch(store, event, body["batch"])
    used = store.row("SELECT 1 FROM number WHERE batch = ? LIMIT 1", body["batch"])
    _law(event, not used, "a batch with a number is not withdrawn")
    store.execute("UPDATE batch SET state = 'withdrawn' WHERE id = ?", (body["batch"],))


def _proof_made(store: SqliteStore, event: Event, body: Body) -> None:
    _in_batch(store, event, body["batch"])
    store.execute("UPDATE batch SET proof = ?, proof_seq = ? WHERE id = ?", (body["proof"], event.seq, body["batch"]))


def _run_begun(store: SqliteStore, event: Event, body: Body) -> None:
    run, batch, account, forms = body["run"], body["batch"], body["account"], body["forms"]
    _in_batch(store, event, batch)
    proof = store.row("SELECT proof FROM batch WHERE id = ?", batch)
    _law(event, proof == (body["proof"],) and body["proof"], "only what the latest proof shows is printed")
    first = min(start for start, _, _ in forms)
    last = max(start + count - 1 for start, _, count in forms)
    store.execute(
        "INSERT INTO run (id, batch, account, printer, address, language, first, last, state, cause, at, seq) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, 'open', '', ?, ?)",
        (run, batch, account, body["printer"], body["address"], body["language"], first, last, event.at, event.seq),
    )
    for start, item, count in forms:
        wanted = "FROM claim WHERE batch = ? AND item BETWEEN ? AND ? AND account = ? AND pulled = ''"
        which = (batch, item, item + count - 1, account)
        there = store.row(f"SELECT count(*) {wanted}", *which)
        _law(event, there == (count,), f"payments {item}-{item + count - 1} of batch {batch} are not all to be printed")
        leave_box(
            store,
            event,
            account,
            start,
            start + count - 1,
            State.RESERVED,
            payments=store.rows(f"SELECT role, item, origin_batch, origin_item {wanted} ORDER BY item", *which),
            run=run,
            batch=batch,
        )


def _run(store: SqliteStore, event: Event, body: Body) -> Row:
    """Account, batch and state of the run that an event speaks of."""
    row = store.row("SELECT account, batch, state FROM run WHERE id = ?", body["run"])
    if row is None:
        raise BookRefused(f"event {event.seq} speaks of run {body['run']}, which never began")
    if row[2] == "closed":
        raise BookRefused(f"run {body['run']} was answered for already: nothing more of it is sent or said.")
    return row


def _held(store: SqliteStore, run: int, account: str, first: int, last: int, states: str) -> bool:
    row = store.row(
        f"SELECT count(*) FROM number WHERE account = ? AND number BETWEEN ? AND ? AND run = ? AND state IN ({states})",
        account,
        first,
        last,
        run,
    )
    return row == (last - first + 1,)


def _run_sent(store: SqliteStore, event: Event, body: Body) -> None:
    account, _, state = _run(store, event, body)
    first, last = body["first"], body["last"]
    if state != "open" or not _held(store, body["run"], account, first, last, "'reserved'"):
        # a run that was given up, while its process lived on, must not send on numbers of another
        raise BookRefused(f"numbers {first}-{last} are not reserved for run {body['run']}: nothing of it is sent.")
    move(store, event, account, first, last, State.SENT, sent=event.seq)


def _run_ended(store: SqliteStore, event: Event, body: Body) -> None:
    _, batch, state = _run(store, event, body)
    to = {"run.stopped": "stopped", "run.finished": "finished"}[event.kind]
    _law(event, state == "open", f"run {body['run']} is {state} already")
    store.execute("UPDATE run SET state = ?, cause = ? WHERE id = ?", (to, body.get("cause", ""), body["run"]))
    touch_batch(store, event, batch)


def _paper_seen(store: SqliteStore, event: Event, body: Body) -> None:
    """A person looked at the paper of a run: good, spoiled and missing forms, and those still blank."""
    account, batch, _ = _run(store, event, body)
    run = body["run"]
    for group, to in (("good", State.PRINTED), ("spoiled", State.SPOILED), ("missing", State.MISSING)):
        for first, last, *reason in body[group]:
            states = "'sent'" if to is State.PRINTED else "'reserved', 'sent'"
            if not _held(store, run, account, first, last, states):
                raise BookRefused(f"numbers {first}-{last} are not all in doubt in run {run}: they cannot be {group}")
            changes = {"reason": reason[0]} if reason else {"custody": "to be signed"}
            move(store, event, account, first, last, to, **changes)
    for first, last in body["blank"]:
        if not _held(store, run, account, first, last, "'reserved', 'sent'"):
            raise BookRefused(f"numbers {first}-{last} are not all in doubt in run {run}: they cannot be blank")
        move(store, event, account, first, last, State.ON_HAND)
    left = store.row("SELECT min(number) FROM number WHERE run = ? AND state IN ('reserved', 'sent')", run)
    _law(event, left == (None,), f"number {left[0] if left else 0} of the run is not answered for")
    store.execute("UPDATE run SET state = 'closed' WHERE id = ?", (run,))
    touch_batch(store, event, batch)


def _form_spoiled(store: SqliteStore, event: Event, body: Body) -> None:
    leave_box(store, event, body["account"], body["first"], body["last"], State.SPOILED, reason=body["reason"])


def _form_missing(store: SqliteStore, event: Event, body: Body) -> None:
    leave_box(store, event, body["account"], body["first"], body["last"], State.MISSING, reason=body["reason"])


def _form_found(store: SqliteStore, event: Event, body: Body) -> None:
    account, first, last, to = body["account"], body["first"], body["last"], State(body["as"])
    where = "FROM number WHERE account = ? AND number BETWEEN ? AND ?"
    odd = store.row(f"SELECT number {where} AND state <> 'missing' LIMIT 1", account, first, last)
    _law(event, not odd, "only what is missing is found")
    sent = store.row(f"SELECT number {where} AND sent > 0 LIMIT 1", account, first, last)
    _law(event, to is State.SPOILED or not sent, "a form that may bear a cheque is never on hand again")
    changes = {"reason": body["reason"]} if to is State.SPOILED else {}
    move(store, event, account, first, last, to, **changes)


def _number(store: SqliteStore, event: Event, body: Body) -> tuple[str, str, str]:
    """State, role and stop of the number that an event speaks of."""
    row = store.row(
        "SELECT state, role, stop FROM number WHERE account = ? AND number = ?", body["account"], body["number"]
    )
    if row is None:
        raise BookRefused(f"event {event.seq} speaks of number {body['number']}, which never left the box")
    state, role, stop = row
    return state, role, stop


def _cheque_voided(store: SqliteStore, event: Event, body: Body) -> None:
    account, number, paper = body["account"], body["number"], body["paper"]
    _, role, stop = _number(store, event, body)
    if not stop and role == Role.CHEQUE and paper == "not in hand":
        stop = "needed"
    custody = "held" if paper == "in hand" else paper
    move(store, event, account, number, number, State.VOIDED, reason=body["reason"], custody=custody, stop=stop)


def _stop(store: SqliteStore, event: Event, body: Body) -> None:
    account, number = body["account"], body["number"]
    _number(store, event, body)
    change(store, account, number, number, stop=event.kind.removeprefix("stop."))
    touch(store, event, account, number, number)


def _custody(store: SqliteStore, event: Event, body: Body) -> None:
    account, first, last, place = body["account"], body["first"], body["last"], body["place"]
    where = "FROM number WHERE account = ? AND number BETWEEN ? AND ? AND state"
    good = store.row(f"SELECT count(*) {where} IN ('printed', 'voided')", account, first, last)
    _law(event, good == (last - first + 1,), "only a cheque, good or void, is in somebody's hands")
    void = store.row(f"SELECT 1 {where} = 'voided' LIMIT 1", account, first, last)
    _law(event, place in ("held", "returned") or not void, "a void cheque is not given out")
    change(store, account, first, last, custody=place)
    store.execute(  # only a void cheque needs a stop, and this one came back
        "UPDATE number SET stop = '' WHERE account = ? AND number BETWEEN ? AND ? AND stop = 'needed'",
        (account, first, last),
    )
    touch(store, event, account, first, last)


def _manual(store: SqliteStore, event: Event, body: Body) -> None:
    """A cheque written by hand on a form from the box."""
    account, number, batch, item = body["account"], body["number"], body["batch"], body["item"]
    _in_batch(store, event, batch)
    claim = store.row(
        "SELECT role, item, origin_batch, origin_item FROM claim WHERE batch = ? AND item = ? AND account = ? "
        "AND pulled = '' AND role = 'cheque'",
        batch,
        item,
        account,
    )
    if claim is None:
        raise BookRefused(f"event {event.seq} speaks of payment {item} of batch {batch}, which is not to be paid")
    leave_box(
        store,
        event,
        account,
        number,
        number,
        State.PRINTED,
        payments=[claim],
        batch=batch,
        custody="to be signed",
    )


def _numbers_moved(store: SqliteStore, event: Event, body: Body) -> None:
    """The paper was `by` forms off: each payment is on the number so many further on; what it left bears none."""
    account, first, last, by = body["account"], body["first"], body["last"], body["by"]
    left = State(body["left"])
    _law(event, by and left in (State.SPOILED, State.MISSING), "what is left bears no payment and is not used again")
    where = "FROM number WHERE account = ? AND number BETWEEN ? AND ?"
    rows = list(store.rows(f"SELECT number, state, run, stop {where} ORDER BY number", account, first, last))
    fit = all(state in (State.PRINTED, State.SPOILED) and run and not stop for _, state, run, stop in rows)
    _law(event, fit and len(rows) == last - first + 1, "only cheques that a run printed are moved")
    beyond = (last + 1, last + by) if by > 0 else (first + by, first - 1)
    vacant = (first, first + by - 1) if by > 0 else (last + by + 1, last)
    if abs(by) > last - first + 1:  # nothing overlaps
        beyond, vacant = (first + by, last + by), (first, last)
    box = stock_of(store, account, first)
    _law(event, box and box[2] <= first + by and last + by <= box[3], "the numbers stay in their box")
    _law(event, not store.row(f"SELECT 1 {where}", account, *beyond), "the paper's own numbers were on hand")
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
        store.execute("UPDATE run SET first = min(first, ?), last = max(last, ?) WHERE id = ?", (to, to, run))
    leave_box(store, event, account, *vacant, left, reason=body["reason"])
    touch(store, event, account, min(first, first + by), max(last, last + by))


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
    "stock.counted": _stock_counted,
    "stock.destroyed": _stock_destroyed,
    "batch.refused": _batch_refused,
    "batch.accepted": _batch_accepted,
    "payment.pulled": _payment_pulled,
    "batch.withdrawn": _batch_withdrawn,
    "proof.made": _proof_made,
    "run.begun": _run_begun,
    "run.sent": _run_sent,
    "run.stopped": _run_ended,
    "run.finished": _run_ended,
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
    "numbers.moved": _numbers_moved,
}
