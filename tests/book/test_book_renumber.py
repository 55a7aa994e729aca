"""The paper was a form off: good cheques are moved to the numbers they stand on, and both numbers are kept."""

import sqlite3
from pathlib import Path

import pytest
from book.quillmere import accept, begin, payday, print_good, printed, refused

from cheque.book import batches, cheques, renumber, runs, stock, story, verify
from cheque.book.book import Book, open_book
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused

WHY = "form 100503 was skipped: the two numbers differ from 100504 on"


def move(
    book: Book, first: int, last: int, by: int = 1, left: State = State.SPOILED, approved: str = "S. Mooring"
) -> None:
    renumber.move(book, account="main", first=first, last=last, by=by, left=left, reason=WHY, approved=approved)


def on(book: Book) -> dict[int, tuple[str, int]]:
    """Every number that left the box: its state and payment."""
    rows = book.rows("SELECT number, state, item FROM number ORDER BY number")
    return {number: (state, item) for number, state, item in rows}


def test_every_cheque_after_a_skipped_form_goes_one_number_on_and_the_skipped_form_is_spoiled(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path, 6)
    move(book, 100503, 100506)
    assert on(book) == {
        100501: ("printed", 1), 100502: ("printed", 2), 100503: ("spoiled", 0), 100504: ("printed", 3),
        100505: ("printed", 4), 100506: ("printed", 5), 100507: ("printed", 6),
    }  # fmt: skip
    assert story.struck_number(book, "main", 100504) == 100503
    assert story.struck_number(book, "main", 100507) == 100506
    assert story.struck_number(book, "main", 100502) is None
    assert verify.verify(book) == []
    assert stock.on_hand(book, stock.range_of(book, "main", 100501), 100501, 100600) == [[100508, 100600]]
    assert book.head.data == {
        "account": "main", "first": 100503, "last": 100506, "by": 1, "left": "spoiled", "reason": WHY,
        "approved": "S. Mooring",
    }  # fmt: skip


@pytest.mark.parametrize(("first", "last", "by"), [(100503, 100506, 2), (100501, 100506, 10), (100506, 100506, 1)])
def test_a_stretch_may_be_several_forms_off(tmp_path: Path, first: int, last: int, by: int) -> None:
    book, _, _ = printed(tmp_path, 6)
    before = on(book)
    move(book, first, last, by, State.MISSING)
    after = on(book)
    for number in range(first, last + 1):
        assert after[number + by] == before[number]
    assert [n for n, (state, _) in after.items() if state == "missing"] == list(range(first, min(first + by, last + 1)))
    assert verify.verify(book) == []


def test_a_stretch_may_be_moved_back_and_what_was_struck_is_not_forgotten(tmp_path: Path) -> None:
    book = begin(tmp_path)
    stock.receive(book, account="main", form="payroll-us", first="100501", last="100600")
    batch = accept(book, payday(4))
    print_good(book, batch, 100511)
    move(book, 100511, 100514, by=-1)
    assert sorted(n for n, (state, _) in on(book).items() if state == "printed") == [100510, 100511, 100512, 100513]
    assert on(book)[100514] == ("spoiled", 0)
    move(book, 100510, 100513, by=-1)
    assert story.struck_number(book, "main", 100509) == 100511
    assert on(book)[100513] == ("spoiled", 0)
    assert verify.verify(book) == []


def test_what_was_spoiled_in_the_run_goes_along(tmp_path: Path) -> None:
    from book.quillmere import see, send, start

    book = begin(tmp_path)
    stock.receive(book, account="main", form="payroll-us", first="100501", last="100600")
    batch = accept(book, payday(5))
    run, numbers = start(book, batch, 100501)
    send(book, run, numbers)
    see(book, run, good=[100501, 100502, 100504, 100505], spoiled={100503: "torn"})
    move(book, 100502, 100505)
    assert on(book)[100504] == ("spoiled", 3)
    assert on(book)[100502] == ("spoiled", 0)
    assert batches.waiting(book, batch) == [3]
    assert verify.verify(book) == []
    assert print_good(book, batch, 100507) == [100507]


def test_after_a_move_the_cheque_is_known_by_its_paper(tmp_path: Path) -> None:
    book, batch, _ = printed(tmp_path, 6)
    move(book, 100503, 100506)
    found = cheques.get(book, "main", 100507)
    assert found is not None
    assert (found.state, found.item) == (State.PRINTED, 6)
    kinds = [event.kind for event in story.history(book, "main", 100507)]
    assert kinds.index("run.begun") < kinds.index("run.sent") < kinds.index("paper.seen") < kinds.index("numbers.moved")
    cheques.void(book, account="main", number=100507, reason="wrong hours", paper="in hand")
    assert cheques.reprint_source(book, "main", 100507).payment.item == 6
    assert [(run.first, run.last) for run in runs.of_batch(book, batch)] == [(100501, 100507)]
    assert verify.verify(book) == []


def test_what_no_run_printed_or_is_no_longer_good_is_not_moved(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path, 6)
    before = book.head
    with refused(BookRefused, "100507 is on hand"):
        move(book, 100503, 100507)
    with refused(BookRefused, "100504, which one of them comes to, is printed", "Move the whole stretch"):
        move(book, 100501, 100503)
    with refused(BookRefused, "not all of one box"):
        move(book, 100501, 100506, -1)
    with refused(UsageRefused, "--by 0"):
        move(book, 100503, 100506, 0)
    with refused(UsageRefused, "--by 51"):
        move(book, 100503, 100506, 51)
    with refused(UsageRefused, "the lower number first"):
        move(book, 100506, 100503)
    with refused(UsageRefused, "somebody else approves"):
        move(book, 100503, 100506, approved="Clerk")
    with refused(UsageRefused, "a second person"):
        move(book, 100503, 100506, approved=" ")
    with refused(UsageRefused, "spoiled or missing"):
        move(book, 100503, 100506, left=State.ON_HAND)
    assert book.head == before
    cheques.void(book, account="main", number=100505, reason="wrong hours", paper="in hand")
    with refused(BookRefused, "100505 is voided"):
        move(book, 100503, 100506)


def test_the_database_itself_lets_no_number_be_moved_without_the_event(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path, 6)
    book.close()
    with sqlite3.connect(tmp_path / "book" / "book.sqlite") as db:
        with pytest.raises(sqlite3.IntegrityError, match="one payment, for ever"):
            db.execute("UPDATE number SET number = 100507 WHERE number = 100506")
        db.execute("INSERT INTO struck VALUES ('main', 100507, 100506, 999)")
        with pytest.raises(sqlite3.IntegrityError, match="one payment, for ever"):
            db.execute("UPDATE number SET number = 100507 WHERE number = 100506")
        db.execute("UPDATE number SET number = 100507, seq = 999 WHERE number = 100506")
    db.close()
    with open_book(tmp_path / "book") as book:
        assert any("rows that the events do not give" in str(fault) for fault in verify.verify(book))


def test_a_book_of_the_version_before_is_given_its_new_tables_when_it_is_opened(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path, 6)
    book.close()
    with sqlite3.connect(tmp_path / "book" / "book.sqlite") as db:
        db.execute("DROP TRIGGER number_is_the_papers")
        db.execute("DROP TABLE struck")
        db.execute("PRAGMA user_version = 1")
    db.close()
    with open_book(tmp_path / "book", who="clerk") as book:
        move(book, 100503, 100506)
        assert verify.verify(book) == []
