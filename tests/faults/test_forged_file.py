"""A book in a file, and a thief with the module `sqlite3`: nothing prevents him, and `book verify` finds what he did.

The attacker's list, item by item. What is not found is told too: a chain that he computed anew from the first altered
event to the last is a good chain, and only a digest on paper from before shows it.
"""

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from book.quillmere import FORM, Clock, accept, payday, print_good, prove

from cheque.book import stock, verify
from cheque.book.book import create, open_copy
from cheque.book.event import digest_of
from cheque.book.schema import DERIVED
from cheque.errors import BookRefused

Db = sqlite3.Connection
WRITTEN = ("event", "payment", "content", "proof_page")


@pytest.fixture(scope="module")
def payroom(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book's file: batch 1 printed on 100501 to 100504, batch 2 proved and waiting."""
    place = tmp_path_factory.mktemp("payroom")
    with create(place / "book", who="clerk", station="counter", clock=Clock()) as book:
        stock.receive(book, account="main", form=FORM, first="100501", last="100600")
        prove(book, accept(book, payday(4)))
        print_good(book, 1, 100501)
        prove(book, accept(book, payday(4, start=100)))
        file = book.store.path
    copy = place / "copy.sqlite"
    with closing(sqlite3.connect(file)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        db.execute("PRAGMA journal_mode = DELETE")
    shutil.copy(file, copy)
    return copy


@pytest.fixture
def file(payroom: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(payroom, tmp_path / "book.sqlite"))


@pytest.fixture
def thief(file: Path) -> Iterator[Db]:
    """The file opened by hand, the guards of all tables taken down and set up again when he is done."""
    with closing(sqlite3.connect(file, isolation_level=None)) as db:
        yield db


def unguarded(db: Db, steal: Callable[[Db], object]) -> None:
    guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in guards:
        db.execute(f"DROP TRIGGER {name}")
    steal(db)
    for _, statement in guards:
        db.execute(statement)


def found(file: Path, digest: str = "") -> str:
    try:
        with open_copy(file) as book:
            return "\n".join(map(str, verify.verify(book, digest=digest)))
    except BookRefused as refusal:  # so damaged that it is not even opened
        return refusal.message


def test_what_nobody_touched_is_whole(file: Path) -> None:
    assert found(file) == ""


def test_the_guards_refuse_the_careless(thief: Db) -> None:
    for statement in (
        "UPDATE event SET who = 'x' WHERE seq = 2",
        "DELETE FROM event WHERE seq = 9",
        "INSERT INTO event VALUES (3, '', '', '', '', '', '', '')",
        "UPDATE payment SET body = ''",
        "DELETE FROM content",
        "UPDATE number SET item = 9 WHERE number = 100501",
        "DELETE FROM number WHERE number = 100501",
    ):
        with pytest.raises(sqlite3.IntegrityError):
            thief.execute(statement)


@pytest.mark.parametrize("table", [*WRITTEN, *DERIVED])
def test_a_row_edited_in_any_table_is_found(file: Path, thief: Db, table: str) -> None:
    columns = [row[1:3] for row in thief.execute(f"PRAGMA table_info({table})")]
    rows = thief.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
    if not rows:  # a table that this payday leaves empty: a row put in is found
        values = ", ".join("1" if kind == "INTEGER" else "'x'" for _, kind in columns)
        unguarded(thief, lambda db: db.execute(f"INSERT INTO {table} VALUES ({values})"))
    else:
        name, kind = columns[-1]
        other = {"INTEGER": f"{name} + 1", "TEXT": f"{name} || 'x'", "BLOB": "zeroblob(32)"}[kind]
        where = f"rowid = (SELECT max(rowid) FROM {table})" if table in ("event", "stock", "batch", "run") else "true"
        where = "seq = (SELECT max(seq) FROM batch_event)" if table == "batch_event" else where
        unguarded(thief, lambda db: db.execute(f"UPDATE {table} SET {name} = {other} WHERE {where}"))
    assert found(file)


@pytest.mark.parametrize("table", [*WRITTEN, *DERIVED])
def test_a_row_deleted_from_any_table_is_found(file: Path, thief: Db, table: str) -> None:
    if thief.execute(f"SELECT count(*) FROM {table}").fetchone() == (0,):
        unguarded(thief, lambda db: db.execute(f"DROP TABLE {table}"))
    else:
        unguarded(thief, lambda db: db.execute(f"DELETE FROM {table}"))
    assert found(file)


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("UPDATE event SET who = 'somebody' WHERE seq = 5", "text that was altered"),
        ("UPDATE event SET at = '1999-01-01T00:00:00.000Z' WHERE seq = 5", "text that was altered"),
        ("UPDATE event SET digest = lower(hex(zeroblob(32))) WHERE seq = 5", "text that was altered"),
        ("DELETE FROM event WHERE seq = 5", "no gap in the chain"),
        ("UPDATE payment SET body = replace(body, '81247', '91247')", "altered payments"),
        ("UPDATE claim SET payee = 'The Thief' WHERE batch = 2 AND item = 1", "table claim"),
        ("UPDATE number SET custody = 'mailed' WHERE number = 100501", "table number"),
        ("INSERT INTO approval VALUES (2, 'x', 'somebody', 9)", "table approval"),
        ("UPDATE content SET body = body || ' '", "altered text"),
    ],
)
def test_what_was_altered_is_named(file: Path, thief: Db, statement: str, told: str) -> None:
    unguarded(thief, lambda db: db.execute(statement))
    assert told in found(file)


def test_a_guard_taken_down_for_good_is_found(file: Path, thief: Db) -> None:
    thief.execute("DROP TRIGGER event_never_updated")
    assert "TRIGGER event_never_updated" in found(file)


def forge(db: Db, kind: str, body: str, who: str = "clerk") -> None:
    """An event put at the end of the chain, its digest right."""
    seq, prev = db.execute("SELECT seq, digest FROM event ORDER BY seq DESC LIMIT 1").fetchone()
    parts = (seq + 1, "2026-11-27T10:00:00.000Z", who, "counter", kind, body, prev)
    db.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?, ?, ?)", (*parts, digest_of(*parts)))


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("batch.approved", '{"batch":2,"proof":"x"}'),
        ("run.begun", '{"account":"main","address":"","batch":2,"forms":[[100501,1,4]],"language":"","printer":"p",'
         '"proof":"x","run":2}'),
        ("cheque.voided", '{"account":"main","number":100590,"paper":"in hand","reason":"r"}'),
        ("stock.received", '{"account":"main","digits":6,"first":100501,"form":"f","last":100510}'),
        ("form.spoiled", '{"account":"petty","first":1,"last":2,"reason":"r"}'),
        ("no.such.kind", "{}"),
    ],
)  # fmt: skip
def test_an_event_put_in_by_hand_that_the_book_would_have_refused_is_found(
    file: Path, thief: Db, kind: str, body: str
) -> None:
    forge(thief, kind, body)
    assert found(file)


def test_an_event_replayed_is_found(file: Path, thief: Db) -> None:
    for kind in ("run.sent", "paper.seen", "stock.received", "batch.accepted"):
        (body,) = thief.execute("SELECT body FROM event WHERE kind = ? LIMIT 1", (kind,)).fetchone()
        unguarded(thief, lambda db, k=kind, b=body: forge(db, k, b))  # type: ignore[misc]
        assert found(file)


def test_a_lawful_event_forged_under_another_name_is_not_found(file: Path, thief: Db) -> None:
    """On SQLite duties are a habit: an approval in somebody's name, with its row, cannot be told from a true one."""
    (proof,) = thief.execute("SELECT proof FROM batch WHERE id = 2").fetchone()
    forge(thief, "batch.approved", f'{{"batch":2,"proof":"{proof}"}}', who="ives")
    (seq,) = thief.execute("SELECT max(seq) FROM event").fetchone()
    thief.execute("INSERT INTO approval VALUES (2, ?, 'ives', ?)", (proof, seq))
    thief.execute("INSERT INTO batch_event VALUES (2, ?)", (seq,))
    assert found(file) == ""


def test_a_chain_computed_anew_is_found_by_the_digest_on_paper_alone(file: Path, thief: Db) -> None:
    paper = thief.execute("SELECT digest FROM event ORDER BY seq DESC LIMIT 1").fetchone()[0]

    def rewrite(db: Db) -> None:
        events = db.execute("SELECT * FROM event ORDER BY seq").fetchall()
        db.execute("DELETE FROM event")
        prev = "0" * 64
        for seq, at, who, station, kind, body, _, _ in events:
            parts = (seq, at, "somebody" if who == "clerk" else who, station, kind, body, prev)
            prev = digest_of(*parts)
            db.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?, ?, ?)", (*parts, prev))

    unguarded(thief, rewrite)
    assert found(file) == ""
    assert "no event with it" in found(file, digest=paper[:16])


def test_the_last_events_cut_off_are_found_by_the_digest_on_paper_alone(file: Path, thief: Db, tmp_path: Path) -> None:
    paper = thief.execute("SELECT digest FROM event ORDER BY seq DESC LIMIT 1").fetchone()[0]
    proof = "SELECT max(seq) FROM event WHERE kind = 'proof.made'"

    def cut(db: Db) -> None:
        (last,) = db.execute(proof).fetchone()
        db.execute("DELETE FROM proof_page WHERE seq = ?", (last,))
        db.execute("DELETE FROM event WHERE seq >= ?", (last,))
        db.execute("DELETE FROM batch_event WHERE seq >= ?", (last,))
        db.execute("UPDATE batch SET proof = '', proof_seq = 0 WHERE proof_seq >= ?", (last,))

    unguarded(thief, cut)
    assert found(file) == ""
    assert "no event with it" in found(file, digest=paper[:16])
