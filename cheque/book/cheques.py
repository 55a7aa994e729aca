"""Good cheques: voided, stopped, moved from hand to hand, written by hand; and what may be printed again."""

from typing import NamedTuple

from cheque.book import batches, stock
from cheque.book.book import Book, Reader
from cheque.book.state import LIVE, State
from cheque.errors import BookRefused, UsageRefused
from cheque.payment import Payment, Role

PLACES = ("to be signed", "in hand", "handed over", "mailed", "returned")
IN_HAND = ("in hand", "returned")


class Numbered(NamedTuple):
    """One numbered form that has left the box, as the book has it."""

    account: str
    number: int
    stock: int
    state: State
    role: str
    batch: int
    item: int
    run: int
    origin_batch: int
    origin_item: int
    reason: str
    custody: str
    stop: str
    seq: int


_COLUMNS = ", ".join(Numbered._fields)


def get(reader: Reader, account: str, number: int) -> Numbered | None:
    """A number that left the box; None when it is on hand. BookRefused when it is on no stock."""
    stock.range_of(reader, account, number)
    row = reader.row(f"SELECT {_COLUMNS} FROM number WHERE account = ? AND number = ?", account, number)
    return Numbered(*row)._replace(state=State(row[3])) if row else None


def of_batch(reader: Reader, batch: int) -> list[Numbered]:
    """Every number that carries or carried a payment of a batch, by number."""
    return [
        Numbered(*row)._replace(state=State(row[3]))
        for row in reader.rows(f"SELECT {_COLUMNS} FROM number WHERE batch = ? ORDER BY account, number", batch)
    ]


def of_payment(reader: Reader, batch: int, item: int) -> list[Numbered]:
    """Every number that ever carried a payment, reprints included, in the order of their last event."""
    return [
        Numbered(*row)._replace(state=State(row[3]))
        for row in reader.rows(
            f"SELECT {_COLUMNS} FROM number WHERE origin_batch = ? AND origin_item = ? ORDER BY seq",
            batch,
            item,
        )
    ]


def void(book: Book, *, account: str, number: int, reason: str, paper: str) -> Numbered:
    """Cancel a good cheque before it was paid. `paper`: where it is ("in hand", "returned", "not in hand").

    Voiding does not stop a cheque that has left the hand: only the bank can.
    """
    if not reason.strip():
        raise UsageRefused("a cheque is voided for a reason: give it with --reason.")
    if paper not in (*IN_HAND, "not in hand"):
        raise UsageRefused(f"found {paper!r}; wanted in hand, returned or not in hand: say where the paper is.")
    with book.change() as change:
        found = get(book, account, number)
        if found is None or found.state is not State.PRINTED:
            state = found.state if found else State.ON_HAND
            raise BookRefused(
                f"number {number} of {account} is {state}, so it cannot be voided: only a good cheque can. "
                + (f"It was voided before: {found.reason}." if found and state is State.VOIDED else stock.ADVICE[state])
            )
        if paper != "not in hand" and found.custody in ("handed over", "mailed"):
            raise BookRefused(
                f"number {number} of {account} was {found.custody}, so it is not in hand. If it came back, say "
                f"so first: `cheque custody {account}:{number} --place returned`."
            )
        change.append("cheque.voided", {"account": account, "number": number, "reason": reason.strip(), "paper": paper})
    return found


def confirm_stop(book: Book, *, account: str, number: int, by: str, on: str) -> None:
    """The bank confirmed that it will not pay a cheque: who said so, and when."""
    if not by.strip():
        raise UsageRefused("who at the bank confirmed the stop? Give the name with --confirmed-by.")
    with book.change() as change:
        found = get(book, account, number)
        if found is None or found.state not in (State.PRINTED, State.VOIDED, State.MISSING, State.SPOILED):
            state = found.state if found else State.ON_HAND
            raise BookRefused(f"number {number} of {account} is {state}: there is nothing for a bank to stop.")
        if found.stop == "confirmed":
            raise BookRefused(f"the bank's stop of number {number} of {account} is in the book already.")
        change.append(
            "stop.confirmed",
            {"account": account, "number": number, "by": by.strip(), "on": on, "stop": "confirmed"},
        )


class Source(NamedTuple):
    """What a reprint prints again: the number it replaces, its batch and item, the payment, its origin."""

    account: str
    number: int
    batch: batches.Batch
    item: int
    payment: Payment
    origin: tuple[int, int]
    stop_needed: bool


def reprint_source(reader: Reader, account: str, number: int) -> Source:
    """The payment of a voided or spoiled cheque. BookRefused, saying why, when it may not be printed again."""
    found = get(reader, account, number)
    if found is None or not found.batch:
        state = found.state if found else State.ON_HAND
        raise BookRefused(f"number {number} of {account} is {state} and never carried a payment.")
    if found.state in LIVE:
        raise BookRefused(
            f"number {number} of {account} is {found.state}: a good cheque is never printed again. "
            + ("Void it first." if found.state is State.PRINTED else stock.ADVICE[found.state])
        )
    for other in of_payment(reader, found.origin_batch, found.origin_item):
        if other.state in LIVE:
            raise BookRefused(
                f"the payment of number {number} is on number {other.number} of {other.account}, which is "
                f"{other.state}: it is not printed twice."
            )
    waiting_batch = reader.value(
        "SELECT c.batch FROM claim c JOIN batch b ON b.id = c.batch WHERE c.origin_batch = ? AND "
        "c.origin_item = ? AND b.replaces > 0 AND b.state = 'accepted' AND c.pulled = '' AND NOT EXISTS "
        "(SELECT 1 FROM number n WHERE n.batch = c.batch AND n.state IN ('printed', 'voided')) LIMIT 1",
        found.origin_batch,
        found.origin_item,
    )
    if waiting_batch:
        raise BookRefused(
            f"a reprint of number {number} is waiting already, as batch {waiting_batch}: "
            f"`cheque proof {waiting_batch}`, then print it."
        )
    return Source(
        account,
        number,
        batches.get(reader, found.batch),
        found.item,
        batches.payment(reader, found.batch, found.item),
        (found.origin_batch, found.origin_item),
        found.stop == "needed" or (found.state is State.MISSING and found.stop != "confirmed"),
    )


def accept_reprint(book: Book, source: Source, *, stop_override: str = "") -> int:
    """A batch of one for a payment to be printed again; linked both ways. Gives the batch's number."""
    with batches.accepting(book) as acceptance:
        fresh = reprint_source(book, source.account, source.number)
        if fresh.stop_needed:
            if not stop_override.strip():
                raise BookRefused(
                    f"number {source.number} of {source.account} is not in hand and the bank has not confirmed "
                    "a stop: printing it again could pay it twice. Ask the bank; then `cheque notice stopped "
                    f"{source.account}:{source.number} --confirmed-by NAME`, or give a reason with "
                    "--without-stop."
                )
            acceptance.change.append(
                "stop.overridden",
                {
                    "account": source.account,
                    "number": source.number,
                    "reason": stop_override.strip(),
                    "stop": "overridden",
                },
            )
        payment = fresh.payment._replace(item=1, expected="")
        acceptance.add(payment)
        amount = payment.amount if payment.role is Role.CHEQUE else 0
        acceptance.finish(
            {
                "account": source.account,
                "form": fresh.batch.form,
                "form_digest": fresh.batch.form_digest,
                "currency": fresh.batch.currency,
                "items": 1,
                "total": amount,
                "hash": payment.hash_value or 0,
                "source": f"reprint of {source.account}:{source.number}",
                "kind": "reprint",
                "register": "",
                "pairs": "",
                "replaces": {"number": source.number, "batch": fresh.origin[0], "item": fresh.origin[1]},
            }
        )
        return acceptance.batch


def move(book: Book, *, account: str, first: int, last: int, place: str, to: str) -> int:
    """Record where the paper of good cheques is; gives how many."""
    if place not in PLACES:
        raise UsageRefused(f"found {place!r}; wanted one of {', '.join(PLACES)}.")
    with book.change() as change:
        for number in range(first, last + 1):
            found = get(book, account, number)
            if found is None or found.state is not State.PRINTED:
                state = found.state if found else State.ON_HAND
                raise BookRefused(f"number {number} of {account} is {state}: only a good cheque has custody.")
        change.append("custody.changed", {"account": account, "first": first, "last": last, "place": place, "to": to})
    return last - first + 1


def by_hand(book: Book, *, account: str, number: int, batch: int, item: int, reason: str) -> None:
    """A cheque written by hand on a form from the box, for a payment that lacks a form."""
    if not reason.strip():
        raise UsageRefused("why by hand? Give the reason with --reason.")
    with book.change() as change:
        found = get(book, account, number)
        if found is not None:
            raise BookRefused(
                f"number {number} of {account} is {found.state}, so no cheque can be written on it. "
                f"{stock.ADVICE[found.state]}"
            )
        if item not in batches.waiting(book, batch):
            raise BookRefused(f"payment {item} of batch {batch} has its form, or was pulled: it is not paid twice.")
        change.append(
            "cheque.manual",
            {"account": account, "number": number, "batch": batch, "item": item, "reason": reason.strip()},
        )
