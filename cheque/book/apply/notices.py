"""What the bank was told: notices of cheques issued and of those not to be paid; stops asked for, given, renewed."""

from cheque.book.apply.law import Apply, Body, law
from cheque.book.event import Event
from cheque.book.move import change, touch
from cheque.book.state import State
from cheque.book.store import Store

_AFTER = {"sent": ("made",), "accepted": ("made", "sent"), "refused": ("made", "sent")}


def _made(store: Store, event: Event, body: Body) -> None:
    made = body["notice"]
    law(event, store.row("SELECT 1 FROM notice WHERE id = ?", made) is None, f"notice {made} is made once")
    store.execute(
        "INSERT INTO notice (id, what, written, name, file, items, state, by_whom, on_day, reason, at, seq, state_seq) "
        "VALUES (?, ?, ?, ?, ?, ?, 'made', '', '', '', ?, ?, ?)",
        (
            made,
            *(body[name] for name in ("what", "written", "name", "file", "items")),
            event.at,
            event.seq,
            event.seq,
        ),
    )
    kept = not body["layout"] or store.row("SELECT 1 FROM content WHERE digest = ?", body["layout"])
    law(event, kept, "the layout that it was written by is kept")
    forms = 0
    for account, mark, first, last in body["numbers"]:
        store.execute(
            "INSERT INTO notified (account, number, mark, notice, batch, item, live, seq) "
            f"SELECT account, number, ?, {int(made)}, batch, item, 1, {event.seq} FROM number "
            "WHERE account = ? AND number BETWEEN ? AND ? AND role = 'cheque' AND batch > 0",
            (mark, account, first, last),
        )
        forms += last - first + 1
        touch(store, event, account, first, last)
    told = store.row("SELECT count(*) FROM notified WHERE notice = ?", made)
    law(event, told == (forms,) and forms == body["items"], "a notice tells of cheques, each once")


def _state(store: Store, event: Event, body: Body) -> None:
    """Sent, accepted, refused."""
    state = event.kind.removeprefix("notice.")
    row = store.row("SELECT state FROM notice WHERE id = ?", body["notice"])
    law(event, row is not None and row[0] in _AFTER[state], f"a notice that is made or sent is {state}")
    store.execute(
        "UPDATE notice SET state = ?, by_whom = ?, on_day = ?, reason = ?, state_seq = ? WHERE id = ?",
        (state, body["by"], body["on"], body.get("reason", ""), event.seq, body["notice"]),
    )
    if state == "refused":
        store.execute("UPDATE notified SET live = 0 WHERE notice = ?", (body["notice"],))


def _keep(store: Store, event: Event, body: Body, state: str, **more: str | int) -> None:
    """Keep the latest of a stop; what is not told now stays as it was."""
    account, number = body["account"], body["number"]
    names = ("reason", "told", "by_whom", "on_day", "lapses", "spoken", "notice")
    before = store.row(f"SELECT {', '.join(names)} FROM stop_order WHERE account = ? AND number = ?", account, number)
    kept = dict(zip(names, before or ("", "", "", "", "", 0, 0), strict=True)) | more
    kept |= {name: body[name] for name in ("reason", "told") if body.get(name)}
    store.execute("DELETE FROM stop_order WHERE account = ? AND number = ?", (account, number))
    store.execute(
        f"INSERT INTO stop_order (account, number, state, seq, {', '.join(names)}) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (account, number, state, event.seq, *(kept[name] for name in names)),
    )
    touch(store, event, account, number, number)


def _form(store: Store, event: Event, body: Body) -> tuple[str, str, str]:
    row = store.row(
        "SELECT state, custody, stop FROM number WHERE account = ? AND number = ?", body["account"], body["number"]
    )
    law(event, row is not None, f"number {body['number']} never left the box")
    state, custody, stop = row or ("", "", "")
    return state, custody, stop


def _requested(store: Store, event: Event, body: Body) -> None:
    _form(store, event, body)
    more = {"by_whom": body.get("by", ""), "on_day": body["on"], "notice": body["notice"], "lapses": "", "spoken": 0}
    _keep(store, event, body, "requested", **more, told="")
    change(store, body["account"], body["number"], body["number"], stop="requested")


def _confirmed(store: Store, event: Event, body: Body) -> None:
    _form(store, event, body)
    more = {"by_whom": body["by"], "on_day": body["on"]}
    was = store.row("SELECT state FROM stop_order WHERE account = ? AND number = ?", body["account"], body["number"])
    if was and was[0] == "refused":  # why the bank refused it is no word on the stop that it gave after all
        more["told"] = ""
    _keep(store, event, body, "confirmed", **more, lapses=body.get("lapses", ""), spoken=body.get("spoken", 0))
    change(store, body["account"], body["number"], body["number"], stop="confirmed")


def _renewed(store: Store, event: Event, body: Body) -> None:
    stop = _form(store, event, body)[2]
    law(event, stop == "confirmed", "only a stop that the bank confirmed is renewed")
    _keep(store, event, body, "confirmed", by_whom=body["by"], on_day=body["on"], lapses=body["lapses"], spoken=0)


def _refused(store: Store, event: Event, body: Body) -> None:
    state, custody, stop = _form(store, event, body)
    law(event, stop != "confirmed", "the bank refuses a stop that it has not confirmed")
    _keep(store, event, body, "refused", by_whom=body["by"], on_day=body["on"], lapses="", spoken=0)
    out = state == State.VOIDED and custody not in ("held", "returned")
    change(store, body["account"], body["number"], body["number"], stop="needed" if out else "")


KINDS: dict[str, Apply] = {
    "notice.made": _made,
    "notice.sent": _state,
    "notice.accepted": _state,
    "notice.refused": _state,
    "stop.requested": _requested,
    "stop.confirmed": _confirmed,
    "stop.renewed": _renewed,
    "stop.refused": _refused,
}
