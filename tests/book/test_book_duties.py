"""No path around the commands breaks the duties that the book itself holds: it refuses the event, not only the ask."""

import pytest
from book.quillmere import FORM, accept, begin, payday, print_good, prove

from cheque.book import batches, cheques, duties, stock, verify
from cheque.errors import BookRefused


def as_person(book, who):
    book.who = who
    return book


@pytest.fixture
def proved(tmp_path):
    with begin(tmp_path) as book:
        as_person(book, "mara")
        batch = accept(book, payday(6))
        yield book, batch, prove(book, batch)


def forged(book, kind, body):
    with pytest.raises(BookRefused) as refused, book.change() as change:
        change.append(kind, body)
    return str(refused.value)


def test_an_approval_by_the_acceptor_is_no_event_of_the_book(proved):
    book, batch, digest = proved
    assert "that he accepted" in forged(book, "batch.approved", {"batch": batch, "proof": digest})


def test_an_approval_of_another_proof_is_no_event_of_the_book(proved):
    book, batch, _ = proved
    as_person(book, "ives")
    assert "latest proof" in forged(book, "batch.approved", {"batch": batch, "proof": "0" * 64})


def test_an_approval_is_kept_and_rebuilt(proved):
    book, batch, _ = proved
    as_person(book, "ives")
    assert duties.approve(book, batch) == 1
    as_person(book, "tobin")
    assert duties.approve(book, batch) == 2
    assert duties.approvals(book, batches.get(book, batch)) == ["ives", "tobin"]
    assert verify.verify(book) == []


def test_a_void_that_was_asked_for_is_done_by_another_and_once(proved):
    book, batch, _ = proved
    stock.receive(book, account="main", form=FORM, first="100501", last="100600")
    first, second, *_ = print_good(book, batch, 100501)
    cheques.void(book, account="main", number=first, reason="hours", paper="in hand", hands=duties.ASK)
    (asked,) = duties.waiting(book)
    body = {"account": "main", "number": first, "reason": "hours", "paper": "in hand", "asked": asked.seq}
    assert "another one than the first" in forged(book, "cheque.voided", body)
    as_person(book, "ives")
    assert "what was asked for" in forged(book, "cheque.voided", {**body, "reason": "other"})
    assert "what was asked for" in forged(book, "cheque.voided", {**body, "number": second})
    cheques.void(book, account="main", number=first, reason="hours", paper="in hand", hands=asked.seq)
    assert duties.waiting(book) == []
    assert "done once" in forged(book, "cheque.voided", body)
    assert verify.verify(book) == []
