"""Is the record whole? The chain is recomputed, the tables are rebuilt from it, and the two are compared.

Whoever can write the file of a SQLite book can forge all of it: this finds what was altered by accident or by
hand, and, given the digest that a control report printed, what was altered or removed since that paper was
printed. It does not prevent it.
"""

import hashlib
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from cheque.book.apply import apply
from cheque.book.book import Book, Reader, make_tables
from cheque.book.event import GENESIS, Event, digest_of
from cheque.book.schema import DERIVED, DERIVED_VERSION
from cheque.book.store import SqliteStore
from cheque.errors import Fault, Refusal

_COLUMNS = "seq, at, who, station, kind, body, prev, digest"


def events(reader: Reader, *, until: str = "") -> Iterator[Event]:
    """Every event in order; with `until`, only those at or before that time (UTC, ISO 8601)."""
    where = "WHERE at <= ?" if until else ""
    for row in reader.rows(f"SELECT {_COLUMNS} FROM event {where} ORDER BY seq", *((until,) if until else ())):
        yield Event(*row)


def verify(book: Book, *, digest: str = "") -> list[Fault]:
    """Everything that is wrong with a book; an empty list when it is whole.

    `digest`: a digest from a printed control report, all of it or its first characters (at least 8).
    """
    with book.store.reading():
        faults = [
            Fault(str(book.place), f"a damaged file ({text})", "a sound one", "restore a backup")
            for text in book.store.sound()
        ]
        faults += _chain(book, digest)
        faults += _contents(book)
        if not faults:
            faults += _tables(book)
        if not faults:
            faults += identities(book)
    return faults


def _chain(book: Book, wanted: str) -> list[Fault]:
    faults, seq, prev, seen = [], 0, GENESIS, not wanted
    for event in events(book):
        seq += 1
        if event.seq != seq:
            faults.append(Fault(f"event {seq}", f"event {event.seq} in its place", "no gap in the chain"))
            seq = event.seq
        if event.prev != prev:
            faults.append(Fault(f"event {event.seq}", "a break in the chain", f"previous digest {prev[:16]}…"))
        if digest_of(*event[:-1]) != event.digest:
            faults.append(Fault(f"event {event.seq}", "text that was altered", "text that gives its digest"))
        prev = event.digest
        seen = seen or event.digest.startswith(wanted.lower())
        if len(faults) >= 100:
            break
    if not seq:
        faults.append(Fault(str(book.place), "no events", "a chain that begins with the book's first event"))
    if not seen:
        faults.append(
            Fault(
                f"digest {wanted}",
                "no event with it",
                "the event that the paper shows",
                "the record was altered or cut short after that paper was printed, or a digit was miskeyed",
            )
        )
    return faults


def payments_digest(rows: Iterator[tuple[int, str]]) -> str:
    """The digest that an accepted batch keeps of its payments: each body with its length, in order."""
    hasher = hashlib.sha256(b"cheque-payments-1")
    for item, body in rows:
        data = body.encode()
        hasher.update(b"%d:%d:" % (item, len(data)))
        hasher.update(data)
    return hasher.hexdigest()


def pages_digest(rows: Iterator[tuple[int, str]]) -> str:
    """The digest that a proof's event keeps of its page digests, in order."""
    hasher = hashlib.sha256(b"cheque-pages-1")
    for item, digest in rows:
        hasher.update(f"{item}:{digest};".encode())
    return hasher.hexdigest()


def _contents(book: Book) -> list[Fault]:
    """What events refer to by digest is there and is what it was."""
    faults = []
    for digest, body in book.rows("SELECT digest, body FROM content"):
        if hashlib.sha256(body.encode()).hexdigest() != digest:
            faults.append(Fault(f"text {digest[:16]}…", "altered text", "the text that gives that digest"))
    kinds = ("batch.accepted", "proof.made")
    for row in list(book.rows(f"SELECT {_COLUMNS} FROM event WHERE kind IN (?, ?) ORDER BY seq", *kinds)):
        event = Event(*row)
        data = event.data
        if event.kind == "batch.accepted":
            found = payments_digest(
                book.rows("SELECT item, body FROM payment WHERE batch = ? ORDER BY item", data["batch"])
            )
            if found != data["payments"]:
                faults.append(Fault(f"batch {data['batch']}", "altered payments", "those that were accepted"))
            if not book.row("SELECT 1 FROM content WHERE digest = ?", data["form_digest"]):
                faults.append(Fault(f"batch {data['batch']}", "no form definition", "the one accepted with it"))
        else:
            found = pages_digest(
                book.rows("SELECT item, digest FROM proof_page WHERE proof = ? ORDER BY item", data["proof"])
            )
            if found != data["pages"]:
                faults.append(Fault(f"proof of batch {data['batch']}", "altered pages", "those of the proof"))
    return faults


def _rebuilt(book: Reader, path: Path | str, until: str = "") -> SqliteStore:
    """A scratch database with the derived tables made anew from the events."""
    scratch = SqliteStore(path, create=isinstance(path, Path))
    scratch.execute("ATTACH ? AS source", (str(book.store.path),))
    scratch.execute("CREATE TEMP VIEW payment AS SELECT * FROM source.payment")
    scratch.execute("CREATE TEMP VIEW event AS SELECT * FROM source.event")
    scratch.execute("CREATE TEMP VIEW content AS SELECT * FROM source.content")
    scratch.execute("CREATE TEMP VIEW proof_page AS SELECT * FROM source.proof_page")
    with scratch.writing():
        for statements in DERIVED.values():
            make_tables(scratch, statements)
        for event in events(book, until=until):
            apply(scratch, event, event.data)
    return scratch


def _tables(book: Book) -> list[Fault]:
    """Each derived table holds exactly what the events give."""
    with tempfile.TemporaryDirectory(dir=book.place, prefix="verify-") as folder:
        try:
            scratch = _rebuilt(book, Path(folder) / "scratch.sqlite")
        except Refusal as error:
            return [Fault(str(book.place), f"events that break the law of states ({error})", "lawful events")]
        try:
            return [
                Fault(f"table {name}", f"{extra} rows that the events do not give, {lost} lost", "no difference")
                for name in DERIVED
                for extra, lost in [_difference(scratch, name)]
                if extra or lost
            ]
        finally:
            scratch.close()


def _difference(scratch: SqliteStore, name: str) -> tuple[int, int]:
    def count(one: str, other: str) -> int:
        row = scratch.row(f"SELECT count(*) FROM (SELECT * FROM {one} EXCEPT SELECT * FROM {other})")
        return int(row[0]) if row else 0

    main, source = f"main.{name}", f"source.{name}"
    doubled = scratch.row(f"SELECT (SELECT count(*) FROM {source}) - (SELECT count(*) FROM {main})")
    extra, lost = count(source, main), count(main, source)
    if not extra and not lost and doubled and doubled[0]:
        return (max(doubled[0], 0), max(-doubled[0], 0))
    return extra, lost


def identities(reader: Reader) -> list[Fault]:
    """received = on hand + reserved + sent + printed + spoiled + voided + missing + destroyed, each range."""
    faults = []
    for stock, account, first, last in list(
        reader.rows("SELECT id, account, first, last FROM stock ORDER BY account, first")
    ):
        states: dict[str, int] = dict(reader.rows("SELECT state, forms FROM tally WHERE stock = ?", stock))
        received = states.pop("received", 0)
        where = f"{account}:{first}-{last}"
        if received != last - first + 1 or received != sum(states.values()):
            faults.append(Fault(where, f"{sum(states.values())} forms in all", f"{received} received"))
        on_hand = states.pop("on hand", 0)
        rows: dict[str, int] = dict(
            reader.rows("SELECT state, count(*) FROM number WHERE stock = ? GROUP BY state", stock)
        )
        if {s: n for s, n in states.items() if n} != rows or on_hand != received - sum(rows.values()):
            faults.append(Fault(where, f"numbers that stand as {rows}", f"the counts {states}"))
    return faults


def rebuild(book: Book) -> None:
    """Make the derived tables anew from the events, in one transaction; the events are never rewritten."""
    with book.store.writing():
        for name in DERIVED:
            book.store.execute(f"DROP TABLE IF EXISTS {name}")
        for statements in DERIVED.values():
            make_tables(book.store, statements)
        for event in events(book):
            apply(book.store, event, event.data)
        book.store.derived_version = DERIVED_VERSION


def as_of(book: Book, moment: datetime) -> Reader:
    """The book as it stood at a moment: its tables rebuilt from the events up to then."""
    until = moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z"
    if book.head.at <= until:
        return book
    return Reader(_rebuilt(book, ":memory:", until))
