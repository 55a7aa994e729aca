"""Hands kept apart: a batch approved by another than who accepted it; a void or a manual cheque by two.

Whether they have to be is a matter of the settings (`cheque.duties`); what happened is in the book all the same. On
SQLite a person is the name that the operating system knows: a habit, recorded and reported, that whoever can write
the file can get round.
"""

import json
from typing import Any, NamedTuple

from cheque.book import batches, stock
from cheque.book.book import Book, Change, Reader
from cheque.errors import BookRefused
from cheque.tongue import tr

#: a step that one person takes alone; one that is only asked for. Else the event that asked for it
ALONE, ASK = 0, -1


class Asked(NamedTuple):
    """A step that waits for a second person. `seq`: the event that asked for it."""

    seq: int
    kind: str
    account: str
    number: int
    body: dict[str, Any]
    who: str
    at: str


def acceptor(reader: Reader, batch: int) -> str:
    """Who accepted a batch."""
    return str(reader.value("SELECT e.who FROM batch b JOIN event e ON e.seq = b.seq WHERE b.id = ?", batch))


def voider(reader: Reader, account: str, number: int) -> str:
    """Who voided a cheque; "" when it is not void."""
    sql = (
        "SELECT e.who FROM number n JOIN event e ON e.seq = n.seq WHERE n.account = ? AND n.number = ? AND n.state = ?"
    )
    return str(reader.value(sql, account, number, "voided") or "")


def approvals(reader: Reader, batch: batches.Batch) -> list[str]:
    """Who approved a batch's latest proof, in order."""
    rows = reader.rows("SELECT who FROM approval WHERE batch = ? AND proof = ? ORDER BY seq", batch.id, batch.proof)
    return [row[0] for row in rows]


def approve(book: Book, batch: int) -> int:
    """Approve a batch's latest proof; gives how many have. BookRefused for who accepted it, and for a second time."""
    with book.change() as change:
        found = batches.get(book, batch)
        if found.state != "accepted":
            raise BookRefused(tr("batch {batch} was withdrawn; there is nothing to approve.", batch=batch))
        if acceptor(book, batch) == book.who:
            raise BookRefused(
                tr("{who} accepted batch {batch}, so somebody else has to approve it.", who=book.who, batch=batch)
            )
        already = approvals(book, found)
        if book.who in already:
            raise BookRefused(
                tr(
                    "{who} approved this proof of batch {batch} already; a second one is another's.",
                    who=book.who,
                    batch=batch,
                )
            )
        change.append("batch.approved", {"batch": batch, "proof": found.proof})
        return len(already) + 1


def largest(reader: Reader, batch: int) -> int:
    """The largest amount that a batch pays by cheque (minor units)."""
    sql = "SELECT coalesce(max(amount), 0) FROM claim WHERE batch = ? AND pulled = '' AND role = 'cheque'"
    return int(reader.value(sql, batch))


def beginner(reader: Reader, run: int) -> str:
    """Who began a run, that is, who printed."""
    return str(reader.value("SELECT e.who FROM run r JOIN event e ON e.seq = r.seq WHERE r.id = ?", run))


def printed_batch(reader: Reader, who: str, batch: int) -> bool:
    """Whether somebody began a run of a batch."""
    sql = "SELECT 1 FROM run r JOIN event e ON e.seq = r.seq WHERE r.batch = ? AND e.who = ? LIMIT 1"
    return reader.row(sql, batch, who) is not None


def printed_from(reader: Reader, who: str, account: str, since: str) -> bool:
    """Whether somebody began a run on an account on or after a day (ISO 8601)."""
    sql = (
        "SELECT 1 FROM run r JOIN event e ON e.seq = r.seq WHERE r.account = ? AND r.at >= ? AND e.who = ? "
        "ORDER BY r.id DESC LIMIT 1"
    )
    return reader.row(sql, account, since, who) is not None


def waiting(reader: Reader, account: str = "", number: int = 0) -> list[Asked]:
    """What waits for a second person, oldest first; for one number, or all."""
    rows = reader.rows(
        "SELECT id, kind, account, number, body, who, at FROM asked WHERE done = 0 "
        "AND (? = '' OR account = ? AND number = ?) ORDER BY id",
        account,
        account,
        number,
    )
    return [Asked(row[0], row[1], row[2], row[3], json.loads(row[4]), row[5], row[6]) for row in rows]


def step(book: Book, change: Change, kind: str, body: dict[str, Any], hands: int) -> None:
    """Take a step on a number, alone or as the second person; or ask a second person for it (`hands`).

    BookRefused when something is asked for that number already.
    """
    if hands == ASK:
        if waiting(book, body["account"], body["number"]):
            raise BookRefused(tr("something waits for a second person on {named} already.", named=_named(book, body)))
        change.append("second.asked", {"kind": kind, "body": body})
    else:
        change.append(kind, {**body, "asked": hands} if hands else body)


def asked_for(book: Book, kind: str, account: str, number: int) -> Asked:
    """What waits for a second person on a number. BookRefused when nothing does, or the same person asked."""
    for one in waiting(book, account, number):
        if one.kind == kind:
            if one.who == book.who:
                raise BookRefused(tr("{who} asked for this, so somebody else has to do it.", who=book.who))
            return one
    where = _named(book, {"account": account, "number": number})
    raise BookRefused(tr("nothing of the kind waits for a second person on {where}.", where=where))


def drop(book: Book, account: str, number: int) -> None:
    """What waits for a second person on a number is not wanted any more. BookRefused when nothing waits."""
    with book.change() as change:
        found = waiting(book, account, number)
        if not found:
            where = _named(book, {"account": account, "number": number})
            raise BookRefused(tr("nothing waits for a second person on {where}.", where=where))
        change.append("second.dropped", {"asked": found[0].seq})


def _named(reader: Reader, body: dict[str, Any]) -> str:
    box = stock.range_of(reader, body["account"], body["number"])
    return tr("number {number} of {account}", number=box.text(body["number"]), account=body["account"])
