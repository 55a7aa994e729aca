"""Good cheques: voided, stopped, moved from hand to hand, written by hand; and what may be printed again."""

from typing import NamedTuple

from cheque.book import batches, cleared, duties, owed, stock, stops
from cheque.book.book import Book, Reader
from cheque.book.state import LIVE, State
from cheque.book.story import history as history
from cheque.book.story import links as links
from cheque.book.story import search as search
from cheque.errors import BookRefused, UsageRefused
from cheque.payment import Payment, Role
from cheque.tongue import mark, tr

#: where the paper of a good cheque can be (custody)
PLACES = ("to be signed", "held", "handed over", "mailed", "returned")
#: answers to where the paper of a cheque to be voided is that mean it cannot be paid
IN_HAND = ("in hand", "returned")


class Numbered(NamedTuple):
    """One numbered form that has left the box, as the book has it.

    `batch`, `item`: the payment it carries or carried, 0 when none; `origin_batch`, `origin_item`: where that
    payment first was. `stop`: "", needed, overridden or confirmed. Events, by `seq`: `seq` put it in its
    state, `taken` put the payment on it, `sent` let its bytes go; 0 when none did.
    """

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
    taken: int
    sent: int


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
    """Every number that carries or carried a payment, reprints included, in the order in which they took it on."""
    return [
        Numbered(*row)._replace(state=State(row[3]))
        for row in reader.rows(
            f"SELECT {_COLUMNS} FROM number WHERE origin_batch = ? AND origin_item = ? ORDER BY taken, number",
            batch,
            item,
        )
    ]


def _no_continuation(reader: Reader, found: Numbered | None, what: str) -> None:
    """Refuse something of a form that only goes on with another: it is done to that one, or not at all."""
    if found is not None and found.role == Role.CONTINUATION:
        pays = first_of(reader, found)
        raise BookRefused(
            tr(
                "number {called} pays nobody: the stub of {called2} goes on there. {what}",
                called=_called(reader, found.account, found.number),
                called2=_called(reader, found.account, pays),
                what=what,
            )
        )


def first_of(reader: Reader, found: Numbered) -> int:
    """The number that the payment of a form stands on, when only its stub goes on on this one."""
    number = reader.value(
        "SELECT number FROM number WHERE origin_batch = ? AND origin_item = ? AND run = ? AND role <> 'continuation'",
        found.origin_batch,
        found.origin_item,
        found.run,
    )
    return int(number or found.number)


def void(
    book: Book,
    *,
    account: str,
    number: int,
    reason: str,
    paper: str,
    disposition: str = "",
    hands: int = duties.ALONE,
) -> Numbered:
    """Cancel a good cheque before it was paid. `paper`: where it is ("in hand", "returned", "not in hand").

    `disposition`: what becomes of the debt, one of `owed.DISPOSITIONS`; "" leaves it owed and undecided. `hands`:
    alone, only asked for (then without a disposition), or as the second person (`cheque.book.duties`). Gives the
    cheque as it was. Voiding does not stop a cheque that has left the hand: only the bank can.
    """
    if disposition:
        owed.judged(disposition)
    reason = stock.said(reason, tr("a cheque is voided for a reason: give it with --reason."))
    if paper not in (*IN_HAND, "not in hand"):
        raise UsageRefused(
            tr("found {paper!r}; wanted in hand, returned or not in hand: say where the paper is.", paper=paper)
        )
    with book.change() as change:
        name, found = _called(book, account, number), get(book, account, number)
        _no_continuation(book, found, tr("Void that one, and this is void with it."))
        if found is None or found.state is not State.PRINTED:
            state = found.state if found else State.ON_HAND
            raise BookRefused(
                tr(
                    "number {name} is {state}, so it cannot be voided: only a good cheque can. ",
                    name=name,
                    state=tr(state),
                )
                + (
                    tr("It was voided before: {reason}.", reason=found.reason)
                    if found and state is State.VOIDED
                    else tr(stock.ADVICE[state])
                )
            )
        box = stock.range_of(book, account, number)
        cleared.bar(book, account, number, number, box.digits, tr("it is not voided"))
        if paper == "in hand" and found.custody in ("handed over", "mailed"):
            raise BookRefused(
                tr(
                    "number {name} was {custody}, so it is not in hand. If it came back, say --paper returned; if "
                    "not, --paper not-in-hand.",
                    name=name,
                    custody=tr(found.custody),
                )
            )
        body = {"account": account, "number": number, "reason": reason, "paper": paper}
        duties.step(book, change, "cheque.voided", body, hands)
        if disposition and found.role == Role.CHEQUE:
            owed.append(change, account, number, disposition, reason)
        elif disposition:
            raise BookRefused(tr("number {name} is an advice, which pays nothing: it has no disposition.", name=name))
    return found


def _called(reader: Reader, account: str, number: int) -> str:
    """A number as it is preprinted, and its account: "000501 of main". BookRefused when it is on no stock."""
    return tr("{number} of {account}", number=stock.range_of(reader, account, number).text(number), account=account)


def confirm_stop(book: Book, *, account: str, number: int, by: str, on: str) -> None:
    """The bank confirmed that it will not pay a cheque: who said so, and on what day (ISO 8601)."""
    stops.confirm(book, account=account, number=number, what=stops.Confirmed(by, on))


class Source(NamedTuple):
    """What a reprint prints again: the number it replaces, its batch and item, the payment, its origin."""

    account: str
    number: int
    batch: batches.Batch
    item: int
    payment: Payment
    origin: tuple[int, int]
    stop_needed: bool


def reprint_source(reader: Book, account: str, number: int) -> Source:
    """The payment of a voided or spoiled cheque. BookRefused, saying why, when it may not be printed again."""
    name, found = _called(reader, account, number), get(reader, account, number)
    _no_continuation(reader, found, tr("Print that one again, if it is not good, and all its forms come with it."))
    if found is None or not found.batch:
        state = found.state if found else State.ON_HAND
        raise BookRefused(tr("number {name} is {state} and never carried a payment.", name=name, state=tr(state)))
    if found.state in LIVE:
        raise BookRefused(
            tr("number {name} is {state}: a good cheque is never printed again. ", name=name, state=tr(found.state))
            + (tr("Void it first.") if found.state is State.PRINTED else tr(stock.ADVICE[found.state]))
        )
    paid = cleared.of_payment(reader, found.origin_batch, found.origin_item)
    if paid is not None:
        raise BookRefused(
            tr(
                "the payment of number {name} was paid by the bank on {booked}, on number {called}: it is not "
                "printed again. If the bank paid what it ought not to have paid, it has to pay it back first.",
                name=name,
                booked=paid.booked,
                called=_called(reader, paid.account, paid.number),
            )
        )
    every = of_payment(reader, found.origin_batch, found.origin_item)
    latest = [one for one in every if one.role != Role.CONTINUATION][-1]
    if latest.number != number:  # in states of its own: it, and not this one, decides whether a stop is needed
        later = _called(reader, latest.account, latest.number)
        raise BookRefused(
            tr(
                "the payment of number {name} was printed again on number {later}, which is {state}: ",
                name=name,
                later=later,
                state=tr(latest.state),
            )
            + (tr("it is not printed twice.") if latest.state in LIVE else tr("print that one again instead."))
        )
    owed.bar(reader, account, number, name)
    for batch, item, pulled in reader.rows(
        "SELECT batch, item, pulled FROM claim WHERE batch = ? AND item = ? UNION ALL SELECT batch, item, pulled "
        "FROM claim WHERE origin_batch = ? AND origin_item = ? AND origin_batch <> batch AND batch > ?",
        *(found.batch, found.item, found.origin_batch, found.origin_item, found.batch),
    ):
        if batch == found.batch and pulled:
            raise BookRefused(
                tr(
                    "the payment of number {name} was pulled out of batch {batch}: {pulled}.",
                    name=name,
                    batch=batch,
                    pulled=pulled,
                )
            )
        if batch != found.batch and batches.is_waiting(reader, batch, item):
            raise BookRefused(
                tr(
                    "a reprint of number {name} is waiting already, as batch {batch}: `cheque proof {batch}`, then "
                    "print it.",
                    name=name,
                    batch=batch,
                )
            )
    return Source(
        account,
        number,
        batches.get(reader, found.batch),
        found.item,
        batches.payment(reader, found.batch, found.item),
        (found.origin_batch, found.origin_item),
        found.stop == "needed" or (_may_be_out(found) and not _stopped(reader, found)),
    )


def _stopped(reader: Book, found: Numbered) -> bool:
    """Whether the bank confirmed a stop that holds today: a lapsed one protects nothing."""
    return found.stop == "confirmed" and not stops.lapsed(reader, found.account, found.number, stops.today(reader))


def _may_be_out(found: Numbered) -> bool:
    """Whether a form that is no good cheque may be one in somebody's hands all the same."""
    if found.role != Role.CHEQUE:
        return False
    if found.state is State.VOIDED:
        return found.custody not in ("held", "returned")
    return found.state is State.MISSING and found.sent > 0


def accept_reprint(book: Book, source: Source, *, stop_override: str = "") -> int:
    """A batch of one for a payment to be printed again; linked both ways. Gives the batch's number."""
    with batches.accepting(book) as acceptance:
        fresh = reprint_source(book, source.account, source.number)
        if fresh.stop_needed:
            if not stop_override.strip():
                over = stops.lapsed(book, source.account, source.number, stops.today(book))
                stands = tr("the bank's stop of it has lapsed") if over else tr("the bank has not confirmed a stop")
                raise BookRefused(
                    tr(
                        "number {called} is not in hand and {stands}: printing it again could pay it twice. Ask the "
                        "bank; then `cheque notice stopped {account}:{number} --confirmed-by NAME`, or give a reason "
                        "with --without-stop.",
                        called=_called(book, source.account, source.number),
                        stands=stands,
                        account=source.account,
                        number=source.number,
                    )
                )
            acceptance.change.append(
                "stop.overridden",
                {"account": source.account, "number": source.number, "reason": stock.said(stop_override, "")},
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
    """Record where the paper of good cheques is, and who has it; gives how many.

    Of a voided cheque only that it came back (held, returned); no stop is needed then.
    """
    if place not in PLACES:
        raise UsageRefused(tr("found {place!r}; wanted one of {places}.", place=place, places=", ".join(PLACES)))
    if last < first:
        raise UsageRefused(tr("found {first}-{last}; wanted the lower number first.", first=first, last=last))
    to = stock.said(to, "") if to.strip() else ""
    with book.change() as change:
        for number in range(first, last + 1):
            found = get(book, account, number)
            state = found.state if found else State.ON_HAND
            if state not in (State.PRINTED, State.VOIDED):
                raise BookRefused(
                    tr(
                        "number {called} is {state}: only a cheque has custody.",
                        called=_called(book, account, number),
                        state=tr(state),
                    )
                )
            if state is State.VOIDED and place not in ("held", "returned"):
                raise BookRefused(
                    tr(
                        "number {called} is voided, so it is not {place}: it can only be held or returned.",
                        called=_called(book, account, number),
                        place=place,
                    )
                )
        box = stock.range_of(book, account, first)
        cleared.bar(book, account, first, last, box.digits, tr("the bank has it, and not anybody here"))
        change.append("custody.changed", {"account": account, "first": first, "last": last, "place": place, "to": to})
    return last - first + 1


_FORGED = mark("no cheque is written on it: spoil it, and ask the bank who was paid")


def by_hand(
    book: Book, *, account: str, number: int, batch: int, item: int, reason: str, hands: int = duties.ALONE
) -> None:
    """A cheque written by hand on a form from the box, for a payment that lacks a form. `hands` as for `void`."""
    reason = stock.said(reason, tr("why by hand? Give the reason with --reason."))
    with book.change() as change:
        name, found = _called(book, account, number), get(book, account, number)
        if found is not None:
            raise BookRefused(
                tr(
                    "number {name} is {state}, so no cheque can be written on it. {advice}",
                    name=name,
                    state=tr(found.state),
                    advice=tr(stock.ADVICE[found.state]),
                )
            )
        cleared.bar(book, account, number, number, stock.range_of(book, account, number).digits, tr(_FORGED))
        owner, payment = batches.get(book, batch), batches.payment(book, batch, item)
        if owner.account != account:
            raise BookRefused(
                tr(
                    "batch {batch} is paid from {account}; number {name} is not of that account.",
                    batch=batch,
                    account=owner.account,
                    name=name,
                )
            )
        if payment.role is not Role.CHEQUE:
            raise BookRefused(
                tr(
                    "payment {item} of batch {batch} is an advice: nothing is to be paid by cheque.",
                    item=item,
                    batch=batch,
                )
            )
        if not batches.is_waiting(book, batch, item):
            why = batches.why_not_waiting(book, batch, item)
            raise BookRefused(
                tr("payment {item} of batch {batch} {why} It is not paid twice.", item=item, batch=batch, why=why)
            )
        body = {"account": account, "number": number, "batch": batch, "item": item, "reason": reason}
        duties.step(book, change, "cheque.manual", body, hands)
