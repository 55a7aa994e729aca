"""How numbers move from state to state in the derived tables, and how what speaks of them is filed.

A step that the diagram of states does not allow is refused here, so that no path around the commands can break
it, and so that a rebuilt book meets the same law.
"""

from collections.abc import Iterable, Iterator
from typing import Any

from cheque.book import free, waits
from cheque.book.event import Event
from cheque.book.schema import BUCKET
from cheque.book.state import FOLLOWS, State
from cheque.book.store import Row, Store
from cheque.errors import BookRefused
from cheque.tongue import tr

_COLUMNS = (
    "account, number, stock, state, role, batch, item, run, origin_batch, origin_item, taken, sent, "
    "reason, custody, stop, seq"
)


def ranges_of(numbers: Iterable[int]) -> list[list[int]]:
    """Numbers in rising order as ranges: 1 2 3 7 -> [[1, 3], [7, 7]]."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][1] + 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    return found


def stock_of(store: Store, account: str, number: int) -> tuple[int, str, int, int, int] | None:
    """The range of stock that holds a number: id, form, first, last, digits; or None."""
    found = store.row(
        "SELECT id, form, first, last, digits FROM stock WHERE account = ? AND first <= ? ORDER BY first DESC LIMIT 1",
        account,
        number,
    )
    if found is None or number > found[3]:
        return None
    return found


def touch(store: Store, event: Event, account: str, first: int, last: int) -> None:
    """File an event under the numbers it speaks of."""
    store.many(
        "INSERT INTO touch (account, bucket, first, last, seq) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
        ((account, bucket, first, last, event.seq) for bucket in range(first // BUCKET, last // BUCKET + 1)),
    )


def touch_batch(store: Store, event: Event, batch: int) -> None:
    """File an event under the batch it speaks of."""
    store.execute("INSERT INTO batch_event (batch, seq) VALUES (?, ?)", (batch, event.seq))


def add(store: Store, stock: int, state: str, forms: int) -> None:
    """Count forms of a range into a state."""
    store.execute(
        "INSERT INTO tally (stock, state, forms) VALUES (?, ?, ?) "
        "ON CONFLICT (stock, state) DO UPDATE SET forms = tally.forms + excluded.forms",
        (stock, state, forms),
    )


def _take_off(store: Store, stock: int, state: str, forms: int) -> None:
    store.execute("UPDATE tally SET forms = forms - ? WHERE stock = ? AND state = ?", (forms, stock, state))


def _box(store: Store, event: Event, account: str, first: int, last: int) -> int:
    place = stock_of(store, account, first)
    if place is None or last > place[3] or last < first:
        raise BookRefused(
            tr(
                "event {seq}: {account}:{first}-{last} is not within one range of stock",
                seq=event.seq,
                account=account,
                first=first,
                last=last,
            )
        )
    return place[0]


def leave_box(
    store: Store,
    event: Event,
    account: str,
    first: int,
    last: int,
    to: State,
    *,
    payments: Iterable[Row] = (),
    batch: int = 0,
    run: int = 0,
    reason: str = "",
    custody: str = "",
) -> None:
    """Move forms on hand to a state. `payments`: role, item, origin batch and item for each form, in order."""
    stock = _box(store, event, account, first, last)
    gone = store.row(
        "SELECT number, state FROM number WHERE account = ? AND number BETWEEN ? AND ? ORDER BY number LIMIT 1",
        account,
        first,
        last,
    )
    if gone or to not in FOLLOWS[State.ON_HAND]:
        number, state = gone or (first, State.ON_HAND)
        raise BookRefused(
            tr(
                "number {number} of {account} is {state}: it cannot become {to}",
                number=number,
                account=account,
                state=tr(state),
                to=tr(to),
            )
        )
    borne: Iterable[Row] = payments if batch else (("", 0, 0, 0) for _ in range(first, last + 1))
    items: list[int] = []
    taken = event.seq if batch else 0
    store.many(
        f"INSERT INTO number ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 0, ?, ?, '', ?)",
        (
            (account, number, stock, to.value, role, batch, item, run, ob, oi, taken, reason, custody, event.seq)
            for number, (role, item, ob, oi) in zip(range(first, last + 1), _noted(borne, items), strict=True)
        ),
    )
    free.take(store, stock, first, last)
    if items:
        waits.given(store, batch, (items[0], items[-1]), account, first, last)
    _take_off(store, stock, State.ON_HAND, last - first + 1)
    add(store, stock, to, last - first + 1)
    touch(store, event, account, first, last)


def _noted(borne: Iterable[Row], items: list[int]) -> Iterator[Row]:
    """Each payment, its item noted when its form pays: the lowest and the highest are kept."""
    for row in borne:
        if row[1] and row[0] != "continuation":
            items[1 if items else 0 :] = [row[1]]
        yield row


def move(store: Store, event: Event, account: str, first: int, last: int, to: State, **changes: Any) -> None:
    """Move forms that left the box to a state, each from the state it is in; counts follow."""
    stock = _box(store, event, account, first, last)
    left = last - first + 1
    # "state || ''": by the numbers asked for, and not by an index of states through all the account's numbers
    for state, forms, number in list(
        store.rows(
            "SELECT state || '', count(*), min(number) FROM number WHERE account = ? AND number BETWEEN ? AND ? "
            "GROUP BY state || ''",
            account,
            first,
            last,
        )
    ):
        if to not in FOLLOWS[State(state)]:
            raise BookRefused(
                tr(
                    "number {number} of {account} is {state}: it cannot become {to}",
                    number=number,
                    account=account,
                    state=tr(state),
                    to=tr(to),
                )
            )
        _take_off(store, stock, state, forms)
        left -= forms
    if left:
        raise BookRefused(
            tr(
                "event {seq}: {left} of the numbers {first}-{last} of {account} are on hand",
                seq=event.seq,
                left=left,
                first=first,
                last=last,
                account=account,
            )
        )
    waits.taken(store, account, first, last, to)
    add(store, stock, to, last - first + 1)
    if to is State.ON_HAND:
        store.execute("DELETE FROM number WHERE account = ? AND number BETWEEN ? AND ?", (account, first, last))
        free.give(store, stock, first, last)
    else:
        change(store, account, first, last, state=to.value, seq=event.seq, **changes)
    touch(store, event, account, first, last)


def change(store: Store, account: str, first: int, last: int, **changes: Any) -> None:
    """Set columns of every form of a range that left the box."""
    columns = ", ".join(f"{name} = ?" for name in changes)
    store.execute(
        f"UPDATE number SET {columns} WHERE account = ? AND number BETWEEN ? AND ?",
        (*changes.values(), account, first, last),
    )
