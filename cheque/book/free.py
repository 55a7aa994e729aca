"""The numbers on hand, as ranges: kept with every event, so that a question of a box does not count its forms.

A row of `free` for each stretch of a box that is on hand, none touching the next: a box as it comes is one row, and
each event makes at most one more. What is on no row left the box and has a row in `number`.
"""

from cheque.book.store import Store
from cheque.errors import BookRefused
from cheque.tongue import tr


def take(store: Store, stock: int, first: int, last: int) -> None:
    """Numbers of a range of stock leave the box."""
    found = store.row(
        "SELECT first, last FROM free WHERE stock = ? AND first <= ? ORDER BY first DESC LIMIT 1", stock, first
    )
    if found is None or found[1] < last:
        raise BookRefused(
            tr("numbers {first}-{last} are not all on hand: see `cheque book verify`.", first=first, last=last)
        )
    low, high = found
    if low < first:
        store.execute("UPDATE free SET last = ? WHERE stock = ? AND first = ?", (first - 1, stock, low))
    else:
        store.execute("DELETE FROM free WHERE stock = ? AND first = ?", (stock, low))
    if last < high:
        _add(store, stock, last + 1, high)


def give(store: Store, stock: int, first: int, last: int) -> None:
    """Numbers of a range of stock are in the box, new or again: one range with those at their sides."""
    before = store.row(
        "SELECT first, last FROM free WHERE stock = ? AND first < ? ORDER BY first DESC LIMIT 1", stock, first
    )
    after = store.row("SELECT last FROM free WHERE stock = ? AND first = ?", stock, last + 1)
    if after:
        store.execute("DELETE FROM free WHERE stock = ? AND first = ?", (stock, last + 1))
        last = after[0]
    if before and before[1] == first - 1:
        store.execute("UPDATE free SET last = ? WHERE stock = ? AND first = ?", (last, stock, before[0]))
    else:
        _add(store, stock, first, last)


def _add(store: Store, stock: int, first: int, last: int) -> None:
    store.execute("INSERT INTO free (stock, first, last) VALUES (?, ?, ?)", (stock, first, last))
