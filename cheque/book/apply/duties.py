"""Hands kept apart: batches approved by somebody else, and steps that a second person has to take."""

from cheque.book.apply.law import Apply, Body, in_batch, law
from cheque.book.event import Event, canonical
from cheque.book.move import touch
from cheque.book.store import Store

#: what can be asked for
SECONDED = ("cheque.voided", "cheque.manual")


def _approved(store: Store, event: Event, body: Body) -> None:
    batch = body["batch"]
    in_batch(store, event, batch)
    row = store.row("SELECT b.proof, e.who FROM batch b JOIN event e ON e.seq = b.seq WHERE b.id = ?", batch)
    law(event, row is not None and row[0] and row[0] == body["proof"], "only a batch's latest proof is approved")
    law(event, row is not None and row[1] != event.who, "nobody approves a batch that he accepted")
    again = store.row(
        "SELECT 1 FROM approval WHERE batch = ? AND proof = ? AND who = ?", batch, body["proof"], event.who
    )
    law(event, not again, "nobody approves the same proof twice")
    store.execute(
        "INSERT INTO approval (batch, proof, who, seq) VALUES (?, ?, ?, ?)",
        (batch, body["proof"], event.who, event.seq),
    )


def _asked(store: Store, event: Event, body: Body) -> None:
    law(event, body["kind"] in SECONDED, "only what a second person may do is asked for")
    asked = body["body"]
    store.execute(
        "INSERT INTO asked (id, kind, account, number, body, who, at, done) VALUES (?, ?, ?, ?, ?, ?, ?, 0)",
        (event.seq, body["kind"], asked["account"], asked["number"], canonical(asked), event.who, event.at),
    )
    touch(store, event, asked["account"], asked["number"], asked["number"])


def _dropped(store: Store, event: Event, body: Body) -> None:
    row = store.row("SELECT account, number FROM asked WHERE id = ? AND done = 0", body["asked"])
    law(event, row, "only what still waits is dropped")
    store.execute("UPDATE asked SET done = 1 WHERE id = ?", (body["asked"],))
    account, number = row or ("", 0)
    touch(store, event, account, number, number)


def seconded(store: Store, event: Event, body: Body) -> None:
    """An event that somebody asked for: the same step, by another person, once."""
    if "asked" not in body:
        return
    row = store.row("SELECT kind, body, who FROM asked WHERE id = ? AND done = 0", body["asked"])
    law(event, row is not None, "what was asked for is done once")
    kind, text, who = row or ("", "", "")
    given = canonical({name: value for name, value in body.items() if name != "asked"})
    law(event, (kind, text) == (event.kind, given), "what is done is what was asked for")
    law(event, who != event.who, "a second person is another one than the first")
    store.execute("UPDATE asked SET done = 1 WHERE id = ?", (body["asked"],))


KINDS: dict[str, Apply] = {"batch.approved": _approved, "second.asked": _asked, "second.dropped": _dropped}
