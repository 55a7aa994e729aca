"""The database under a book: SQLite, every commit durable, readable by its owner only.

A store executes SQL with `?` places and runs one writing transaction at a time; it knows nothing of events.
Write-ahead log, `synchronous=FULL`: a commit that returned survives a power cut on a local file system.
"""

import os
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from cheque.errors import BookRefused

Row = tuple[Any, ...]
PATIENCE = 10.0  # seconds to wait for another command's transaction


class SqliteStore:
    """A book's database in one SQLite file."""

    def __init__(self, path: Path | str, *, create: bool = False, read_only: bool = False) -> None:
        self.path = path
        if isinstance(path, Path):
            if create:
                os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR | os.O_NOFOLLOW, 0o600))
            mode = "ro" if read_only else "rw"
            self._db = sqlite3.connect(
                f"{path.resolve().as_uri()}?mode={mode}", uri=True, timeout=PATIENCE, isolation_level=None
            )
        else:
            self._db = sqlite3.connect(path, isolation_level=None)
        try:
            self._settle(private=isinstance(path, str))
        except sqlite3.DatabaseError as error:
            self._db.close()
            raise BookRefused(
                f"{path} is not a book that can be opened: {error}. Restore a backup, or name another place."
            ) from None

    def _settle(self, *, private: bool) -> None:
        if private:  # a scratch database: nothing to survive
            self._db.execute("PRAGMA synchronous = OFF")
        else:
            self._db.execute("PRAGMA journal_mode = WAL")
            self._db.execute("PRAGMA synchronous = FULL")
        self._db.execute("PRAGMA foreign_keys = ON")
        self._db.execute("PRAGMA cell_size_check = ON")

    def execute(self, sql: str, parameters: Iterable[Any] = ()) -> None:
        """Run one statement for its effect."""
        self._db.execute(sql, tuple(parameters))

    def many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """Run one statement for each row of parameters."""
        self._db.executemany(sql, rows)

    def rows(self, sql: str, *parameters: Any) -> Iterator[Row]:
        """The rows of a query, as they are read."""
        return iter(self._db.execute(sql, parameters))

    def row(self, sql: str, *parameters: Any) -> Row | None:
        """The first row of a query, or None."""
        found: Row | None = self._db.execute(sql, parameters).fetchone()
        return found

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction that holds the only right to write; all of it happens, or nothing."""
        try:
            self._db.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as error:
            raise BookRefused(
                f"the book at {self.path} cannot be written now: {error}. "
                "Another command may be at work: let it end, then try again."
            ) from None
        try:
            yield
        except BaseException:
            self._db.execute("ROLLBACK")
            raise
        try:
            self._db.execute("COMMIT")
        except sqlite3.OperationalError as error:
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")
            raise BookRefused(
                f"the book at {self.path} could not be written: {error}. Nothing changed; see to the disk."
            ) from None

    @contextmanager
    def reading(self) -> Iterator[None]:
        """One view of the book, unchanged by what others write meanwhile."""
        if self._db.in_transaction:
            yield
            return
        self._db.execute("BEGIN")
        try:
            yield
        finally:
            self._db.execute("ROLLBACK")

    def beside(self, path: str, name: str) -> None:
        """Attach another database file for reading under a name."""
        self._db.execute(f"ATTACH ? AS {name}", (path,))

    def backup(self, path: Path) -> None:
        """A consistent copy of the whole file, made while others work."""
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR | os.O_NOFOLLOW, 0o600))
        copy = sqlite3.connect(path)
        try:
            self._db.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
        finally:
            copy.close()
        with open(path, "rb") as done:
            os.fsync(done.fileno())

    def sound(self) -> list[str]:
        """What SQLite's own check finds wrong with the file; empty when it is sound."""
        return [str(row[0]) for row in self._db.execute("PRAGMA integrity_check") if row[0] != "ok"]

    @property
    def derived_version(self) -> int:
        """The version of the derived tables that this file holds."""
        return int(self._db.execute("PRAGMA user_version").fetchone()[0])

    @derived_version.setter
    def derived_version(self, version: int) -> None:
        self._db.execute(f"PRAGMA user_version = {int(version)}")

    def close(self) -> None:
        """Let go of the file."""
        self._db.close()
