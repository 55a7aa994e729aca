"""The line to a PostgreSQL server: connected, made anew when it is lost, and what the server says in one refusal.

No error of the driver gets past this file and `cheque.book.postgres`: whatever the server reports leaves as one
BookRefused that says what to do.
"""

import os
import time
from contextlib import suppress
from typing import Any

import psycopg
from psycopg.adapt import Loader

from cheque.book.gate.said import said as at_the_door
from cheque.book.url import Url
from cheque.errors import BookRefused, InputRefused
from cheque.tongue import mark, tr

#: seconds to wait for another station's transaction, and for a server that has gone to come back
PATIENCE, RETURN = 60, 60.0
#: seconds after which the server gives up a transaction whose station says nothing more
IDLE = 300

NOTHING = mark("Nothing changed.")
_IN_USE = mark("is in use by another station, which did not let go of it. Let that end, then try again.")
#: the beginning of a SQLSTATE (PostgreSQL's documentation, appendix A) -> what it means here and what to do
_MEANT = {
    "55P03": _IN_USE,
    "22003": mark("holds numbers of at most 18 digits; one of those given is larger."),
    "53100": mark("could not be written: the server's disk is full. Nothing changed; make room, then do it again."),
    "53300": mark(
        "cannot be opened: the server has no connection left for us. Try again, or raise its max_connections."
    ),
    "25006": mark("cannot be written: the server, or this session, is read-only. Nothing changed."),
    "42501": mark("refuses this to the role that you are at the server ({text}). Nothing changed."),
    "28": mark("cannot be opened: the server refuses you ({text}). See to the role and its password file (~/.pgpass)."),
    "3D": mark("cannot be opened: {text}. Name a database that is there, or have it made (`createdb`)."),
    "42P01": mark("is not a book, or has lost a table ({text}). Name another place, or restore a backup."),
    "3F": mark("is not a book, or has lost its schema ({text}). Name another place, or restore a backup."),
    "XX": mark("is damaged ({text}). Keep the server's files as they are, and restore a backup beside them."),
    "22": mark("refuses what would break its own law ({text}). Nothing changed."),
    "23": mark("refuses what would break its own law ({text}). Nothing changed."),
}
#: what goes away by itself: serialisation failure, deadlock, a server that goes down, comes up, or let us go
_PASSING = frozenset({"40001", "40P01", "57P01", "57P02", "57P03", "57P05", "25P03"})
_SESSION = """
SET search_path = {schema}, pg_temp;
SET default_transaction_read_only = on;
SET default_transaction_isolation = 'read committed';
SET lock_timeout = '{patience}s';
SET idle_in_transaction_session_timeout = '{idle}s';
SET standard_conforming_strings = on;
"""
_ALIVE = {
    "keepalives_idle": 30, "keepalives_interval": 10, "keepalives_count": 3, "tcp_user_timeout": 60_000,
    "connect_timeout": 10, "application_name": "cheque", "client_encoding": "utf8",
}  # fmt: skip


class _Whole(Loader):
    """A sum of whole numbers, which PostgreSQL gives as `numeric`."""

    def load(self, data: Any) -> int:
        return int(bytes(data))


def said(error: BaseException) -> str:
    """What the server said, in one line, without a full stop."""
    text = getattr(getattr(error, "diag", None), "message_primary", None) or str(error)
    return " ".join(str(text).split()).rstrip(".")[:300]


class Line:
    """A connection to the database of a book; `db` is the driver's own."""

    def __init__(self, url: Url) -> None:
        self.url = url
        self.closed = False
        self.db: Any = None
        self.connect(0)

    @property
    def schema(self) -> str:
        """The quoted name of the book's schema."""
        return f'"{self.url.schema}"'

    @property
    def place(self) -> str:
        """The book, as it is called in a refusal."""
        return tr("the book at {text}", text=self.url.text)

    def connect(self, patience: float = RETURN) -> None:
        """Connect anew, trying for so many seconds while the server is away. BookRefused when it stays away."""
        if self.closed:
            raise BookRefused(tr("{place} was let go of already.", place=self.place))
        if os.environ.get("PGPASSWORD"):
            raise InputRefused(
                tr(
                    "a password stands in the environment (PGPASSWORD), where it is easily seen: put it into "
                    "PostgreSQL's password file (~/.pgpass), which only you can read, and unset PGPASSWORD."
                )
            )
        self.drop()
        until, pause = time.monotonic() + patience, 0.05
        while True:
            try:
                self.db = self._opened()
                return
            except psycopg.Error as error:
                if error.sqlstate and error.sqlstate not in _PASSING and not error.sqlstate.startswith("53"):
                    raise self.refusal(error) from error
                if time.monotonic() >= until:
                    raise BookRefused(
                        tr(
                            "the server of {place} cannot be reached ({said}). See to the server and the line to it, "
                            "and to what the URL names (database, role, its password file), then try again.",
                            place=self.place,
                            said=said(error),
                        )
                    ) from error
            time.sleep(pause)
            pause = min(1.0, pause * 2)

    def _opened(self) -> Any:
        try:
            given = psycopg.conninfo.conninfo_to_dict(self.url.conninfo)
        except psycopg.Error as error:
            raise InputRefused(tr("the book's URL cannot be used: {said}.", said=said(error))) from None
        told = {key: value for key, value in _ALIVE.items() if key not in given}
        db: Any = psycopg.connect(self.url.conninfo, autocommit=True, **told)  # type: ignore[arg-type]
        try:
            db.adapters.register_loader("numeric", _Whole)
            self._begin_session(db)
        except BaseException:
            db.close()
            raise
        return db

    def _begin_session(self, db: Any) -> None:
        db.execute(_SESSION.format(schema=self.schema, patience=PATIENCE, idle=IDLE))
        shown = ("server_encoding", "fsync", "synchronous_commit")
        encoding, synced, commits = db.execute(
            f"SELECT {', '.join(f'current_setting({name!r})' for name in shown)}"
        ).fetchone()
        if encoding != "UTF8":
            raise BookRefused(
                tr(
                    "the database of {place} is in {encoding}; a book wants one in UTF8. Make another.",
                    place=self.place,
                    encoding=encoding,
                )
            )
        if synced != "on":
            raise BookRefused(
                tr(
                    "the server of {place} does not put what it is given on the disk (fsync = {synced}): a power cut "
                    "would lose cheques. Set fsync = on there.",
                    place=self.place,
                    synced=synced,
                )
            )
        if commits not in ("on", "remote_apply"):  # what is weaker may lose a commit that returned
            db.execute("SET synchronous_commit = on")

    def drop(self) -> None:
        """Let the connection go, without a word to the server where it is lost."""
        if self.db is not None:
            with suppress(psycopg.Error):
                self.db.close()

    def lost(self, error: BaseException) -> bool:
        """Whether an error means that the connection, or the transaction, is gone, and trying anew may help."""
        if not isinstance(error, psycopg.Error):
            return False
        if (error.sqlstate or "") in _PASSING:
            return True
        return isinstance(error, psycopg.OperationalError) and bool(self.db.closed)

    def refusal(self, error: BaseException) -> BookRefused:
        """The one message for whatever the server or the driver reported."""
        if isinstance(error, UnicodeError):
            return BookRefused(
                tr("{place} holds text only; what was given has bytes of another encoding in it.", place=self.place)
            )
        code, text = getattr(error, "sqlstate", None) or "", said(error)
        if not code and isinstance(error, psycopg.DataError):  # found by the driver, before anything was sent
            code = "22"
        if code == "CQ001":  # what a book's own doors refuse, in their own words (cheque/book/gate)
            return BookRefused(f"{at_the_door(text)}.")
        if code == "42501" and "lock_head" in text:
            return BookRefused(
                tr(
                    "you have no role in {place} that writes: a reader only looks. {nothing}",
                    place=self.place,
                    nothing=tr(NOTHING),
                )
            )
        for length in (5, 2):
            if meant := _MEANT.get(code[:length]):
                return BookRefused(f"{self.place} {tr(meant, text=text)}")
        return BookRefused(
            tr(
                "{place} cannot be used: {text}. `cheque book verify` says whether it is whole.",
                place=self.place,
                text=text,
            )
        )

    def gone(self, error: BaseException, then: str) -> BookRefused:
        """The message for a line that was lost where nothing more can be done about it."""
        return BookRefused(
            tr("the server of {place} was lost ({said}) {then}", place=self.place, said=said(error), then=then)
        )
