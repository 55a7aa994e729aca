"""The gate of a book made, and looked after: by who owns the book's schema, and by nobody else."""

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import reduce
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import psycopg
from psycopg import sql

from cheque.book.gate import ALLOWED, HANDS, OWNER, Asks, schema_of
from cheque.book.names import ODD
from cheque.book.state import FOLLOWS, State
from cheque.errors import BookRefused, Fault, UsageRefused
from cheque.tongue import tr

if TYPE_CHECKING:
    from cheque.book.postgres import PostgresStore

_FILES = ("values.sql", "moves.sql", "stock.sql", "batches.sql", "runs.sql", "cheques.sql", "bank.sql", "doors.sql")
#: what a station may call
DOORS = ("append", "keep_page", "keep_payment", "keep_text", "lock_head")
_FUNCTION = re.compile(r"CREATE FUNCTION @gate@\.(\w+)\((.*?)\$f\$(.*?)\$f\$", re.DOTALL)
_LONGEST = 63  # bytes of a name at the server


class Hand(NamedTuple):
    """One of the roles of a book. `role`: its name at the server; `people`: who has it, directly or by another role."""

    name: str
    role: str
    kinds: list[str]
    people: list[str]


def make(store: "PostgresStore", asks: Asks) -> None:
    """Put a book under roles, or make its gate anew as this release has it; who has which role stays as it is.

    `asks`: the duties to begin with; those of a gate that is there stay. BookRefused when who asks does not own the
    book, or may not make roles.
    """
    with _owning(store) as db:
        if store.me:
            _remade(store, db)
        else:
            names = _names(db, store.url.schema)
            _make_roles(db, names)
            _build(store, db, {OWNER: _owner(db, store), **names})
            _put_asks(store, db, asks)
    store.look_for_gate()


def remake(store: "PostgresStore") -> None:
    """Make the gate anew in the open transaction: after the tables were."""
    _remade(store, store.line.db)


def _remade(store: "PostgresStore", db: Any) -> None:
    gate = store.gate
    hands = dict(db.execute(f"SELECT name, rolname FROM {gate}.hand").fetchall())
    allowed = db.execute(f"SELECT kind, hand FROM {gate}.allowed").fetchall()
    asked = db.execute(f"SELECT duty, account, amount FROM {gate}.asks").fetchall()
    db.execute(f"DROP SCHEMA {gate} CASCADE")
    _build(store, db, hands, allowed)
    _insert(db, f"INSERT INTO {gate}.asks (duty, account, amount) VALUES (%s, %s, %s)", asked)


@contextmanager
def _owning(store: "PostgresStore") -> Iterator[Any]:
    """A transaction of who owns the book, behind the lock of its head."""
    db = store.line.db
    try:
        owner = _owner(db, store)
        me, is_mine = db.execute("SELECT session_user::text, current_user::text = %s", (owner,)).fetchone()
        if not is_mine:
            raise BookRefused(
                tr(
                    "the book belongs to {owner} at the server, and you are {me}: only {owner} does this.",
                    owner=owner,
                    me=me,
                )
            )
        db.execute("BEGIN READ WRITE")
        db.execute("SELECT value FROM mark WHERE name = 'head' FOR UPDATE")
        yield db
        db.execute("COMMIT")
    except psycopg.errors.UndefinedObject as error:
        raise BookRefused(
            f"{error.diag.message_primary}: have it made at the server first (CREATE ROLE … LOGIN)."
        ) from error
    except psycopg.errors.InsufficientPrivilege as error:
        raise BookRefused(
            tr(
                "the server does not let you ({message_primary}). Making roles wants CREATEROLE; granting them, "
                "who made them.",
                message_primary=error.diag.message_primary,
            )
        ) from error
    except psycopg.Error as error:
        raise store.line.refusal(error) from error
    finally:
        if not db.closed and db.info.transaction_status != psycopg.pq.TransactionStatus.IDLE:
            db.execute("ROLLBACK")


def _owner(db: Any, store: "PostgresStore") -> str:
    found = db.execute("SELECT pg_get_userbyid(nspowner) FROM pg_namespace WHERE nspname = %s", (store.url.schema,))
    return str(found.fetchone()[0])


def _names(db: Any, schema: str) -> dict[str, str]:
    """What the roles are called at the server, where roles are shared by all databases."""
    database = db.info.dbname
    names = {hand: f"{database}_{schema}_{hand}" for hand in HANDS}
    longest = max(len(name.encode()) for name in (*names.values(), schema_of(schema)))
    if longest > _LONGEST:
        raise BookRefused(
            tr(
                "the names of the database and the schema are too long: {reconciler} has {longest} bytes, wanted "
                "at most {longest2}.",
                reconciler=names["reconciler"],
                longest=longest,
                longest2=_LONGEST,
            )
        )
    return names


def _make_roles(db: Any, names: dict[str, str]) -> None:
    rows = db.execute("SELECT rolname FROM pg_roles WHERE rolname = ANY (%s) ORDER BY 1", (list(names.values()),))
    if there := [row[0] for row in rows.fetchall()]:
        raise BookRefused(
            f"the server has {', '.join(there)} already, left by another book perhaps, and whoever has them would have "
            "this one's: see to them first (DROP ROLE)."
        )
    for name in names.values():
        db.execute(sql.SQL("CREATE ROLE {} NOLOGIN").format(sql.Identifier(name)))


def _build(store: "PostgresStore", db: Any, hands: dict[str, str], allowed: Iterable[tuple[str, str]] = ()) -> None:
    """The schema, its tables and functions, and who may do what with them and the book's."""
    book, gate = store.line.schema, store.gate
    db.execute(f"CREATE SCHEMA {gate}")
    db.execute(f"SET LOCAL search_path = {book}, {gate}, pg_temp; SET LOCAL check_function_bodies = off")
    for text in _texts():
        db.execute(_filled(text, store))
    _insert(db, f"INSERT INTO {gate}.hand (name, rolname) VALUES (%s, %s)", hands.items())
    known = set(allowed)
    kinds = {kind for kind, _ in known}
    fresh = {(kind, hand) for hand, some in ALLOWED.items() for kind in some if kind not in kinds}
    _insert(db, f"INSERT INTO {gate}.allowed (kind, hand) VALUES (%s, %s)", sorted(known | fresh))
    _close(db, store)
    for hand, role in hands.items():
        if hand != OWNER:
            _open(db, store, role, writes=hand != "reader")
    db.execute(f"SET LOCAL search_path = {book}, pg_temp")


def _insert(db: Any, statement: str, rows: Iterable[Any]) -> None:
    with db.cursor() as cursor:
        cursor.executemany(statement, list(rows))


def _close(db: Any, store: "PostgresStore") -> None:
    """Take everything on the book from everybody but its owner."""
    for schema in (store.line.schema, store.gate):
        rows = db.execute(
            "SELECT DISTINCT a.grantee::regrole::text FROM (SELECT relacl AS acl, relowner AS owner FROM pg_class "
            "WHERE relnamespace = %(s)s::regnamespace UNION ALL SELECT attacl, c.relowner FROM pg_attribute "
            "JOIN pg_class c ON c.oid = attrelid WHERE c.relnamespace = %(s)s::regnamespace "
            "UNION ALL SELECT nspacl, nspowner FROM pg_namespace WHERE oid = %(s)s::regnamespace) held, "
            "aclexplode(held.acl) a WHERE a.grantee <> held.owner AND a.grantee <> 0",
            {"s": schema},
        ).fetchall()
        for grantee in ("PUBLIC", *(row[0] for row in rows)):  # regrole is quoted already
            db.execute(f"REVOKE ALL ON ALL TABLES IN SCHEMA {schema} FROM {grantee}")
            db.execute(f"REVOKE ALL ON ALL FUNCTIONS IN SCHEMA {schema} FROM {grantee}")
            db.execute(f"REVOKE ALL ON SCHEMA {schema} FROM {grantee}")


def _open(db: Any, store: "PostgresStore", role: str, *, writes: bool) -> None:
    """Let a role read the book, and knock at its doors."""
    book, gate, to = store.line.schema, store.gate, f'"{role}"'
    db.execute(f"GRANT USAGE ON SCHEMA {book}, {gate} TO {to}")
    db.execute(f"GRANT SELECT ON ALL TABLES IN SCHEMA {book} TO {to}")
    db.execute(f"GRANT SELECT ON {gate}.hand, {gate}.allowed, {gate}.asks TO {to}")
    if writes:
        for name, arguments in _signatures(db, store):
            db.execute(f"GRANT EXECUTE ON FUNCTION {gate}.{name}({arguments}) TO {to}")


def _signatures(db: Any, store: "PostgresStore") -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = db.execute(
        "SELECT proname, pg_get_function_identity_arguments(oid) FROM pg_proc WHERE pronamespace = %s::regnamespace "
        "AND proname = ANY (%s)",
        (store.gate, list(DOORS)),
    ).fetchall()
    return found


def _texts() -> Iterator[str]:
    for name in _FILES:
        yield (Path(__file__).parent / name).read_text("utf-8")


def _filled(text: str, store: "PostgresStore") -> str:
    lawful = ", ".join(f"'{before}>{after}'" for before in State for after in sorted(FOLLOWS[before]))
    said = {"@book@": store.line.schema, "@gate@": store.gate, "@lawful@": lawful, "@odd@": ODD}
    return reduce(lambda done, mark: done.replace(mark, said[mark]), said, text)


# -- people, rights, duties --------------------------------------------------------------------------------------------


def _gated(store: "PostgresStore") -> None:
    if not store.me:
        raise BookRefused(tr("this book is not under roles: `cheque book roles make` puts it there."))


def grant(store: "PostgresStore", hand: str, people: Iterable[str], *, take: bool = False) -> None:
    """Give people, roles of the server that log in, one of the book's roles; or take it from them."""
    _gated(store)
    with _owning(store) as db:
        role = sql.Identifier(_role(store, db, hand))
        said = sql.SQL("REVOKE {} FROM {}") if take else sql.SQL("GRANT {} TO {}")
        for person in people:
            if person == _owner(db, store):
                raise UsageRefused(
                    tr("{person} owns the book: who does needs no role, and should have none.", person=person)
                )
            db.execute(said.format(role, sql.Identifier(person)))


def _role(store: "PostgresStore", db: Any, hand: str) -> str:
    found = db.execute(f"SELECT rolname FROM {store.gate}.hand WHERE name = %s AND name <> 'owner'", (hand,)).fetchone()
    if not found:
        raise UsageRefused(tr("found the role {hand!r}; wanted one of {hands}.", hand=hand, hands=", ".join(HANDS)))
    return str(found[0])


def allow(store: "PostgresStore", hand: str, kind: str, *, deny: bool = False) -> None:
    """Let a role append a kind of event, or not any more."""
    _gated(store)
    if kind not in {kind for kinds in ALLOWED.values() for kind in kinds}:
        raise UsageRefused(
            tr("found {kind!r}; wanted a kind of event, as `cheque book roles show` lists them.", kind=kind)
        )
    if hand == "reader":
        raise UsageRefused(tr("a reader writes nothing. Allow it to another role, and grant that."))
    with _owning(store) as db:
        _role(store, db, hand)
        where = f"{store.gate}.allowed"
        if deny:
            db.execute(f"DELETE FROM {where} WHERE kind = %s AND hand = %s", (kind, hand))
        else:
            db.execute(f"INSERT INTO {where} (kind, hand) VALUES (%s, %s) ON CONFLICT DO NOTHING", (kind, hand))


def ask(store: "PostgresStore", asks: Asks) -> None:
    """Ask these duties from now on, and no others."""
    _gated(store)
    with _owning(store) as db:
        _put_asks(store, db, asks)


def _put_asks(store: "PostgresStore", db: Any, asks: Asks) -> None:
    db.execute(f"DELETE FROM {store.gate}.asks")
    rows = [(duty, "", 1) for duty in ("approve", "reconcile", "second_person") if getattr(asks, duty)]
    rows += [("second_approval_over", account, limit) for account, limit in asks.over.items()]
    _insert(db, f"INSERT INTO {store.gate}.asks (duty, account, amount) VALUES (%s, %s, %s)", rows)


def hands(store: "PostgresStore") -> list[Hand]:
    """The roles of a book, what each may append, and who has it."""
    _gated(store)
    kinds: dict[str, list[str]] = {}
    for kind, hand in store.rows(f"SELECT kind, hand FROM {store.gate}.allowed ORDER BY kind"):
        kinds.setdefault(hand, []).append(kind)
    people: dict[str, list[str]] = {}
    for hand, person in store.rows(
        f"SELECT h.name, p.rolname FROM {store.gate}.hand h JOIN pg_roles r ON r.rolname = h.rolname JOIN pg_roles p "
        "ON p.rolcanlogin AND NOT p.rolsuper AND pg_has_role(p.oid, r.oid, 'MEMBER') ORDER BY p.rolname"
    ):
        people.setdefault(hand, []).append(person)
    roles: dict[str, str] = dict(store.rows(f"SELECT name, rolname FROM {store.gate}.hand"))
    return [Hand(name, roles[name], kinds.get(name, []), people.get(name, [])) for name in (OWNER, *HANDS)]


def over_all(store: "PostgresStore") -> list[str]:
    """Who can do everything at the server all the same: its superusers."""
    return [row[0] for row in store.rows("SELECT rolname FROM pg_roles WHERE rolsuper AND rolcanlogin ORDER BY 1")]


# -- proved ------------------------------------------------------------------------------------------------------------

_BEYOND = """SELECT 'a right to ' || lower(a.privilege_type) || ' ' || held.what || ' of '
        || coalesce(nullif(a.grantee, 0)::regrole::text, 'everybody')
    FROM (SELECT 'table ' || relname AS what, 'SELECT' AS fine, relacl AS acl, relowner AS owner FROM pg_class
            WHERE relnamespace IN (?::regnamespace, ?::regnamespace)
        UNION ALL SELECT 'table ' || c.relname, 'SELECT', attacl, c.relowner FROM pg_attribute
            JOIN pg_class c ON c.oid = attrelid WHERE c.relnamespace IN (?::regnamespace, ?::regnamespace)
        UNION ALL SELECT 'schema ' || nspname, 'USAGE', nspacl, nspowner FROM pg_namespace
            WHERE oid IN (?::regnamespace, ?::regnamespace)) held, aclexplode(held.acl) a
    WHERE a.grantee <> held.owner AND (a.privilege_type <> held.fine OR a.grantee = 0 OR a.is_grantable)"""
_STRANGE = """SELECT 'the ' || what || ' ' || name || ' owned by ' || owner::regrole::text
    FROM (SELECT 'table' AS what, relname AS name, relowner AS owner, relnamespace AS place FROM pg_class
        UNION ALL SELECT 'function', proname, proowner, pronamespace FROM pg_proc) made
    WHERE place IN (?::regnamespace, ?::regnamespace)
    AND owner <> (SELECT nspowner FROM pg_namespace WHERE oid = ?::regnamespace)"""
_CALLED = """SELECT p.proname, coalesce(bool_or(a.grantee <> p.proowner), p.proacl IS NULL), p.prosecdef,
        coalesce(array_to_string(p.proconfig, ' '), ''), p.prosrc
    FROM pg_proc p LEFT JOIN LATERAL aclexplode(p.proacl) a ON true WHERE p.pronamespace = ?::regnamespace
    GROUP BY p.oid"""


def faults(store: "PostgresStore") -> list[Fault]:
    """What is wrong with the gate of a book under roles: rights beyond it, strange owners, doors that are not ours."""
    if not store.me:
        return []
    book, gate = store.line.schema, store.gate
    found = [row[0] for row in store.rows(_BEYOND, book, gate, book, gate, book, gate)]
    found += [row[0] for row in store.rows(_STRANGE, book, gate, book)]
    wanted = {name: (head, body) for text in _texts() for name, head, body in _FUNCTION.findall(_marked(text, store))}
    there = {name: rest for name, *rest in store.rows(_CALLED, gate)}
    for name in sorted(wanted.keys() | there.keys()):
        if name not in there or name not in wanted:
            found.append(f"the function {name} {'beyond those' if name in there else 'lacking'} of this release")
            continue
        opened, definer, config, body = there[name]
        head, text = wanted[name]
        path = f"search_path={book}, {gate}, pg_temp".replace('"', "") if definer else ""
        if body != text or definer != ("SECURITY DEFINER" in head) or config.replace('"', "") != path:
            found.append(f"the function {name}, which is not that of this release")
        if opened != (name in DOORS):
            found.append(f"the function {name} {'open to others' if opened else 'closed'}")
    triggers = "SELECT tgenabled::text FROM pg_trigger WHERE tgrelid = ?::regclass AND tgname = 'loose_ends'"
    if store.row(triggers, f"{gate}.loose") != ("O",):
        found.append("no guard over what is written beside the chain")
    do = "`cheque book roles make`, by the book's owner, makes it anew; ask who changed it"
    return [Fault(tr("the roles"), what, tr("what this tool makes"), do) for what in found]


def _marked(text: str, store: "PostgresStore") -> str:
    """A file with everything filled in but the mark by which its functions are found."""
    return _filled(text.replace("CREATE FUNCTION @gate@.", "CREATE FUNCTION \0."), store).replace("\0", "@gate@")


def drop(store: "PostgresStore") -> None:
    """Take a book out from under roles: its tables are its owner's alone then, until somebody is let at them."""
    _gated(store)
    with _owning(store) as db:
        roles = [row[0] for row in db.execute(f"SELECT rolname FROM {store.gate}.hand WHERE name <> 'owner'")]
        db.execute(f"DROP SCHEMA {store.gate} CASCADE")
        _close_book(db, store)
        for role in roles:
            db.execute(sql.SQL("DROP ROLE {}").format(sql.Identifier(role)))
    store.look_for_gate()


def _close_book(db: Any, store: "PostgresStore") -> None:
    book = store.line.schema
    for hand in HANDS:
        name = sql.Identifier(_names(db, store.url.schema)[hand])
        for what in (f"ALL TABLES IN SCHEMA {book}", f"SCHEMA {book}"):
            db.execute(sql.SQL("REVOKE ALL ON {} FROM {}").format(sql.SQL(what), name))
