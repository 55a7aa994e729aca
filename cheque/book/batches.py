"""Batches: a register accepted with its control totals; payments pulled, batches withdrawn, proofs made."""

import hashlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

from cheque.book.book import Book, Change, Reader
from cheque.book.verify import pages_digest
from cheque.errors import BookRefused, UsageRefused
from cheque.payment import Payment, from_text, to_text

#: forms whose payment needs no other form: sent ones may be printed, a voided one waits for a reprint
_DONE = "('reserved', 'sent', 'printed', 'voided')"


class Batch(NamedTuple):
    """A batch as the book has it; amounts in minor units, `proof` the digest of its latest proof or ""."""

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


_COLUMNS = ", ".join(Batch._fields)


def get(reader: Reader, batch: int) -> Batch:
    """A batch by its number. BookRefused when there is none."""
    row = reader.row(f"SELECT {_COLUMNS} FROM batch WHERE id = ?", batch)
    if row is None:
        raise BookRefused(f"there is no batch {batch}. `cheque batch list` shows those there are.")
    return Batch(*row)


def every(reader: Reader) -> list[Batch]:
    """All batches, oldest first."""
    return [Batch(*row) for row in reader.rows(f"SELECT {_COLUMNS} FROM batch ORDER BY id")]


def payments(reader: Reader, batch: int, *, pulled: bool = False) -> Iterator[Payment]:
    """The payments of a batch in register order; those pulled out only when asked for."""
    for row in reader.rows(
        "SELECT p.body, c.pulled FROM payment p JOIN claim c ON c.batch = p.batch AND c.item = p.item "
        "WHERE p.batch = ? ORDER BY p.item",
        batch,
    ):
        if pulled or not row[1]:
            yield from_text(row[0])


def payment(reader: Reader, batch: int, item: int) -> Payment:
    """One payment of a batch. BookRefused when there is none."""
    text = reader.value("SELECT body FROM payment WHERE batch = ? AND item = ?", batch, item)
    if text is None:
        raise BookRefused(f"batch {batch} has no payment {item}. `cheque batch show {batch}` lists them.")
    return from_text(text)


def waiting(reader: Reader, batch: int, limit: int = -1) -> list[int]:
    """The payments of a batch, by item, that still lack a form, in register order.

    A voided cheque's payment waits for its reprint, which is a batch of its own, and is not here.
    """
    return [
        row[0]
        for row in reader.rows(
            f"""SELECT c.item FROM claim c WHERE c.batch = ? AND c.pulled = ''
            AND NOT EXISTS (SELECT 1 FROM number n WHERE n.origin_batch = c.origin_batch
                AND n.origin_item = c.origin_item AND n.state IN ('reserved', 'sent', 'printed'))
            AND NOT EXISTS (SELECT 1 FROM number n WHERE n.batch = c.batch AND n.item = c.item
                AND n.state IN {_DONE})
            ORDER BY c.item LIMIT ?""",
            batch,
            limit,
        )
    ]


def earlier(reader: Reader, account: str, payment: Payment) -> str | None:
    """Where the same payment (account, payee, amount, date, reference) was accepted before, or None."""
    row = reader.row(
        "SELECT c.batch, c.item FROM claim c JOIN batch b ON b.id = c.batch WHERE c.account = ? "
        "AND c.reference = ? AND c.payee = ? AND c.amount = ? AND c.date = ? AND c.pulled = '' "
        "AND b.state = 'accepted' LIMIT 1",
        account,
        payment.reference,
        payment.payee,
        payment.amount,
        payment.date,
    )
    return f"payment {row[1]} of batch {row[0]}" if row else None


def known_payee(reader: Reader, account: str, payee: str, *, before: int = 0) -> bool:
    """Whether an account paid this payee in an accepted batch (with `before`, in one older than that)."""
    return bool(
        reader.row(
            "SELECT 1 FROM claim c JOIN batch b ON b.id = c.batch WHERE c.account = ? AND c.payee = ? "
            "AND b.state = 'accepted' AND (? = 0 OR c.batch < ?) LIMIT 1",
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
        self._hasher = hashlib.sha256(b"cheque-payments-1")
        self._rows: list[tuple[int, int, str]] = []
        self.done = False

    def add(self, payment: Payment) -> None:
        """Write one payment."""
        text = to_text(payment)
        data = text.encode()
        self._hasher.update(b"%d:%d:" % (payment.item, len(data)))
        self._hasher.update(data)
        self._rows.append((self.batch, payment.item, text))
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

        `body` has account, form, form_digest, currency, items, total, hash, source, kind, register, pairs;
        and `replaces` for a reprint.
        """
        self._flush()
        self.change.append("batch.accepted", {**body, "batch": self.batch, "payments": self._hasher.hexdigest()})
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
    """Take one payment out of a batch, with a reason; never one that has a form."""
    if not reason.strip():
        raise UsageRefused("a payment is pulled for a reason: give it with --reason.")
    with book.change() as change:
        _accepted(book, batch)
        row = book.row("SELECT pulled FROM claim WHERE batch = ? AND item = ?", batch, item)
        if row is None:
            raise BookRefused(f"batch {batch} has no payment {item}. `cheque batch show {batch}` lists them.")
        if row[0]:
            raise BookRefused(f"payment {item} of batch {batch} was pulled already: {row[0]}.")
        form = book.row(
            f"SELECT number, state FROM number WHERE batch = ? AND item = ? AND state IN {_DONE}", batch, item
        )
        if form:
            raise BookRefused(
                f"payment {item} of batch {batch} is on number {form[0]}, which is {form[1]}: "
                "it can only be voided, not pulled."
            )
        change.append("payment.pulled", {"batch": batch, "item": item, "reason": reason.strip()})


def withdraw(book: Book, batch: int, reason: str) -> None:
    """Take a batch out before anything of it was printed, so that a corrected register can be accepted."""
    if not reason.strip():
        raise UsageRefused("a batch is withdrawn for a reason: give it with --reason.")
    with book.change() as change:
        _accepted(book, batch)
        row = book.row("SELECT number, state FROM number WHERE batch = ? LIMIT 1", batch)
        if row:
            raise BookRefused(
                f"batch {batch} cannot be withdrawn: number {row[0]} of it is {row[1]}. "
                "Pull the payments that are not to be printed, and void the cheques that are wrong."
            )
        change.append("batch.withdrawn", {"batch": batch, "reason": reason.strip()})


def proved(book: Book, batch: int, proof: str, pages: Iterable[tuple[int, str]]) -> bool:
    """Keep the proof of a batch: its digest and its page digests. False when it is the latest already."""
    with book.change() as change:
        current = _accepted(book, batch)
        if current.proof == proof:
            return False
        kept = list(pages)
        change.store.execute("DELETE FROM proof_page WHERE proof = ?", (proof,))
        change.store.many(
            "INSERT INTO proof_page (proof, item, digest) VALUES (?, ?, ?)", [(proof, i, d) for i, d in kept]
        )
        change.append("proof.made", {"batch": batch, "proof": proof, "pages": pages_digest(iter(kept))})
    return True


def page_digests(reader: Reader, proof: str) -> dict[int, str]:
    """Item -> page digest of a proof."""
    return dict(reader.rows("SELECT item, digest FROM proof_page WHERE proof = ?", proof))


def _accepted(book: Book, batch: int) -> Batch:
    found = get(book, batch)
    if found.state != "accepted":
        raise BookRefused(f"batch {batch} was withdrawn; nothing more can be done with it.")
    return found
