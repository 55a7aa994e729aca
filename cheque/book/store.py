"""The database under a book: what every store does, and SQLite, every commit durable, readable by its owner only.

`Store` is what the book asks of a database; `SqliteStore` keeps a book in a file, `cheque.book.postgres` on a server.
A statement is written once for both: `?` for each place; whole numbers, text and bytes; nothing that only one of
them knows (no PRAGMA, rowid, INSERT OR, GLOB, instr, min(a, b), LIMIT -1; a query inside FROM has a name).

A store executes SQL with `?` places and runs one writing transaction at a time; it knows nothing of events.
Write-ahead log, `synchronous=FULL`: a commit that returned survives a power cut on a local file system.
Outside a writing transaction the database itself refuses to be changed (`query_only`).

Whatever the database reports (a full or read-only disk, a lock, damage, a broken law) leaves here as one
BookRefused that says what to do: no error of `sqlite3` gets past this file.
"""

import os
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from cheque import system
from cheque.errors import BookRefused
from cheque.tongue import mark, tr

if TYPE_CHECKING:
    from cheque.book.gate import Asks

Row = tuple[Any, ...]
PATIENCE = 10.0  # seconds to wait for another command's transaction
_OLDEST = (3, 37)  # the first with strict tables

_IN_USE = mark("is in use by another command, which did not let go of it. Let that end, then try again.")
#: SQLite's primary result code -> what it means here and what to do; `{text}` is SQLite's own words
_MEANT = {
    sqlite3.SQLITE_BUSY: _IN_USE,
    sqlite3.SQLITE_LOCKED: _IN_USE,
    sqlite3.SQLITE_FULL: mark("could not be written: the disk is full. Nothing changed; make room, then do it again."),
    sqlite3.SQLITE_READONLY: mark(
        "cannot be written: the disk, the folder or the file is read-only. Nothing changed; see to that first."
    ),
    sqlite3.SQLITE_CANTOPEN: mark(
        "cannot be opened ({text}): see to the disk, and to who owns the folder and may write in it."
    ),
    sqlite3.SQLITE_PERM: mark("cannot be opened: it belongs to somebody else."),
    sqlite3.SQLITE_NOTADB: mark("is not a book: the file is no database. Name another place, or restore a backup."),
    sqlite3.SQLITE_CORRUPT: mark("is damaged ({text}). Keep the file as it is, and restore a backup beside it."),
    sqlite3.SQLITE_IOERR: mark(
        "could not be read or written: the disk failed, or is full ({text}). Whether the last step is in the book is "
        "not certain: see to the disk, then look with `cheque book verify` and `cheque show` before doing it again."
    ),
    sqlite3.SQLITE_CONSTRAINT: mark("refuses what would break its own law ({text}). Nothing changed."),
    sqlite3.SQLITE_TOOBIG: mark("refuses a text that is too long. Nothing changed."),
    sqlite3.SQLITE_NOMEM: mark("could not be used: memory ran out. Nothing changed."),
}
_ERRORS = (sqlite3.Error, OverflowError, UnicodeError)


def _refusal(path: Path | str, error: Exception) -> BookRefused:
    """The one message for whatever the database reported."""
    place = tr("the book at {path}", path=path) if str(path) else tr("the scratch copy of the book")
    if isinstance(error, OverflowError):
        return BookRefused(tr("{place} holds numbers of at most 18 digits; one of those given is larger.", place=place))
    if isinstance(error, UnicodeError):
        return BookRefused(
            tr("{place} holds text only; what was given has bytes of another encoding in it.", place=place)
        )
    code, text = getattr(error, "sqlite_errorcode", None) or 0, str(error)
    if meant := _MEANT.get(code & 0xFF):  # the rest of an extended code is a detail
        return BookRefused(f"{place} {tr(meant, text=text)}")
    if "decode to UTF-8" in text:  # found while reading, so it is the book's even in a scratch copy
        place = place if str(path) else tr("the book")
        return BookRefused(
            tr(
                "{place} is damaged ({text}). Keep the file as it is, and restore a backup beside it.",
                place=place,
                text=text,
            )
        )
    return BookRefused(
        tr("{place} cannot be used: {text}. `cheque book verify` says whether it is whole.", place=place, text=text)
    )


class Store(Protocol):
    """What a book asks of the database it is kept in."""

    @property
    def path(self) -> Path | str:
        """Where it is: a file; the URL of a server; "" for a scratch database."""

    def execute(self, sql: str, parameters: Iterable[Any] = ()) -> None:
        """Run one statement for its effect."""

    def many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """Run one statement for each row of parameters."""

    def rows(self, sql: str, *parameters: Any) -> Iterator[Row]:
        """The rows of a query; on a server fetched at once, so not for what is long."""

    def stream(self, sql: str, *parameters: Any) -> Iterator[Row]:
        """The rows of a query that may give very many, as they are read."""

    def row(self, sql: str, *parameters: Any) -> Row | None:
        """The first row of a query, or None."""

    def writing(self) -> AbstractContextManager[None]:
        """One transaction that holds the only right to write; all of it happens, or nothing."""

    def part(self) -> AbstractContextManager[None]:
        """A part of the open writing transaction: undone by itself when it fails."""

    def reading(self) -> AbstractContextManager[None]:
        """One view of the book, unchanged by what others write meanwhile."""

    def make(self, statements: Iterable[str]) -> None:
        """Make tables, indexes and guards as `cheque.book.schema` describes them."""

    def clear(self, keep: Iterable[str]) -> None:
        """Drop every table but these."""

    def schema(self, wanted: Iterable[str]) -> tuple[set[str], set[str]]:
        """What it holds beyond the tables, indexes and guards described, and what it lacks of them."""

    def beside(self, scratch: "SqliteStore", name: str, tables: Iterable[str], made: Iterable[str]) -> None:
        """Make tables of it readable in a scratch database, under a name; `made` are the statements that make them."""

    def sound(self) -> list[str]:
        """What the database's own check finds wrong; empty when it is sound."""

    @property
    def application(self) -> int:
        """What it says it is: `cheque.book.schema.APPLICATION` for a book."""

    @application.setter
    def application(self, application: int) -> None: ...

    @property
    def derived_version(self) -> int:
        """The version of the derived tables in it."""

    @derived_version.setter
    def derived_version(self, version: int) -> None: ...

    @property
    def latest(self) -> tuple[int, str] | None:
        """The latest event that the database appended by itself in the open transaction: number, digest; or None."""

    def appended(self, station: str, kind: str, body: str) -> Row | None:
        """Have the database append an event by itself, and give its row; None where the station has to write it."""

    def asks(self) -> "Asks | None":
        """The duties that the database asks by itself; None where the settings say which."""

    def lacking(self, kind: str) -> str | None:
        """The roles of which one is wanted to append this kind of event, where the database lets this person not do
        it ("" where it lets nobody); None where it does, or knows no roles."""

    def close(self) -> None:
        """Let go of it."""


class SqliteStore:
    """A book's database in one SQLite file; or, with a text for a path, a scratch database ("" on disk)."""

    latest: None = None

    def __init__(self, path: Path | str, *, create: bool = False, read_only: bool = False) -> None:
        self.path = path
        if sqlite3.sqlite_version_info < _OLDEST:
            raise BookRefused(
                tr(
                    "SQLite {sqlite_version} is too old for a book; wanted 3.37 or newer.",
                    sqlite_version=sqlite3.sqlite_version,
                )
            )
        try:
            if create and isinstance(path, Path):
                handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR | system.NO_LINK, 0o600)
                system.make_private(handle)  # SQLite gives its own files beside it the same
                os.close(handle)
            self._db = sqlite3.connect(self._name(read_only), uri=True, timeout=PATIENCE, isolation_level=None)
        except _ERRORS as error:
            raise _refusal(path, error) from error
        self._guarded = isinstance(path, Path)
        try:
            self._settle(read_only)
        except BaseException:
            self.close()
            raise

    def _name(self, read_only: bool) -> str:
        if isinstance(self.path, str):
            return self.path
        return f"{self.path.resolve().as_uri()}?mode={'ro' if read_only else 'rw'}"

    def _settle(self, read_only: bool) -> None:
        self.execute("PRAGMA trusted_schema = OFF")
        self.execute("PRAGMA cell_size_check = ON")
        if not self._guarded:  # a scratch database: nothing to survive, nothing to undo
            self.execute("PRAGMA synchronous = OFF")
            self.execute("PRAGMA journal_mode = OFF")
            return
        self.execute("PRAGMA synchronous = FULL")
        mode = self.row("PRAGMA journal_mode" if read_only else "PRAGMA journal_mode = WAL")
        if not read_only and mode != ("wal",):
            raise BookRefused(
                tr(
                    "the book at {path} cannot be kept there: the file system has no shared memory for a write-ahead "
                    "log. Keep it on a local disk.",
                    path=self.path,
                )
            )
        self.execute("PRAGMA query_only = ON")

    def execute(self, sql: str, parameters: Iterable[Any] = ()) -> None:
        """Run one statement for its effect."""
        try:
            self._db.execute(sql, tuple(parameters))
        except _ERRORS as error:
            raise _refusal(self.path, error) from error

    def many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """Run one statement for each row of parameters."""
        try:
            self._db.executemany(sql, rows)
        except _ERRORS as error:
            raise _refusal(self.path, error) from error

    def rows(self, sql: str, *parameters: Any) -> Iterator[Row]:
        """The rows of a query, as they are read."""
        try:
            cursor = self._db.execute(sql, parameters)
        except _ERRORS as error:
            raise _refusal(self.path, error) from error
        return self._read(cursor)

    def _read(self, cursor: sqlite3.Cursor) -> Iterator[Row]:
        try:
            # not `yield from`: it would close the cursor, which a failed disk makes an error
            for row in cursor:  # noqa: UP028
                yield row
        except _ERRORS as error:
            raise _refusal(self.path, error) from error

    def stream(self, sql: str, *parameters: Any) -> Iterator[Row]:
        """The same: rows are read one by one in any case."""
        return self.rows(sql, *parameters)

    def row(self, sql: str, *parameters: Any) -> Row | None:
        """The first row of a query, or None."""
        try:
            found: Row | None = self._db.execute(sql, parameters).fetchone()
        except _ERRORS as error:
            raise _refusal(self.path, error) from error
        return found

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction that holds the only right to write; all of it happens, or nothing."""
        if self._in_transaction():
            raise RuntimeError("a transaction begins inside another")
        try:
            self._guard(False)
            self.execute("BEGIN IMMEDIATE")
            yield
            self.execute("COMMIT")
        finally:
            self._undo()
            self._guard(True)

    @contextmanager
    def part(self) -> Iterator[None]:
        """A part of the open writing transaction: undone by itself when it fails."""
        self.execute("SAVEPOINT part")
        try:
            yield
        except BaseException:
            if self._in_transaction():  # the database may have undone all of it already
                self.execute("ROLLBACK TO part")
                self.execute("RELEASE part")
            raise
        self.execute("RELEASE part")

    @contextmanager
    def reading(self) -> Iterator[None]:
        """One view of the book, unchanged by what others write meanwhile."""
        if self._in_transaction():
            yield
            return
        self.execute("BEGIN")
        try:
            yield
        finally:
            self._undo()

    def _undo(self) -> None:
        """Leave a transaction that did not end well; a disk that fails here has been reported already."""
        with suppress(sqlite3.Error):
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")

    def _in_transaction(self) -> bool:
        try:
            return self._db.in_transaction
        except sqlite3.Error as error:  # closed
            raise _refusal(self.path, error) from error

    def _guard(self, on: bool) -> None:
        if self._guarded:
            with suppress(sqlite3.Error):  # closed meanwhile
                self._db.execute(f"PRAGMA query_only = {'ON' if on else 'OFF'}")

    def make(self, statements: Iterable[str]) -> None:
        """Make tables, indexes and guards: they are described in SQLite's own words."""
        for statement in statements:
            self.execute(statement)

    def clear(self, keep: Iterable[str]) -> None:
        """Drop every table but these."""
        known = ", ".join(f"'{name}'" for name in keep)
        other = f"type = 'table' AND name NOT IN ({known}) AND name NOT LIKE 'sqlite_%'"
        for (name,) in list(self.rows(f"SELECT name FROM sqlite_master WHERE {other}")):
            self.execute(f'DROP TABLE "{name}"')

    def schema(self, wanted: Iterable[str]) -> tuple[set[str], set[str]]:
        """The statements it was made with beyond those wanted, and those it lacks."""
        rows = self.rows("SELECT sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'")
        found, should = {str(row[0]) for row in rows}, set(wanted)
        return found - should, should - found

    def beside(self, scratch: "SqliteStore", name: str, tables: Iterable[str], made: Iterable[str]) -> None:
        """Attach the file to a scratch database under a name, for reading only: nothing is copied."""
        if isinstance(self.path, str):
            raise RuntimeError("only a book in a file has a past")
        scratch.execute(f"ATTACH ? AS {name}", (f"{self.path.resolve().as_uri()}?mode=ro",))

    def backup(self, path: Path, application: int) -> None:
        """A consistent copy of the whole file at a path where nothing is, made while others work, and marked as one.

        Owner-only and on the disk when it returns. OSError or BookRefused, and no file left, when it fails.
        """
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR | system.NO_LINK, 0o600)
        try:
            system.make_private(handle)
            copy = sqlite3.connect(path, isolation_level=None)
            try:
                self._db.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")
                copy.execute(f"PRAGMA application_id = {application}")
            finally:
                copy.close()
            os.fsync(handle)
            system.sync_folder(path.parent)
        except BaseException as error:
            os.close(handle)  # Windows removes nothing that is open
            handle = -1
            remove(path)
            if isinstance(error, _ERRORS):
                raise _refusal(path, error) from error
            raise
        finally:
            if handle >= 0:
                os.close(handle)

    def sound(self) -> list[str]:
        """What SQLite's own check finds wrong with the file; empty when it is sound."""
        return [str(row[0]) for row in self.rows("PRAGMA integrity_check") if row[0] != "ok"]

    @property
    def application(self) -> int:
        """Whose file it says it is."""
        return int((self.row("PRAGMA application_id") or (0,))[0])

    @application.setter
    def application(self, application: int) -> None:
        self.execute(f"PRAGMA application_id = {int(application)}")

    @property
    def derived_version(self) -> int:
        """The version of the derived tables that this file holds."""
        return int((self.row("PRAGMA user_version") or (0,))[0])

    @derived_version.setter
    def derived_version(self, version: int) -> None:
        self.execute(f"PRAGMA user_version = {int(version)}")

    def appended(self, station: str, kind: str, body: str) -> Row | None:
        """None: whoever can write the file writes it."""
        return None

    def asks(self) -> "Asks | None":
        """None: the settings say it."""
        return None

    def lacking(self, kind: str) -> str | None:
        """None: a file knows no roles."""
        return None

    def close(self) -> None:
        """Let go of the file."""
        with suppress(sqlite3.Error):
            self._db.close()


def remove(path: Path) -> None:
    """Remove a database file that is not wanted, and what SQLite may have left beside it."""
    for end in ("", "-wal", "-shm", "-journal"):
        with suppress(OSError):
            os.unlink(f"{path}{end}")
