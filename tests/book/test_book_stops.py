"""Stops: asked for, confirmed, lapsed, renewed. A lapsed stop protects nothing."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from book.quillmere import Clock, printed, refused
from book.server import on_both as on_both

from cheque.book import cheques, stops, verify
from cheque.book.book import Book
from cheque.errors import BookRefused, UsageRefused

FIRST = 100501
MAIN = {"account": "main", "number": FIRST}


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Six good cheques from 100501 on; the first is voided, and not in hand."""
    found = printed(tmp_path)[0]
    cheques.void(found, account="main", number=FIRST, reason="lost in the post", paper="not in hand")
    return found


def at(book: Book, day: str) -> None:
    """Let the book's clock stand at noon of a day."""
    book.clock = Clock(datetime.fromisoformat(f"{day}T12:00:00").replace(tzinfo=UTC))


def confirmed(book: Book, lapses: str = "2027-05-27", *, spoken: bool = False) -> None:
    stops.confirm(book, **MAIN, what=stops.Confirmed("N. Vault", "2026-11-27", spoken, lapses, "lost"))


def request(book: Book) -> None:
    stops.check_request(book, "main", FIRST)
    with book.change() as change:
        stops.request(change, **MAIN, reason="lost", told="in the post", notice=0, on="2026-11-27")


def stop_of(book: Book) -> str:
    found = cheques.get(book, "main", FIRST)
    assert found
    return found.stop


def test_a_stop_is_asked_for_and_then_confirmed(book: Book) -> None:
    request(book)
    assert stop_of(book) == "requested"
    assert cheques.reprint_source(book, "main", FIRST).stop_needed  # asked is not given
    confirmed(book)
    found = stops.get(book, "main", FIRST)
    assert found
    assert (found.state, found.reason, found.told, found.by_whom) == ("confirmed", "lost", "in the post", "N. Vault")
    assert not cheques.reprint_source(book, "main", FIRST).stop_needed
    assert verify.verify(book) == []


def test_a_lapsed_stop_blocks_a_reprint_until_the_bank_gives_a_new_one(book: Book) -> None:
    confirmed(book)
    at(book, "2027-05-27")  # the last day on which it holds
    assert not cheques.reprint_source(book, "main", FIRST).stop_needed
    at(book, "2027-05-28")
    source = cheques.reprint_source(book, "main", FIRST)
    assert source.stop_needed
    with refused(BookRefused, "the bank's stop of it has lapsed"):
        cheques.accept_reprint(book, source)
    stops.confirm(book, **MAIN, what=stops.Confirmed("N. Vault", "2027-05-28", False, "2027-11-28"))
    assert not cheques.reprint_source(book, "main", FIRST).stop_needed


def test_a_stop_that_holds_is_not_confirmed_twice_nor_asked_for_again(book: Book) -> None:
    confirmed(book)
    with refused(BookRefused, "is in the book already"):
        confirmed(book)
    with refused(BookRefused, "in the book already, confirmed by N. Vault until 2027-05-27"):
        stops.check_request(book, "main", FIRST)


def test_a_stop_that_was_asked_for_is_asked_again_only_when_told_to(book: Book) -> None:
    request(book)
    with refused(BookRefused, "was asked to stop number 100501 of main already, and has not answered"):
        stops.check_request(book, "main", FIRST)
    assert stops.check_request(book, "main", FIRST, again=True) == "100501 of main"


def test_a_stop_is_renewed_while_it_holds_and_not_after(book: Book) -> None:
    with refused(BookRefused, "the bank has confirmed no stop"):
        stops.renew(book, **MAIN, by="N. Vault", on="2026-12-01", lapses="2027-06-01")
    confirmed(book, "2026-12-11", spoken=True)
    stops.renew(book, **MAIN, by="N. Vault", on="2026-12-11", lapses="2027-05-27")
    found = stops.get(book, "main", FIRST)
    assert found
    assert (found.lapses, found.spoken) == ("2027-05-27", 0)
    with refused(BookRefused, "lapsed on 2027-05-27, before 2027-06-01: a lapsed stop is not renewed"):
        stops.renew(book, **MAIN, by="N. Vault", on="2027-06-01", lapses="2027-12-01")
    with refused(UsageRefused, "wanted a later day"):
        stops.renew(book, **MAIN, by="N. Vault", on="2027-05-01", lapses="2027-05-01")


def test_a_refused_stop_leaves_the_cheque_as_dangerous_as_it_was(book: Book) -> None:
    request(book)
    stops.refuse(book, **MAIN, by="Tidewrack Savings", on="2026-11-28", told="no such account")
    assert stop_of(book) == "needed"
    assert cheques.reprint_source(book, "main", FIRST).stop_needed
    request(book)  # and may be asked for again
    confirmed(book)
    with refused(BookRefused, "it did not refuse it"):
        stops.refuse(book, **MAIN, by="Tidewrack Savings", on="2026-11-28", told="")


def test_a_stop_whose_end_nobody_knows_holds_until_somebody_says_otherwise(book: Book) -> None:
    confirmed(book, "")
    at(book, "2036-11-27")
    assert not cheques.reprint_source(book, "main", FIRST).stop_needed
    assert not stops.lapsed(book, "main", FIRST, "2036-11-27")


def test_there_is_nothing_to_stop_in_the_box(book: Book) -> None:
    with refused(BookRefused, "there is nothing for a bank to stop"):
        stops.check_request(book, "main", 100599)


def test_what_waits_for_an_answer_is_found_by_its_number(book: Book) -> None:
    assert stops.waiting(book, FIRST) == []
    request(book)
    assert [one.account for one in stops.waiting(book, FIRST)] == ["main"]
