"""Forms whose two numbers differ, told of and put right in one step, or not at all."""

from pathlib import Path

import pytest
from book.quillmere import accept, begin, payday, send, start

from cheque.book import batches, doubt, offset, runs, stock, story
from cheque.book.book import Book
from cheque.book.doubt import InDoubt
from cheque.book.offset import Off
from cheque.book.state import State
from cheque.book.verify import verify
from cheque.errors import BookRefused, Refusal, UsageRefused


def under_way(folder: Path, forms: int, sent: int, first: int = 100501) -> tuple[Book, InDoubt]:
    """A run of so many forms, of which so many were sent before it stopped."""
    book = begin(folder)
    stock.receive(book, account="main", form="payroll-us", first="100501", last="100600")
    batch = accept(book, payday(forms))
    run, numbers = start(book, batch, first)
    send(book, run, numbers[:sent])
    runs.stopped(book, run, "the paper jammed")
    return book, doubt.in_doubt(book, runs.get(book, run))


def on(book: Book) -> dict[int, tuple[str, int]]:
    """Every number that left the box: its state and payment."""
    rows = book.rows("SELECT number, state, item FROM number ORDER BY number")
    return {number: (state, item) for number, state, item in rows}


def off(first: int, by: int = 1, left: State = State.SPOILED, approved: str = "S. Mooring") -> Off:
    """How the paper was found to stand."""
    return Off(first, by, left, "the two numbers differ", approved)


@pytest.mark.parametrize("struck", [100503, 100530])
def test_a_wrong_number_keyed_in_spoils_the_form_that_was_struck_and_no_other(tmp_path: Path, struck: int) -> None:
    book, found = under_way(tmp_path, 6, 1)
    offset.began_elsewhere(book, found, struck, "a wrong number was keyed in")
    assert {number: state for number, (state, _) in on(book).items()} == {struck: "spoiled"}
    assert len(batches.waiting(book, 1)) == 6
    assert verify(book) == []


@pytest.mark.parametrize(("sent", "struck"), [(1, 100501), (2, 100503), (1, 100601)])
def test_it_is_refused_when_the_numbers_agree_or_more_may_be_struck(tmp_path: Path, sent: int, struck: int) -> None:
    book, found = under_way(tmp_path, 6, sent)
    before = on(book)
    with pytest.raises(Refusal):
        offset.began_elsewhere(book, found, struck, "a wrong number was keyed in")
    assert on(book) == before


def test_a_form_skipped_before_the_run_stopped_is_put_right_while_it_is_told_of(tmp_path: Path) -> None:
    """Six were sent; 100503 was skipped, and payment 6 was crumpled on 100507: 100503 to 100506 bear 3 to 5."""
    book, found = under_way(tmp_path, 10, 6)
    offset.settle(book, found, off(100503), last_good=100505, spoiled={}, after={100507: "crumpled"}, how="resume")
    assert on(book) == {
        100501: ("printed", 1), 100502: ("printed", 2), 100503: ("spoiled", 0), 100504: ("printed", 3),
        100505: ("printed", 4), 100506: ("printed", 5), 100507: ("spoiled", 0),
    }  # fmt: skip
    assert batches.waiting(book, 1) == [6, 7, 8, 9, 10]
    assert story.struck_number(book, "main", 100506) == 100505
    assert runs.get(book, found.run.id).state == "closed"
    assert verify(book) == []


def test_a_bad_form_within_the_stretch_goes_with_it(tmp_path: Path) -> None:
    book, found = under_way(tmp_path, 6, 6)
    offset.settle(book, found, off(100502), last_good=100506, spoiled={100504: "torn"}, after={}, how="confirm")
    assert on(book) == {
        100501: ("printed", 1), 100502: ("spoiled", 0), 100503: ("printed", 2), 100504: ("printed", 3),
        100505: ("spoiled", 4), 100506: ("printed", 5), 100507: ("printed", 6),
    }  # fmt: skip
    assert batches.waiting(book, 1) == [4]
    assert verify(book) == []


def test_a_bad_form_at_the_stretchs_beginning_counts_among_the_spoiled(tmp_path: Path) -> None:
    book, found = under_way(tmp_path, 4, 4)
    offset.settle(book, found, off(100502), last_good=100504, spoiled={100502: "torn"}, after={}, how="confirm")
    assert [state for state, _ in on(book).values()] == ["printed", "spoiled", "spoiled", "printed", "printed"]
    assert batches.waiting(book, 1) == [2]
    assert verify(book) == []


def test_a_run_that_began_a_form_too_high_is_moved_back(tmp_path: Path) -> None:
    book, found = under_way(tmp_path, 3, 3, first=100502)
    offset.settle(book, found, off(100502, -1), last_good=100504, spoiled={}, after={}, how="confirm")
    printed = {number: item for number, (state, item) in on(book).items() if state == "printed"}
    assert printed == {100501: 1, 100502: 2, 100503: 3}
    assert verify(book) == []


@pytest.mark.parametrize(
    ("told", "last_good", "spoiled", "after", "kind"),
    [
        (off(100503, approved="clerk"), 100505, {}, {}, UsageRefused),  # who enters it does not approve it
        (off(100503, approved=" "), 100505, {}, {}, UsageRefused),
        (off(100503), 100507, {}, {}, BookRefused),  # it was never sent
        (off(100503), 100505, {100505: "torn"}, {}, BookRefused),  # the last good one is not good
        (off(100506), 100505, {}, {}, BookRefused),  # it begins after the last good one
        (off(100490), 100505, {}, {}, BookRefused),
        (off(100503), 100505, {}, {100505: "torn"}, BookRefused),  # a good cheque comes to stand there
        (off(100503, 99), 100505, {}, {}, UsageRefused),
        (off(100503, left=State.MISSING), 100505, {100503: "torn"}, {}, UsageRefused),
    ],
)
def test_what_is_not_so_is_refused_and_nothing_is_entered(
    tmp_path: Path, told: Off, last_good: int, spoiled: dict[int, str], after: dict[int, str], kind: type[Refusal]
) -> None:
    book, found = under_way(tmp_path, 10, 6)
    before = on(book)
    with pytest.raises(kind):
        offset.settle(book, found, told, last_good=last_good, spoiled=spoiled, after=after, how="resume")
    assert on(book) == before
    assert runs.get(book, found.run.id).state == "stopped"
