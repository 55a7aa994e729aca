"""Whatever a disk or a database does is one refusal that says what to do; and a change is whole or nothing."""

import os
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from book.children import SOMEBODY, in_a_child
from book.quillmere import FORM, Clock, accept, again, begin, payday, printed, refused

from cheque.book import batches, stock, store, verify
from cheque.book.book import FILE, Book, create, open_book
from cheque.book.store import SqliteStore
from cheque.errors import BookRefused, InputRefused, UsageRefused


def spoil(book: Book, number: int = 100590) -> None:
    stock.spoil(book, account="main", first=number, last=number, reason="torn")


def test_what_fails_inside_a_change_leaves_nothing_of_it(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    before = book.head
    with suppress(ZeroDivisionError), book.change():
        spoil(book)
        spoil(book, 100591)
        raise ZeroDivisionError
    assert book.head == before
    assert stock.state_of(book, "main", 100590) == "on hand"
    assert verify.verify(book) == []


def test_a_change_inside_a_change_is_a_part_of_it(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    other, seq = again(book), book.head.seq
    with book.change() as outer, book.change() as inner:
        assert inner is outer
        spoil(book)
        assert other.head.seq == seq  # nobody else sees half of it
    assert other.head.seq == seq + 1


def test_a_part_that_fails_is_undone_by_itself(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    with book.change():
        spoil(book)
        with refused(BookRefused, "is spoiled, so it cannot become spoiled"):
            spoil(book)
        with suppress(ZeroDivisionError), book.change():
            spoil(book, 100591)
            raise ZeroDivisionError
        spoil(book, 100592)
    assert [stock.state_of(book, "main", n) for n in (100590, 100591, 100592)] == ["spoiled", "on hand", "spoiled"]
    assert verify.verify(book) == []


def test_an_event_cannot_be_appended_after_its_change_ended(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    with book.change() as change:
        pass
    with pytest.raises(RuntimeError, match="after its transaction ended"):
        change.append("run.finished", {"run": 1})


def test_a_transaction_does_not_begin_inside_another(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    with pytest.raises(RuntimeError, match="inside another"), book.store.writing(), book.store.writing():
        pass


def test_outside_a_change_the_database_itself_refuses_to_be_written(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    with refused(BookRefused, "cannot be written"):
        book.store.execute("DELETE FROM touch")
    spoil(book)
    with refused(BookRefused, "cannot be written"):
        book.row("DELETE FROM touch")
    with again(book) as opened, refused(BookRefused, "cannot be written"):
        opened.row("DELETE FROM touch")


def test_every_commit_is_synced_before_it_returns(tmp_path: Path) -> None:
    book = begin(tmp_path)
    assert book.value("PRAGMA journal_mode") == "wal"
    assert book.value("PRAGMA synchronous") == 2  # FULL: the log is synced at every commit


def test_one_view_does_not_change_while_others_write(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    other = again(book)
    with book.store.reading():
        seq = book.head.seq
        spoil(other)
        assert book.head.seq == seq
        with book.store.reading():
            assert book.head.seq == seq
    assert book.head.seq == seq + 1


def test_a_book_in_use_is_waited_for_and_then_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "PATIENCE", 0.05)
    book, _, _ = printed(tmp_path)
    other = again(book)
    with book.change():
        with refused(BookRefused, "is in use by another command", "then try again"):
            spoil(other)
        assert stock.state_of(other, "main", 100590) == "on hand"  # but it can still be read
    spoil(other)


def test_a_book_held_by_something_else_altogether_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "PATIENCE", 0.05)
    book, _, _ = printed(tmp_path)
    book.close()
    other = sqlite3.connect(book.place / FILE, isolation_level=None)
    other.execute("PRAGMA locking_mode = EXCLUSIVE")
    other.execute("BEGIN EXCLUSIVE")
    with refused(BookRefused, "is in use by another command"):
        open_book(book.place)
    other.close()


def test_a_full_disk_is_one_refusal_and_nothing_changed(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    before = book.head
    book.store.row(f"PRAGMA max_page_count = {book.value('PRAGMA page_count')}")
    with refused(BookRefused, "the disk is full", "Nothing changed; make room"):
        accept(book, payday(400, start=100))
    assert book.head == before
    assert verify.verify(book) == []
    book.store.row("PRAGMA max_page_count = 1000000")
    accept(book, payday(400, start=100))
    assert verify.verify(book) == []


@pytest.fixture
def street() -> Iterator[Path]:
    """A folder that another user may pass through, as pytest's own may not."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o711)
        yield Path(name)


def test_a_book_that_may_only_be_read_is_one_refusal(street: Path) -> None:
    book, _, _ = printed(street)
    book.close()
    if os.geteuid() == 0:
        for path in (book.place, *book.place.rglob("*")):
            os.chown(path, SOMEBODY, SOMEBODY)
    (book.place / FILE).chmod(0o400)
    book.place.chmod(0o500)

    def look() -> str:
        with refused(BookRefused, "read-only"):
            open_book(book.place)
        return "refused"

    try:
        assert in_a_child(look, user=SOMEBODY) == "refused"
    finally:
        book.place.chmod(0o700)


def test_a_folder_that_may_not_be_written_is_one_refusal(street: Path) -> None:
    book, _, _ = printed(street)
    book.close()
    if os.geteuid() == 0:
        for path in (book.place, *book.place.rglob("*")):
            os.chown(path, SOMEBODY, SOMEBODY)
    book.place.chmod(0o500)

    def look() -> str:
        with refused(BookRefused, "the book at", "cannot be"):
            open_book(book.place)
        return "refused"

    try:
        assert in_a_child(look, user=SOMEBODY) == "refused"
    finally:
        book.place.chmod(0o700)


def test_a_file_that_is_no_database_is_not_a_book(tmp_path: Path) -> None:
    (tmp_path / "book").mkdir(mode=0o700)
    (tmp_path / "book" / FILE).write_text("the pay book, on paper\n" * 400)
    with refused(BookRefused, "is not a book: the file is no database", "restore a backup"):
        open_book(tmp_path / "book")


def damage(path: Path, start: int, length: int = 600) -> None:
    with path.open("r+b") as file:
        file.seek(start)
        file.write(b"\xa5" * length)


def test_a_damaged_file_is_a_refusal_or_a_fault_wherever_the_damage_is(tmp_path: Path) -> None:
    """Every page in turn: no error of the database's own gets out, and none of the damage passes as whole."""
    book, _, _ = printed(tmp_path)
    accept(book, payday(60, start=50))
    book.close()
    path = book.place / FILE
    good = path.read_bytes()
    passed, pages = [], len(good) // 4096
    for page in range(pages):
        path.write_bytes(good)
        damage(path, page * 4096 + (100 if page == 0 else 0))
        try:
            with open_book(book.place) as broken:
                if not verify.verify(broken):
                    passed.append(page)
        except BookRefused:
            pass
    path.write_bytes(good)
    with open_book(book.place) as whole:
        assert verify.verify(whole) == []
        free = whole.value("PRAGMA freelist_count")
    assert pages > 20
    assert len(passed) <= free  # only a page in which nothing is kept


@pytest.mark.parametrize("left", [1, 100, 4096, 9000, 40_000])
def test_a_file_cut_short_is_a_refusal_or_a_fault(tmp_path: Path, left: int) -> None:
    book, _, _ = printed(tmp_path)
    book.close()
    os.truncate(book.place / FILE, left)
    try:
        with open_book(book.place) as broken:
            faults = verify.verify(broken)
    except BookRefused:
        return
    assert faults != []


def test_text_that_is_no_text_in_the_file_is_a_refusal(tmp_path: Path) -> None:
    book, batch, _ = printed(tmp_path)
    with book.store.writing():
        book.store.execute("UPDATE batch SET source = CAST(x'ff41' AS TEXT) WHERE id = ?", (batch,))
    with refused(BookRefused, "is damaged", "restore a backup"):
        batches.get(book, batch)


def test_a_number_larger_than_any_is_a_refusal(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    with refused(BookRefused, "at most 18 digits"):
        stock.range_of(book, "main", 10**20)


def test_bytes_of_another_encoding_are_a_refusal(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    with refused(BookRefused, "text only"):
        stock.range_of(book, "main\udce9", 100501)
    with refused(UsageRefused, "this cannot go into the book", "bytes of another encoding"):
        batches.refused(book, {"source": "payday-\udce9.csv"})


def test_a_closed_book_is_a_refusal(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    book.close()
    book.close()
    with refused(BookRefused, "cannot be used"):
        _ = book.head
    with refused(BookRefused, "cannot be used"):
        spoil(book)


def test_an_old_database_library_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 36, 0))
    with refused(BookRefused, "is too old for a book; wanted 3.37 or newer"):
        begin(tmp_path)


def test_a_file_system_without_shared_memory_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """SQLite answers with another journal mode there instead of failing; a database in memory does the same."""
    monkeypatch.setattr(SqliteStore, "_name", lambda self, read_only: ":memory:")
    with refused(BookRefused, "no shared memory for a write-ahead log", "Keep it on a local disk"):
        begin(tmp_path)


class Odd(sqlite3.OperationalError):
    """An error of the database with the code that SQLite gives it."""

    def __init__(self, code: int, text: str) -> None:
        super().__init__(text)
        self.sqlite_errorcode = code


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (sqlite3.SQLITE_BUSY_SNAPSHOT, ["is in use by another command"]),
        (sqlite3.SQLITE_LOCKED, ["is in use by another command"]),
        (sqlite3.SQLITE_FULL, ["the disk is full", "Nothing changed"]),
        (sqlite3.SQLITE_READONLY_DIRECTORY, ["read-only", "Nothing changed"]),
        (sqlite3.SQLITE_CANTOPEN_ISDIR, ["cannot be opened (words)"]),
        (sqlite3.SQLITE_PERM, ["belongs to somebody else"]),
        (sqlite3.SQLITE_NOTADB, ["is not a book"]),
        (sqlite3.SQLITE_CORRUPT_INDEX, ["is damaged (words)", "restore a backup"]),
        (sqlite3.SQLITE_IOERR_FSYNC, ["the disk failed, or is full (words)", "is not certain", "`cheque book verify`"]),
        (sqlite3.SQLITE_CONSTRAINT_UNIQUE, ["would break its own law (words)", "Nothing changed"]),
        (sqlite3.SQLITE_TOOBIG, ["too long"]),
        (sqlite3.SQLITE_NOMEM, ["memory ran out"]),
        (sqlite3.SQLITE_ERROR, ["cannot be used: words", "`cheque book verify`"]),
        (0, ["cannot be used: words"]),
    ],
)
def test_each_kind_of_trouble_has_its_own_message(code: int, words: list[str]) -> None:
    said = str(store._refusal(Path("/srv/book/book.sqlite"), Odd(code, "words")))
    assert said.startswith("the book at /srv/book/book.sqlite ")
    for word in words:
        assert word in said


def test_a_scratch_copy_that_fails_is_not_called_the_book() -> None:
    assert str(store._refusal("", Odd(sqlite3.SQLITE_FULL, "full"))).startswith(
        "the scratch copy of the book could not"
    )


def test_a_newer_book_is_refused_and_left_alone(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    with book.store.writing():
        book.store.derived_version = 999
    book.close()
    with refused(BookRefused, "was written by a newer version of this tool; use that one"):
        open_book(book.place)


def test_an_event_of_an_unknown_kind_is_refused(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    seq = book.head.seq
    with refused(BookRefused, "'cheque.eaten'", "written by a newer one"), book.change() as change:
        change.append("cheque.eaten", {"by": "goat"})
    assert book.head.seq == seq


def test_a_book_cannot_be_begun_on_a_full_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(place: Path, beginning: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("cheque.book.place.settle", full)
    with refused(InputRefused, "a book cannot be made at", "No space left on device"):
        create(tmp_path / "book", clock=Clock())
    assert sorted(path.name for path in (tmp_path / "book").iterdir()) == ["locks", "registers"]


def test_the_same_form_definition_is_kept_once(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    accept(book, payday(3, start=100))
    assert book.value("SELECT count(*) FROM content") == 1
    assert book.content(batches.get(book, 1).form_digest) == f"the definition of {FORM}"
    with refused(BookRefused, "the book lacks the text 0000000000000000…", "`cheque book verify`"):
        book.content("0" * 64)


def test_damage_found_while_rebuilding_is_the_books(tmp_path: Path) -> None:
    text = "Could not decode to UTF-8 column 'body' with text 'x'"
    assert str(store._refusal("", sqlite3.OperationalError(text))).startswith("the book is damaged (Could not decode")


def test_rows_that_are_not_read_to_their_end_are_let_go_of_quietly_on_a_disk_that_fails() -> None:
    class Failing(Iterator[tuple[int]]):
        def __next__(self) -> tuple[int]:
            return (1,)

        def close(self) -> None:
            raise sqlite3.OperationalError("database or disk is full")

    rows = SqliteStore("")._read(Failing())  # type: ignore[arg-type]
    assert next(rows) == (1,)
    rows.close()  # type: ignore[attr-defined]
