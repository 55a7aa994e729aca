"""A book: the chain of events, the tables derived from it in the same transaction, and its private place.

The place is a folder that only its owner can open:

    book.sqlite      the events and the tables
    registers/       every register that was read, by its digest, as it came
    locks/           one file a printer, held by the run that is using it

`Book.change()` is the only way to write: what is appended inside it happens whole or not at all, and is on
the disk when it returns.
"""

import hashlib
import os
import pwd
import uuid
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from cheque.book.apply import apply
from cheque.book.event import FORMAT, GENESIS, Event, canonical, digest_of
from cheque.book.schema import DERIVED, DERIVED_VERSION, WRITTEN_ONCE
from cheque.book.store import Row, SqliteStore
from cheque.errors import BookRefused, InputRefused

Clock = Callable[[], datetime]
FILE = "book.sqlite"


def now() -> datetime:
    """The time now, UTC."""
    return datetime.now(UTC)


def login() -> str:
    """The name that the operating system knows the user by (never an environment variable's word)."""
    try:
        return pwd.getpwuid(os.getuid()).pw_name
    except KeyError:
        return f"user {os.getuid()}"


class Change:
    """An open transaction of a book; `append` adds events to the chain."""

    def __init__(self, book: "Book") -> None:
        self._book = book
        self.store = book.store
        head = self.store.row("SELECT seq, digest FROM event ORDER BY seq DESC LIMIT 1")
        self._seq: int = head[0] if head else 0
        self._prev: str = head[1] if head else GENESIS

    def append(self, kind: str, body: dict[str, Any]) -> Event:
        """Add one event, and bring the tables up to it. BookRefused when it breaks the law of states."""
        seq, text = self._seq + 1, canonical(body)
        at = self._book.clock().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z"
        parts = (seq, at, self._book.who, self._book.station, kind, text, self._prev)
        event = Event(*parts, digest_of(*parts))
        self.store.execute(
            "INSERT INTO event (seq, at, who, station, kind, body, prev, digest) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            event,
        )
        apply(self.store, event, body)
        self._seq, self._prev = seq, event.digest
        return event

    @property
    def next_seq(self) -> int:
        """The sequence number that the next event will have."""
        return self._seq + 1

    def keep(self, text: str) -> str:
        """Write a text once, and give the digest that events refer to it by."""
        digest = hashlib.sha256(text.encode()).hexdigest()
        self.store.execute(
            "INSERT INTO content (digest, body) VALUES (?, ?) ON CONFLICT (digest) DO NOTHING", (digest, text)
        )
        return digest


class Reader:
    """Asks questions of a book's tables."""

    def __init__(self, store: SqliteStore) -> None:
        self.store = store

    def rows(self, sql: str, *parameters: Any) -> Iterator[Row]:
        """The rows of a query."""
        return self.store.rows(sql, *parameters)

    def row(self, sql: str, *parameters: Any) -> Row | None:
        """The first row of a query, or None."""
        return self.store.row(sql, *parameters)

    def value(self, sql: str, *parameters: Any) -> Any:
        """The first column of the first row, or None."""
        row = self.store.row(sql, *parameters)
        return row[0] if row else None

    def content(self, digest: str) -> str:
        """A text that was written once. BookRefused when it is not there."""
        text = self.value("SELECT body FROM content WHERE digest = ?", digest)
        if text is None:
            raise BookRefused(
                f"the book lacks the text {digest[:16]}… that an event refers to: see `cheque book verify`"
            )
        return str(text)

    @property
    def identity(self) -> str:
        """The book's own name, given when it was begun."""
        text = self.value("SELECT body FROM event WHERE seq = 1")
        return str(Event(1, "", "", "", "", text, "", "").data["book"])

    @property
    def head(self) -> Event:
        """The latest event."""
        row = self.row("SELECT seq, at, who, station, kind, body, prev, digest FROM event ORDER BY seq DESC LIMIT 1")
        if row is None:
            raise BookRefused("the book has no events: it was never begun")
        return Event(*row)


class Book(Reader):
    """One open book."""

    def __init__(self, place: Path, store: SqliteStore, *, who: str, station: str, clock: Clock) -> None:
        super().__init__(store)
        self.place, self.who, self.station, self.clock = place, who, station, clock

    @contextmanager
    def change(self) -> Iterator[Change]:
        """A transaction: durable when it ends well, nothing at all when it does not."""
        with self.store.writing():
            yield Change(self)

    def close(self) -> None:
        """Let go of the book."""
        self.store.close()

    def __enter__(self) -> "Book":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def make_tables(store: SqliteStore, statements: Iterable[str]) -> None:
    """Run the statements that make tables."""
    for statement in statements:
        store.execute(statement)


def create(place: Path, *, who: str = "", station: str = "", clock: Clock = now, identity: str = "") -> Book:
    """Begin a book in a folder of its own. BookRefused when there is one already."""
    if (place / FILE).exists():
        raise BookRefused(f"{place} holds a book already; use it, or name another place in the settings.")
    try:
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        place.chmod(0o700)
        for name in ("registers", "locks"):
            (place / name).mkdir(mode=0o700, exist_ok=True)
        store = SqliteStore(place / FILE, create=True)
    except OSError as error:
        raise InputRefused(f"a book cannot be made at {place}: {error.strerror}. Choose another place.") from None
    book = Book(place, store, who=who or login(), station=station or os.uname().nodename, clock=clock)
    try:
        _begin(book, identity)
    except BaseException:
        book.close()
        raise
    return book


def open_book(place: Path, *, who: str = "", station: str = "", clock: Clock = now) -> Book:
    """Open a book that exists. BookRefused when there is none, or a newer program wrote it."""
    path = place / FILE
    if not path.exists():
        raise BookRefused(f"there is no book at {place}. `cheque setup` begins one.")
    store = SqliteStore(path)
    book = Book(place, store, who=who or login(), station=station or os.uname().nodename, clock=clock)
    try:
        if not store.row("SELECT 1 FROM sqlite_master WHERE name = 'event'"):
            _begin(book)  # the power went between making the file and writing the first event
        _meet_version(book)
    except BaseException:
        store.close()
        raise
    return book


def _begin(book: Book, identity: str = "") -> None:
    """The tables and the first event, all or nothing."""
    with book.store.writing():
        make_tables(book.store, WRITTEN_ONCE)
        for statements in DERIVED.values():
            make_tables(book.store, statements)
        book.store.derived_version = DERIVED_VERSION
        Change(book).append("book.begun", {"book": identity or uuid.uuid4().hex, "format": FORMAT})


def _meet_version(book: Book) -> None:
    text = book.value("SELECT body FROM event WHERE seq = 1")
    begun = Event(1, "", "", "", "", text, "", "").data if text else {}
    if begun.get("format") != FORMAT or book.store.derived_version > DERIVED_VERSION:
        raise BookRefused(f"the book at {book.place} was written by a newer version of this tool; use that one.")
    if book.store.derived_version < DERIVED_VERSION:
        from cheque.book.verify import rebuild

        rebuild(book)
