"""A book on a PostgreSQL server: the same book, held by the same laws, proved by the same means."""

import re
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from book.quillmere import FORM, Clock, accept, payday, print_good, refused
from book.server import shared

from cheque.book import batches, paid_before, stock, story, usual, verify
from cheque.book.book import Book, create, open_book, open_copy
from cheque.book.postgres import PostgresStore
from cheque.book.schema import DERIVED_VERSION
from cheque.errors import BookRefused, InputRefused


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with create(tmp_path / "station", server=shared().url(), who="clerk", station="counter", clock=Clock()) as book:
        stock.receive(book, account="main", form=FORM, first="100501", last="100600")
        yield book


def test_a_payday_on_a_server_is_whole(book: Book) -> None:
    batch = accept(book, payday(6))
    print_good(book, batch, 100501)
    assert verify.verify(book) == []
    assert verify.verify(book, digest=book.head.digest[:12]) == []
    with book.another() as again:
        assert again.head == book.head
        assert verify.identities(again) == []


def test_a_second_book_is_not_begun_over_the_first(book: Book, tmp_path: Path) -> None:
    with refused(BookRefused, "already", "schema="):
        create(tmp_path / "other", server=book.server)
    with book.another() as again:
        assert again.identity == book.identity


def test_a_book_begun_by_several_at_once_is_begun_by_one(tmp_path: Path) -> None:
    url, begun, told = shared().url(), [], []

    def begin(name: str) -> None:
        try:
            create(tmp_path / name, server=url, who=name).close()
            begun.append(name)
        except BookRefused as refusal:
            told.append(refusal.message)

    threads = [threading.Thread(target=begin, args=(f"station-{number}",)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(begun) == 1
    assert len(told) == 3
    assert all("already; use it" in text for text in told), told


def test_a_book_of_an_older_release_is_kept_aside_and_its_tables_made_anew(book: Book) -> None:
    print_good(book, accept(book, payday(3)), 100501)
    with book.store.writing():
        book.store.execute("UPDATE mark SET value = ? WHERE name = 'tables'", (str(DERIVED_VERSION - 1),))
        book.store.execute("DROP TABLE touch")
        book.store.execute("ALTER TABLE batch DROP COLUMN pairs")
    with book.another() as newer:
        assert newer.store.derived_version == DERIVED_VERSION
        assert verify.verify(newer) == []
        with open_copy(book.place / f"before-tables-{DERIVED_VERSION}.sqlite") as kept:
            assert kept.head == newer.head
    with book.store.writing():
        book.store.execute("UPDATE mark SET value = ? WHERE name = 'tables'", (str(DERIVED_VERSION + 1),))
    with refused(BookRefused, "written by a newer version"):
        book.another()


#: tables that grow with every payment
LARGE = ("event", "payment", "proof_page", "number", "claim", "touch", "invoice", "bank_item", "cleared", "struck")


#: an index that holds only what is out of the ordinary, and is read from end to end
FEW = "number_lost"


def read_through(book: Book, sql: str, parameters: tuple[object, ...]) -> list[str]:
    """The large tables that the server reads through for a statement, though it is told to use indexes if it can."""
    book.store.execute("SET enable_seqscan = off")
    plan = "\n".join(str(row[0]) for row in book.store.rows(f"EXPLAIN {sql}", *parameters))
    found = []
    for step in re.split(r"\n *-> *|\n *(?:SubPlan|InitPlan|CTE)[^\n]*", plan):
        scan = re.match(r"(Seq|Index|Index Only) Scan(?: Backward)?(?: using (\w+))? on (\w+)", step)
        if scan and scan[3] in LARGE and scan[2] != FEW and "Index Cond" not in step:
            found.append(scan[3])
    return found


def test_a_question_is_answered_by_an_index_there_too(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    first = accept(book, payday(24))
    print_good(book, first, 100501)
    waiting = accept(book, payday(3, start=30))
    (box,) = stock.ranges(book)
    asked: list[tuple[str, tuple[object, ...]]] = []
    rows = PostgresStore.rows

    def heard(store: PostgresStore, sql: str, *parameters: object) -> Iterator[tuple[object, ...]]:
        asked.append((sql, parameters))
        return rows(store, sql, *parameters)

    with monkeypatch.context() as ears:
        for name in ("rows", "stream"):
            ears.setattr(PostgresStore, name, heard)
        ears.setattr(PostgresStore, "row", lambda store, *what: next(heard(store, *what), None))
        for text in ("PR-0003", "100507", "812.47", "hwaite", "nobody at all"):
            story.search(book, text)
        stock.on_hand(book, box, box.first, box.last)
        batches.current(book, 1)
        assert [batches.left(book, batch) for batch in (first, waiting)] == [0, 3]
        batches.waiting(book, waiting)
        batches.held(book, first)
        batches.known_payee(book, "main", "Ada Thwaite")
        paid_before.nearly(book, payday(1)[0], "USD", 5)
        usual.usual(book, "main", "Ada Thwaite", before=9)
    assert len(asked) > 30
    assert {sql: tables for sql, given in asked if (tables := read_through(book, sql, given))} == {}
    for whole in ("SELECT count(*) FROM claim WHERE pulled <> ''", "SELECT payee FROM claim ORDER BY batch, item"):
        assert read_through(book, whole, ()) == ["claim"]


def test_where_there_is_no_book_the_message_says_how_one_is_begun(tmp_path: Path) -> None:
    with refused(BookRefused, "there is no book at postgresql://", "`cheque setup` begins one"):
        open_book(tmp_path / "station", server=shared().url())
    assert not (tmp_path / "station").exists()


def test_a_password_in_the_environment_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PGPASSWORD", "sesame")
    with refused(InputRefused, "PGPASSWORD", "~/.pgpass") as _:
        open_book(tmp_path / "station", server=shared().url())


def test_without_the_library_the_message_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "cheque.book.postgres", None)
    with refused(InputRefused, "which is not installed", "cheque[postgres]"):
        open_book(tmp_path / "station", server="postgresql:///cheques")


@pytest.mark.parametrize(
    "sql",
    [
        "ALTER TABLE event DISABLE TRIGGER event_follows",
        "DROP TRIGGER number_moves ON number",
        "CREATE OR REPLACE FUNCTION number_moves() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'",
        "DROP INDEX one_live_cheque",
        "CREATE TABLE beside (a TEXT)",
        "ALTER TABLE tally DROP CONSTRAINT tally_forms_check",
        "ALTER TABLE batch ADD COLUMN note TEXT",
        "CREATE RULE quiet AS ON DELETE TO event DO INSTEAD NOTHING",
    ],
)
def test_a_law_taken_out_of_the_database_is_found(book: Book, sql: str) -> None:
    with book.store.writing():
        book.store.execute(sql)
    assert verify.verify(book) != []


def test_a_derived_table_that_was_altered_is_found(book: Book) -> None:
    with book.store.writing():
        book.store.execute("UPDATE tally SET forms = forms + 1 WHERE state = 'on hand'")
    assert "table tally" in str(verify.verify(book)[0])


def test_outside_a_change_the_book_is_only_read(book: Book) -> None:
    with refused(BookRefused, "read-only"):
        book.store.execute("UPDATE tally SET forms = 0")
