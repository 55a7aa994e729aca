"""A batch: a register accepted whole; payments pulled, batches withdrawn, proofs kept; what waits for a form."""

from pathlib import Path

import pytest
from book.quillmere import (
    FORM,
    accept,
    again,
    begin,
    payday,
    print_good,
    printed,
    proof_of,
    prove,
    refused,
    see,
    send,
    start,
)
from book.server import on_both as on_both

from cheque.book import batches, cheques, paid_before, runs, shifts, stock, verify
from cheque.book.book import Book
from cheque.errors import BookRefused, InputRefused, UsageRefused
from cheque.page import Shift
from cheque.payment import Kind, Role, StubLine


@pytest.fixture
def book(tmp_path: Path) -> Book:
    book = begin(tmp_path)
    stock.receive(book, account="main", form=FORM, first="100501", last="100600")
    return book


def test_the_payments_of_a_batch_read_back_as_they_were_accepted(book: Book) -> None:
    first = payday(1)[0]._replace(
        payee="Zoë Ångström-Łukasiewicz",
        address=("1 Slipway Lane", "Quillmere"),
        stub=(StubLine(Kind.EARNING, "Hours", 81_247, 1_000_000, hours="40.0", rate="20.31"),),
        hash_value=2101,
    )
    payments = [first, *payday(3)[1:]]
    batch = accept(book, payments)
    assert list(batches.payments(book, batch)) == payments
    assert batches.payment(book, batch, 1) == first
    assert batches.get(book, batch).items == 3
    assert batches.get(book, batch).total == sum(p.amount for p in payments)
    assert verify.verify(book) == []


def test_many_payments_are_accepted_in_one_go(book: Book) -> None:
    batch = accept(book, payday(1201))
    assert batches.waiting(book, batch) == list(range(1, 1202))
    assert verify.verify(book) == []


def test_a_batch_that_is_not_finished_never_was(book: Book) -> None:
    before = book.head
    with batches.accepting(book) as acceptance:
        acceptance.add(payday(1)[0])
    with refused(InputRefused, "the slip"), batches.accepting(book) as acceptance:
        for payment in payday(600):
            acceptance.add(payment)
        raise InputRefused("it does not agree with the slip")
    assert book.head == before
    assert batches.every(book) == []
    assert book.value("SELECT count(*) FROM payment") == 0


def test_an_attempt_that_was_refused_is_told_and_changes_nothing(book: Book) -> None:
    batches.refused(book, {"source": "payday.csv", "why": "two\nlines", "given_item_count": 24})
    assert book.head.data == {"source": "payday.csv", "why": "two\nlines", "given_item_count": 24}
    assert batches.every(book) == []


@pytest.mark.parametrize("ask", [batches.get, lambda b, n: batches.payment(b, n, 1), batches.withdraw])
def test_a_batch_that_is_not_there_is_refused(book: Book, ask: object) -> None:
    with refused(BookRefused, "no "):
        ask(book, 7, "r") if ask is batches.withdraw else ask(book, 7)  # type: ignore[operator]


def test_a_payment_that_is_not_there_is_refused(book: Book) -> None:
    batch = accept(book, payday(2))
    for what in (lambda: batches.payment(book, batch, 3), lambda: batches.pull(book, batch, 3, "left")):
        with refused(BookRefused, "batch 1 has no payment 3. `cheque batch show 1` lists them"):
            what()


def test_an_advice_is_no_money_out_and_takes_a_form_all_the_same(book: Book) -> None:
    advice = payday(2)[1]._replace(amount=0, role=Role.ADVICE)
    batch = accept(book, [payday(1)[0], advice])
    assert batches.get(book, batch).total == payday(1)[0].amount
    numbers = print_good(book, batch, 100501)
    assert [cheques.get(book, "main", n).role for n in numbers] == ["cheque", "advice"]  # type: ignore[union-attr]
    assert batches.waiting(book, batch) == []


def test_the_same_payment_is_known_from_earlier_batches_of_its_account(book: Book) -> None:
    batch, payment = accept(book, payday(3)), payday(3)[1]
    assert str(paid_before.payment(book, "main", payment)) == f"payment 2 of batch {batch}"
    assert paid_before.payment(book, "petty", payment) is None
    for change in ({"amount": 1}, {"payee": "Another"}, {"date": "2026-12-04"}, {"reference": "PR-9999"}):
        assert paid_before.payment(book, "main", payment._replace(**change)) is None
    batches.pull(book, batch, 2, "left the firm")
    assert paid_before.payment(book, "main", payment) is None
    batches.withdraw(book, batch, "the wrong week")
    assert paid_before.payment(book, "main", payday(3)[0]) is None


def test_a_payee_is_known_once_paid_by_the_account(book: Book) -> None:
    assert not batches.known_payee(book, "main", "Ada Thwaite")
    batch = accept(book, payday(1))
    assert batches.known_payee(book, "main", "Ada Thwaite")
    assert not batches.known_payee(book, "petty", "Ada Thwaite")
    assert not batches.known_payee(book, "main", "Ada Thwaite", before=batch)
    assert batches.known_payee(book, "main", "Ada Thwaite", before=batch + 1)


# pull and withdraw


def test_a_pulled_payment_waits_no_more_and_the_proof_is_void(book: Book) -> None:
    batch = accept(book, payday(3))
    proof = prove(book, batch)
    batches.pull(book, batch, 2, " left the firm ")
    assert batches.waiting(book, batch) == [1, 3]
    assert [p.item for p in batches.payments(book, batch)] == [1, 3]
    assert [p.item for p in batches.payments(book, batch, pulled=True)] == [1, 2, 3]
    assert batches.get(book, batch).proof == ""
    assert batches.page_digests(book, batch) == {}
    with refused(BookRefused, "the proof of batch 1 is not the latest one"):
        runs.begin(book, batch=batch, printer="p", address="", language="", first=100501, count=0, proof=proof)
    assert print_good(book, batch, 100501) == [100501, 100502]
    assert [cheques.get(book, "main", n).item for n in (100501, 100502)] == [1, 3]  # type: ignore[union-attr]


def test_a_payment_is_pulled_once_and_for_a_reason(book: Book) -> None:
    batch = accept(book, payday(2))
    with refused(UsageRefused, "a payment is pulled for a reason: give it with --reason"):
        batches.pull(book, batch, 1, " ")
    batches.pull(book, batch, 1, "left the firm")
    with refused(BookRefused, "payment 1 of batch 1 was pulled already: left the firm"):
        batches.pull(book, batch, 1, "again")


def test_a_payment_that_has_its_form_is_not_pulled(book: Book) -> None:
    batch = accept(book, payday(4))
    run, numbers = start(book, batch, 100501)
    with refused(BookRefused, "is on number 100501, which is reserved: it can only be voided"):
        batches.pull(book, batch, 1, "left")
    send(book, run, numbers[:3])
    with refused(BookRefused, "is on number 100501, which is sent"):
        batches.pull(book, batch, 1, "left")
    see(book, run, good=numbers[:1], spoiled={numbers[1]: "torn"}, missing={numbers[2]: "gone"}, blank=numbers[3:])
    with refused(BookRefused, "is on number 100501, which is printed"):
        batches.pull(book, batch, 1, "left")
    with refused(BookRefused, "is on number 100503, missing, which may bear a cheque: `cheque reprint 100503`"):
        batches.pull(book, batch, 3, "left")
    cheques.void(book, account="main", number=100501, reason="r", paper="in hand")
    with refused(BookRefused, "is on number 100501, which is voided: `cheque reprint 100501`"):
        batches.pull(book, batch, 1, "left")
    batches.pull(book, batch, 2, "its form was torn, and she left")
    batches.pull(book, batch, 4, "left")
    assert verify.verify(book) == []


def test_a_payment_whose_reprint_waits_is_pulled_there_and_not_here(book: Book) -> None:
    batch = accept(book, payday(1))
    run, numbers = start(book, batch, 100501)
    send(book, run, numbers)
    see(book, run, spoiled={100501: "torn"})
    reprint = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 100501))
    with refused(BookRefused, f"waits as a reprint, batch {reprint}: print or withdraw that"):
        batches.pull(book, batch, 1, "left")
    batches.pull(book, reprint, 1, "left")
    assert batches.waiting(book, reprint) == []


def test_a_batch_is_withdrawn_before_anything_of_it_was_printed(book: Book) -> None:
    batch = accept(book, payday(2))
    with refused(UsageRefused, "a batch is withdrawn for a reason: give it with --reason"):
        batches.withdraw(book, batch, "")
    prove(book, batch)
    batches.withdraw(book, batch, "the wrong week")
    assert batches.get(book, batch).state == "withdrawn"
    assert batches.waiting(book, batch) == []
    for what in (
        lambda: batches.withdraw(book, batch, "again"),
        lambda: batches.pull(book, batch, 1, "left"),
        lambda: prove(book, batch),
    ):
        with refused(BookRefused, "batch 1 was withdrawn; nothing more can be done with it"):
            what()
    with refused(BookRefused, "batch 1 was withdrawn; nothing of it can be printed"):
        start(book, batch, 100501)
    accept(book, payday(2))  # the corrected register
    assert verify.verify(book) == []


def test_a_batch_with_a_used_number_is_not_withdrawn(book: Book) -> None:
    batch = accept(book, payday(2))
    run, numbers = start(book, batch, 100501)
    with refused(BookRefused, "cannot be withdrawn: number 100501 of it is reserved", "Pull the payments"):
        batches.withdraw(book, batch, "the wrong week")
    see(book, run, blank=numbers)
    batches.withdraw(book, batch, "nothing of it was sent")
    assert verify.verify(book) == []


# proofs


def test_a_proof_is_kept_once_and_the_latest_counts(book: Book) -> None:
    batch = accept(book, payday(3))
    proof, pages = proof_of(book, batch)
    assert batches.proved(book, batch, proof, pages)
    seq = book.head.seq
    assert not batches.proved(book, batch, proof, pages)
    assert book.head.seq == seq
    assert batches.page_digests(book, batch) == dict(pages)
    assert [(item, digest) for item, _, digest in batches.proved_kept(book, batch, 2, 9)] == pages[1:]
    other = [(item, page[::-1]) for item, page in pages]
    assert batches.proved(book, batch, "f" * 64, other)
    assert batches.get(book, batch).proof == "f" * 64
    assert batches.page_digests(book, batch) == dict(other)
    assert batches.proved(book, batch, proof, pages)  # the first again
    assert batches.page_digests(book, batch) == dict(pages)
    assert verify.verify(book) == []


def test_two_batches_may_have_the_same_proof_and_each_keeps_its_own_pages(book: Book) -> None:
    """The second of two payments alike, pulled from one batch and alone in another: same pages, other items."""
    pair = [payday(1)[0], payday(1)[0]._replace(item=2)]
    one = accept(book, pair)
    batches.pull(book, one, 1, "there twice")
    other = accept(book, payday(1))
    assert prove(book, one) == prove(book, other)
    assert set(batches.page_digests(book, one)) == {2}
    assert set(batches.page_digests(book, other)) == {1}
    assert verify.verify(book) == []


def test_a_proof_shows_exactly_the_payments_that_are_to_be_printed(book: Book) -> None:
    batch = accept(book, payday(3))
    proof, pages = proof_of(book, batch)
    batches.pull(book, batch, 2, "left, while the proof was drawn")
    for shown in (pages, pages[:1], [*pages[::2], (9, "0" * 64)]):
        with refused(BookRefused, "was pulled or is new since the proof was drawn: make it again"):
            batches.proved(book, batch, proof, shown)
    assert batches.get(book, batch).proof == ""
    assert batches.proved(book, batch, proof, pages[::2])


# what waits


def test_a_payment_waits_until_it_is_on_a_form_that_may_be_good(book: Book) -> None:
    batch = accept(book, payday(5))
    assert batches.waiting(book, batch) == [1, 2, 3, 4, 5]
    assert batches.waiting(book, batch, 2) == [1, 2]
    run, numbers = start(book, batch, 100501, count=4)
    assert batches.waiting(book, batch) == [5]
    send(book, run, numbers[:3])
    assert batches.waiting(book, batch) == [5]
    see(book, run, good=[100501], spoiled={100502: "torn", 100503: "wet"}, blank=[100504])
    assert batches.waiting(book, batch) == [2, 3, 4, 5]
    assert batches.is_waiting(book, batch, 2)
    assert not batches.is_waiting(book, batch, 1)
    assert not batches.is_waiting(book, batch, 99)


def test_a_payment_on_a_missing_form_waits_for_no_run(book: Book) -> None:
    """The form may bear a good cheque: printing it again in the next run could pay it twice."""
    batch = accept(book, payday(3))
    run, numbers = start(book, batch, 100501)
    send(book, run, numbers[:2])
    see(book, run, good=[100501], missing={100502: "not in the stack", 100503: "not in the box"})
    assert batches.waiting(book, batch) == [3]  # for the third no bytes ever left: its form is blank
    assert batches.held(book, batch) == [(2, 100502)]
    stock.found(book, account="main", first=100502, last=100502, spoiled=True, reason="under the printer")
    assert batches.held(book, batch) == []
    assert batches.waiting(book, batch) == [2, 3]


def test_an_advice_on_a_missing_form_cannot_be_paid_and_is_printed_again(book: Book) -> None:
    advice = payday(1)[0]._replace(amount=0, role=Role.ADVICE)
    batch = accept(book, [advice])
    run, numbers = start(book, batch, 100501)
    send(book, run, numbers)
    see(book, run, missing={100501: "gone"})
    assert batches.held(book, batch) == []
    assert batches.waiting(book, batch) == [1]
    assert print_good(book, batch, 100502) == [100502]


def test_a_held_payment_is_held_no_more_once_it_is_printed_again(book: Book) -> None:
    batch = accept(book, payday(1))
    run, numbers = start(book, batch, 100501)
    send(book, run, numbers)
    see(book, run, missing={100501: "gone"})
    cheques.confirm_stop(book, account="main", number=100501, by="Tidewrack Savings", on="2026-11-30")
    reprint = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 100501))
    assert batches.held(book, batch) == [(1, 100501)]
    print_good(book, reprint, 100502)
    assert batches.held(book, batch) == []
    assert batches.waiting(book, batch) == batches.waiting(book, reprint) == []


def test_a_voided_cheque_waits_for_its_reprint_and_not_for_another_run(tmp_path: Path) -> None:
    book, batch, numbers = printed(tmp_path)
    cheques.void(book, account="main", number=numbers[0], reason="wrong hours", paper="in hand")
    assert batches.waiting(book, batch) == []
    with refused(BookRefused, "has no payment that lacks a form"):
        runs.plan(book, batch, 100520)


def test_of_a_batch_and_its_reprint_only_the_reprint_can_print(book: Book) -> None:
    """A spoiled form's payment could be printed by either; the later claim is the one that counts."""
    batch = accept(book, payday(2))
    run, numbers = start(book, batch, 100501)
    send(book, run, numbers)
    see(book, run, good=[100501], spoiled={100502: "torn"})
    assert batches.waiting(book, batch) == [2]
    reprint = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 100502))
    assert batches.waiting(book, batch) == []
    assert batches.waiting(book, reprint) == [1]
    batches.withdraw(book, reprint, "it is printed with the rest")
    assert batches.waiting(book, batch) == [2]
    print_good(book, batch, 100503)
    # and voided now, the payment goes out through neither of the batches it was in
    cheques.void(book, account="main", number=100503, reason="wrong", paper="not in hand")
    assert batches.waiting(book, batch) == batches.waiting(book, reprint) == []


def test_a_reprint_voided_in_its_turn_does_not_wait_in_the_batch_it_came_from(book: Book) -> None:
    batch = accept(book, payday(1))
    run, numbers = start(book, batch, 100501)
    send(book, run, numbers)
    see(book, run, spoiled={100501: "torn"})
    reprint = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 100501))
    print_good(book, reprint, 100502)
    cheques.void(book, account="main", number=100502, reason="lost in the post", paper="not in hand")
    assert batches.waiting(book, batch) == batches.waiting(book, reprint) == []
    batches_again = again(book)
    assert batches.waiting(batches_again, batch) == []


# shifts


def test_the_shift_of_a_printer_and_a_form_is_kept_and_the_latest_counts(book: Book) -> None:
    assert shifts.shift_of(book, "payroom", FORM) == Shift()
    shifts.keep(book, "payroom", FORM, Shift(100, -200))
    shifts.keep(book, "payroom", FORM, Shift(-7, 0))
    shifts.keep(book, "stores", FORM, Shift(5, 5))
    assert shifts.shift_of(book, "payroom", FORM) == Shift(-7, 0)
    assert shifts.shift_of(book, "payroom", "another") == Shift()
    assert verify.verify(book) == []
