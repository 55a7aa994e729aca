"""What became of each number of a box, in a few words, and whether the box adds up."""

from collections.abc import Mapping

from cheque.book.book import Reader
from cheque.book.state import State
from cheque.book.stock import Range
from cheque.payment import Role
from cheque.reconcile.finding import Identity, Line
from cheque.reconcile.moved import struck_numbers
from cheque.reconcile.written import Written, within
from cheque.tongue import tr


def accounted(
    reader: Reader, box: Range, first: int, last: int, *, batch: int = 0, expected: Mapping[int, str] | None = None
) -> list[Line]:
    """Every number of a box from first to last: together they are exactly those numbers, in order, none twice.

    Neighbours on hand are one line, and so are neighbours that bore no payment and went the same way. `batch`
    is the one looked at, whose payments need no naming; `expected` gives payroll's numbers by its payments.
    """
    found: list[Line] = []
    at = first
    struck = struck_numbers(reader, box.account, first, last)
    for form in within(reader, box.account, max(first, box.first), min(last, box.last)):
        if form.number > at:
            found.append(_on_hand(box, at, form.number - 1))
        at = form.number + 1
        one = _line(box, form, batch, expected or {})
        if form.number in struck:
            told = tr("struck {struck}", struck=box.text(struck[form.number]))
            one = one._replace(reason=f"{one.reason}; {told}" if one.reason else told)
        if found and _alike(found[-1], one):
            before = found[-1]
            found[-1] = before._replace(
                last=one.last,
                text=f"{box.text(before.first)}-{box.text(one.last)}",
                what=_what(form, batch, were="were"),
            )
        else:
            found.append(one)
    if at <= last:
        found.append(_on_hand(box, at, last))
    return found


def identity(reader: Reader, box: Range) -> Identity:
    """The identity of one box: its forms counted from the numbers themselves, held against the book's counts."""
    tally: dict[str, int] = dict(reader.rows("SELECT state, forms FROM tally WHERE stock = ?", box.id))
    counted = reader.rows(
        "SELECT state, count(*) FROM number WHERE account = ? AND number BETWEEN ? AND ? AND stock = ? GROUP BY state",
        box.account,
        box.first,
        box.last,
        box.id,
    )
    rows: dict[str, int] = dict(counted)
    size = box.last - box.first + 1
    states = {state.value: rows.get(state.value, 0) for state in State}
    states[State.ON_HAND.value] = size - sum(rows.values())
    kept = {state.value: tally.get(state.value, 0) for state in State}
    agrees = tally.get("received", 0) == size and states == kept and min(states.values()) >= 0
    return Identity(box, states, agrees)


def _line(box: Range, form: Written, batch: int, expected: Mapping[int, str]) -> Line:
    return Line(
        first=form.number,
        last=form.number,
        text=box.text(form.number),
        state=form.state,
        role=form.role,
        batch=form.batch,
        item=form.item,
        payee=form.payee,
        amount=None if form.role == Role.CONTINUATION else form.amount,
        currency=form.currency,
        expected=expected.get(form.item, "") if form.batch == batch else "",
        reason=form.reason or (tr("its stub goes on; VOID") if form.role == Role.CONTINUATION else ""),
        what=_what(form, batch),
    )


def _on_hand(box: Range, first: int, last: int) -> Line:
    text = box.text(first) if first == last else f"{box.text(first)}-{box.text(last)}"
    what = tr("is on hand") if first == last else tr("are on hand")
    return Line(first, last, text, State.ON_HAND.value, "", 0, 0, "", None, "", "", "", what)


def _alike(one: Line, other: Line) -> bool:
    """Whether two neighbours bore no payment and went the same way."""
    return not one.item and not other.item and (one.state, one.reason) == (other.state, other.reason)


def _what(form: Written, batch: int, *, were: str = "was") -> str:
    """A few words to go after the number."""
    of = tr(" of batch {batch}", batch=form.batch) if form.batch != batch else ""
    payment = tr("payment {item}{of} ({payee})", item=form.item, of=of, payee=form.payee) if form.batch else ""
    why = f" ({form.reason})" if form.reason else ""
    if form.role == Role.CONTINUATION and form.state in (State.PRINTED, State.VOIDED):
        return tr("is the stub of {payment} that goes on, struck VOID", payment=payment) + (
            tr(", and voided with it{why}", why=why) if form.state == State.VOIDED else ""
        )
    if form.state == State.PRINTED:
        return tr("is good with {payment}", payment=payment) + ("" if form.run else tr(", written by hand"))
    if form.state == State.VOIDED:
        return tr("was printed with {payment} and voided{why}", payment=payment, why=why)
    if form.state in (State.SENT, State.RESERVED):
        return tr("is {state} with {payment}: nobody has said what became of it", state=form.state, payment=payment)
    state = tr(form.state)
    return (
        tr("were {state}{why}", state=state, why=why)
        if were == "were"
        else tr("was {state}{why}", state=state, why=why)
    )
