"""Stops: a cheque that the bank was asked not to pay, what it answered, until when that holds, and renewing it.

A stop lapses. How soon is a matter of the account's country and bank, so the day comes from outside; here is held
that a lapsed stop protects nothing: the cheque may be paid, and its payment is not printed again until the bank has
confirmed a new one. A stop is renewed while it holds, by UCC § 4-403(b); after that a new one is asked for.
"""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from cheque.book import cleared, stock
from cheque.book.book import Book, Change, Reader
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused
from cheque.payment import Role
from cheque.tongue import tr

#: states of a form for which a bank can be asked for a stop: what left the box, or may have, can be presented
STOPPED = (State.PRINTED, State.VOIDED, State.MISSING, State.SPOILED)


class Stop(NamedTuple):
    """The latest that is known of a stop. `state`: requested, confirmed, refused; `on`: the day of that; `lapses`:
    the last day on which it holds, or "" when that is not known; `spoken`: 1 while it is only spoken; `notice`: the
    request, 0 when it was made without a file."""

    account: str
    number: int
    state: str
    reason: str
    told: str
    by_whom: str
    on_day: str
    lapses: str
    spoken: int
    notice: int
    seq: int

    def holds(self, day: str) -> bool:
        """Whether the bank has confirmed it, and it has not lapsed on a day."""
        return self.state == "confirmed" and not (self.lapses and self.lapses < day)


_COLUMNS = ", ".join(Stop._fields)


def get(reader: Reader, account: str, number: int) -> Stop | None:
    """What is known of a number's stop, or None."""
    row = reader.row(f"SELECT {_COLUMNS} FROM stop_order WHERE account = ? AND number = ?", account, number)
    return Stop(*row) if row else None


def every(reader: Reader, *, account: str = "") -> Iterator[Stop]:
    """Every stop, by account and number."""
    where, values = (" WHERE account = ?", (account,)) if account else ("", ())
    sql = f"SELECT {_COLUMNS} FROM stop_order{where} ORDER BY account, number"
    return (Stop(*row) for row in reader.rows(sql, *values))


def of_number(reader: Reader, number: int) -> list[Stop]:
    """The stops of a number, in whatever account."""
    rows = reader.rows(
        f"SELECT {_COLUMNS} FROM stop_order WHERE account IN (SELECT DISTINCT account FROM stock) AND number = ? "
        "ORDER BY account",
        number,
    )
    return [Stop(*row) for row in rows]


def waiting(reader: Reader, number: int) -> list[Stop]:
    """The stops of a number, in whatever account, that the bank has been asked for and has not answered."""
    return [stop for stop in of_number(reader, number) if stop.state == "requested"]


def today(book: Book) -> str:
    """The local day of the book's clock, ISO 8601."""
    return book.clock().astimezone().date().isoformat()


def lapsed(reader: Reader, account: str, number: int, day: str) -> bool:
    """Whether the bank confirmed a stop of a number and it has lapsed on a day."""
    found = get(reader, account, number)
    return found is not None and found.state == "confirmed" and not found.holds(day)


def lapsed_by(reader: Reader, day: str) -> dict[tuple[str, int], str]:
    """The stops that the bank confirmed and that have lapsed on a day, by account and number: the last day of each."""
    sql = "SELECT account, number, lapses FROM stop_order WHERE state = 'confirmed' AND lapses <> '' AND lapses < ?"
    return {(account, number): last for account, number, last in reader.rows(sql, day)}


def _to_be_stopped(book: Book, account: str, number: int) -> tuple[str, str]:
    """A number's name and its stop. BookRefused when there is nothing to stop."""
    box = stock.range_of(book, account, number)
    name = tr("{number} of {account}", number=box.text(number), account=account)
    row = book.row("SELECT state, stop, role FROM number WHERE account = ? AND number = ?", account, number)
    state, stop, role = row or (State.ON_HAND, "", "")
    if role == Role.CONTINUATION:
        raise BookRefused(
            tr("number {name} pays nobody: only a stub goes on there. There is nothing for a bank to stop.", name=name)
        )
    if state not in STOPPED:
        raise BookRefused(
            tr("number {name} is {state}: there is nothing for a bank to stop.", name=name, state=tr(state))
        )
    return name, stop


def check_request(book: Book, account: str, number: int, *, again: bool = False) -> str:
    """A number's name. BookRefused when the bank need not, or cannot, be asked to stop it."""
    name, stop = _to_be_stopped(book, account, number)
    box = stock.range_of(book, account, number)
    cleared.bar(book, account, number, number, box.digits, tr("the bank cannot stop it any more"))
    found = get(book, account, number)
    if found and found.holds(today(book)):
        until = tr(" until {lapses}", lapses=found.lapses) if found.lapses else ""
        raise BookRefused(
            tr(
                "the bank's stop of number {name} is in the book already, confirmed by {by_whom}{until}.",
                name=name,
                by_whom=found.by_whom,
                until=until,
            )
        )
    if stop == "requested" and not again:
        raise BookRefused(
            tr(
                "the bank was asked to stop number {name} already, and has not answered. Enter its answer with "
                "--confirmed-by, or ask again and say why with --again.",
                name=name,
            )
        )
    return name


def request(change: Change, *, account: str, number: int, reason: str, told: str, notice: int, on: str) -> None:
    """The bank is asked to stop a cheque, by a notice that was made."""
    body = {"account": account, "number": number, "reason": reason, "told": told, "on": on, "notice": notice}
    change.append("stop.requested", body)


class Confirmed(NamedTuple):
    """What the bank confirmed: who, on what day (ISO 8601), whether only by word of mouth, until what day or ""."""

    by: str
    on: str
    spoken: bool = False
    lapses: str = ""
    reason: str = ""
    told: str = ""


def confirm(book: Book, *, account: str, number: int, what: Confirmed) -> None:
    """The bank confirmed that it will not pay a cheque."""
    by = stock.said(what.by, tr("who at the bank confirmed the stop? Give the name with --confirmed-by."))
    on = _a_day(what.on, tr("the day of the stop"))
    with book.change() as change:
        name, _ = _to_be_stopped(book, account, number)
        found = get(book, account, number)
        if found and found.holds(today(book)):
            raise BookRefused(tr("the bank's stop of number {name} is in the book already.", name=name))
        body: dict[str, str | int] = {"account": account, "number": number, "by": by, "on": on}
        if what.lapses:
            body["lapses"] = _a_day(what.lapses, tr("the last day of the stop"))
        if what.spoken:
            body["spoken"] = 1
        body |= {key: text for key, text in (("reason", what.reason), ("told", what.told)) if text}
        change.append("stop.confirmed", body)


def renew(book: Book, *, account: str, number: int, by: str, on: str, lapses: str) -> None:
    """The bank confirmed that it goes on refusing a cheque, until `lapses`."""
    by = stock.said(by, tr("who at the bank confirmed it? Give the name with --confirmed-by."))
    on, lapses = _a_day(on, tr("the day of the renewal")), _a_day(lapses, tr("the day until which it holds"))
    with book.change() as change:
        name, _ = _to_be_stopped(book, account, number)
        found = get(book, account, number)
        if found is None or found.state != "confirmed":
            raise BookRefused(
                tr("the bank has confirmed no stop of number {name}: there is nothing to renew.", name=name)
            )
        if found.lapses and found.lapses < on:
            raise BookRefused(
                tr(
                    "the stop of number {name} lapsed on {lapses}, before {on}: a lapsed stop is not renewed (UCC § "
                    "4-403(b)). Ask the bank for a new one, and whether the cheque was paid meanwhile.",
                    name=name,
                    lapses=found.lapses,
                    on=on,
                )
            )
        if lapses <= on:
            raise UsageRefused(tr("found a renewal on {on} until {lapses}; wanted a later day.", on=on, lapses=lapses))
        change.append("stop.renewed", {"account": account, "number": number, "by": by, "on": on, "lapses": lapses})


def refuse(book: Book, *, account: str, number: int, by: str, on: str, told: str) -> None:
    """The bank will not stop a cheque: who said so, on what day, and why."""
    by = stock.said(by, tr("who at the bank refused the stop? Give the name with --refused-by."))
    on = _a_day(on, tr("the day of the answer"))
    with book.change() as change:
        name, stop = _to_be_stopped(book, account, number)
        found = get(book, account, number)
        if found and found.holds(today(book)):
            raise BookRefused(tr("the bank has confirmed the stop of number {name}: it did not refuse it.", name=name))
        if stop == "confirmed":
            raise BookRefused(
                tr("the stop of number {name} lapsed: ask for a new one before its answer is entered.", name=name)
            )
        body = {"account": account, "number": number, "by": by, "on": on, "told": told.strip()}
        change.append("stop.refused", body)


def _a_day(text: str, what: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise UsageRefused(tr("found {text!r}; wanted {what}, such as 2026-11-27.", text=text, what=what)) from None
