"""A copy of a book gives the same numbers out twice, unless somebody first says what was done since it was made."""

import shutil
from pathlib import Path

import pytest
from book.quillmere import Clock, accept, payday, print_good, printed, prove, refused, start
from book.server import shared

from cheque.book import cheques, gaps, restoring, stock, story, verify, where
from cheque.book.book import FILE, Book, create, open_book, open_copy
from cheque.book.moving import Place
from cheque.errors import BookRefused, UsageRefused


def spoil(book: Book, number: int) -> None:
    stock.spoil(book, account="main", first=number, last=number, reason="torn")


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """A book with a payday printed to 100506, and a batch of four waiting."""
    book, _, _ = printed(tmp_path)
    accept(book, payday(4, start=30))
    book.close()
    return book.place


def test_a_book_that_stays_where_it_is_asks_nothing(kept: Path) -> None:
    with open_book(kept) as book:
        assert book.elsewhere == ""
        spoil(book, 100590)


def test_a_copied_folder_asks_before_anything_is_written_in_it(kept: Path, tmp_path: Path) -> None:
    shutil.copytree(kept, tmp_path / "copied")
    with open_book(tmp_path / "copied") as copied:
        assert stock.state_of(copied, "main", 100501) == "printed"  # it can be looked at
        with refused(UsageRefused, f"was last used at {kept}", "--moved", "--restored"):
            spoil(copied, 100590)
    with open_book(kept) as book:
        spoil(book, 100590)


def test_a_folder_that_was_moved_says_so_and_goes_on(kept: Path, tmp_path: Path) -> None:
    kept.rename(tmp_path / "moved")
    with open_book(tmp_path / "moved") as book:
        with refused(UsageRefused, "was last used at"):
            spoil(book, 100590)
        restoring.moved_here(book)
        spoil(book, 100590)
        assert [event.kind for event in verify.events(book)][-2:] == ["book.placed", "form.spoiled"]
    with open_book(tmp_path / "moved") as book:
        assert book.elsewhere == ""


def test_a_book_on_another_machine_asks(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(where, "machine", lambda: "another")
    with open_book(kept) as book, refused(UsageRefused, "on another machine"):
        spoil(book, 100590)


def test_a_file_put_back_in_the_same_folder_asks(kept: Path, tmp_path: Path) -> None:
    with open_book(kept) as book:
        story.backup(book, tmp_path / "copy.sqlite")
    shutil.copyfile(kept / FILE, tmp_path / "other.sqlite")
    (tmp_path / "other.sqlite").replace(kept / FILE)
    with open_book(kept) as book, refused(UsageRefused, "is not the one that was used there"):
        spoil(book, 100590)
    (tmp_path / "copy.sqlite").replace(kept / FILE)
    with open_book(kept) as book:
        with refused(UsageRefused, "is a copy, made as a backup"):
            spoil(book, 100590)
        restoring.moved_here(book)
        spoil(book, 100590)


def test_an_older_state_of_the_very_file_asks(kept: Path) -> None:
    """The disk was set back: the file is the same file, and lacks what was seen here."""
    older = (kept / FILE).read_bytes()
    with open_book(kept) as book:
        spoil(book, 100590)
    for path in kept.glob(f"{FILE}-*"):
        path.unlink()
    (kept / FILE).write_bytes(older)  # into the same file
    with open_book(kept) as book, refused(UsageRefused, "lacks event", "older copy"):
        spoil(book, 100591)


def test_a_restored_book_prints_nothing_before_every_number_up_to_the_head_is_accounted_for(
    kept: Path, tmp_path: Path
) -> None:
    with open_book(kept) as book:
        story.backup(book, tmp_path / "copy.sqlite")
        paper = book.head.digest
        print_good(book, 2, 100507)  # after the backup; then the disk dies
        later = book.head.digest
    target = Place(tmp_path / "restored")
    with open_copy(tmp_path / "copy.sqlite") as copy:
        with refused(UsageRefused, "which number is at the head", "main:100501-100600"):
            restoring.restore(copy, target, [])
        with refused(UsageRefused, "which is on no stock"):
            restoring.restore(copy, target, [("main", 7)])
        restoring.restore(copy, target, [("main", 100511)])
    with open_book(target.folder) as book:
        with refused(UsageRefused, "is a copy"):
            spoil(book, 100590)
        done = restoring.restored_here(book, [("main", 100511)], digest=later[:10])
        assert done == ([("main", 100507, 100510)], False)
        assert gaps.unaccounted(book)[0][1:] == (100507, 100510)
        proof = prove(book, 2)
        assert proof
        with refused(BookRefused, "nobody has said yet what became of main:100507-100510"):
            start(book, 2, 100511)
        for item, number in enumerate((100508, 100507, 100509), 1):  # they are on paper, and bear these payments
            cheques.by_hand(book, account="main", number=number, batch=2, item=item, reason="printed after the backup")
            if number == 100508:
                with refused(BookRefused, "main:100507-100507 and 1 more range: nothing is printed before"):
                    start(book, 2, 100511)
        with refused(BookRefused, "main:100510-100510"):
            start(book, 2, 100511)
        spoil(book, 100510)
        assert gaps.unaccounted(book) == []
        start(book, 2, 100511)
        assert verify.verify(book, digest=paper) == []


def test_a_restore_voids_every_proof_for_what_waits_may_have_been_printed(kept: Path) -> None:
    with open_book(kept) as book:
        prove(book, 2)
        restoring.restored_here(book, [("main", 100507)])
        with refused(BookRefused, "make a proof"):
            from cheque.book import runs

            runs.begin(
                book, batch=2, printer="p", address="", language="", first=100507, count=0, proof="0" * 64
            )  # fmt: skip


def test_no_path_around_the_commands_prints_over_a_gap(kept: Path) -> None:
    with open_book(kept) as book:
        restoring.restored_here(book, [("main", 100520)])
        proof = prove(book, 2)
        body = {
            "run": 2, "batch": 2, "account": "main", "printer": "p", "address": "", "language": "", "proof": proof,
            "forms": [[100530, 1, 4]],
        }  # fmt: skip
        with refused(BookRefused, "main:100507-100519 is not accounted for"), book.change() as change:
            change.append("run.begun", body)


def test_an_empty_box_and_an_untouched_one_leave_no_gap(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path, last="100506")
    stock.receive(book, account="main", form="payroll-us", first="100507", last="100600")
    stock.receive(book, account="petty", form="payroll-us", first="000001", last="000010")
    with refused(UsageRefused, "petty:000001-000010"):
        restoring.gaps_below(book, [("main", 100507)])
    assert restoring.gaps_below(book, [("main", 100507), ("petty", 1)]) == []
    assert restoring.gaps_below(book, [("main", 100601), ("petty", 11)]) == [
        ("main", 100507, 100600),
        ("petty", 1, 10),
    ]
    book.close()


def test_a_copy_that_is_not_whole_is_not_put_to_use(kept: Path) -> None:
    with open_book(kept) as book:
        with book.store.writing():
            book.store.execute("UPDATE tally SET forms = forms + 1 WHERE state = 'printed'")
        with refused(BookRefused, "is not whole"):
            restoring.restored_here(book, [("main", 100507)])


def test_a_schema_that_was_copied_on_the_server_asks(tmp_path: Path) -> None:
    """As after a dump that was read in again: the server gives what is new other numbers."""
    url = shared().url()
    with create(tmp_path / "station", server=url, clock=Clock()) as book:
        stock.receive(book, account="main", form="payroll-us", first="1", last="9")
        spoil(book, 1)
        schema = url.rpartition("=")[2]
        with book.store.writing():
            book.store.execute(f"ALTER SCHEMA {schema} RENAME TO {schema}_old")
            book.store.execute(f"CREATE SCHEMA {schema}")
            for (name,) in book.rows("SELECT tablename FROM pg_tables WHERE schemaname = ?", f"{schema}_old"):
                book.store.execute(f"ALTER TABLE {schema}_old.{name} SET SCHEMA {schema}")
    with open_book(tmp_path / "station", server=url) as book:
        with refused(UsageRefused, "was read into this server, or this schema, from a copy"):
            spoil(book, 2)
        restoring.moved_here(book)
        spoil(book, 2)
    with open_book(tmp_path / "station", server=url) as book:
        assert book.elsewhere == ""


def test_a_server_set_back_lacks_what_this_station_saw(tmp_path: Path) -> None:
    url = shared().url()
    with create(tmp_path / "station", server=url, clock=Clock()) as book:
        stock.receive(book, account="main", form="payroll-us", first="1", last="9")
        spoil(book, 1)
    where.note_seen(tmp_path / "station", 9, "0" * 64)
    with open_book(tmp_path / "station", server=url) as book, refused(UsageRefused, "lacks event 9"):
        spoil(book, 2)
