"""The server, or the line to it, goes away at any moment: what is safe is done again, and nothing is guessed."""

import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest
from book.quillmere import FORM, Clock, accept, gated, payday, print_good, refused
from book.server import Server, shared

from cheque.book import batches, line, runs, stock, verify
from cheque.book.book import Book, create
from cheque.book.postgres import PostgresStore
from cheque.errors import BookRefused


@pytest.fixture(params=["plain", "roles"])
def book(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Book]:
    """A book on the server, whose tables the station writes; and one under roles, where the server appends."""
    with create(tmp_path / "station", server=shared().url(), who="clerk", station="counter", clock=Clock()) as book:
        if request.param == "roles":
            gated(book)
        stock.receive(book, account="main", form=FORM, first="501", last="600")
        yield book
        assert book._seen is None or book.row("SELECT 1 FROM event WHERE seq = ? AND digest = ?", *book._seen), (
            "what the station notes that it saw is in the chain"
        )


def store(book: Book) -> PostgresStore:
    assert isinstance(book.store, PostgresStore)
    return book.store


def cut(book: Book) -> None:
    """The server lets go of the book's connection, as it does when it goes down or the line breaks."""
    pid = store(book).line.db.info.backend_pid
    with psycopg.connect(f"host={shared().socket} user=keeper dbname=cheques", autocommit=True) as other:
        other.execute("SELECT pg_terminate_backend(%s, 5000)", (pid,))


def spoil(book: Book, number: int) -> None:
    stock.spoil(book, account="main", first=number, last=number, reason="torn")


def spoiled(book: Book) -> list[int]:
    with book.another() as other:
        assert verify.verify(other) == []
        return [row[0] for row in other.rows("SELECT number FROM number WHERE state = 'spoiled' ORDER BY number")]


def test_a_line_that_was_lost_while_nothing_went_on_is_made_anew(book: Book) -> None:
    cut(book)
    assert stock.on_hand(book, stock.ranges(book)[0], 501, 600) == [[501, 600]]
    cut(book)
    spoil(book, 501)
    assert spoiled(book) == [501]


def test_a_change_that_was_cut_off_is_done_again_by_itself(book: Book) -> None:
    batch = accept(book, payday(4))
    with book.change():
        spoil(book, 501)
        cut(book)
        spoil(book, 502)
        cut(book)
    assert spoiled(book) == [501, 502]
    cut(book)
    assert print_good(book, batch, 510) == [510, 511, 512, 513]


def test_a_part_that_was_given_up_stays_given_up_when_the_whole_is_done_again(book: Book) -> None:
    with book.change():
        spoil(book, 501)
        with refused(BookRefused, "is spoiled"):
            spoil(book, 501)
        spoil(book, 502)
        cut(book)
        spoil(book, 503)
    assert spoiled(book) == [501, 502, 503]


def test_a_change_that_was_cut_off_is_refused_when_another_station_wrote_meanwhile(book: Book) -> None:
    with (
        book.another() as other,
        refused(BookRefused, "another station wrote meanwhile", "Nothing changed"),
        book.change(),
    ):
        spoil(book, 501)
        cut(book)
        spoil(other, 502)
        spoil(book, 503)
    assert spoiled(book) == [502]
    spoil(book, 501)  # and the book can be used
    assert spoiled(book) == [501, 502]


def test_a_long_step_that_was_cut_off_is_refused_and_nothing_of_it_happened(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cheque.book.postgres.KEPT", 100)
    with refused(BookRefused, "in the midst of a long step", "Nothing changed"), batches.accepting(book) as acceptance:
        for payment in payday(501):
            acceptance.add(payment)
        cut(book)
        for payment in payday(501, start=501):
            acceptance.add(payment)
    assert batches.every(book) == []
    assert verify.verify(book) == []


def at_commit(monkeypatch: pytest.MonkeyPatch, then: Callable[[Callable[[], Any]], Any]) -> list[str]:
    """The next COMMIT goes as `then` says; it is given what truly commits."""
    raw, done = PostgresStore._raw, []

    def instead(self: PostgresStore, sql: str, given: tuple[Any, ...] = ()) -> Any:
        if sql == "COMMIT" and not done:
            done.append(sql)
            return then(lambda: raw(self, sql, given))
        return raw(self, sql, given)

    monkeypatch.setattr(PostgresStore, "_raw", instead)
    return done


def test_a_commit_that_happened_and_was_not_heard_of_is_found_by_its_digest(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unheard(commit: Callable[[], Any]) -> Any:
        commit()
        cut(book)
        return store(book).line.db.execute("SELECT 1")  # the line is found dead

    assert not at_commit(monkeypatch, unheard)
    spoil(book, 501)
    assert spoiled(book) == [501]
    assert book.head.seq == 3


def test_a_commit_that_never_arrived_is_made_again(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    def lost(commit: Callable[[], Any]) -> Any:
        cut(book)
        return commit()

    at_commit(monkeypatch, lost)
    spoil(book, 501)
    assert spoiled(book) == [501]
    assert book.head.seq == 3


def test_a_commit_that_never_arrived_is_refused_when_another_station_wrote_meanwhile(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    with book.another() as other:

        def overtaken(commit: Callable[[], Any]) -> Any:
            cut(book)
            spoil(other, 502)
            return commit()

        at_commit(monkeypatch, overtaken)
        with refused(BookRefused, "another station wrote meanwhile", "Nothing changed"):
            spoil(book, 501)
    assert spoiled(book) == [502]


def test_a_commit_of_which_nothing_can_be_learnt_is_said_to_be_uncertain(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    def away(commit: Callable[[], Any]) -> Any:
        commit()
        cut(book)
        monkeypatch.setattr(line, "RETURN", 0.0)
        monkeypatch.setattr(line.Line, "connect", unreachable)
        return store(book).line.db.execute("SELECT 1")

    def unreachable(self: line.Line, patience: float = 0) -> None:
        raise BookRefused("the server cannot be reached.")

    at_commit(monkeypatch, away)
    with refused(BookRefused, "Whether the last step is in the book is not certain", "cheque book verify"):
        spoil(book, 501)
    monkeypatch.undo()
    assert spoiled(book) == [501]


def test_what_was_read_while_the_line_broke_is_asked_for_again_and_a_view_is_given_up(book: Book) -> None:
    with refused(BookRefused, "while the book was read", "Do it again"), book.store.reading():
        assert book.head.seq == 2
        cut(book)
        assert book.head.seq == 2
    assert book.head.seq == 2


@pytest.mark.parametrize("how", ["plain", "roles"])
def test_a_server_that_is_killed_and_comes_back_loses_nothing_that_was_acknowledged(tmp_path: Path, how: str) -> None:
    server = Server()
    try:
        with create(tmp_path / "station", server=server.url(), clock=Clock()) as book:
            if how == "roles":
                gated(book)
            stock.receive(book, account="main", form=FORM, first="501", last="600")
            batch = accept(book, payday(4))
            run, planned = runs.begin(
                book, batch=batch, printer="payroom", address="", language="", first=501, count=0,
                proof=prove_it(book, batch),
            )  # fmt: skip
            for number, _ in planned:
                server.kill()
                back = threading.Timer(0.2, server.start)
                back.start()
                runs.sent(book, run, number, number, digest="0" * 64, length=1, k=0)
                back.join()
            assert [form.state for form in runs.forms(book, run)] == ["sent"] * 4
            assert verify.verify(book) == []
    finally:
        server.stop()


def prove_it(book: Book, batch: int) -> str:
    from book.quillmere import prove

    return prove(book, batch)


def test_a_station_that_holds_the_head_and_does_nothing_is_waited_for_and_then_named(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    with book.another() as other, other.change():
        store(book).line.db.execute("SET lock_timeout = '50ms'")
        with refused(BookRefused, "is in use by another station"):
            spoil(book, 501)
    spoil(book, 501)
    assert spoiled(book) == [501]
