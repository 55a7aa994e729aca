"""The book itself: moved from one place to another, found where it was not, put back from a backup."""

from cheque.book.apply.law import Apply, Body, law
from cheque.book.event import Event
from cheque.book.move import stock_of, touch
from cheque.book.store import Store

MOVED, ARRIVED = "book.moved", "book.arrived"


def _moved(store: Store, event: Event, body: Body) -> None:
    """The book goes to another place: what follows happens there."""


def _arrived(store: Store, event: Event, body: Body) -> None:
    before = store.row("SELECT kind FROM event WHERE seq = ?", event.seq - 1)
    law(event, before == (MOVED,), "a book arrives after it was moved")


def _placed(store: Store, event: Event, body: Body) -> None:
    """Somebody said that the book was moved here by other means."""


def _restored(store: Store, event: Event, body: Body) -> None:
    """A copy goes on as the book: numbers that were used after it was made are to be accounted for first."""
    for account, first, last in body["gaps"]:
        box = stock_of(store, account, first)
        law(event, box and first <= last <= box[3], "a gap is within one range of stock")
        store.execute(
            "INSERT INTO gap (account, first, last, seq) VALUES (?, ?, ?, ?)", (account, first, last, event.seq)
        )
        touch(store, event, account, first, last)
    # whatever was waiting may have been printed since: nobody prints it by a proof that was looked at before
    store.execute("UPDATE batch SET proof = '', proof_seq = 0")


KINDS: dict[str, Apply] = {MOVED: _moved, ARRIVED: _arrived, "book.placed": _placed, "book.restored": _restored}
