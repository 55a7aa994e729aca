"""What the book tells when it is asked: a form's whole story, what replaced what, a search; and a safe copy."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from cheque import money
from cheque.book import batches, names, stock
from cheque.book.book import COLUMNS, Book, Reader, open_copy
from cheque.book.event import Event
from cheque.book.schema import BUCKET, COPIED
from cheque.book.state import State
from cheque.errors import BookRefused, Fault, InputRefused, UsageRefused
from cheque.tongue import tr

_NUMBER = re.compile(r"(?:(?P<account>[^\s:]+):)?(?P<number>\d{1,18})", re.ASCII)


class Links(NamedTuple):
    """The number whose payment a number carries again, and the one that carries its payment now; or None."""

    replaces: int | None
    replaced_by: int | None


def links(reader: Reader, account: str, number: int) -> Links:
    """What a number replaced, and what replaced it: the forms its payment was on before and after."""
    here = reader.row(
        "SELECT origin_batch, origin_item, taken FROM number WHERE account = ? AND number = ? AND batch > 0",
        account,
        number,
    )
    if here is None:
        return Links(None, None)
    where = "FROM number WHERE origin_batch = ? AND origin_item = ? AND batch > 0 AND taken"
    return Links(
        reader.value(f"SELECT number {where} < ? ORDER BY taken DESC, number", *here),
        reader.value(f"SELECT number {where} > ? ORDER BY taken, number", *here),
    )


def history(reader: Reader, account: str, number: int) -> list[Event]:
    """Every event that speaks of a number, in order: of itself, and of the batch, proof and run it was in.

    BookRefused when the number is on no stock.
    """
    stock.range_of(reader, account, number)
    own = {event.seq for event in _told_of(reader, account, number)}
    struck = struck_number(reader, account, number)
    if struck is not None:  # what happened to the cheque before was told of the number struck on it
        own |= {event.seq for event in _told_of(reader, account, struck)}
    read = reader.rows("SELECT DISTINCT seq FROM bank_item WHERE account = ? AND number = ?", account, number)
    own |= {row[0] for row in read}
    events = {seq: _event(reader, seq) for seq in own}
    borne = reader.row("SELECT item FROM number WHERE account = ? AND number = ?", account, number)
    for began in [event for event in events.values() if event.kind in ("run.begun", "cheque.manual")]:
        for event in _around(reader, began, borne[0] if borne else 0):
            events[event.seq] = event
    return [events[seq] for seq in sorted(events)]


def struck_number(reader: Reader, account: str, number: int) -> int | None:
    """The number struck on a form, when it is not the preprinted one; else None."""
    found: int | None = reader.value("SELECT struck FROM struck WHERE account = ? AND number = ?", account, number)
    return found


def _told_of(reader: Reader, account: str, number: int) -> list[Event]:
    rows = reader.rows(
        "SELECT seq FROM touch WHERE account = ? AND bucket = ? AND first <= ? AND last >= ?",
        account,
        number // BUCKET,
        number,
        number,
    )
    return [_event(reader, seq) for (seq,) in list(rows)]


def _event(reader: Reader, seq: int) -> Event:
    row = reader.row(f"SELECT {COLUMNS} FROM event WHERE seq = ?", seq)
    if row is None:
        raise BookRefused(tr("the book lacks event {seq}: see `cheque book verify`", seq=seq))
    return Event(*row)


def _around(reader: Reader, began: Event, item: int) -> Iterator[Event]:
    """Of the events of a batch, those that led to a form being used and those of the run it was used in."""
    what = began.data
    rows = reader.rows("SELECT seq FROM batch_event WHERE batch = ? ORDER BY seq", what["batch"])
    for event in [_event(reader, seq) for (seq,) in rows]:
        data = event.data
        relevant = {
            "batch.accepted": event.seq < began.seq,
            "proof.made": event.seq < began.seq and data.get("proof") == what.get("proof"),
            "payment.pulled": data.get("item") == item,
            "run.stopped": data.get("run") == what.get("run"),
            "run.finished": data.get("run") == what.get("run"),
        }
        if relevant.get(event.kind):
            yield event


class Found(NamedTuple):
    """One thing that a search found: a number and the payment on it, or one of the two.

    `number` is None for a payment that lacks a form; `state` is then waiting, pulled, withdrawn, or not to be
    printed (there: a reprint has it). A form that never carried a payment has `batch` 0. `amount` is in minor
    units of `currency`.
    """

    account: str
    number: int | None
    state: str
    batch: int
    item: int
    payee: str
    amount: int
    date: str
    reference: str
    currency: str


def search(reader: Reader, text: str) -> list[Found]:
    """Forms and payments by payee (any part of it, capitals or not), amount, reference or number.

    An amount as it is written (812.40; 1,812.40) in the currency of its batch, or in minor units; a reference
    whole; a number alone or as account:number. By payment, the oldest first. UsageRefused when text is blank.
    """
    text = " ".join(text.split())
    if not text:
        raise UsageRefused(tr("what is to be found? Give a payee, an amount, a reference or a number."))
    found = {*_claims(reader, "reference = ?", text)}
    for payee in list(names.with_part(reader, text)):
        found.update(_claims(reader, "fresh IN (0, 1, 2) AND payee = ?", payee))
    for currency, amount in _amounts(reader, text):
        of_currency = "amount = ? AND EXISTS (SELECT 1 FROM batch b WHERE b.id = claim.batch AND b.currency = ?)"
        found.update(_claims(reader, of_currency, amount, currency))
    numbered = [one for batch, item in found for one in _of_claim(reader, batch, item)]
    match = _NUMBER.fullmatch(text)
    accounts = [match["account"]] if match and match["account"] else None
    if match:
        number = int(match["number"])
        for account in accounts or stock.holders(reader, number):
            numbered += _of_number(reader, account, number)
    return sorted(set(numbered), key=lambda one: (one.batch, one.item, one.account, one.number or 0))


def _claims(reader: Reader, where: str, *values: str | int) -> Iterator[tuple[int, int]]:
    return ((row[0], row[1]) for row in reader.rows(f"SELECT batch, item FROM claim WHERE {where}", *values))


def _currencies(reader: Reader) -> Iterator[str]:
    """Every currency once, by going from one to the next in the index and not through all the batches."""
    currency = reader.value("SELECT min(currency) FROM batch")
    while currency is not None:
        yield str(currency)
        currency = reader.value("SELECT min(currency) FROM batch WHERE currency > ?", currency)


def _amounts(reader: Reader, text: str) -> Iterator[tuple[str, int]]:
    """What the text can mean as an amount: (currency, minor units)."""
    for currency in _currencies(reader):
        if text.isascii() and text.isdigit() and len(text) <= 18:
            yield currency, int(text)
        try:
            amount = money.parse(text, currency, group="," if "," in text else "")
        except (money.AmountError, KeyError):
            continue
        if abs(amount) < 10**18:
            yield currency, amount


_PAYMENT = "c.payee, c.amount, c.date, c.reference, b.currency FROM claim c JOIN batch b ON b.id = c.batch"


def _of_claim(reader: Reader, batch: int, item: int) -> list[Found]:
    """A payment of a batch on each number that carries or carried it there; and on none while it lacks one."""
    row = reader.row(f"SELECT c.account, b.state, c.pulled, {_PAYMENT} WHERE c.batch = ? AND c.item = ?", batch, item)
    if row is None:
        return []
    account, state, pulled, payee, amount, date, reference, currency = row
    on: list[tuple[str, int | None, str]] = [
        (row[0], row[1], row[2])
        for row in reader.rows(
            "SELECT account, number, state FROM number WHERE batch = ? AND item = ? ORDER BY number", batch, item
        )
    ]
    if not on or pulled or batches.is_waiting(reader, batch, item):
        waits = "waiting" if batches.is_waiting(reader, batch, item) else tr("not to be printed")
        on.append((account, None, "withdrawn" if state == "withdrawn" else "pulled" if pulled else waits))
    return [Found(*where, batch, item, payee, amount, date, reference, currency) for where in on]


def _of_number(reader: Reader, account: str, number: int) -> list[Found]:
    """A number, and the payment on it if there is one; nothing when it is on no stock."""
    if account not in stock.holders(reader, number):
        return []
    row = reader.row("SELECT batch, item FROM number WHERE account = ? AND number = ?", account, number)
    if row and row[0]:
        return [one for one in _of_claim(reader, *row) if (one.account, one.number) == (account, number)]
    state: State = stock.state_of(reader, account, number)
    return [Found(account, number, state.value, 0, 0, "", 0, "", "", "")]


def backup(book: Book, path: Path) -> Event:
    """Copy the book to a file while others work, and prove the copy whole; gives the latest event in it.

    The file is owner-only. InputRefused when something is there already or it cannot be written; BookRefused,
    with the faults, when the copy (and so the book) is not whole: no copy is left then.
    """
    from cheque.book.moving import into_file
    from cheque.book.store import SqliteStore, remove
    from cheque.book.verify import verify

    try:
        if isinstance(book.store, SqliteStore):
            book.store.backup(path, COPIED)
        else:
            into_file(book, path)
    except FileExistsError:
        raise InputRefused(
            tr("{path} is there already: nothing is written over. Name another file.", path=path)
        ) from None
    except OSError as error:
        raise InputRefused(
            tr("a copy cannot be made at {path}: {strerror}. Name another place.", path=path, strerror=error.strerror)
        ) from None
    faults: list[Fault] = []
    try:
        with open_copy(path) as copy:
            faults = verify(copy)
            if not faults:
                return copy.head
    except BaseException:
        remove(path)
        raise
    remove(path)
    raise BookRefused(tr("the book is not whole, so no copy of it was kept: see `cheque book verify`."), faults)
