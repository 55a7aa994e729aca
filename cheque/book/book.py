"""A book: the chain of events, the tables derived from it in the same transaction, and its private place.

`Book.change()` is the only way to write: what is appended inside it happens whole or not at all, and is on
the disk when it returns. A change inside a change is a part of it, so that steps can be joined into one.
"""

import hashlib
import os
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cheque import system
from cheque.book import place as places
from cheque.book import where
from cheque.book.apply import apply
from cheque.book.apply.places import ARRIVED, MOVED
from cheque.book.event import FORMAT, GENESIS, Event, canonical, digest_of
from cheque.book.place import FILE as FILE
from cheque.book.schema import APPLICATION, COPIED, DERIVED_VERSION, everything
from cheque.book.store import Row, SqliteStore, Store, remove
from cheque.errors import BookRefused, InputRefused, UsageRefused
from cheque.tongue import tr

if TYPE_CHECKING:
    from cheque.book.postgres import PostgresStore

Clock = Callable[[], datetime]
COLUMNS = "seq, at, who, station, kind, body, prev, digest"


def now() -> datetime:
    """The time now, UTC."""
    return datetime.now(UTC)


def login() -> str:
    """The name that the operating system knows the user by (where it has a list of users, never the environment)."""
    return system.person() or f"user {getattr(os, 'getuid', int)()}"


def written(moment: datetime) -> str:
    """A moment as events have it: UTC, ISO 8601, cut to the millisecond. A time of no zone is this machine's."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z"


class Change:
    """An open transaction of a book; `append` adds events to the chain."""

    def __init__(self, book: "Book") -> None:
        self._book = book
        self.store = book.store
        self.open = True
        head = self.store.row("SELECT seq, digest, kind FROM event ORDER BY seq DESC LIMIT 1")
        self._head: tuple[int, str] = head[:2] if head else (0, GENESIS)
        self._gone = head is not None and head[2] == MOVED

    def append(self, kind: str, body: dict[str, Any]) -> Event:
        """Add one event, and bring the tables up to it. BookRefused when it breaks the law of states."""
        if not self.open:
            raise RuntimeError("an event is appended after its transaction ended")
        if self._gone and kind != ARRIVED:
            raise BookRefused(
                tr(
                    "this book has moved to {to}, and nothing more is written here. Name that place in the settings.",
                    to=self._book.head.data["to"],
                )
            )
        try:
            text = canonical(body)
        except ValueError as error:
            raise UsageRefused(tr("this cannot go into the book: {error}.", error=error)) from None
        by_itself = self.store.appended(self._book.station, kind, text)
        if by_itself is not None:
            event = Event(*by_itself)
            self._head, self._gone = (event.seq, event.digest), kind == MOVED
            return event
        parts = (
            self.next_seq,
            written(self._book.clock()),
            self._book.who,
            self._book.station,
            kind,
            text,
            self._head[1],
        )
        event = Event(*parts, digest_of(*parts))
        self.store.execute(f"INSERT INTO event ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)", event)
        apply(self.store, event, body)
        self._head, self._gone = (event.seq, event.digest), kind == MOVED
        return event

    @property
    def head(self) -> tuple[int, str]:
        """The number and digest of the latest event."""
        return self.store.latest or self._head  # a server that was lost meanwhile may have appended it anew

    @property
    def next_seq(self) -> int:
        """The sequence number that the next event will have."""
        return self._head[0] + 1

    def keep(self, text: str) -> str:
        """Write a text once, and give the digest that events refer to it by."""
        digest = hashlib.sha256(text.encode()).hexdigest()
        self.store.execute(
            "INSERT INTO content (digest, body) VALUES (?, ?) ON CONFLICT (digest) DO NOTHING", (digest, text)
        )
        return digest

    @contextmanager
    def part(self) -> Iterator["Change"]:
        """A part of this change: undone by itself when it fails."""
        head = self._head
        try:
            with self.store.part():
                yield self
        except BaseException:
            self._head = head
            raise


class Reader:
    """Asks questions of a book's tables."""

    def __init__(self, store: Store) -> None:
        self.store = store

    def rows(self, sql: str, *parameters: Any) -> Iterator[Row]:
        """The rows of a query."""
        return self.store.rows(sql, *parameters)

    def stream(self, sql: str, *parameters: Any) -> Iterator[Row]:
        """The rows of a query that may give very many, as they are read."""
        return self.store.stream(sql, *parameters)

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
                tr(
                    "the book lacks the text {digest}… that an event refers to: see `cheque book verify`",
                    digest=digest[:16],
                )
            )
        return str(text)

    @property
    def identity(self) -> str:
        """The book's own name, given when it was begun."""
        return str(_begun(self)["book"])

    @property
    def head(self) -> Event:
        """The latest event."""
        row = self.row(f"SELECT {COLUMNS} FROM event ORDER BY seq DESC LIMIT 1")
        if row is None:
            raise BookRefused(tr("the book has no events: it was never begun"))
        return Event(*row)


class Book(Reader):
    """One open book. `place` is its folder; of a book on a `server`, the folder of what this station keeps itself."""

    def __init__(self, place: Path, store: Store, *, who: str, station: str, clock: Clock, server: str = "") -> None:
        super().__init__(store)
        self.place, self.clock, self.server = place, clock, server
        #: where it has moved to, nothing more being written here; "" when it has not
        self.moved_to = ""
        #: why the book may be a copy of another, and what to do; "" when it is where it was last used
        self.elsewhere = ""
        # a machine's name may hold bytes that are no text; an event holds text only
        self.who, self.station = (name.encode(errors="backslashreplace").decode() for name in (who, station))
        self._change: Change | None = None
        self._seen: tuple[int, str] | None = None

    def settle(self) -> None:
        """The book lives here from now on: what was strange is answered."""
        with self.store.writing():
            self.store.application = APPLICATION
            where.settle(self.place, self.store)
        self.elsewhere = ""

    def look(self) -> None:
        """See whether the book is where it was last used; one just begun lives where it is."""
        head = self.head
        if head.seq == 1 and not self.server and not where.is_said(self.place):
            where.settle(self.place, self.store)
        self.elsewhere = where.elsewhere(self.place, self.store)
        self.moved_to = str(head.data.get("to", "")) if head.kind == MOVED else ""
        self._seen = (head.seq, head.digest)

    @contextmanager
    def change(self, *, strange: bool = False) -> Iterator[Change]:
        """A transaction: durable when it ends well, nothing at all when it does not.

        Inside another change it is a part of that: it fails by itself, and is durable when the outer one is.
        UsageRefused in a book that has come elsewhere, unless `strange`: then the change says what happened.
        """
        if self.elsewhere and not strange:
            raise UsageRefused(self.elsewhere)
        if self._change is not None:
            with self._change.part() as change:
                yield change
            return
        with self.store.writing():
            change = self._change = Change(self)
            try:
                yield change
            finally:
                change.open, self._change = False, None
        self._seen = change.head

    def another(self) -> "Book":
        """The same book opened once more, as the same person at the same station, for another thread."""
        return open_book(self.place, server=self.server, who=self.who, station=self.station, clock=self.clock)

    def close(self) -> None:
        """Let go of the book."""
        self.store.close()
        if self._seen and not self.elsewhere:
            where.note_seen(self.place, *self._seen)
        self._seen = None

    def __enter__(self) -> "Book":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def create(
    place: Path, *, server: str = "", who: str = "", station: str = "", clock: Clock = now, identity: str = ""
) -> Book:
    """Begin a book in a folder of its own, new or empty; or on a server. BookRefused when there is one already.

    In a folder it has another name until its first event is on the disk: a book that is cut off at its birth is
    none, and a book that later loses its contents is never taken for a new one.
    """
    if server:
        _begin_on(server, place, who or login(), station or system.node(), clock, identity).close()
        return open_book(place, server=server, who=who, station=station, clock=clock)
    beginning = place / f"{places.BEGINNING}{uuid.uuid4().hex}"
    try:
        places.prepare(place)
        try:
            _begin(beginning, who or login(), station or system.node(), clock, identity)
            places.settle(place, beginning)
        finally:
            remove(beginning)
    except FileExistsError:
        raise BookRefused(
            tr("{place} holds a book already; use it, or name another place in the settings.", place=place)
        ) from None
    except OSError as error:
        raise InputRefused(
            tr(
                "a book cannot be made at {place}: {strerror}. Choose another place.",
                place=place,
                strerror=error.strerror,
            )
        ) from None
    return open_book(place, who=who, station=station, clock=clock)


def is_there(place: Path, server: str = "") -> bool:
    """Whether a book is there already, in a folder or on a server."""
    if not server:
        return os.path.lexists(place / FILE)
    store = on_server(server, fresh=True)
    try:
        return store.is_there()
    finally:
        store.close()


def open_book(place: Path, *, server: str = "", who: str = "", station: str = "", clock: Clock = now) -> Book:
    """Open a book that exists: in a folder, or on a server (a URL; `place` is then what this station keeps itself).

    BookRefused when there is none, or a newer program wrote it.
    """
    store = on_server(server) if server else SqliteStore(places.check(place))
    who = getattr(store, "me", "") or who or login()  # under roles a person is whom the server knows
    book = Book(place, store, who=who, station=station or system.node(), clock=clock, server=server)
    try:
        _meet_version(book)
        if server:
            places.station(place)
        places.furnish(place)
        book.look()
    except OSError as error:
        store.close()
        raise BookRefused(
            tr("the book at {place} cannot be used: {strerror}.", place=place, strerror=error.strerror)
        ) from None
    except BaseException:
        store.close()
        raise
    return book


def open_copy(path: Path, *, clock: Clock = now) -> Book:
    """Open a copy of a book (a backup) as it lies, for reading only."""
    store = SqliteStore(path, read_only=True)
    try:
        book = Book(path, store, who=login(), station=system.node(), clock=clock)
        _is_book(book)
    except BaseException:
        store.close()
        raise
    return book


def on_server(server: str, *, fresh: bool = False) -> "PostgresStore":
    """The store of a book on a server. InputRefused when its URL is none, or what speaks with a server is missing.

    `fresh`: no book is there yet.
    """
    try:
        from cheque.book import url
        from cheque.book.postgres import PostgresStore
    except ImportError:
        raise InputRefused(
            tr(
                "a book on a server wants the library that speaks with PostgreSQL, which is not installed: `pip "
                "install 'cheque[postgres]'`."
            )
        ) from None
    try:
        return PostgresStore(url.parse(server), fresh=fresh)
    except ValueError as error:
        raise InputRefused(tr("found {error}, where the book's place should be.", error=error)) from None


def _begin_on(server: str, place: Path, who: str, station: str, clock: Clock, identity: str) -> Book:
    """The tables and the first event on a server, all or nothing."""
    store = on_server(server, fresh=True)
    book = Book(place, store, who=who, station=station, clock=clock, server=server)
    try:
        with store.founding():
            _found(book, identity)
            store.where = store.own_numbers()
    except BaseException:
        book.close()
        raise
    return book


def _found(book: Book, identity: str) -> None:
    book.store.make(everything())
    book.store.application = APPLICATION
    book.store.derived_version = DERIVED_VERSION
    Change(book).append("book.begun", {"book": identity or uuid.uuid4().hex, "format": FORMAT})


def _begin(path: Path, who: str, station: str, clock: Clock, identity: str) -> None:
    """The tables and the first event, all or nothing, in one file when it is closed."""
    with Book(path, SqliteStore(path, create=True), who=who, station=station, clock=clock) as book:
        with book.store.writing():
            _found(book, identity)
        book.store.row("PRAGMA wal_checkpoint(TRUNCATE)")


def _begun(reader: Reader) -> dict[str, Any]:
    """What the first event says."""
    row = reader.row(f"SELECT {COLUMNS} FROM event WHERE seq = 1")
    try:
        if row is None or row[4] != "book.begun" or digest_of(*row[:-1]) != row[-1]:
            raise ValueError
        return Event(*row).data
    except (ValueError, TypeError, AttributeError):
        raise BookRefused(
            tr(
                "the book at {path} is damaged: its first event is not what was written. Keep the file as it is, "
                "and restore a backup beside it.",
                path=reader.store.path,
            )
        ) from None


def _is_book(book: Book) -> None:
    if book.store.application not in (APPLICATION, COPIED):
        raise BookRefused(
            tr(
                "{path} is not a book, or has lost what made it one. Name another place, or restore a backup.",
                path=book.store.path,
            )
        )
    if _begun(book).get("format") != FORMAT or book.store.derived_version > DERIVED_VERSION:
        raise BookRefused(
            tr("the book at {place} was written by a newer version of this tool; use that one.", place=book.place)
        )


def _meet_version(book: Book) -> None:
    _is_book(book)
    if book.store.derived_version < DERIVED_VERSION:
        from cheque.book.verify import rebuild

        _keep_older(book)
        rebuild(book)


def _keep_older(book: Book) -> None:
    """A whole copy of a book of an older release, beside it, before its tables are rebuilt."""
    from cheque.book.moving import into_file

    kept = book.place / f"before-tables-{DERIVED_VERSION}.sqlite"
    if kept.exists():  # of a rebuilding that was cut off
        return
    if book.server:
        places.station(book.place)
    if isinstance(book.store, SqliteStore):
        book.store.backup(kept, COPIED)
    else:
        into_file(book, kept)
