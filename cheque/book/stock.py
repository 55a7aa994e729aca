"""Numbered stock: received, counted, destroyed; and forms spoiled, missing or found outside a run.

Every function checks, then appends one event; each refusal says which number, what it is, and why not.
"""

from typing import NamedTuple

from cheque.book.book import Book, Reader
from cheque.book.event import Event
from cheque.book.move import stock_of
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused
from cheque.tongue import mark, tr

#: A box holds a few thousand forms at most, a pallet a few hundred thousand: more is a digit too many.
MOST_FORMS = 10_000_000


class Range(NamedTuple):
    """One range of stock; `digits` is how many digits the preprinted numbers have."""

    id: int
    account: str
    form: str
    first: int
    last: int
    digits: int

    def text(self, number: int) -> str:
        """A number as it is preprinted."""
        return str(number).zfill(self.digits)


def ranges(reader: Reader, account: str = "") -> list[Range]:
    """The ranges of stock received, by account and first number."""
    where, values = ("WHERE account = ?", (account,)) if account else ("", ())
    return [
        Range(*row)
        for row in reader.rows(
            f"SELECT id, account, form, first, last, digits FROM stock {where} ORDER BY account, first",
            *values,
        )
    ]


def range_of(reader: Reader, account: str, number: int) -> Range:
    """The range that holds a number. BookRefused when none does."""
    found = stock_of(reader.store, account, number)
    if found is None:
        raise BookRefused(
            tr(
                "{account}:{number} is on no stock in the book. `cheque stock list` shows what is; `cheque stock "
                "receive` enters a new box.",
                account=account,
                number=number,
            )
        )
    stock, form, first, last, digits = found
    return Range(stock, account, form, first, last, digits)


def holders(reader: Reader, number: int) -> list[str]:
    """The accounts whose stock holds a number."""
    return [
        row[0]
        for row in reader.rows(
            "SELECT DISTINCT account FROM stock WHERE first <= ? AND last >= ? ORDER BY account",
            number,
            number,
        )
    ]


def state_of(reader: Reader, account: str, number: int) -> State:
    """The state of a number that is on stock."""
    return State(
        reader.value("SELECT state FROM number WHERE account = ? AND number = ?", account, number) or State.ON_HAND
    )


def said(text: str, missing: str) -> str:
    """A reason or a name as it goes into the book. UsageRefused when it is blank (`missing`) or no plain text."""
    text = text.strip()
    if not text:
        raise UsageRefused(missing)
    if not text.isprintable():
        raise UsageRefused(tr("found {text!a}, with a character that is not printed; wanted plain text.", text=text))
    return text


def receive(book: Book, *, account: str, form: str, first: str, last: str) -> Range:
    """Enter a box of numbered forms. Numbers are given as they are preprinted, leading zeros and all."""
    low, high = _preprinted(first, last)
    with book.change() as change:
        clash = book.row(
            "SELECT first, last, form FROM stock WHERE account = ? AND first <= ? AND last >= ?",
            account,
            high,
            low,
        )
        if clash:
            raise BookRefused(
                tr(
                    "{account}:{low}-{high} overlaps {clash}-{clash2} ({clash3}), received already. Look at the "
                    "numbers on the box again.",
                    account=account,
                    low=low,
                    high=high,
                    clash=clash[0],
                    clash2=clash[1],
                    clash3=clash[2],
                )
            )
        event = change.append(
            "stock.received",
            {"account": account, "form": form, "first": low, "last": high, "digits": len(first)},
        )
    return Range(event.seq, account, form, low, high, len(first))


def _preprinted(first: str, last: str) -> tuple[int, int]:
    """Both ends of a range as they are preprinted."""
    if not (first.isascii() and first.isdigit() and last.isascii() and last.isdigit()):
        raise UsageRefused(
            tr(
                "found numbers {first!r} to {last!r}; wanted digits only, as preprinted on the forms.",
                first=first,
                last=last,
            )
        )
    longest = max(first, last, key=len)
    if len(longest) > 18:
        raise UsageRefused(
            tr("found {longest}, of {count} digits; a number has at most 18.", longest=longest, count=len(longest))
        )
    if len(first) != len(last) and "0" in (first[0], last[0]):
        raise UsageRefused(
            tr(
                "found {first} with {count} digits and {last} with {count2}; wanted both as preprinted, with as "
                "many digits.",
                first=first,
                count=len(first),
                last=last,
                count2=len(last),
            )
        )
    low, high = int(first), int(last)
    if low > high or low < 1:
        raise UsageRefused(
            tr("found {first} to {last}; wanted the lowest number first, from 1 up.", first=first, last=last)
        )
    if high - low >= MOST_FORMS:
        raise UsageRefused(
            tr(
                "found {first} to {last}, {high} forms; wanted at most {most_forms} at a time. Is there a digit "
                "too many?",
                first=first,
                last=last,
                high=high - low + 1,
                most_forms=MOST_FORMS,
            )
        )
    return low, high


def on_hand(reader: Reader, stock: Range, first: int, last: int) -> list[list[int]]:
    """The numbers of a range between first and last that are on hand, as ranges."""
    rows = reader.rows(
        "SELECT first, last FROM free WHERE stock = ? AND first <= ? AND last >= ? AND first >= "
        "coalesce((SELECT max(first) FROM free WHERE stock = ? AND first <= ?), 0) ORDER BY first",
        *(stock.id, last, first, stock.id, first),
    )
    return [[max(first, low), min(last, high)] for low, high in rows]


def how_many_on_hand(reader: Reader, account: str, form: str) -> int:
    """How many forms of a kind an account has on hand, all its boxes together."""
    sql = """SELECT COALESCE(SUM(t.forms), 0) FROM tally t JOIN stock s ON s.id = t.stock
        WHERE s.account = ? AND s.form = ? AND t.state = ?"""
    return int(reader.value(sql, account, form, str(State.ON_HAND)) or 0)


def count(book: Book, *, account: str, first: int, last: int, counted: int) -> int:
    """Record a physical count of the forms on hand from first to last; gives counted minus expected."""
    if counted < 0:
        raise UsageRefused(tr("found {counted} forms counted; wanted 0 or more.", counted=counted))
    with book.change() as change:
        stock = range_of(book, account, first)
        if last > stock.last or last < first:
            raise BookRefused(
                tr(
                    "{account}:{first}-{last} is not within one box: {first2}-{last2} is. Count each box by itself.",
                    account=account,
                    first=first,
                    last=last,
                    first2=stock.first,
                    last2=stock.last,
                )
            )
        expected = sum(b - a + 1 for a, b in on_hand(book, stock, first, last))
        change.append(
            "stock.counted",
            {"account": account, "first": first, "last": last, "counted": counted, "expected": expected},
        )
    return counted - expected


def destroy(book: Book, *, account: str, first: int, last: int, witness: str, reason: str) -> Event:
    """Old stock destroyed before a witness: only what is on hand."""
    body = {"witness": said(witness, tr("stock is destroyed before a witness: give the name with --witness."))}
    return _mark(book, "stock.destroyed", State.DESTROYED, account, first, last, {**body, "reason": _reason(reason)})


def spoil(book: Book, *, account: str, first: int, last: int, reason: str) -> Event:
    """Forms on hand that cannot be used: torn, misfed, used to line up the printer."""
    return _mark(book, "form.spoiled", State.SPOILED, account, first, last, {"reason": _reason(reason)})


def missing(book: Book, *, account: str, first: int, last: int, reason: str) -> Event:
    """Forms that ought to be on hand and are not."""
    return _mark(book, "form.missing", State.MISSING, account, first, last, {"reason": _reason(reason)})


def found(book: Book, *, account: str, first: int, last: int, spoiled: bool, reason: str) -> Event:
    """Missing forms that turned up: fit to use, or spoiled. One that may bear a cheque is never fit to use."""
    to = State.SPOILED if spoiled else State.ON_HAND
    reason = _reason(reason)
    with book.change() as change:
        box = _each(book, account, first, last, to, only=State.MISSING)
        carried = (
            None
            if spoiled
            else book.row(
                "SELECT number, batch, item FROM number WHERE account = ? AND number BETWEEN ? AND ? AND sent > 0",
                account,
                first,
                last,
            )
        )
        if carried:
            raise BookRefused(
                tr(
                    "number {carried} of {account} was sent to the printer with payment {carried2} of batch "
                    "{carried3}, so it may bear a cheque: deface it, and enter it with --spoiled.",
                    carried=box.text(carried[0]),
                    account=account,
                    carried2=carried[2],
                    carried3=carried[1],
                )
            )
        return change.append(
            "form.found",
            {"account": account, "first": first, "last": last, "as": to.value, "reason": reason},
        )


def _reason(text: str) -> str:
    return said(text, tr("a reason is wanted: give it with --reason."))


def _mark(book: Book, kind: str, to: State, account: str, first: int, last: int, told: dict[str, str]) -> Event:
    with book.change() as change:
        _each(book, account, first, last, to)
        return change.append(kind, {"account": account, "first": first, "last": last, **told})


def _each(book: Book, account: str, first: int, last: int, to: State, *, only: State = State.ON_HAND) -> Range:
    """Refuse unless every number of the range is in the state `only`, naming the first that is not."""
    if last < first:
        raise UsageRefused(tr("found {first}-{last}; wanted the lower number first.", first=first, last=last))
    box = range_of(book, account, first)
    if last > box.last:
        raise BookRefused(
            tr(
                "{account}:{first}-{last} goes past the end of its box, {last2}.",
                account=account,
                first=first,
                last=last,
                last2=box.text(box.last),
            )
        )
    where = "FROM number WHERE account = ? AND number BETWEEN ? AND ?"
    odd = book.row(f"SELECT number, state {where} AND state <> ? ORDER BY number", account, first, last, only.value)
    if not odd and only is not State.ON_HAND:
        free = on_hand(book, box, first, last)
        odd = (free[0][0], State.ON_HAND) if free else None
    if odd:
        number, state = odd
        raise BookRefused(
            tr(
                "number {number} of {account} is {state}, so it cannot become {to}. {advice}",
                number=box.text(number),
                account=account,
                state=tr(state),
                to=tr(to),
                advice=tr(ADVICE[State(state)]),
            )
        )
    return box


#: what to do with a number that is in the wrong state for what was asked
ADVICE = {
    State.ON_HAND: mark("It is in the box, as far as the book knows."),
    State.RESERVED: mark("A run holds it: `cheque resume` or `cheque confirm` its batch first."),
    State.SENT: mark("It may have been printed: `cheque confirm` its batch, and say there what became of it."),
    State.PRINTED: mark("It is a good cheque: `cheque void` is the way to cancel it."),
    State.SPOILED: mark("It was accounted for already."),
    State.VOIDED: mark("It was accounted for already."),
    State.MISSING: mark("It is missing: if it was found, say so with `cheque found`."),
    State.DESTROYED: mark("It was destroyed."),
}
