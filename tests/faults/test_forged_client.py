"""A book under roles, and a thief with a client of his own making: whatever he sends as a station's role is refused.

He has a login that works and the roles that somebody was granted; he has written his client by hand, and knows every
table and function. Each test is an item of the attacker's list. What he may do, he does under his own name.
"""

import json
import uuid
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import psycopg
import pytest
from book.quillmere import FORM, accept, payday, print_good, proof_of, prove
from book.roles import Harbour, store_of
from psycopg import errors, sql

from cheque.book import duties, stock, verify
from cheque.book.event import GENESIS, digest_of, payments_digest
from cheque.book.gate import ALLOWED, Asks
from cheque.book.gate.keeping import DOORS
from cheque.book.schema import DERIVED
from cheque.payment import to_kept, to_text

WRITTEN = ("event", "payment", "content", "proof_page", "mark")
ALL = "preparer approver printer reconciler auditor"
Client = psycopg.Connection[Any]


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Harbour]:
    """A box of forms; batch 1 printed on 100501 to 100504; batch 2 of 4 proved, and approved by nobody."""
    yard = Harbour(
        tmp_path_factory.mktemp("yard"),
        Asks(True, True, True, {}),
        pru="preparer",
        ada="approver",
        pip="printer",
        rea="reader",
        all=ALL,
    )
    with yard.open("ada") as book:
        stock.receive(book, account="main", form=FORM, first="100501", last="100600")
    with yard.open("pru") as book:
        prove(book, accept(book, payday(4)))
    with yard.open("ada") as book:
        duties.approve(book, 1)
    with yard.open("pip") as book:
        print_good(book, 1, 100501)
    with yard.open("pru") as book:
        prove(book, accept(book, payday(4, start=100)))
    yield yard
    with yard.open("owner") as book:
        assert verify.verify(book) == []


@pytest.fixture
def unmoved(yard: Harbour) -> Iterator[None]:
    """What is tried leaves every table as it was."""
    before = everything(yard)
    yield
    assert everything(yard) == before


def everything(yard: Harbour) -> dict[str, list[Any]]:
    with yard.open("owner") as book:
        return {name: sorted(book.rows(f"SELECT * FROM {name}"), key=str) for name in (*WRITTEN, *DERIVED)}


def append(client: Client, yard: Harbour, kind: str, body: Any) -> Any:
    text = body if isinstance(body, str) else json.dumps(body)
    door = sql.SQL("SELECT * FROM {}.append(%s, %s, %s)").format(sql.Identifier(f"{yard.schema}_roles"))
    return client.execute(door, ("counter", kind, text)).fetchone()


def call(client: Client, yard: Harbour, name: str, *arguments: Any) -> Any:
    door = sql.SQL("SELECT {}.{}({})").format(
        sql.Identifier(f"{yard.schema}_roles"),
        sql.Identifier(name),
        sql.SQL(", ").join([sql.Placeholder()] * len(arguments)),
    )
    return client.execute(door, arguments).fetchone()


def refused(client: Client, statement: str, kind: type[Exception] = errors.InsufficientPrivilege) -> None:
    with pytest.raises(kind):
        client.execute(statement.encode())
    client.execute("ROLLBACK")


# -- the tables --------------------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("unmoved")
@pytest.mark.parametrize("person", ["rea", "pru", "all"])
def test_no_table_is_written_by_hand(yard: Harbour, person: str) -> None:
    with yard.forger(person) as client:
        tables = [(yard.schema, name) for name in (*WRITTEN, *DERIVED)]
        tables += [(f"{yard.schema}_roles", name) for name in ("hand", "allowed", "asks", "loose")]
        for schema, name in tables:
            table = f'"{schema}".{name}'
            column = client.execute(
                "SELECT attname FROM pg_attribute WHERE attrelid = %s::regclass AND attnum = 1", (table,)
            ).fetchone()[0]  # type: ignore[index]
            for statement in (
                f"UPDATE {table} SET {column} = {column}",
                f"DELETE FROM {table}",
                f"INSERT INTO {table} SELECT * FROM {table}",
                f"INSERT INTO {table} DEFAULT VALUES",
                f"TRUNCATE {table}",
                f"DROP TABLE {table}",
                f"ALTER TABLE {table} DISABLE TRIGGER ALL",
                f"ALTER TABLE {table} ADD COLUMN more text",
                f"ALTER TABLE {table} OWNER TO {yard.login(person)}",
                f"CREATE INDEX ON {table} ({column})",
                f"CREATE RULE quiet AS ON INSERT TO {table} DO INSTEAD NOTHING",
                f"BEGIN; LOCK TABLE {table} IN EXCLUSIVE MODE",
                f"COPY {table} FROM '/dev/null'",
            ):
                refused(client, statement)
            acl = f"SELECT relacl::text FROM pg_class WHERE oid = '{table}'::regclass".encode()
            before = client.execute(acl).fetchone()
            with suppress(errors.InsufficientPrivilege):  # who may read gets a warning that nothing was granted
                client.execute(f"GRANT ALL ON {table} TO PUBLIC".encode())
            assert client.execute(acl).fetchone() == before


@pytest.mark.usefixtures("unmoved")
def test_no_guard_is_taken_down(yard: Harbour) -> None:
    with yard.forger("all") as client:
        guards = client.execute(
            "SELECT tgname, tgrelid::regclass::text FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
            "WHERE c.relnamespace IN (%s::regnamespace, %s::regnamespace) AND NOT tgisinternal",
            (yard.schema, f"{yard.schema}_roles"),
        ).fetchall()
        assert len(guards) > 10
        for guard, table in guards:
            refused(client, f"DROP TRIGGER {guard} ON {table}")
            refused(client, f"ALTER TABLE {table} DISABLE TRIGGER {guard}")
        refused(client, "SET session_replication_role = replica")
        refused(client, f"DROP SCHEMA {yard.schema} CASCADE")
        refused(client, f"DROP SCHEMA {yard.schema}_roles CASCADE")


@pytest.mark.usefixtures("unmoved")
def test_no_event_is_put_in_by_hand_dropped_or_edited(yard: Harbour) -> None:
    with yard.forger("all") as client:
        seq, prev = client.execute("SELECT seq, digest FROM event ORDER BY seq DESC LIMIT 1").fetchone()  # type: ignore[misc]
        parts = (seq + 1, "2026-11-27T09:00:00.000Z", "clerk", "counter", "batch.refused", "{}", prev)
        with pytest.raises(errors.InsufficientPrivilege):
            client.execute("INSERT INTO event VALUES (%s, %s, %s, %s, %s, %s, %s, %s)", (*parts, digest_of(*parts)))
        refused(client, f"DELETE FROM event WHERE seq = {seq}")
        refused(client, "UPDATE event SET who = 'somebody' WHERE seq = 2")
        refused(
            client, "INSERT INTO event VALUES (1, '', '', '', '', '', '', '') ON CONFLICT (seq) DO UPDATE SET who = ''"
        )
        refused(client, "MERGE INTO event USING (SELECT 1) s ON seq = 2 WHEN MATCHED THEN DELETE")
        refused(client, "SELECT * FROM event FOR UPDATE")


# -- the doors ---------------------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("unmoved")
def test_nothing_but_the_doors_is_called(yard: Harbour) -> None:
    with yard.forger("all") as client:
        functions = client.execute(
            "SELECT p.proname, p.prorettype = 'trigger'::regtype, coalesce((SELECT string_agg(format("
            "'NULL::%%s AS a%%s', format_type(a.type, NULL), a.place), ', ' ORDER BY a.place) FROM "
            "unnest(p.proargtypes) "
            "WITH ORDINALITY a (type, place)), '1 AS none'), array_to_string(ARRAY(SELECT 'a' || g FROM "
            "generate_series(1, p.pronargs) g), ', ') FROM pg_proc p WHERE pronamespace = %s::regnamespace",
            (f"{yard.schema}_roles",),
        ).fetchall()
        assert {name for name, *_ in functions} > set(DOORS)
        for name, trigger, nulls, names in functions:
            if name not in DOORS and not trigger:  # a guard is no function that anybody calls
                refused(client, f"SELECT {yard.schema}_roles.{name}({names}) FROM (SELECT {nulls} OFFSET 0) given")
    with yard.forger("rea") as client:  # a reader not even those
        for name, given in (("append", "'', 'batch.refused', '{}'"), ("lock_head", ""), ("keep_text", "'', ''")):
            refused(client, f"SELECT {yard.schema}_roles.{name}({given})")


def test_who_when_number_and_digest_are_not_the_clients(yard: Harbour) -> None:
    told = {"who": "somebody", "at": "1999-01-01T00:00:00.000Z", "seq": 1, "digest": "0" * 64, "prev": GENESIS}
    with yard.forger("pru") as client:
        for extra in range(1, 6):
            with pytest.raises(errors.UndefinedFunction):
                call(client, yard, "append", *["x"] * (3 + extra))
        seq, at, who, station, kind, body, prev, digest = append(client, yard, "batch.refused", told)
        head = client.execute("SELECT * FROM event ORDER BY seq DESC LIMIT 1").fetchone()
    assert head == (seq, at, who, station, kind, body, prev, digest)
    assert who == yard.login("pru")
    assert at > "2026-01-01"
    assert digest == digest_of(seq, at, who, station, kind, body, prev)
    assert json.loads(body) == told


@pytest.mark.usefixtures("unmoved")
def test_a_clients_settings_change_nothing_of_what_is_judged(yard: Harbour) -> None:
    with yard.forger("pru") as client:
        client.execute(
            "SET TimeZone = 'Pacific/Kiritimati'; SET DateStyle = 'SQL, DMY'; SET quote_all_identifiers = on"
        )
        client.execute("SET transform_null_equals = on; SET extra_float_digits = -15; SET bytea_output = 'escape'")
        client.execute("SET standard_conforming_strings = off; SET application_name = 'keeper'; SET row_security = off")
        client.execute("BEGIN")
        seq, at, *rest = append(client, yard, "batch.refused", {"é": "'", "b": ["\\", '\u0001\u007f"\n']})
        assert digest_of(seq, at, *rest[:-1]) == rest[-1]
        assert at.endswith("Z")
        assert rest[0] == yard.login("pru")
        client.execute("ROLLBACK")
        for kind in ("batch.approved", "run.begun"):
            with pytest.raises(psycopg.Error, match="may not do this"):
                append(client, yard, kind, {})


@pytest.mark.usefixtures("unmoved")
@pytest.mark.parametrize("isolation", ["REPEATABLE READ", "SERIALIZABLE"])
def test_nobody_writes_by_an_old_view_of_the_book(yard: Harbour, isolation: str) -> None:
    with yard.forger("pru") as client:
        client.execute(f"BEGIN ISOLATION LEVEL {isolation}".encode())
        client.execute("SELECT count(*) FROM event")
        with pytest.raises(psycopg.Error, match="read committed"):
            append(client, yard, "batch.refused", {})


@pytest.mark.usefixtures("unmoved")
def test_no_kind_that_the_role_may_not_write(yard: Harbour) -> None:
    kinds = {kind for kinds in ALLOWED.values() for kind in kinds}
    for person, hand in (("pru", "preparer"), ("ada", "approver"), ("pip", "printer")):
        with yard.forger(person) as client:
            for kind in sorted(kinds - set(ALLOWED[hand])):
                with pytest.raises(psycopg.Error, match="may not do this"):
                    append(client, yard, kind, {"batch": 2, "account": "main"})
            for kind in ("book.begun", "book.ended", "", "x'; DROP TABLE event; --"):
                with pytest.raises(psycopg.Error, match=r"may not do this|begins once"):
                    append(client, yard, kind, {})


@pytest.mark.usefixtures("unmoved")
def test_nobody_becomes_another(yard: Harbour) -> None:
    with yard.forger("pru") as client:
        others = (yard.owner, yard.login("ada"), f"cheques_{yard.schema}_approver", "keeper")
        for other in others:
            refused(client, f"SET ROLE {other}")
            refused(client, f"SET SESSION AUTHORIZATION {other}")
            refused(client, f"GRANT {other} TO {yard.login('pru')}")
        refused(client, f"ALTER ROLE {yard.login('pru')} SUPERUSER")
        refused(client, "CREATE ROLE another SUPERUSER")
        refused(client, "SELECT pg_read_file('/etc/passwd')")
        refused(client, "COPY (SELECT 1) TO PROGRAM 'true'")
        client.execute(f"SET ROLE cheques_{yard.schema}_preparer".encode())  # his own: he is himself all the same
        client.execute("BEGIN")
        assert append(client, yard, "batch.refused", {})[2] == yard.login("pru")
        client.execute("ROLLBACK")


@pytest.mark.usefixtures("unmoved")
def test_nothing_that_he_makes_himself_is_found_by_the_doors(yard: Harbour) -> None:
    mine = f"mine_{uuid.uuid4().hex[:8]}"
    yard._as_keeper(f"CREATE SCHEMA {mine} AUTHORIZATION {yard.login('pru')}")
    with yard.forger("pru") as client:
        refused(client, f"CREATE FUNCTION {yard.schema}.law() RETURNS int LANGUAGE sql AS 'SELECT 1'")
        refused(client, f"CREATE FUNCTION {yard.schema}_roles.law() RETURNS int LANGUAGE sql AS 'SELECT 1'")
        for statement in (
            f"CREATE FUNCTION {mine}.must(text) RETURNS void LANGUAGE sql AS 'SELECT'",
            f"CREATE FUNCTION {mine}.may(text) RETURNS boolean LANGUAGE sql AS 'SELECT true'",
            f"CREATE FUNCTION {mine}.law({yard.schema}.event, boolean, text) RETURNS void LANGUAGE sql AS 'SELECT'",
            f"CREATE FUNCTION {mine}.sha256(bytea) RETURNS bytea LANGUAGE sql AS $$SELECT 'x'::bytea$$",
            f"CREATE FUNCTION {mine}.same(text, text) RETURNS boolean LANGUAGE sql AS 'SELECT true'",
            f"CREATE OPERATOR {mine}.= (LEFTARG = text, RIGHTARG = text, FUNCTION = {mine}.same)",
            f"CREATE OPERATOR {mine}.<> (LEFTARG = text, RIGHTARG = text, FUNCTION = {mine}.same)",
            "CREATE TEMP TABLE allowed AS SELECT 'run.begun'::text AS kind, 'preparer'::text AS hand",
            f"CREATE TEMP TABLE hand AS SELECT 'preparer'::text AS name, '{yard.login('pru')}'::name::text AS rolname",
            "CREATE TEMP TABLE asks (duty text, account text, amount bigint)",
            "CREATE TEMP TABLE mark AS SELECT 'head'::text AS name, ''::text AS value",
            f"CREATE TEMP TABLE event (LIKE {yard.schema}.event)",
            "CREATE TEMP TABLE batch AS SELECT 2::bigint AS id, 'accepted'::text AS state",
            "CREATE TEMP TABLE pg_roles AS SELECT * FROM pg_catalog.pg_roles",
            f"SET search_path = {mine}, pg_temp, pg_catalog, {yard.schema}",
        ):
            client.execute(statement.encode())
        with pytest.raises(psycopg.Error, match="may not do this"):
            append(client, yard, "run.begun", {"batch": 2})
        client.execute("BEGIN")
        seq, *_ = append(client, yard, "batch.refused", {"tried": "shadows"})
        found = client.execute(f"SELECT kind FROM {yard.schema}.event WHERE seq = {seq}".encode()).fetchone()
        assert found == ("batch.refused",)
        assert client.execute("SELECT count(*) FROM pg_temp.event").fetchone() == (0,)
        client.execute("ROLLBACK")
        client.execute("BEGIN")
        with pytest.raises(psycopg.Error, match=r"nobody approves a batch that he accepted|may not do this"):
            append(client, yard, "batch.approved", {"batch": 2, "proof": "x"})


# -- duties and numbers ------------------------------------------------------------------------------------------------


def begun(yard: Harbour, **changes: Any) -> dict[str, Any]:
    with yard.open("owner") as book:
        proof = book.value("SELECT proof FROM batch WHERE id = 2")
        run = book.value("SELECT max(id) + 1 FROM run")
    told = {"run": run, "batch": 2, "account": "main", "printer": "p", "address": "a", "language": "escp9"}
    return {**told, "proof": proof, "forms": [[100510, 1, 4]], **changes}


@pytest.mark.usefixtures("unmoved")
def test_nobody_approves_what_he_accepted_nor_prints_what_nobody_approved(yard: Harbour) -> None:
    with yard.forger("pip") as client, pytest.raises(psycopg.Error, match="batch 2 is printed once somebody"):
        append(client, yard, "run.begun", begun(yard))
    with yard.forger("all") as client:
        client.execute("BEGIN")
        proof = accepted_by_hand(client, yard)
        with pytest.raises(psycopg.Error, match="nobody approves a batch that he accepted"):
            append(client, yard, "batch.approved", {"batch": 3, "proof": proof})


def accepted_by_hand(client: Client, yard: Harbour, **changes: Any) -> str:
    payments = payday(2, start=300)
    digest = client.execute("SELECT digest FROM content LIMIT 1").fetchone()[0]  # type: ignore[index]
    for payment in payments:
        call(client, yard, "keep_payment", 3, payment.item, to_kept(payment), [])
    body = {"batch": 3, "account": "main", "form": FORM, "form_digest": digest, "currency": "USD", "items": 2,
            "hash": 0, "total": sum(p.amount for p in payments), "source": "s", "kind": "csv", "register": "",
            "pairs": "",
            "payments": payments_digest((p.item, to_text(p)) for p in payments)}  # fmt: skip
    seq = append(client, yard, "batch.accepted", {**body, **changes})[0]
    for item in (1, 2):
        call(client, yard, "keep_page", seq + 1, item, bytes(32))
    from cheque.book.event import pages_digest

    pages = pages_digest((item, "00" * 32) for item in (1, 2))
    append(client, yard, "proof.made", {"batch": 3, "proof": "f" * 64, "pages": pages})
    return "f" * 64


def test_no_number_but_its_own_from_the_box_for_a_payment_that_waits(yard: Harbour) -> None:
    with yard.open("ada") as book:
        duties.approve(book, 2)
        stock.receive(book, account="petty", form=FORM, first="200001", last="200100")
        stock.receive(book, account="main", form="voucher", first="300001", last="300100")
    before = everything(yard)
    with yard.forger("pip") as client:
        for told, changes in (
            ("is printed: it cannot become reserved", {"forms": [[100501, 1, 4]]}),
            ("is printed: it cannot become reserved", {"forms": [[100503, 1, 4]]}),
            ("on the form that it was accepted for", {"forms": [[200001, 1, 4]]}),
            ("not within one range of stock", {"forms": [[100599, 1, 4]]}),
            ("not all to be printed", {"forms": [[200001, 1, 4]], "account": "petty"}),
            ("on the form that it was accepted for", {"forms": [[300001, 1, 4]]}),
            ("not all to be printed", {"forms": [[100510, 1, 5]]}),
            ("not all to be printed|counted from 1", {"forms": [[100510, 0, 2]]}),
            ("waits for no form", {"forms": [[100510, 1, 2], [100520, 1, 2]]}),
            ("it cannot become reserved", {"forms": [[100510, 1, 2], [100511, 3, 2]]}),
            ("counted from 1", {"forms": [[100510, 1, -4]]}),
            ("counted from 1", {"forms": [[-100510, 1, 4]]}),
            ("counted from 1", {"forms": [[100510, 1, 0]]}),
            ("a run has a form", {"forms": []}),
            ("0 did", {"proof": ""}),
            ("0 did", {"proof": "0" * 64}),
            ("somebody|waits for no form|latest proof", {"batch": 1}),
            ("next number|duplicate key", {"run": 99}),
            ("next number|duplicate key", {"run": 1}),
            ("does not follow", {"continuations": [[100520, 1, 1]]}),
        ):
            with pytest.raises(psycopg.Error, match=told):
                append(client, yard, "run.begun", begun(yard, **changes))
    assert everything(yard) == before


@pytest.mark.usefixtures("unmoved")
def test_nothing_is_replayed(yard: Harbour) -> None:
    with yard.open("owner") as book:
        events = [(kind, body) for kind, body in book.rows("SELECT kind, body FROM event ORDER BY seq")]
    with yard.forger("all") as client:
        for kind, body in events:
            if kind not in ("batch.refused", "batch.approved"):
                with pytest.raises(psycopg.Error):
                    append(client, yard, kind, body)
    with (
        yard.forger("ada") as client,
        pytest.raises(psycopg.Error, match=r"approves the same proof twice|latest proof"),
    ):
        append(client, yard, "batch.approved", next(body for kind, body in events if kind == "batch.approved"))


@pytest.mark.usefixtures("unmoved")
def test_a_void_alone_or_by_who_asked_for_it(yard: Harbour) -> None:
    body = {"account": "main", "number": 100501, "reason": "r", "paper": "in hand"}
    with yard.forger("ada") as client:
        with pytest.raises(psycopg.Error, match="takes two people"):
            append(client, yard, "cheque.voided", body)
        client.execute("BEGIN")
        asked = append(client, yard, "second.asked", {"kind": "cheque.voided", "body": body})[0]
        client.execute("SAVEPOINT here")
        for changes in ({}, {"number": 100502}, {"paper": "returned"}, {"asked": 1}, {"asked": -asked}, {"asked": "1"}):
            with pytest.raises(psycopg.Error):
                append(client, yard, "cheque.voided", {**body, "asked": asked, **changes})
            client.execute("ROLLBACK TO here")
        client.execute("ROLLBACK")


# -- what is written beside the chain ----------------------------------------------------------------------------------


@pytest.mark.usefixtures("unmoved")
def test_what_no_event_speaks_of_is_not_kept(yard: Harbour) -> None:
    import hashlib

    text = "a text of nobody's"
    with yard.forger("pru") as client:
        with pytest.raises(psycopg.Error, match="belongs to an event"):
            call(client, yard, "keep_text", hashlib.sha256(text.encode()).hexdigest(), text)
        with pytest.raises(psycopg.Error, match="under its own digest"):
            call(client, yard, "keep_text", "0" * 64, text)
        with pytest.raises(psycopg.Error, match="belongs to an event"):
            call(client, yard, "keep_payment", 3, 1, to_kept(payday(1)[0]), [])
        for batch in (1, 2, 4, 0, -1):
            with pytest.raises(psycopg.Error, match="being accepted"):
                call(client, yard, "keep_payment", batch, 9, to_kept(payday(1)[0]), [])
        seq = client.execute("SELECT max(seq) FROM event").fetchone()[0]  # type: ignore[index]
        with pytest.raises(psycopg.Error, match="belongs to an event"):
            call(client, yard, "keep_page", seq + 1, 1, bytes(32))
        for other, pages in ((seq, bytes(32)), (seq + 2, bytes(32)), (seq + 1, bytes(31)), (seq + 1, b"")):
            with pytest.raises(psycopg.Error, match="proof that is being made"):
                call(client, yard, "keep_page", other, 1, pages)
        client.execute("BEGIN")
        call(client, yard, "keep_payment", 3, 1, to_kept(payday(1)[0]), [])
        with pytest.raises(psycopg.Error, match="belongs to an event"):
            client.execute("SET CONSTRAINTS ALL IMMEDIATE")


@pytest.mark.usefixtures("unmoved")
@pytest.mark.parametrize(
    ("told", "changes"),
    [
        ("whose digest it gives", {"payments": "0" * 64}),
        ("add up", {"total": 1}),
        ("add up", {"items": 1}),
        ("whose digest it gives|next number|being accepted", {"batch": 2}),
        ("next number|whose digest", {"batch": 7}),
        ("form definition is kept", {"form_digest": "0" * 64}),
        ("a reprint is a batch of one", {"replaces": {"number": 100501, "batch": 1, "item": 1}}),
        ("only advices|not one that was accepted", {"apart": {"batch": 1, "items": [[1, 2]]}}),
        ("no text", {"account": 7}),
        ("no whole number", {"items": "2"}),
    ],
)
def test_a_batch_is_what_its_event_says(yard: Harbour, told: str, changes: dict[str, Any]) -> None:
    with yard.forger("pru") as client:
        client.execute("BEGIN")
        with pytest.raises(psycopg.Error, match=told):
            accepted_by_hand(client, yard, **changes)


@pytest.mark.usefixtures("unmoved")
@pytest.mark.parametrize(
    "kept",
    [
        "", "[", "null", "{}", '["Ada"]', '["Ada",1,"2026-11-27"]', '["Ada",-1,"2026-11-27","r"]',
        '["Ada",1.5,"2026-11-27","r"]', '["Ada","1","2026-11-27","r"]', '["Ada",1,"2026-11-27","r",[]]',
        '["Ada", 1,"2026-11-27","r"]', '["Ada",1,"2026-11-27","r",[[9,"x"]]]', '["Ada",1,"2026-11-27","r",[[0]]]',
        '["Ada",1,"2026-11-27","r",[[0,"x",null]]]', '["Ada",1,"2026-11-27","r",[],[7]]',
        '["Ada",1,"2026-11-27","r",[],[],"","","","","","",null,"boss"]', '["\\u0041da",1,"2026-11-27","r"]',
        '["Ada",1,"2026-11-27","r",[],[],"","","","","","",0,"cheque"]', '["Ada",99999999999999999999,"d","r"]',
    ],
)  # fmt: skip
def test_a_payment_is_kept_as_it_is_written(yard: Harbour, kept: str) -> None:
    with yard.forger("pru") as client:
        client.execute("BEGIN")
        told = r"not kept as it is written|is no payment|no whole number of 64 bits|invalid input syntax"
        with pytest.raises(psycopg.Error, match=told):
            keep_and_accept(client, yard, kept)


def keep_and_accept(client: Client, yard: Harbour, kept: str) -> None:
    call(client, yard, "keep_payment", 3, 1, kept, [])
    append(client, yard, "batch.accepted", {"batch": 3, "account": "main", "payments": ""})


# -- bodies ------------------------------------------------------------------------------------------------------------

#: a body of every kind, lawful in its shape
BODIES: dict[str, dict[str, Any]] = {
    "batch.refused": {"why": "w"},
    "payment.pulled": {"batch": 2, "item": 1, "reason": "r"},
    "batch.withdrawn": {"batch": 2, "reason": "r"},
    "proof.made": {"batch": 2, "proof": "p", "pages": "0"},
    "batch.approved": {"batch": 2, "proof": "p"},
    "run.begun": {"run": 2, "batch": 2, "account": "main", "printer": "p", "address": "a", "language": "l",
                  "proof": "p", "forms": [[100510, 1, 4]], "continuations": [[100514, 4, 1]]},
    "run.sent": {"run": 2, "first": 100510, "last": 100513, "digest": "d", "length": 9, "k": 1},
    "run.stopped": {"run": 2, "cause": "c"},
    "run.finished": {"run": 2},
    "paper.seen": {"run": 2, "how": "h", "good": [[100510, 100511]], "blank": [], "spoiled": [[100512, 100512, "r"]],
                   "missing": [[100513, 100513, "r"]]},
    "stock.received": {"account": "main", "form": "f", "first": 900001, "last": 900100, "digits": 6},
    "stock.counted": {"account": "main", "first": 100501, "last": 100502, "counted": 1, "expected": 2},
    "stock.destroyed": {"account": "main", "first": 100590, "last": 100590, "witness": "w", "reason": "r"},
    "form.spoiled": {"account": "main", "first": 100591, "last": 100592, "reason": "r"},
    "form.missing": {"account": "main", "first": 100593, "last": 100594, "reason": "r"},
    "form.found": {"account": "main", "first": 100593, "last": 100593, "as": "spoiled", "reason": "r"},
    "numbers.moved": {"account": "main", "first": 100501, "last": 100502, "by": 1, "left": "spoiled", "reason": "r",
                      "approved": "a"},
    "shift.set": {"printer": "p", "form": "f", "right": 1, "down": -1},
    "custody.changed": {"account": "main", "first": 100501, "last": 100502, "place": "held", "to": "t"},
    "second.asked": {"kind": "cheque.voided", "body": {"account": "main", "number": 100501, "reason": "r",
                                                       "paper": "in hand"}},
    "second.dropped": {"asked": 9},
    "cheque.voided": {"account": "main", "number": 100501, "reason": "r", "paper": "in hand", "asked": 9},
    "cheque.manual": {"account": "main", "number": 100595, "batch": 2, "item": 1, "reason": "r", "asked": 9},
    "cheque.disposed": {"account": "main", "number": 100501, "disposition": "reissue", "reason": "r"},
    "stop.requested": {"account": "main", "number": 100501, "reason": "r", "told": "t", "on": "o", "notice": 0,
                       "by": "b"},
    "stop.confirmed": {"account": "main", "number": 100501, "by": "b", "on": "o", "lapses": "l", "spoken": 1,
                       "reason": "r", "told": "t"},
    "stop.renewed": {"account": "main", "number": 100501, "by": "b", "on": "o", "lapses": "l"},
    "stop.refused": {"account": "main", "number": 100501, "by": "b", "on": "o", "told": "t"},
    "stop.overridden": {"account": "main", "number": 100501, "reason": "r"},
    "notice.made": {"notice": 1, "what": "issued", "written": "text", "name": "n", "file": "f", "digest": "d",
                    "layout": "", "numbers": [["main", "issue", 100501, 100502]], "items": 2,
                    "totals": [["USD", 1]], "again": ""},
    "notice.sent": {"notice": 1, "by": "b", "on": "o"},
    "notice.accepted": {"notice": 1, "by": "b", "on": "o"},
    "notice.refused": {"notice": 1, "by": "b", "on": "o", "reason": "r"},
    "statement.read": {"account": "main", "statement": "s", "source": "s", "digest": "d", "first": "f", "last": "l",
                       "entries": 0, "fresh": 0, "lists": [], "opening": 1, "closing": 1},
}  # fmt: skip
NASTY: tuple[Any, ...] = (
    "'; DROP TABLE event; --", '"; --', "$f$; DROP TABLE event; $f$", "\\'; x", "%s %(a)s {0}", "é\u200b\U0001f4b8", "",
    -1, 0, 2**63 - 1, -(2**63) + 1, 2**63, 1.5, True, None, [], {}, [[-1, -1]], "x" * 100_000,
)  # fmt: skip


def wrong(body: Any) -> Iterator[Any]:
    """The body with one value after another put wrong, or left out."""
    if isinstance(body, dict):
        for key, value in body.items():
            yield {name: one for name, one in body.items() if name != key}
            for other in (*NASTY, *wrong(value)):
                yield {**body, key: other}
    elif isinstance(body, list):
        for place, value in enumerate(body):
            for other in (*NASTY[:12], *wrong(value)):
                yield [*body[:place], other, *body[place + 1 :]]


def test_every_field_of_every_kind_put_wrong_is_refused_or_is_what_the_book_would_have_done(tmp_path: Path) -> None:
    """What is let in is committed: the book is whole all the same, rebuilt by the tool's own rules, event by event."""
    assert {*BODIES, "batch.accepted"} | set(ALLOWED["owner"]) == {kind for kinds in ALLOWED.values() for kind in kinds}
    yard = Harbour(tmp_path, all=ALL)
    with yard.open("all") as book:
        stock.receive(book, account="main", form=FORM, first="100501", last="100600")
        for start in (0, 100):
            prove(book, accept(book, payday(4, start=start)))
        print_good(book, 1, 100501)
        proof = proof_of(book, 2)[0]
    tried = kept = 0
    with yard.forger("all") as client:
        for kind, body in BODIES.items():
            for one in wrong({**body, "proof": proof} if "proof" in body else body):
                tried += 1
                try:
                    event = append(client, yard, kind, one)
                except psycopg.InternalError:
                    raise
                except psycopg.Error:
                    continue
                kept += 1
                assert json.loads(event[5]) == one
        tables = client.execute("SELECT count(*) FROM pg_tables WHERE schemaname = %s", (yard.schema,)).fetchone()
    assert tables == (len(WRITTEN) + len(DERIVED),)
    assert tried > 1500
    assert kept > 100
    with yard.open("owner") as book:
        assert verify.verify(book) == []
        assert verify.identities(book) == []


@pytest.mark.usefixtures("unmoved")
@pytest.mark.parametrize(
    "text",
    [
        "", " ", "[", "{", '{"a":', "null", "[]", '"x"', "7", '{"a":1.5}', '{"a":true}', '{"a":null}', '{"a":1e400}',
        '{"a":9223372036854775808}', '{"a":"\\u0000"}', '{"a":"\\ud800"}', '{"a":' * 100_000, "{'a':1}", "{}{}",
        '{"a":' + "[" * 50_000 + "]" * 50_000 + "}",
    ],
    ids=str.__len__,
)  # fmt: skip
def test_a_body_that_is_none_is_refused(yard: Harbour, text: str) -> None:
    with yard.forger("pru") as client, pytest.raises(psycopg.Error):
        append(client, yard, "batch.refused", text)


@pytest.mark.usefixtures("unmoved")
def test_a_body_without_end_is_refused(yard: Harbour) -> None:
    with yard.forger("pru") as client:
        with pytest.raises(psycopg.Error, match="at most 16 MiB"):
            append(client, yard, "batch.refused", json.dumps({"a": "x" * (17 << 20)}))
        for given in ((None, "batch.refused", "{}"), ("s", None, "{}"), ("s", "batch.refused", None)):
            with pytest.raises(psycopg.Error):
                call(client, yard, "append", *given)
        with pytest.raises(psycopg.Error, match="at most 255 bytes"):
            call(client, yard, "append", "s" * 256, "batch.refused", "{}")


def test_a_body_is_kept_in_its_one_text_however_it_was_sent(yard: Harbour) -> None:
    with yard.forger("pru") as client:
        event = append(
            client, yard, "batch.refused", ' {"b" : 1e2, "a":"\\u0041\\/",\n"a" : "last", "é":[-0, {}], "aa":"" } '
        )
    assert event[5] == '{"a":"last","aa":"","b":100,"é":[0,{}]}'
    with yard.open("owner") as book:
        assert store_of(book).me
        assert verify.verify(book) == []
