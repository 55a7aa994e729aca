"""What the bank was told: a number goes out once, with the payment that it bears; what it refused was not told."""

from collections.abc import Sequence
from pathlib import Path

import pytest
from book.quillmere import CREW, accept, payday, print_good, printed, refused
from book.server import on_both as on_both

from cheque.book import cheques, notices, renumber, stock, stops, verify
from cheque.book.book import Book
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused

FIRST = 100501


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """A box of forms, and six good cheques from 100501 on, batch 1."""
    return printed(tmp_path)[0]


def make(book: Book, *batches: int, again: str = "") -> int:
    """A notice of all that the bank has to be told of some batches."""
    telling = notices.Telling()
    with book.change() as change:
        notice = notices.next_id(book)
        for one in notices.to_tell(book, batches or (1,), again=bool(again)):
            telling.add(one)
        file = notices.File("text", f"notice-{notice}.txt", "0" * 64, "kind")
        notices.make(change, notice, "issued", telling, file, again)
    return notice


def told(book: Book, batches: Sequence[int] = (1,), *, again: bool = False) -> list[tuple[str, int]]:
    """What the bank has to be told, by mark and number."""
    return [(one.mark, one.number) for one in notices.to_tell(book, batches, again=again)]


def test_every_good_cheque_is_told_once(book: Book) -> None:
    assert told(book) == [("issue", FIRST + k) for k in range(6)]
    first = next(notices.to_tell(book, [1]))
    assert (first.text, first.payee, first.amount, first.currency) == ("100501", CREW[0], 81247, "USD")
    make(book)
    assert told(book) == []
    assert told(book, again=True) == [("issue", FIRST + k) for k in range(6)]
    assert notices.told(book, "main", FIRST) == 1
    assert verify.verify(book) == []


def test_what_the_bank_refused_was_not_told(book: Book) -> None:
    make(book)
    notices.settle(book, 1, "sent", by="the portal", on="2026-11-27")
    notices.settle(book, 1, "refused", by="Tidewrack Savings", on="2026-11-28", reason="a wrong total")
    assert len(told(book)) == 6
    assert notices.told(book, "main", FIRST) == 0
    make(book)
    notices.settle(book, 2, "sent", by="the portal", on="2026-11-28")
    notices.settle(book, 2, "accepted", by="Tidewrack Savings", on="2026-11-28")
    assert told(book) == []
    assert [one.state for one in notices.every(book)] == ["refused", "accepted"]


def test_a_notice_is_made_then_sent_then_answered_and_in_no_other_order(book: Book) -> None:
    make(book)
    with refused(BookRefused, "notice 1 is made, so it cannot become accepted", "Say first that it went out"):
        notices.settle(book, 1, "accepted", by="Tidewrack Savings", on="2026-11-28")
    notices.settle(book, 1, "sent", by="the portal", on="2026-11-27")
    with refused(BookRefused, "notice 1 is sent, so it cannot become sent"):
        notices.settle(book, 1, "sent", by="the portal", on="2026-11-27")
    with refused(UsageRefused, "why did the bank refuse it?"):
        notices.settle(book, 1, "refused", by="Tidewrack Savings", on="2026-11-27")
    notices.settle(book, 1, "accepted", by="Tidewrack Savings", on="2026-11-27")
    with refused(BookRefused, "notice 1 is accepted, so it cannot become refused"):
        notices.settle(book, 1, "refused", by="Tidewrack Savings", on="2026-11-27", reason="late")
    with refused(BookRefused, "there is no notice 7"):
        notices.settle(book, 7, "sent", by="the portal", on="2026-11-27")


def test_a_cheque_voided_in_hand_before_any_notice_is_never_told(book: Book) -> None:
    cheques.void(book, account="main", number=FIRST, reason="wrong hours", paper="in hand")
    assert told(book) == [("issue", FIRST + k) for k in range(1, 6)]
    assert notices.voided_since(book, "main") == []


def test_a_cheque_voided_after_its_notice_is_told_as_void_once(book: Book) -> None:
    make(book)
    cheques.void(book, account="main", number=FIRST, reason="wrong hours", paper="in hand")
    assert notices.voided_since(book, "main") == [(FIRST, 6, "")]
    assert told(book) == [("void", FIRST)]
    make(book)
    assert told(book) == []
    assert notices.voided_since(book, "main") == []


def test_a_voided_cheque_that_is_not_in_hand_wants_a_stop_and_not_a_void_mark(book: Book) -> None:
    make(book)
    cheques.void(book, account="main", number=FIRST, reason="lost in the post", paper="not in hand")
    assert told(book) == []
    assert notices.voided_since(book, "main") == [(FIRST, 6, "needed")]
    with book.change() as change:
        stops.request(change, account="main", number=FIRST, reason="lost", told="", notice=0, on="2026-11-27")
    assert notices.voided_since(book, "main") == []


def test_a_stopped_cheque_is_not_told_as_issued(book: Book) -> None:
    cheques.confirm_stop(book, account="main", number=FIRST, by="Tidewrack Savings", on="2026-11-27")
    assert ("issue", FIRST) not in told(book)


def test_reprints_and_cheques_written_by_hand_are_in(book: Book) -> None:
    make(book)
    cheques.void(book, account="main", number=FIRST, reason="wrong hours", paper="in hand")
    reprint = cheques.accept_reprint(book, cheques.reprint_source(book, "main", FIRST))
    print_good(book, reprint, FIRST + 10)
    late = accept(book, payday(2, start=40))
    cheques.by_hand(book, account="main", number=FIRST + 20, batch=late, item=1, reason="the printer is away")
    assert told(book) == [("void", FIRST), ("issue", FIRST + 10)]  # asked for by the batch it came from
    assert told(book, [reprint]) == [("issue", FIRST + 10)]
    assert told(book, [late]) == [("issue", FIRST + 20)]


def test_forms_that_carry_no_cheque_are_never_told(book: Book) -> None:
    stock.spoil(book, account="main", first=100590, last=100591, reason="lead-in")
    waiting = accept(book, payday(3, start=60))
    assert told(book, [waiting]) == []
    with refused(BookRefused, "bears no cheque"):
        notices.to_stop(book, "main", 100590)
    telling = notices.Telling()
    telling.add(next(notices.to_tell(book, [1]))._replace(number=100590))
    with refused(BookRefused, "a notice tells of cheques"), book.change() as change:
        notices.make(change, 1, "issued", telling, notices.File("text", "n.txt", "0" * 64))


def test_renumbered_cheques_are_told_anew(book: Book) -> None:
    make(book)
    renumber.move(
        book, account="main", first=FIRST, last=FIRST + 5, by=1, left=State.SPOILED,
        reason="a form was skipped", approved="Cora Selwick",
    )  # fmt: skip
    wrong = list(notices.to_tell(book, [1]))
    assert [one.number for one in wrong] == [FIRST + k for k in range(1, 7)]
    assert [notices.told_otherwise(book, one) for one in wrong] == [True] * 5 + [False]


def test_notices_are_named_after_the_book_and_in_order(book: Book) -> None:
    make(book)
    make(book, again="the bank lost it")
    names = [one.name for one in notices.every(book)]
    assert names == [f"{book.identity[:8].upper()}-{n:06d}" for n in (1, 2)]
    numbers = book.value("SELECT body FROM event WHERE kind = 'notice.made' ORDER BY seq LIMIT 1")
    assert '"numbers":[["main","issue",100501,100506]]' in numbers


def test_the_instruction_that_told_of_a_cheque_is_found_for_its_stop(book: Book) -> None:
    assert notices.to_stop(book, "main", FIRST).earlier == ""
    telling = notices.Telling()
    with book.change() as change:
        for one in notices.to_tell(book, [1]):
            telling.add(one)
        notices.make(change, 1, "issued", telling, notices.File("camt.107", "n.xml", "0" * 64))
    assert notices.to_stop(book, "main", FIRST).earlier == notices.name_of(book, 1)


def test_what_is_untold_and_what_is_only_made_is_listed(book: Book) -> None:
    numbers = list(range(FIRST, FIRST + 6))
    assert notices.untold(book, "main", numbers) == (numbers, {})
    make(book)
    assert notices.untold(book, "main", numbers) == ([], {1: numbers})
    notices.settle(book, 1, "sent", by="the portal", on="2026-11-27")
    assert notices.untold(book, "main", numbers) == ([], {})
