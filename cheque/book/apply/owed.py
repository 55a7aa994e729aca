"""What is owed when a cheque is void: reissue, still owed, not owed, paid otherwise."""

from cheque.book.apply.law import Apply, Body, law
from cheque.book.event import Event
from cheque.book.move import touch
from cheque.book.store import Store

DISPOSITIONS = ("reissue", "still owed", "not owed", "paid otherwise")
#: after these nothing is to be paid any more
SETTLED = ("not owed", "paid otherwise")


def _disposed(store: Store, event: Event, body: Body) -> None:
    account, number, disposition = body["account"], body["number"], body["disposition"]
    found = store.row(
        "SELECT origin_batch, origin_item, taken, batch FROM number WHERE account = ? AND number = ? "
        "AND state = 'voided' AND role = 'cheque'",
        account,
        number,
    )
    law(event, found, f"number {number} is no voided cheque")
    law(event, disposition in DISPOSITIONS, "a disposition is " + ", ".join(DISPOSITIONS))
    batch, item, taken, last = found or (0, 0, 0, 0)
    later = store.row(
        "SELECT number FROM number WHERE origin_batch = ? AND origin_item = ? AND role <> 'continuation' AND (state IN "
        "('reserved', 'sent', 'printed') OR state IN ('voided', 'missing') AND taken > ?) LIMIT 1",
        *(batch, item, taken),
    )
    law(event, not later, "the payment was put on another form since")
    waits = store.row(
        "SELECT c.batch FROM claim c JOIN batch b ON b.id = c.batch WHERE c.origin_batch = ? AND c.origin_item = ? "
        "AND c.origin_batch <> c.batch AND c.batch > ? AND b.state = 'accepted' AND c.pulled = '' LIMIT 1",
        *(batch, item, last),
    )
    law(event, not waits or disposition not in SETTLED, "a payment that waits to be printed again is not settled")
    paid = store.row(
        "SELECT 1 FROM number n JOIN cleared p ON p.account = n.account AND p.number = n.number "
        "WHERE n.origin_batch = ? AND n.origin_item = ? LIMIT 1",
        batch,
        item,
    )
    law(event, not paid, "the bank paid the payment")
    store.execute(
        "INSERT INTO disposition (account, number, disposition, reason, seq) VALUES (?, ?, ?, ?, ?) "
        "ON CONFLICT (account, number) DO UPDATE SET disposition = excluded.disposition, reason = excluded.reason, "
        "seq = excluded.seq",
        (account, number, disposition, body["reason"], event.seq),
    )
    touch(store, event, account, number, number)


KINDS: dict[str, Apply] = {"cheque.disposed": _disposed}
