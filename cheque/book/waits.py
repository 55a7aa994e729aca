"""Which payments wait for a form; and how many of each batch do, kept with every event (`batch.waits`).

A payment waits in a batch that was accepted while it is not pulled, no form of it is live, none that may be paid at
the bank came after the batch, and no later batch has it (a reprint, or advices set apart). At any time it waits in one
batch at most. Events change that by giving a payment its form, by taking that form away, by putting the payment into
another batch, or by taking it out of one: each function here is told which, and brings the counts up to it.
"""

from cheque.book.state import LIVE, State
from cheque.book.store import Store

_LIVE = ", ".join(f"'{state}'" for state in sorted(LIVE))
#: a form that only goes on with a stub neither pays nor keeps a payment from being printed again
PAYS = "n.role <> 'continuation'"
#: a form that is missing and may bear a cheque; and, with voided ones, what the bank may pay although it is no good
#: cheque (term for term as the index `number_lost` has it, or it is not used)
LOST = "n.state = 'missing' AND n.sent > 0 AND n.role = 'cheque'"
GONE = f"(n.state = 'voided' OR {LOST})"
HOLDS = f"(n.state IN ({_LIVE}) OR {GONE})"
#: a form that the payment of claim `c` was on
ON = "n.origin_batch = c.origin_batch AND n.origin_item = c.origin_item"


def _lacks(but: str = "", later: str = "") -> str:
    """That claim `c` of batch `b` waits; `but`: whatever these forms are, `later`: of the later batches only these."""
    return f"""b.state = 'accepted' AND c.pulled = ''
    AND NOT EXISTS (SELECT 1 FROM number n WHERE {ON} AND {PAYS}
        AND (n.state IN ({_LIVE}) OR {GONE} AND n.seq > b.seq){but})
    AND NOT EXISTS (SELECT 1 FROM claim l JOIN batch r ON r.id = l.batch WHERE l.origin_batch = c.origin_batch
        AND l.origin_item = c.origin_item AND l.origin_batch <> l.batch AND l.batch > c.batch AND l.pulled = ''
        AND r.state = 'accepted'{later})"""


WAITING = f"FROM claim c JOIN batch b ON b.id = c.batch WHERE {_lacks()}"

_BUT = " AND NOT (n.account = ? AND n.number BETWEEN ? AND ?{which})"
_CARRIED = """SELECT DISTINCT origin_batch AS batch, origin_item AS item FROM number n
    WHERE n.account = ? AND n.number BETWEEN ? AND ? AND n.batch > 0 AND n.role <> 'continuation'{which}"""
_HERE = "SELECT origin_batch AS batch, origin_item AS item FROM claim WHERE batch = ?"
_ONE = f"{_HERE} AND item = ?"
_ELSEWHERE = f"{_HERE} AND origin_batch <> batch AND pulled = ''"


def _counted(store: Store, payments: str, lacks: str, *values: str | int) -> dict[int, int]:
    """Batch -> how many of these payments, by origin, wait there. `values`: first those of `payments`."""
    sql = f"""WITH o AS ({payments}) SELECT c.batch, count(*) FROM (SELECT batch, item FROM o
        UNION SELECT l.batch, l.item FROM o JOIN claim l ON l.origin_batch = o.batch AND l.origin_item = o.item
            WHERE l.origin_batch <> l.batch) w
        JOIN claim c ON c.batch = w.batch AND c.item = w.item JOIN batch b ON b.id = c.batch
        WHERE {lacks} GROUP BY c.batch"""
    return dict(store.rows(sql, *values))


def _put(store: Store, before: dict[int, int], after: dict[int, int]) -> None:
    for batch in sorted(before.keys() | after.keys()):
        more = after.get(batch, 0) - before.get(batch, 0)
        if more:
            store.execute("UPDATE batch SET waits = waits + ? WHERE id = ?", (more, batch))


def given(store: Store, batch: int, items: tuple[int, int], account: str, first: int, last: int) -> None:
    """Payments of a batch, from item to item, have got the forms from first to last: they wait no more."""
    row = store.row(
        "SELECT count(*) FROM claim c JOIN batch b ON b.id = c.batch WHERE c.batch = ? AND c.item BETWEEN ? AND ? "
        f"AND {_lacks(_BUT.format(which=''))}",
        *(batch, *items, account, first, last),
    )
    _put(store, {batch: row[0] if row else 0}, {})


def taken(store: Store, account: str, first: int, last: int, to: State) -> None:
    """Forms are about to come to a state: as spoiled, or on hand again, they hold no payment; missing, most do not."""
    if to not in (State.SPOILED, State.MISSING, State.ON_HAND):
        return
    which = " AND NOT (n.sent > 0 AND n.role = 'cheque')" if to is State.MISSING else ""
    forms = (account, first, last)
    carried = _CARRIED.format(which=which)
    before = _counted(store, carried, _lacks(), *forms)
    _put(store, before, _counted(store, carried, _lacks(_BUT.format(which=which)), *forms, *forms))


def joined(store: Store, batch: int) -> None:
    """A batch just accepted has payments of older ones: they wait in it, and there no more."""
    older = _counted(store, _HERE, f"c.batch < ? AND {_lacks(later=' AND l.batch < ?')}", batch, batch, batch)
    _put(store, older, {})
    row = store.row(f"SELECT count(*) {WAITING} AND c.batch = ?", batch)
    _put(store, {}, {batch: row[0] if row else 0})


def pulled(store: Store, batch: int, item: int, reason: str) -> None:
    """Take a payment out of a batch: it waits there no more; in an older one that has it, perhaps."""
    before = _counted(store, _ONE, _lacks(), batch, item)
    store.execute("UPDATE claim SET pulled = ? WHERE batch = ? AND item = ?", (reason, batch, item))
    _put(store, before, _counted(store, _ONE, _lacks(), batch, item))


def withdrawn(store: Store, batch: int) -> None:
    """Withdraw a batch: nothing waits there, and what it had of older ones waits in them again."""
    before = _counted(store, _ELSEWHERE, _lacks(), batch)
    store.execute("UPDATE batch SET state = 'withdrawn' WHERE id = ?", (batch,))
    _put(store, before, _counted(store, _ELSEWHERE, _lacks(), batch))
    store.execute("UPDATE batch SET waits = 0 WHERE id = ?", (batch,))
