"""Batches: a register accepted with its control totals; payments pulled, batches withdrawn, proofs made."""

import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import starmap
from typing import Any, NamedTuple

from cheque.book.book import Book, Change, Reader
from cheque.book.event import ListDigest, packed, unpacked
from cheque.book.ranges import Ranges
from cheque.book.stock import range_of, said
from cheque.book.waits import HOLDS, LOST, ON, PAYS, WAITING
from cheque.errors import BookRefused
from cheque.payment import Payment, from_kept, to_kept, to_text
from cheque.tongue import tr

#: more payments than any batch has
ALL = 10**18


class Batch(NamedTuple):
    """A batch as the book has it; amounts in minor units.

    `proof` is the digest of its latest proof or "", `proof_seq` the event that made it. `replaces` is the
    number that a reprint replaces, or 0. `waits`: how many of its payments still lack a form and may be printed.
    """

    id: int
    account: str
    form: str
    form_digest: str
    currency: str
    items: int
    total: int
    hash: int
    source: str
    kind: str
    pairs: str
    state: str
    replaces: int
    proof: str
    at: str
    seq: int
    proof_seq: int
    waits: int


_COLUMNS = ", ".join(Batch._fields)


def get(reader: Reader, batch: int) -> Batch:
    """A batch by its number. BookRefused when there is none."""
    row = reader.row(f"SELECT {_COLUMNS} FROM batch WHERE id = ?", batch)
    if row is None:
        raise BookRefused(tr("there is no batch {batch}. `cheque batch list` shows those there are.", batch=batch))
    return Batch(*row)


def every(reader: Reader) -> list[Batch]:
    """All batches, oldest first."""
    return [Batch(*row) for row in reader.rows(f"SELECT {_COLUMNS} FROM batch ORDER BY id")]


def payments(reader: Reader, batch: int, *, pulled: bool = False) -> Iterator[Payment]:
    """The payments of a batch in register order; those pulled out only when asked for."""
    return starmap(from_kept, kept(reader, batch, pulled=pulled))


def kept(reader: Reader, batch: int, *, pulled: bool = False) -> Iterator[tuple[int, str]]:
    """As `payments`, each as it is kept: its item and the text of which `from_kept` makes it."""
    for item, body, why in reader.stream(
        "SELECT p.item, p.body, c.pulled FROM payment p JOIN claim c ON c.batch = p.batch AND c.item = p.item "
        "WHERE p.batch = ? ORDER BY p.item",
        batch,
    ):
        if pulled or not why:
            yield item, body


def shown(reader: Reader, batch: int) -> int:
    """How many payments a proof of a batch shows: all but those pulled."""
    return int(reader.value("SELECT count(*) FROM claim WHERE batch = ? AND pulled = ''", batch))


def proved_kept(reader: Reader, batch: int, first: int, last: int) -> list[tuple[int, str, str]]:
    """The payments of a batch from one item to another, in order: item, as it is kept, and its page digests in the
    latest proof.

    Those are "" when it is not in the proof. (A question for a window of forms, not two for each form: print spent
    a tenth of its time asking.)
    """
    rows = reader.rows(
        "SELECT p.item, p.body, d.digest FROM batch b JOIN payment p ON p.batch = b.id LEFT JOIN proof_page d "
        "ON d.seq = b.proof_seq AND d.item = p.item WHERE b.id = ? AND p.item BETWEEN ? AND ? ORDER BY p.item",
        batch,
        first,
        last,
    )
    return [(item, body, unpacked(digest or b"")) for item, body, digest in rows]


def payment(reader: Reader, batch: int, item: int) -> Payment:
    """One payment of a batch. BookRefused when there is none."""
    text = reader.value("SELECT body FROM payment WHERE batch = ? AND item = ?", batch, item)
    if text is None:
        raise BookRefused(
            tr("batch {batch} has no payment {item}. `cheque batch show {batch}` lists them.", batch=batch, item=item)
        )
    return from_kept(item, text)


def waiting(reader: Reader, batch: int, limit: int = ALL) -> Ranges:
    """The payments of a batch, by item, that still lack a form and may be printed, in register order.

    At any time a payment waits in one batch at most: the latest accepted one that has it. One whose cheque was
    voided, or whose form is missing and may bear a cheque, waits for no run: only a reprint, which is a batch of
    its own, with the bank's stop where one is needed, pays it again. `held` tells the missing ones.
    """
    rows = reader.rows(f"SELECT c.item {WAITING} AND c.batch = ? ORDER BY c.item LIMIT ?", batch, limit)
    return Ranges(row[0] for row in rows)


def is_waiting(reader: Reader, batch: int, item: int) -> bool:
    """Whether one payment of a batch lacks a form and may be printed there."""
    return reader.row(f"SELECT 1 {WAITING} AND c.batch = ? AND c.item = ?", batch, item) is not None


def held(reader: Reader, batch: int) -> list[tuple[int, int]]:
    """Payments of a batch that wait for no run because their form is missing and may bear a cheque.

    As (item, number). Each is printed again only by `cheque reprint` of that number, or its form is found.
    """
    # "+ 0": by the index of the few that are lost, and not through all the forms of the batch
    sql = f"SELECT h.item, h.number FROM ({_HELD}) h WHERE h.batch + 0 = ? ORDER BY h.item"
    return [(row[0], row[1]) for row in reader.rows(sql, batch)]


#: the payments whose form is missing and may bear a cheque, and that no later form has
_HELD = f"""SELECT n.batch, n.item, n.number FROM number n WHERE {LOST}
    AND EXISTS (SELECT 1 FROM claim c WHERE c.batch = n.batch AND c.item = n.item AND c.pulled = '')
    AND NOT EXISTS (SELECT 1 FROM number m WHERE m.origin_batch = n.origin_batch AND m.origin_item = n.origin_item
        AND m.taken > n.taken)"""


def left(reader: Reader, batch: int) -> int:
    """How many payments of a batch `waiting` would give: kept with every event, so nothing is counted."""
    return int(reader.value("SELECT waits FROM batch WHERE id = ?", batch) or 0)


#: how many of the newest batches are listed although nothing of them is left to do
NEWEST = 20


def current(reader: Reader, newest: int = NEWEST) -> tuple[list[Batch], int]:
    """The batches with something left to do, and the newest, oldest first; and how many older ones there are besides.

    Left to do: payments that wait, forms that nobody has answered for, payments held back.
    """
    rows = reader.rows(
        f"""SELECT {_COLUMNS} FROM batch WHERE id IN (SELECT id FROM batch WHERE waits > 0
            UNION SELECT batch FROM run WHERE state <> 'closed' UNION SELECT batch FROM ({_HELD}) h
            UNION SELECT id FROM (SELECT id FROM batch ORDER BY id DESC LIMIT ?) newest) ORDER BY id""",
        newest,
    )
    found = [Batch(*row) for row in rows]
    return found, int(reader.value("SELECT count(*) FROM batch") or 0) - len(found)


def order_of(reader: Reader, batch: Batch) -> tuple[str, str]:
    """The order a batch is printed in and the groups it is kept in, as accepted; "" and "" for the register's own."""
    body = accepted_body(reader, batch)
    return str(body.get("order", "")), str(body.get("group", ""))


def accepted_body(reader: Reader, batch: Batch) -> dict[str, Any]:
    """What the event that accepted a batch says of it."""
    text = reader.value("SELECT body FROM event WHERE seq = ?", batch.seq)
    body: dict[str, Any] = json.loads(text)
    return body


def of_register(reader: Reader, account: str, digest: str) -> tuple[int, str] | None:
    """The batch, not withdrawn, that a register was accepted as before, and when; or None."""
    row = reader.row(
        "SELECT b.id, b.at FROM batch b JOIN event e ON e.seq = b.seq WHERE b.account = ? AND b.state = 'accepted' "
        "AND e.body LIKE ? LIMIT 1",
        account,
        f'%"register":"{digest}"%',
    )
    return (int(row[0]), str(row[1])) if row else None


def known_payee(reader: Reader, account: str, payee: str, *, before: int = 0) -> bool:
    """Whether an account paid this payee in an accepted batch (with `before`, in one older than that)."""
    return bool(
        reader.row(
            "SELECT 1 FROM claim c JOIN batch b ON b.id = c.batch WHERE c.account = ? "
            "AND c.fresh IN (0, 1, 2) AND c.payee = ? AND b.state = 'accepted' AND (? = 0 OR c.batch < ?) LIMIT 1",
            account,
            payee,
            before,
            before,
        )
    )


class Acceptance:
    """A batch being accepted: payments are added as they are read, and all of it happens or nothing."""

    def __init__(self, book: Book, change: Change, batch: int) -> None:
        self._book, self.change, self.batch = book, change, batch
        self._digest = ListDigest("payments")
        self._rows: list[tuple[int, int, str]] = []
        self.done = False

    def add(self, payment: Payment) -> None:
        """Write one payment; items count from 1, in order."""
        self.add_kept(payment.item, to_text(payment), to_kept(payment))

    def add_kept(self, item: int, text: str, kept: str) -> None:
        """As `add`, of a payment that was put into words already: `to_text` and `to_kept` of it."""
        self._digest.add(item, text)
        self._rows.append((self.batch, item, kept))
        if len(self._rows) >= 500:
            self._flush()

    def _flush(self) -> None:
        self.change.store.many("INSERT INTO payment (batch, item, body) VALUES (?, ?, ?)", self._rows)
        self._rows.clear()

    def keep_form(self, text: str) -> str:
        """Keep the form definition with the batch; gives its digest."""
        return self.change.keep(text)

    def finish(self, body: dict[str, Any]) -> None:
        """Append the event.

        `body` has account, form, form_digest, currency, items, total (the money to be paid by cheque), hash,
        source, kind, register, pairs; and `replaces` for a reprint. BookRefused when the payments added do not
        add up to it.
        """
        self._flush()
        self.change.append("batch.accepted", {**body, "batch": self.batch, "payments": self._digest.hex()})
        self.done = True


@contextmanager
def accepting(book: Book) -> Iterator[Acceptance]:
    """Accept a batch inside one transaction. Unless `finish` was called when it ends, nothing happened."""

    class _Unfinished(Exception):
        pass

    try:
        with book.change() as change:
            batch = int(book.value("SELECT coalesce(max(id), 0) + 1 FROM batch"))
            acceptance = Acceptance(book, change, batch)
            yield acceptance
            if not acceptance.done:
                raise _Unfinished
    except _Unfinished:
        pass


def refused(book: Book, body: dict[str, Any]) -> None:
    """Record an attempt at accepting that was refused: what was given, what was found."""
    with book.change() as change:
        change.append("batch.refused", body)


def pull(book: Book, batch: int, item: int, reason: str) -> None:
    """Take one payment out of a batch, with a reason; never one that has a form. The proof is void then."""
    reason = said(reason, tr("a payment is pulled for a reason: give it with --reason."))
    with book.change() as change:
        _accepted(book, batch)
        payment(book, batch, item)
        if not is_waiting(book, batch, item):
            raise BookRefused(
                tr(
                    "payment {item} of batch {batch} {why_not_waiting}",
                    item=item,
                    batch=batch,
                    why_not_waiting=why_not_waiting(book, batch, item),
                )
            )
        change.append("payment.pulled", {"batch": batch, "item": item, "reason": reason})


def why_not_waiting(reader: Reader, batch: int, item: int) -> str:
    """Why a payment waits for no form in a batch, and what to do; to follow its name."""
    if get(reader, batch).state != "accepted":
        return tr("was withdrawn with its batch.")
    pulled = reader.value("SELECT pulled FROM claim WHERE batch = ? AND item = ?", batch, item)
    if pulled:
        return tr("was pulled already: {pulled}.", pulled=pulled)
    number = reader.row(
        f"SELECT n.account, n.number, n.state FROM claim c JOIN number n ON {ON} WHERE c.batch = ? AND c.item = ?"
        f" AND {PAYS} AND {HOLDS} ORDER BY n.taken DESC",
        batch,
        item,
    )
    if number:
        account, which, state = number
        text = range_of(reader, account, which).text(which)
        if state == "missing":
            return tr(
                "is on number {text}, missing, which may bear a cheque: `cheque reprint {text}` pays it again.",
                text=text,
            )
        if state == "voided":
            return tr(
                "is on number {text}, which is voided: `cheque reprint {text}` is the way to pay it again.", text=text
            )
        return tr(
            "is on number {text}, which is {state}: it can only be voided, once it is a good cheque.",
            text=text,
            state=tr(state),
        )
    later = reader.value(
        "SELECT max(l.batch) FROM claim c JOIN claim l ON l.origin_batch = c.origin_batch AND "
        "l.origin_item = c.origin_item AND l.origin_batch <> l.batch AND l.batch > c.batch AND l.pulled = '' "
        "JOIN batch r ON r.id = l.batch AND r.state = 'accepted' WHERE c.batch = ? AND c.item = ?",
        batch,
        item,
    )
    if later and get(reader, later).kind == "advices":
        return tr("waits as an advice on a form of its own, batch {later}: print or withdraw that.", later=later)
    return (
        tr("waits as a reprint, batch {later}: print or withdraw that.", later=later)
        if later
        else tr("is not to be printed.")
    )


def withdraw(book: Book, batch: int, reason: str) -> None:
    """Take a batch out before anything of it was printed, so that a corrected register can be accepted."""
    reason = said(reason, tr("a batch is withdrawn for a reason: give it with --reason."))
    with book.change() as change:
        _accepted(book, batch)
        row = book.row("SELECT account, number, state FROM number WHERE batch = ? ORDER BY number LIMIT 1", batch)
        if row:
            text = range_of(book, row[0], row[1]).text(row[1])
            raise BookRefused(
                tr(
                    "batch {batch} cannot be withdrawn: number {number} of it is {state}. Pull the payments that are "
                    "not to be printed, and void the cheques that are wrong.",
                    batch=batch,
                    number=text,
                    state=tr(row[2]),
                )
            )
        apart = book.value(
            "SELECT c.batch FROM claim c JOIN batch b ON b.id = c.batch WHERE c.origin_batch = ? "
            "AND c.origin_batch <> c.batch AND b.state = 'accepted' LIMIT 1",  # as the index of such claims has it
            batch,
        )
        if apart:
            raise BookRefused(
                tr("payments of batch {batch} are in batch {apart}: withdraw that one first.", batch=batch, apart=apart)
            )
        change.append("batch.withdrawn", {"batch": batch, "reason": reason})


def proved(book: Book, batch: int, proof: str, pages: Iterable[tuple[int, str]]) -> bool:
    """Keep the proof of a batch: its digest and its page digests. False when it is the latest already.

    `pages` has one text for each payment that was not pulled, in register order: the page digests of its forms,
    as lower-case hexadecimal with a blank between two. ValueError when one is anything else.
    """
    with book.change() as change:
        current = _accepted(book, batch)
        if current.proof == proof:
            return False
        digest, seq = ListDigest("pages"), change.next_seq
        change.store.many("INSERT INTO proof_page (seq, item, digest) VALUES (?, ?, ?)", _digested(seq, pages, digest))
        odd = book.row(
            "SELECT item FROM (SELECT item FROM claim WHERE batch = ? AND pulled = '' UNION ALL "
            "SELECT item FROM proof_page WHERE seq = ?) AS both_of GROUP BY item HAVING count(*) <> 2",
            batch,
            seq,
        )
        if odd:
            raise BookRefused(
                tr(
                    "payment {odd} of batch {batch} was pulled or is new since the proof was drawn: make it again.",
                    odd=odd[0],
                    batch=batch,
                )
            )
        change.append("proof.made", {"batch": batch, "proof": proof, "pages": digest.hex()})
    return True


def _digested(seq: int, pages: Iterable[tuple[int, str]], digest: ListDigest) -> Iterator[tuple[int, int, bytes]]:
    for item, text in pages:
        digest.add(item, text)
        yield seq, item, packed(text)


def further(reader: Reader, batch: int) -> dict[int, int]:
    """Item -> how many forms beyond its first, of the payments of the latest proof that take more than one."""
    sql = (
        "SELECT p.item, length(p.digest) FROM batch b JOIN proof_page p ON p.seq = b.proof_seq "
        "WHERE b.id = ? AND length(p.digest) > 32"
    )
    return {item: size // 32 - 1 for item, size in reader.rows(sql, batch)}


def page_digests(reader: Reader, batch: int) -> dict[int, str]:
    """Item -> page digests, of the latest proof of a batch; empty when it has none."""
    sql = "SELECT p.item, p.digest FROM batch b JOIN proof_page p ON p.seq = b.proof_seq WHERE b.id = ?"
    return {item: unpacked(data) for item, data in reader.rows(sql, batch)}


def _accepted(book: Book, batch: int) -> Batch:
    found = get(book, batch)
    if found.state != "accepted":
        raise BookRefused(tr("batch {batch} was withdrawn; nothing more can be done with it.", batch=batch))
    return found
