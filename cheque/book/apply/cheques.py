"""Good cheques: voided, stopped, moved from hand to hand, written by hand."""

from cheque.book.apply.duties import seconded
from cheque.book.apply.law import Apply, Body, in_batch, law, uncleared, unpaid
from cheque.book.event import Event
from cheque.book.move import change, leave_box, move, touch
from cheque.book.state import State
from cheque.book.store import Store
from cheque.errors import BookRefused
from cheque.payment import Role
from cheque.tongue import tr


def _number(store: Store, event: Event, body: Body) -> tuple[str, str, str]:
    """State, role and stop of the number that an event speaks of."""
    row = store.row(
        "SELECT state, role, stop FROM number WHERE account = ? AND number = ?", body["account"], body["number"]
    )
    if row is None:
        raise BookRefused(
            tr("event {seq} speaks of number {number}, which never left the box", seq=event.seq, number=body["number"])
        )
    state, role, stop = row
    return state, role, stop


def _cheque_voided(store: Store, event: Event, body: Body) -> None:
    account, number, paper = body["account"], body["number"], body["paper"]
    _, role, stop = _number(store, event, body)
    uncleared(store, event, account, number, number)
    seconded(store, event, body)
    if not stop and role == Role.CHEQUE and paper == "not in hand":
        stop = "needed"
    custody = "held" if paper == "in hand" else paper
    law(event, role != Role.CONTINUATION, f"number {number} pays nobody: it is voided with what it goes on with")
    move(store, event, account, number, number, State.VOIDED, reason=body["reason"], custody=custody, stop=stop)
    for further in going_on(store, account, number):
        move(store, event, account, further, further, State.VOIDED, reason=body["reason"], custody=custody)


def going_on(store: Store, account: str, number: int) -> list[int]:
    """The good forms on which the stub of a number's payment goes on, as they were printed with it."""
    rows = store.rows(
        "SELECT c.number FROM number n JOIN number c ON c.origin_batch = n.origin_batch "
        "AND c.origin_item = n.origin_item AND c.run = n.run AND c.account = n.account "
        "WHERE n.account = ? AND n.number = ? AND n.run > 0 AND c.role = 'continuation' AND c.state = 'printed' "
        "ORDER BY c.number",
        account,
        number,
    )
    return [row[0] for row in rows]


def _overridden(store: Store, event: Event, body: Body) -> None:
    account, number = body["account"], body["number"]
    _number(store, event, body)
    change(store, account, number, number, stop="overridden")
    touch(store, event, account, number, number)


def _custody(store: Store, event: Event, body: Body) -> None:
    account, first, last, place = body["account"], body["first"], body["last"], body["place"]
    uncleared(store, event, account, first, last)
    where = "FROM number WHERE account = ? AND number BETWEEN ? AND ? AND state"
    good = store.row(f"SELECT count(*) {where} IN ('printed', 'voided')", account, first, last)
    law(event, good == (last - first + 1,), "only a cheque, good or void, is in somebody's hands")
    void = store.row(f"SELECT 1 {where} = 'voided' LIMIT 1", account, first, last)
    law(event, place in ("held", "returned") or not void, "a void cheque is not given out")
    change(store, account, first, last, custody=place)
    store.execute(  # only a void cheque needs a stop, and this one came back
        "UPDATE number SET stop = '' WHERE account = ? AND number BETWEEN ? AND ? AND stop = 'needed'",
        (account, first, last),
    )
    touch(store, event, account, first, last)


def _manual(store: Store, event: Event, body: Body) -> None:
    """A cheque written by hand on a form from the box."""
    account, number, batch, item = body["account"], body["number"], body["batch"], body["item"]
    in_batch(store, event, batch)
    seconded(store, event, body)
    uncleared(store, event, account, number, number)
    unpaid(store, event, batch, item, item)
    claim = store.row(
        "SELECT role, item, origin_batch, origin_item FROM claim WHERE batch = ? AND item = ? AND account = ? "
        "AND pulled = '' AND role = 'cheque'",
        batch,
        item,
        account,
    )
    if claim is None:
        raise BookRefused(
            tr(
                "event {seq} speaks of payment {item} of batch {batch}, which is not to be paid",
                seq=event.seq,
                item=item,
                batch=batch,
            )
        )
    leave_box(
        store,
        event,
        account,
        number,
        number,
        State.PRINTED,
        payments=[claim],
        batch=batch,
        custody="to be signed",
    )


KINDS: dict[str, Apply] = {
    "cheque.voided": _cheque_voided,
    "stop.overridden": _overridden,
    "custody.changed": _custody,
    "cheque.manual": _manual,
}
