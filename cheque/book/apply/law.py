"""What every kind of event is held to."""

from collections.abc import Callable
from typing import Any

from cheque.book.event import Event
from cheque.book.move import touch_batch
from cheque.book.store import SqliteStore
from cheque.errors import BookRefused

Body = dict[str, Any]
#: what an event of one kind changes in the tables
Apply = Callable[[SqliteStore, Event, Body], None]


def law(event: Event, holds: object, broken: str) -> None:
    if not holds:
        raise BookRefused(f"event {event.seq} ({event.kind}) breaks the law of the book: {broken}")


def in_batch(store: SqliteStore, event: Event, batch: int) -> None:
    row = store.row("SELECT state FROM batch WHERE id = ?", batch)
    law(event, row == ("accepted",), f"batch {batch} is not one that was accepted")
    touch_batch(store, event, batch)
