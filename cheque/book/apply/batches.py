"""Batches: accepted, pulled from, withdrawn, proven."""

from cheque.book import names, waits
from cheque.book.apply.law import Apply, Body, in_batch, law, owed
from cheque.book.event import Event
from cheque.book.move import touch, touch_batch
from cheque.book.store import Store
from cheque.likeness import invoices
from cheque.payment import MAYBE_INVOICE, from_kept, head_of_kept


def _batch_refused(store: Store, event: Event, body: Body) -> None:
    """An attempt is told, and changes nothing."""


def _batch_accepted(store: Store, event: Event, body: Body) -> None:
    batch, account = body["batch"], body["account"]
    replaces = body.get("replaces", {})
    store.execute(
        "INSERT INTO batch (id, account, form, form_digest, currency, items, total, hash, source, kind, pairs, "
        "state, replaces, proof, at, seq, proof_seq, waits) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 'accepted', ?, '', ?, ?, 0, ?)",
        (
            batch,
            account,
            *(body[name] for name in ("form", "form_digest", "currency", "items", "total", "hash")),
            *(body[name] for name in ("source", "kind", "pairs")),
            replaces.get("number", 0),
            event.at,
            event.seq,
            0 if replaces or body.get("apart") else body["items"],
        ),
    )
    origin = (replaces["batch"], replaces["item"]) if replaces else None
    apart = _apart(store, event, body)
    store.many(
        "INSERT INTO claim (batch, item, origin_batch, origin_item, account, payee, amount, date, reference, "
        f"role, expected, pulled, fresh) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '', {names.FRESH})",
        (
            (batch, item, *(origin or apart.get(item) or (batch, item)), account, *_claim(item, text))
            for item, text in store.stream("SELECT item, body FROM payment WHERE batch = ? ORDER BY item", batch)
        ),
    )
    if not replaces and not apart:  # a reprint pays no invoice that was not paid before
        store.many(
            "INSERT INTO invoice (key, batch, item) VALUES (?, ?, ?)",
            (
                (key, batch, item)
                for item, text in store.stream("SELECT item, body FROM payment WHERE batch = ? ORDER BY item", batch)
                if MAYBE_INVOICE in text or text.startswith("{")
                for key in invoices(from_kept(item, text))
            ),
        )
    held = store.row(
        "SELECT count(*), min(item), max(item), sum(CASE role WHEN 'cheque' THEN amount ELSE 0 END) "
        "FROM claim WHERE batch = ?",
        batch,
    )
    law(
        event, held == (body["items"], 1, body["items"], body["total"]), "the payments add up to the batch's own totals"
    )
    law(event, body["items"] == 1 or not replaces, "a reprint is a batch of one")
    touch_batch(store, event, batch)
    if replaces or apart:
        waits.joined(store, batch)
    if replaces:
        owed(store, event, account, replaces["number"])
        touch(store, event, account, replaces["number"], replaces["number"])


def _apart(store: Store, event: Event, body: Body) -> dict[int, tuple[int, int]]:
    """Where the advices that are set apart onto a form of their own come from, by their place in the new batch."""
    told = body.get("apart", {})
    if not told:
        return {}
    in_batch(store, event, told["batch"])
    origins: list[tuple[int, int]] = []
    for first, last in told["items"]:
        rows = list(
            store.rows(
                "SELECT origin_batch, origin_item FROM claim WHERE batch = ? AND item BETWEEN ? AND ? "
                "AND role = 'advice' AND pulled = '' AND account = ? ORDER BY item",
                *(told["batch"], first, last, body["account"]),
            )
        )
        law(event, len(rows) == last - first + 1, "only advices are set apart")
        origins += [(row[0], row[1]) for row in rows]
    law(event, len(origins) == body["items"] and not body["total"], "what is set apart is no money out")
    return dict(enumerate(origins, 1))


def _claim(item: int, text: str) -> tuple[str | int, ...]:
    head = head_of_kept(item, text)
    return (*head, *names.fresh(head[0]))


def _payment_pulled(store: Store, event: Event, body: Body) -> None:
    batch, item = body["batch"], body["item"]
    in_batch(store, event, batch)
    claim = store.row("SELECT origin_batch, origin_item FROM claim WHERE batch = ? AND item = ?", batch, item)
    law(event, claim is not None, f"payment {item} is in no batch {batch}")
    live = store.row(
        "SELECT 1 FROM number WHERE origin_batch = ? AND origin_item = ? AND role <> 'continuation' "
        "AND state IN ('reserved', 'sent', 'printed')",
        *(claim or ()),
    )
    law(event, not live, "a payment that has its form is not pulled")
    waits.pulled(store, batch, item, body["reason"])
    # what the proof showed is no longer what would be printed
    store.execute("UPDATE batch SET proof = '', proof_seq = 0 WHERE id = ?", (batch,))


def _batch_withdrawn(store: Store, event: Event, body: Body) -> None:
    in_batch(store, event, body["batch"])
    used = store.row("SELECT 1 FROM number WHERE batch = ? LIMIT 1", body["batch"])
    law(event, not used, "a batch with a number is not withdrawn")
    waits.withdrawn(store, body["batch"])


def _proof_made(store: Store, event: Event, body: Body) -> None:
    in_batch(store, event, body["batch"])
    store.execute("UPDATE batch SET proof = ?, proof_seq = ? WHERE id = ?", (body["proof"], event.seq, body["batch"]))


KINDS: dict[str, Apply] = {
    "batch.refused": _batch_refused,
    "batch.accepted": _batch_accepted,
    "payment.pulled": _payment_pulled,
    "batch.withdrawn": _batch_withdrawn,
    "proof.made": _proof_made,
}
