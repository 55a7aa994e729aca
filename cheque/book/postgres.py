"""The database under a book that several stations share: PostgreSQL.

As `cheque.book.store.SqliteStore`: SQL with `?` places, one writing transaction at a time, every commit durable. The
book has a schema to itself. Its table `mark` has a row `head` that every writing transaction locks first, so the
stations of one book write one after the other; what a transaction reads then is what the chain gives up to its
head. Outside a writing transaction the session is read-only.

A line that is lost is made anew, for a while. What was being asked is asked again. A writing transaction that was cut
off is done again by itself when the book is as it was when it began (the same head), for then everything it reads
and writes is the same; otherwise it is refused, and nothing of it happened. A commit whose outcome is not known is
looked up by the digest of its last event, behind the lock of the head, where nobody can still be committing it.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import islice
from typing import Any, NamedTuple, TypeVar

import psycopg

from cheque.book import dialect
from cheque.book.gate import Asks, schema_of
from cheque.book.gate.doors import by_its_door, told
from cheque.book.line import NOTHING, Line
from cheque.book.url import Url
from cheque.errors import BookRefused
from cheque.tongue import tr

Row = tuple[Any, ...]
T = TypeVar("T")
CHUNK = 1000  # rows that are sent or fetched at once
#: a transaction that wrote more rows than this is not kept for being done again
KEPT = 20_000
#: how often one step or one transaction is done again before it is given up
TRIES = 8
_ERRORS = (psycopg.Error, UnicodeError, OverflowError)
_EVENT = "INSERT INTO event "
_OPEN = """BEGIN READ WRITE; SELECT value FROM mark WHERE name = 'head' FOR UPDATE;
    SELECT seq, digest FROM event ORDER BY seq DESC LIMIT 1"""
_LOCKED = """BEGIN READ WRITE; SELECT {gate}.lock_head();
    SELECT seq, digest FROM event ORDER BY seq DESC LIMIT 1"""
_MARK = 'CREATE TABLE {schema}.mark (name TEXT COLLATE "C" PRIMARY KEY, value TEXT COLLATE "C" NOT NULL)'


class _Done(NamedTuple):
    """One statement of a writing transaction: with its parameters, or `many` rows of them; an `event` by its door."""

    sql: str
    given: Sequence[Any]
    many: bool
    event: bool = False


class PostgresStore:
    """A book's schema in a PostgreSQL database."""

    def __init__(self, url: Url, *, fresh: bool = False) -> None:
        self.url, self.path, self.line = url, url.text, Line(url)
        self._state = ""  # "", "view" or "writing"
        self._log: list[_Done] | None = []  # None: too long to be done again
        self._kept = self._cursors = 0
        self._began_at: Row | None = None
        self._appended: tuple[int, str] | None = None
        #: whom the server knows us as, where the book is under roles; else ""
        self.me = ""
        try:
            if not fresh:
                if not self.is_there():
                    raise BookRefused(tr("there is no book at {path}. `cheque setup` begins one.", path=self.path))
                self.look_for_gate()
        except BaseException:
            self.close()
            raise

    def is_there(self) -> bool:
        """Whether there is a book in the schema."""
        sql = "SELECT 1 FROM pg_tables WHERE schemaname = ? AND tablename = 'mark'"
        return self.row(sql, self.url.schema) is not None

    # under roles

    @property
    def gate(self) -> str:
        """The quoted name of the schema of the book's gate."""
        return f'"{schema_of(self.url.schema)}"'

    def look_for_gate(self) -> None:
        """See whether the book is under roles: then the database says who we are, and appends by itself."""
        me, let_in, gated = self.row(
            "SELECT session_user::text, has_schema_privilege(?, 'USAGE'), EXISTS (SELECT 1 FROM pg_tables "
            "WHERE schemaname = ? AND tablename = 'allowed')",
            self.url.schema,
            schema_of(self.url.schema),
        ) or ("", False, False)
        if not let_in:
            raise BookRefused(
                tr(
                    "{path} is not open to {me}, as whom the server knows you: its owner grants roles with `cheque "
                    "book roles grant`.",
                    path=self.path,
                    me=me,
                )
            )
        self.me = me if gated else ""

    @property
    def latest(self) -> tuple[int, str] | None:
        """The latest event that the database appended by itself: a lost line may have made it be appended again."""
        return self._appended if self.me else None

    def appended(self, station: str, kind: str, body: str) -> Row | None:
        """Have the database append an event, where the book is under roles, and give its row."""
        if not self.me:
            return None
        done = _Done(f"SELECT * FROM {self.gate}.append(?, ?, ?)", (station, kind, body), False, True)
        row: Row = self._do(lambda: self._run(done))
        self._keep(done, 1)
        return row

    def asks(self) -> Asks | None:
        """The duties that the database asks by itself; None where the settings say which."""
        if not self.me:
            return None
        return told(self.rows(f"SELECT duty, account, amount FROM {self.gate}.asks"))

    def lacking(self, kind: str) -> str | None:
        """Which roles may append this kind of event, when this person has none of them; the door asks again."""
        if not self.me:
            return None
        sql = (
            f"SELECT a.hand, pg_has_role(session_user, r.oid, 'USAGE') FROM {self.gate}.allowed a "
            f"JOIN {self.gate}.hand h ON h.name = a.hand JOIN pg_roles r ON r.rolname = h.rolname "
            "WHERE a.kind = ? ORDER BY a.hand"
        )
        rows = list(self.rows(sql, kind))
        return None if any(has for _, has in rows) else tr(" or ").join(hand for hand, _ in rows)

    def _by_its_door(self, sql: str, rows: Sequence[Sequence[Any]]) -> tuple[str, Sequence[Sequence[Any]]]:
        return by_its_door(self.gate, sql, rows) if self.me else (sql, rows)

    # one statement

    def _raw(self, sql: str, given: Sequence[Any] = ()) -> Any:
        return self.line.db.execute(dialect.places(sql), tuple(given))

    def _do(self, step: Callable[[], T]) -> T:
        """Take a step; when the line is lost, take it again where that is safe."""
        for _ in range(TRIES):
            try:
                return step()
            except _ERRORS as error:
                if not self.line.lost(error):
                    raise self.line.refusal(error) from error
                self._again(error)
        raise BookRefused(
            tr(
                "the server of {place} was lost again and again. {nothing} Try again later.",
                place=self.line.place,
                nothing=tr(NOTHING),
            )
        )

    def _again(self, error: BaseException) -> None:
        """Make the line anew; and, in a writing transaction, all that was done in it, when that is the same."""
        if self._state == "view":
            raise self.line.gone(error, tr("while the book was read. Do it again.")) from error
        if self._state == "writing" and self._log is None:
            raise self.line.gone(
                error, tr("in the midst of a long step. {nothing} Do it again.", nothing=tr(NOTHING))
            ) from error
        for _ in range(TRIES):
            self.line.connect()
            if not self._state:
                return
            try:
                self._replay(error, self._open_writing())
                return
            except psycopg.Error as other:
                if not self.line.lost(other):
                    raise self.line.refusal(other) from other
        raise self.line.gone(error, tr("again and again. {nothing} Try again later.", nothing=tr(NOTHING))) from error

    def _replay(self, error: BaseException, head: Row | None) -> None:
        if head != self._began_at:
            raise self.line.gone(
                error,
                tr(
                    "in the midst of a step, and another station wrote meanwhile. {nothing} Look, and do it again.",
                    nothing=tr(NOTHING),
                ),
            ) from error
        for done in self._log or ():
            self._run(done)

    def _run(self, done: _Done) -> Any:
        if done.many:
            self.line.db.cursor().executemany(dialect.places(done.sql), done.given)
            return None
        cursor = self._raw(done.sql, done.given)
        if not done.event:
            return None
        row = cursor.fetchone()
        self._appended = (row[0], row[-1])
        return row

    def execute(self, sql: str, parameters: Iterable[Any] = ()) -> None:
        """Run one statement for its effect."""
        given, (row,) = self._by_its_door(sql, [tuple(parameters)])
        done = _Done(given, row, False)
        self._do(lambda: self._run(done))
        self._keep(done, 1)
        if sql.startswith(_EVENT):
            self._appended = (done.given[0], done.given[-1])

    def many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """Run one statement for each row of parameters."""
        source = iter(rows)
        while chunk := [tuple(row) for row in islice(source, CHUNK)]:
            given, some = self._by_its_door(sql, chunk)
            done = _Done(given, some, True) if len(some) > 1 else _Done(given, some[0], False)
            self._do(lambda done=done: self._run(done))  # type: ignore[misc]
            self._keep(done, len(chunk))

    def _keep(self, done: _Done, rows: int) -> None:
        """Note what was done in a writing transaction, so that it can be done again."""
        if self._state != "writing" or self._log is None:
            return
        self._kept += rows
        self._log.append(done)
        if self._kept > KEPT:
            self._log = None

    def rows(self, sql: str, *parameters: Any) -> Iterator[Row]:
        """The rows of a query, fetched at once: for what is not long (see `stream`)."""
        found: list[Row] = self._do(lambda: self._raw(sql, parameters).fetchall())
        return iter(found)

    def row(self, sql: str, *parameters: Any) -> Row | None:
        """The first row of a query, or None."""
        found: Row | None = self._do(lambda: self._raw(sql, parameters).fetchone())
        return found

    def stream(self, sql: str, *parameters: Any) -> Iterator[Row]:
        """The rows of a query that may give very many, a thousand at a time, as they were when it was asked."""
        self._cursors += 1
        name = f"long_{self._cursors}"

        def ask() -> Any:
            cursor = self.line.db.cursor(name, withhold=not self._state)
            return cursor.execute(dialect.places(sql), parameters)

        cursor = self._do(ask)
        try:
            while found := self._fetched(cursor):
                yield from found
        finally:
            with suppress(psycopg.Error):
                cursor.close()

    def _fetched(self, cursor: Any) -> list[Row]:
        try:
            found: list[Row] = cursor.fetchmany(CHUNK)
        except psycopg.Error as error:
            if self.line.lost(error):
                raise self.line.gone(error, tr("while the book was read. Do it again.")) from error
            raise self.line.refusal(error) from error
        return found

    # transactions

    def _open_writing(self) -> Row | None:
        """Begin a writing transaction behind the lock of the head; gives the head. One way there and back."""
        opening = _LOCKED.format(gate=self.gate) if self.me else _OPEN
        cursor = self.line.db.execute(opening)  # each statement sees what was committed before it, the lock being ours
        while cursor.nextset():
            pass
        found: Row | None = cursor.fetchone()
        return found

    def _begin(self) -> None:
        self._state, self._log, self._kept, self._appended = "", [], 0, None
        self._began_at = self._do(self._open_writing)
        self._state = "writing"

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction that holds the only right to write; all of it happens, or nothing."""
        if self._state:
            raise RuntimeError("a transaction begins inside another")
        try:
            self._begin()
            yield
            self._commit()
        finally:
            self._undo()

    def _commit(self) -> None:
        try:
            ended = self._raw("COMMIT").statusmessage
        except _ERRORS as error:
            if not self.line.lost(error):
                raise self.line.refusal(error) from error
            self._look_up(error)
            return
        if ended != "COMMIT":  # a statement had failed, and the server undid all of it
            raise BookRefused(
                tr("{place} gave up the step. {nothing} Do it again.", place=self.line.place, nothing=tr(NOTHING))
            )

    def _look_up(self, error: BaseException) -> None:
        """Whether a commit, of which nothing was heard, happened; and if not, make it happen when that is safe."""
        for _ in range(TRIES):
            try:
                self.line.connect()
            except BookRefused as away:
                raise BookRefused(
                    tr(
                        "{message} Whether the last step is in the book is not certain: look with `cheque book verify` "
                        "and `cheque show` before doing it again.",
                        message=away.message,
                    )
                ) from error
            try:
                head = self._open_writing()  # whoever was still committing has ended when this is ours
                if self._is_there():
                    return
                if self._log is None:
                    raise self.line.gone(
                        error, tr("at the end of a long step. {nothing} Do it again.", nothing=tr(NOTHING))
                    ) from error
                self._replay(error, head)
                self._raw("COMMIT")
                return
            except psycopg.Error as other:
                if not self.line.lost(other):
                    raise self.line.refusal(other) from other
        raise self.line.gone(
            error,
            tr("again and again. Whether the last step is in the book is not certain: see `cheque book verify`."),
        ) from error

    def _is_there(self) -> bool:
        if self._appended is None:
            return False
        return self._raw("SELECT 1 FROM event WHERE seq = ? AND digest = ?", self._appended).fetchone() is not None

    @contextmanager
    def part(self) -> Iterator[None]:
        """A part of the open writing transaction: undone by itself when it fails."""
        self.execute("SAVEPOINT part")
        before = self._appended
        try:
            yield
        except BaseException:
            self._appended = before
            if self._state == "writing" and not self.line.db.closed:
                self.execute("ROLLBACK TO part")
                self.execute("RELEASE part")
            raise
        self.execute("RELEASE part")

    @contextmanager
    def reading(self) -> Iterator[None]:
        """One view of the book, unchanged by what others write meanwhile."""
        if self._state:
            yield
            return
        self._do(lambda: self._raw("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"))
        self._state = "view"
        try:
            yield
        finally:
            self._undo()

    def _undo(self) -> None:
        """Leave a transaction, whether or not it ended well."""
        self._state, self._log = "", []
        with suppress(psycopg.Error):
            if self.line.db.info.transaction_status != psycopg.pq.TransactionStatus.IDLE:
                self._raw("ROLLBACK")

    # the whole book

    @contextmanager
    def founding(self) -> Iterator[None]:
        """A transaction in which a book is begun in a schema where nothing is. BookRefused when something is."""
        schema = self.line.schema
        self._do(lambda: self._raw("BEGIN READ WRITE"))
        self._state, self._log, self._appended = "writing", None, None
        try:
            self.row("SELECT pg_advisory_xact_lock(hashtext(?))", f"cheque {schema}")  # two who begin one at once
            self.execute(f"CREATE SCHEMA IF NOT EXISTS {schema}")
            if self.row("SELECT 1 FROM pg_class WHERE relnamespace = ?::regnamespace LIMIT 1", schema):
                raise BookRefused(
                    tr(
                        "{path} holds a book, or something else, already; use it, or name another place (schema=… "
                        "names "
                        "another schema).",
                        path=self.path,
                    )
                )
            self.execute(_MARK.format(schema=schema))
            self.execute("INSERT INTO mark (name, value) VALUES ('head', ''), ('application', '0'), ('tables', '0')")
            yield
            self._commit()
        finally:
            self._undo()

    def make(self, statements: Iterable[str]) -> None:
        """Make tables, indexes and guards, from the description in `cheque.book.schema`."""
        for statement in dialect.translated(statements):
            self.execute(statement.format(schema=self.line.schema))

    def clear(self, keep: Iterable[str]) -> None:
        """Drop every table of the book but these."""
        kept = {*keep, "mark"}
        for (name,) in self.rows("SELECT tablename FROM pg_tables WHERE schemaname = ?", self.url.schema):
            if name not in kept:
                self.execute(f'DROP TABLE {self.line.schema}."{name}" CASCADE')
        idle = (
            "SELECT proname FROM pg_proc p WHERE pronamespace = ?::regnamespace AND prorettype = 'trigger'::regtype "
            "AND NOT EXISTS (SELECT 1 FROM pg_trigger WHERE tgfoid = p.oid)"
        )
        for (name,) in self.rows(idle, self.line.schema):
            self.execute(f'DROP FUNCTION {self.line.schema}."{name}"()')

    def schema(self, wanted: Iterable[str]) -> tuple[set[str], set[str]]:
        """What the book's schema holds that it should not, and what it lacks, each told in one line."""
        from cheque.book.catalogue import described

        if self._state == "view":
            raise RuntimeError("a schema is compared outside a view")
        self._do(lambda: self._raw("BEGIN READ WRITE"))
        try:
            self._raw("SET LOCAL search_path = pg_temp")
            for statement in [_MARK, *dialect.translated(wanted)]:
                self._raw(statement.format(schema="pg_temp"))
            own = self._raw("SELECT nspname FROM pg_namespace WHERE oid = pg_my_temp_schema()").fetchone()[0]
            should, holds = described(self._raw, own), described(self._raw, self.url.schema)
        except psycopg.Error as error:
            raise self.line.refusal(error) from error
        finally:
            self._undo()
        return holds - should, should - holds

    def sound(self) -> list[str]:
        """What the server's own check finds wrong: it finds damage when a page is read."""
        return []

    def beside(self, scratch: Any, name: str, tables: Iterable[str], made: Iterable[str]) -> None:
        """Copy tables, in one view, into a scratch database of SQLite under a name, made by these statements."""
        scratch.execute(f"ATTACH '' AS {name}")
        scratch.execute(f"PRAGMA {name}.journal_mode = OFF")
        for statement in made:
            table = dialect.table_of(statement)
            if table:
                scratch.execute(statement.replace(f"CREATE TABLE {table}", f"CREATE TABLE {name}.{table}", 1))
        with self.reading(), scratch.writing():
            for table in tables:
                columns = [row[1] for row in scratch.rows(f"PRAGMA {name}.table_info({table})")]
                marks = ", ".join("?" * len(columns))
                scratch.many(
                    f"INSERT INTO {name}.{table} VALUES ({marks})",
                    self.stream(f"SELECT {', '.join(columns)} FROM {table}"),
                )

    def _mark(self, name: str) -> str:
        found = self.row("SELECT value FROM mark WHERE name = ?", name)
        return str(found[0]) if found else ""

    def _set_mark(self, name: str, value: str) -> None:
        self.execute(
            "INSERT INTO mark (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
            (name, value),
        )

    def own_numbers(self) -> str:
        """The server's own number, the database's and the schema's: a dump read in elsewhere has others."""
        found = self.row(
            "SELECT s.system_identifier::text || ' ' || d.oid::text || ' ' || n.oid::text "
            "FROM pg_control_system() s, pg_database d, pg_namespace n "
            "WHERE d.datname = current_database() AND n.nspname = ?",
            self.url.schema,
        )
        return str(found[0]) if found else ""

    @property
    def where(self) -> str:
        """Where it was last said to live (`own_numbers`), or ""."""
        return self._mark("where")

    @where.setter
    def where(self, where: str) -> None:
        self._set_mark("where", where)

    @property
    def application(self) -> int:
        """Whose schema it says it is."""
        return int(self._mark("application") or 0)

    @application.setter
    def application(self, application: int) -> None:
        self._set_mark("application", str(int(application)))

    @property
    def derived_version(self) -> int:
        """The version of the derived tables that it holds."""
        return int(self._mark("tables") or 0)

    @derived_version.setter
    def derived_version(self, version: int) -> None:
        self._set_mark("tables", str(int(version)))
        if self.me:  # the tables were made anew: so are the doors to them, and who may read them
            from cheque.book.gate.keeping import remake

            remake(self)

    def close(self) -> None:
        """Let go of the server."""
        self.line.closed = True
        self.line.drop()
