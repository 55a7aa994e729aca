"""Runs: begun, sent, ended, and the paper looked at."""

from cheque.book.apply.law import Apply, Body, in_batch, law, uncleared, unpaid
from cheque.book.event import Event
from cheque.book.move import leave_box, move, touch_batch
from cheque.book.state import State
from cheque.book.store import Row, Store
from cheque.errors import BookRefused
from cheque.tongue import tr


def _run_begun(store: Store, event: Event, body: Body) -> None:
    run, batch, account, forms = body["run"], body["batch"], body["account"], body["forms"]
    in_batch(store, event, batch)
    _no_gap(store, event)
    proof = store.row("SELECT proof FROM batch WHERE id = ?", batch)
    law(event, proof == (body["proof"],) and body["proof"], "only what the latest proof shows is printed")
    going_on = body.get("continuations", [])
    first = min(start for start, _, _ in forms)
    last = max(start + count - 1 for start, _, count in [*forms, *going_on])
    store.execute(
        "INSERT INTO run (id, batch, account, printer, address, language, first, last, state, cause, at, seq) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, 'open', '', ?, ?)",
        (run, batch, account, body["printer"], body["address"], body["language"], first, last, event.at, event.seq),
    )
    for start, item, count in forms:
        wanted = "FROM claim WHERE batch = ? AND item BETWEEN ? AND ? AND account = ? AND pulled = ''"
        which = (batch, item, item + count - 1, account)
        there = store.row(f"SELECT count(*) {wanted}", *which)
        law(event, there == (count,), f"payments {item}-{item + count - 1} of batch {batch} are not all to be printed")
        uncleared(store, event, account, start, start + count - 1)
        unpaid(store, event, batch, item, item + count - 1)
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
    for start, item, count in going_on:
        _stub_goes_on(store, event, body, start, item, count)


def _stub_goes_on(store: Store, event: Event, body: Body, start: int, item: int, count: int) -> None:
    """Forms on which only the stub of a payment goes on: they follow its own form at once, and pay nobody."""
    run, batch, account = body["run"], body["batch"], body["account"]
    of = store.row(
        "SELECT origin_batch, origin_item FROM number WHERE account = ? AND number = ? AND run = ? AND item = ? "
        "AND role <> 'continuation'",
        account,
        start - 1,
        run,
        item,
    )
    law(event, of, f"number {start} does not follow the form of payment {item}")
    borne = [("continuation", item, *(of or (0, 0)))] * count
    uncleared(store, event, account, start, start + count - 1)
    leave_box(store, event, account, start, start + count - 1, State.RESERVED, payments=borne, run=run, batch=batch)


def _no_gap(store: Store, event: Event) -> None:
    """After a backup was put back nothing prints before every number up to the head is accounted for."""
    for account, first, last in store.rows("SELECT account, first, last FROM gap"):
        told = store.row(
            "SELECT count(*) FROM number WHERE account = ? AND number BETWEEN ? AND ?", account, first, last
        )
        law(event, told == (last - first + 1,), f"{account}:{first}-{last} is not accounted for since a restore")


def _run(store: Store, event: Event, body: Body) -> Row:
    """Account, batch and state of the run that an event speaks of."""
    row = store.row("SELECT account, batch, state FROM run WHERE id = ?", body["run"])
    if row is None:
        raise BookRefused(tr("event {seq} speaks of run {run}, which never began", seq=event.seq, run=body["run"]))
    if row[2] == "closed":
        raise BookRefused(
            tr("run {run} was answered for already: nothing more of it is sent or said.", run=body["run"])
        )
    return row


def _held(store: Store, run: int, account: str, first: int, last: int, states: str) -> bool:
    row = store.row(
        f"SELECT count(*) FROM number WHERE account = ? AND number BETWEEN ? AND ? AND run = ? AND state IN ({states})",
        account,
        first,
        last,
        run,
    )
    return row == (last - first + 1,)


def _run_sent(store: Store, event: Event, body: Body) -> None:
    account, _, state = _run(store, event, body)
    first, last = body["first"], body["last"]
    if state != "open" or not _held(store, body["run"], account, first, last, "'reserved'"):
        # a run that was given up, while its process lived on, must not send on numbers of another
        raise BookRefused(
            tr(
                "numbers {first}-{last} are not reserved for run {run}: nothing of it is sent.",
                first=first,
                last=last,
                run=body["run"],
            )
        )
    move(store, event, account, first, last, State.SENT, sent=event.seq)


def _run_ended(store: Store, event: Event, body: Body) -> None:
    _, batch, state = _run(store, event, body)
    to = {"run.stopped": "stopped", "run.finished": "finished"}[event.kind]
    law(event, state == "open", f"run {body['run']} is {state} already")
    store.execute("UPDATE run SET state = ?, cause = ? WHERE id = ?", (to, body.get("cause", ""), body["run"]))
    touch_batch(store, event, batch)


def _paper_seen(store: Store, event: Event, body: Body) -> None:
    """A person looked at the paper of a run: good, spoiled and missing forms, and those still blank."""
    account, batch, _ = _run(store, event, body)
    run = body["run"]
    for group, to in (("good", State.PRINTED), ("spoiled", State.SPOILED), ("missing", State.MISSING)):
        for first, last, *reason in body[group]:
            states = "'sent'" if to is State.PRINTED else "'reserved', 'sent'"
            if not _held(store, run, account, first, last, states):
                raise BookRefused(
                    tr(
                        "numbers {first}-{last} are not all in doubt in run {run}: they cannot be {group}",
                        first=first,
                        last=last,
                        run=run,
                        group=group,
                    )
                )
            changes = {"reason": reason[0]} if reason else {"custody": "to be signed"}
            move(store, event, account, first, last, to, **changes)
    for first, last in body["blank"]:
        if not _held(store, run, account, first, last, "'reserved', 'sent'"):
            raise BookRefused(
                tr(
                    "numbers {first}-{last} are not all in doubt in run {run}: they cannot be blank",
                    first=first,
                    last=last,
                    run=run,
                )
            )
        move(store, event, account, first, last, State.ON_HAND)
    torn = store.row(
        "SELECT n.number FROM run r JOIN number n ON n.account = r.account AND n.number BETWEEN r.first AND r.last "
        "AND n.run = r.id WHERE r.id = ? AND n.role = 'continuation' AND n.state = 'printed' AND NOT EXISTS "
        "(SELECT 1 FROM number p WHERE p.origin_batch = n.origin_batch AND p.origin_item = n.origin_item "
        "AND p.run = n.run AND p.role <> 'continuation' AND p.state = 'printed') LIMIT 1",
        run,
    )
    law(event, torn is None, f"number {torn[0] if torn else 0} goes on with a form that is not good")
    left = store.row("SELECT min(number) FROM number WHERE run = ? AND state IN ('reserved', 'sent')", run)
    law(event, left == (None,), f"number {left[0] if left else 0} of the run is not answered for")
    store.execute("UPDATE run SET state = 'closed' WHERE id = ?", (run,))
    touch_batch(store, event, batch)


KINDS: dict[str, Apply] = {
    "run.begun": _run_begun,
    "run.sent": _run_sent,
    "run.stopped": _run_ended,
    "run.finished": _run_ended,
    "paper.seen": _paper_seen,
}
