"""A book carried from a folder to a server and back: event by event, whole, and never in use in two places."""

from collections.abc import Callable
from pathlib import Path

import pytest
from book.quillmere import FORM, accept, payday, print_good, printed, refused
from book.server import shared

from cheque.book import batches, cheques, moving, stock, story, verify
from cheque.book.apply import places as kinds
from cheque.book.book import FILE, Book, open_book
from cheque.book.moving import Place
from cheque.errors import BookRefused, InputRefused, Refusal

TABLES = ("payment", "content", "proof_page", "number", "stock", "tally", "batch", "claim", "run", "touch")


def full(folder: Path) -> Book:
    book, _, _ = printed(folder)
    cheques.void(book, account="main", number=100502, reason="wrong hours", paper="in hand")
    accept(book, [p._replace(payee="Zoë Ångström-Łukasiewicz") for p in payday(3, start=20)])
    (book.place / "registers" / "0123").write_text("a register as it came")
    return book


def held(book: Book) -> dict[str, list[object]]:
    return {table: sorted(book.rows(f"SELECT * FROM {table}")) for table in TABLES}


def opened(place: Place) -> Book:
    return open_book(place.folder, server=place.server)


@pytest.fixture
def there(tmp_path: Path) -> Place:
    """A place for a book on the server."""
    return Place(tmp_path / "station", shared().url())


def test_a_book_goes_to_a_server_and_back_with_everything_in_it(tmp_path: Path, there: Place) -> None:
    with full(tmp_path) as book:
        before, events, here = held(book), list(verify.events(book)), Place(book.place)
    counted: list[int] = []
    moving.move(here, there, progress=counted.append)
    assert counted == list(range(1, len(events) + 2))
    with opened(there) as moved:
        assert verify.verify(moved) == []
        assert list(verify.events(moved))[: len(events)] == events
        assert [event.kind for event in verify.events(moved)][len(events) :] == [kinds.MOVED, kinds.ARRIVED]
        assert held(moved) == before
        print_good(moved, 2, 100510)
        after = held(moved)
    assert (there.folder / "registers" / "0123").read_text() == "a register as it came"
    back = Place(tmp_path / "again")
    moving.move(there, back)
    with opened(back) as home:
        assert held(home) == after
        assert verify.verify(home) == []
        assert (back.folder / FILE).stat().st_mode & 0o077 == 0
        stock.spoil(home, account="main", first=100590, last=100590, reason="torn")


def test_where_a_book_was_nothing_more_is_written_and_it_says_where_it_went(tmp_path: Path, there: Place) -> None:
    full(tmp_path).close()
    here = Place(tmp_path / "book")
    moving.move(here, there)
    with opened(here) as left:
        with refused(BookRefused, "has moved to postgresql://", "Name that place in the settings"):
            stock.spoil(left, account="main", first=100590, last=100590, reason="torn")
        assert verify.verify(left) == []  # it can be read for ever
        assert stock.state_of(left, "main", 100501) == "printed"
    with refused(BookRefused, "has arrived at", "use it there"):
        moving.move(here, there)
    with refused(BookRefused, "was on its way to"):
        moving.move(here, Place(tmp_path / "third"))
    moving.move(there, Place(tmp_path / "fourth"))
    with opened(there) as left, refused(BookRefused, "has moved to"):
        stock.spoil(left, account="main", first=100590, last=100590, reason="torn")


@pytest.mark.parametrize("to_server", [True, False])
@pytest.mark.parametrize("step", ["copy", "copy_into", "_registers", "open_book", "verify", "settle"])
def test_a_move_that_is_cut_off_anywhere_goes_on_from_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, to_server: bool
) -> None:
    """At every such moment no two places take anything more."""
    full(tmp_path).close()
    here = Place(tmp_path / "book")
    target = Place(tmp_path / "station", shared().url()) if to_server else Place(tmp_path / "other")

    class Cut(BaseException):
        pass

    calls = 0

    def cut(*_: object, **__: object) -> object:
        nonlocal calls
        calls += 1
        if step == "open_book" and calls == 1:
            return open_book(here.folder)
        raise Cut

    with monkeypatch.context() as patched:
        if step == "verify":
            patched.setattr(moving.verifying, "verify", lambda book: [] if book.place == here.folder else cut())
        elif step == "settle":
            patched.setattr(Book, "settle", cut)
        else:
            patched.setattr(moving, step, cut)
        with pytest.raises(Cut):
            moving.move(here, target)
    with opened(here) as left, refused(BookRefused, "has moved to"):
        stock.spoil(left, account="main", first=100590, last=100590, reason="torn")
    if step == "settle":  # it arrived, and only where it lives was not noted yet
        return
    if moving.is_there(target.folder, target.server):
        with opened(target) as halfway, pytest.raises((BookRefused, InputRefused, Refusal)):
            stock.spoil(halfway, account="main", first=100590, last=100590, reason="torn")
    moving.move(here, target)
    with opened(target) as moved:
        assert verify.verify(moved) == []
        stock.spoil(moved, account="main", first=100590, last=100590, reason="torn")


def test_a_move_that_fails_leaves_the_book_in_use_where_it_is(
    tmp_path: Path, there: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    full(tmp_path).close()

    def full_disk(*_: object) -> None:
        raise BookRefused("the server's disk is full.")

    monkeypatch.setattr(moving, "copy_into", full_disk)
    with refused(BookRefused, "disk is full"):
        moving.move(Place(tmp_path / "book"), there)
    with opened(Place(tmp_path / "book")) as book:
        stock.spoil(book, account="main", first=100590, last=100590, reason="torn")
        assert verify.verify(book) == []
    monkeypatch.undo()
    moving.move(Place(tmp_path / "book"), there)


def test_a_book_that_never_arrived_is_taken_back_only_where_nothing_came_to_be(
    tmp_path: Path, there: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    full(tmp_path).close()
    here = Place(tmp_path / "book")
    with opened(here) as book, refused(BookRefused, "nothing to take back"):
        moving.stay(book)

    class Cut(BaseException):
        pass

    def cut(*_: object) -> None:
        raise Cut

    with monkeypatch.context() as patched:
        patched.setattr(moving, "copy", cut)
        with pytest.raises(Cut):
            moving.move(here, there)
    with opened(here) as book:
        moving.stay(book)
        stock.spoil(book, account="main", first=100590, last=100590, reason="torn")
    with monkeypatch.context() as patched:
        patched.setattr(moving, "_registers", cut)
        with pytest.raises(Cut):
            moving.move(here, there)
    with opened(here) as book, refused(BookRefused, "may have arrived there"):
        moving.stay(book)
    moving.move(here, there)


def test_a_book_is_not_moved_over_another_nor_to_itself(tmp_path: Path, there: Place) -> None:
    full(tmp_path).close()
    here = Place(tmp_path / "book")
    with refused(InputRefused, "are the same place"):
        moving.move(here, Place(tmp_path / "." / "book"))
    (tmp_path / "two").mkdir()
    full(tmp_path / "two").close()
    with refused(BookRefused, "holds a book already"):
        moving.move(here, Place(tmp_path / "two" / "book"))
    with opened(here) as book:
        assert book.head.kind != kinds.MOVED
        stock.spoil(book, account="main", first=100590, last=100590, reason="torn")


def test_a_book_that_is_not_whole_is_not_moved(tmp_path: Path, there: Place) -> None:
    with full(tmp_path) as book, book.store.writing():
        book.store.execute("UPDATE tally SET forms = forms + 1 WHERE state = 'printed'")
    with refused(BookRefused, "is not whole, so it is not moved"):
        moving.move(Place(tmp_path / "book"), there)
    with opened(Place(tmp_path / "book")) as book:
        assert book.head.kind != kinds.MOVED


def test_a_book_on_a_server_is_copied_to_a_file_while_others_write(tmp_path: Path, there: Place) -> None:
    full(tmp_path).close()
    moving.move(Place(tmp_path / "book"), there)
    with opened(there) as book:
        head = story.backup(book, tmp_path / "copy.sqlite")
        assert head == book.head
        assert (tmp_path / "copy.sqlite").stat().st_mode & 0o077 == 0
        from cheque.book.book import open_copy

        with open_copy(tmp_path / "copy.sqlite") as copy:
            assert held(copy) == held(book)
            assert verify.verify(copy) == []
            assert batches.get(copy, 2).items == 3


@pytest.mark.parametrize(
    "forge",
    [
        "UPDATE event SET who = 'somebody' WHERE seq = 5",
        "UPDATE payment SET body = replace(body, 'Ada', 'Ida') WHERE item = 1",
        "DELETE FROM payment WHERE batch = 2 AND item = 3",
    ],
)
def test_what_was_altered_on_the_way_is_found(
    tmp_path: Path, there: Place, monkeypatch: pytest.MonkeyPatch, forge: str
) -> None:
    """Somebody writes into the copy before it is proved: the book does not arrive."""
    full(tmp_path).close()
    whole: Callable[..., None] = moving.copy

    def altered(book: Book, target: Place, progress: moving.Progress) -> None:
        whole(book, target, progress)
        from cheque.book.book import on_server

        store = on_server(target.server)
        with store.writing():
            for table in ("event", "payment"):
                store.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
            store.execute(forge)
            for table in ("event", "payment"):
                store.execute(f"ALTER TABLE {table} ENABLE TRIGGER USER")
        store.close()

    monkeypatch.setattr(moving, "copy", altered)
    with refused(BookRefused, "is not whole; the book goes nowhere"):
        moving.move(Place(tmp_path / "book"), there)
    assert FORM
