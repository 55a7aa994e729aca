"""What every kind of event is held to."""

from collections.abc import Callable
from typing import Any

from cheque.book.event import Event
from cheque.book.move import touch_batch
from cheque.book.store import Store
from cheque.errors import BookRefused
from cheque.tongue import tr

Body = dict[str, Any]
#: what an event of one kind changes in the tables
Apply = Callable[[Store, Event, Body], None]


def law(event: Event, holds: object, broken: str) -> None:
    if not holds:
        raise BookRefused(
            tr(
                "event {seq} ({kind}) breaks the law of the book: {broken}",
                seq=event.seq,
                kind=event.kind,
                broken=broken,
            )
        )


def uncleared(store: Store, event: Event, account: str, first: int, last: int) -> None:
    """None of the numbers was paid by the bank: what was is neither voided, moved, given out nor used."""
    paid = store.row(
        "SELECT number FROM cleared WHERE account = ? AND number BETWEEN ? AND ? LIMIT 1", account, first, last
    )
    law(event, not paid, f"number {paid[0] if paid else 0} was paid by the bank")


def unpaid(store: Store, event: Event, batch: int, first: int, last: int) -> None:
    """None of the payments, by item, was paid by the bank on another form: it is not put on one again."""
    if store.row("SELECT 1 FROM cleared LIMIT 1") is None:  # no statement was read yet, so there is nothing to look up
        return
    paid = store.row(
        "SELECT c.item, n.number FROM claim c JOIN number n ON n.origin_batch = c.origin_batch "
        "AND n.origin_item = c.origin_item JOIN cleared p ON p.account = n.account AND p.number = n.number "
        "WHERE c.batch = ? AND c.item BETWEEN ? AND ? LIMIT 1",
        batch,
        first,
        last,
    )
    item, number = paid or (0, 0)
    law(event, not paid, f"payment {item} of batch {batch} was paid by the bank, on number {number}")


def owed(store: Store, event: Event, account: str, number: int) -> None:
    """The payment of a voided cheque was not settled in another way: what was is not printed again."""
    settled = store.row(
        "SELECT disposition FROM disposition WHERE account = ? AND number = ? "
        "AND disposition IN ('not owed', 'paid otherwise')",
        account,
        number,
    )
    law(event, not settled, f"the payment of number {number} is {settled[0] if settled else ''}")


def in_batch(store: Store, event: Event, batch: int) -> None:
    row = store.row("SELECT state FROM batch WHERE id = ?", batch)
    law(event, row == ("accepted",), f"batch {batch} is not one that was accepted")
    touch_batch(store, event, batch)
