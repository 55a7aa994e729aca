"""Good cheques: voided, stopped, printed again, moved from hand to hand, written by hand; each once."""

from pathlib import Path

import pytest
from book.quillmere import FORM, accept, payday, print_good, printed, refused, see, send, start
from book.server import on_both as on_both

from cheque.book import batches, cheques, runs, stock, story, verify
from cheque.book.book import Book
from cheque.errors import BookRefused, UsageRefused
from cheque.payment import Role

FIRST = 100501


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Six good cheques, 100501 to 100506, of batch 1."""
    book, _, _ = printed(tmp_path)
    return book


def get(book: Book, number: int) -> cheques.Numbered:
    found = cheques.get(book, "main", number)
    assert found is not None
    return found


def void(book: Book, number: int, paper: str = "in hand") -> None:
    cheques.void(book, account="main", number=number, reason="wrong hours", paper=paper)


def reprint(book: Book, number: int, override: str = "") -> int:
    return cheques.accept_reprint(book, cheques.reprint_source(book, "main", number), stop_override=override)


def lost(book: Book, batch: int, first: int) -> None:
    """A batch of one printed, and its form not there afterwards."""
    run, numbers = start(book, batch, first)
    send(book, run, numbers)
    see(book, run, missing={first: "not in the stack"})


# voided


def test_a_good_cheque_is_voided_for_a_reason_with_its_paper_told(book: Book) -> None:
    before = cheques.void(book, account="main", number=FIRST, reason=" wrong hours ", paper="in hand")
    assert before.state == "printed"
    assert (get(book, FIRST).state, get(book, FIRST).reason, get(book, FIRST).custody) == (
        "voided",
        "wrong hours",
        "held",
    )
    with refused(UsageRefused, "a cheque is voided for a reason: give it with --reason"):
        cheques.void(book, account="main", number=FIRST, reason="", paper="in hand")
    for paper in ("", "lost", "in-hand"):
        with refused(UsageRefused, "wanted in hand, returned or not in hand: say where the paper is"):
            cheques.void(book, account="main", number=FIRST + 1, reason="r", paper=paper)
    assert verify.verify(book) == []


def test_a_cheque_is_not_voided_twice(book: Book) -> None:
    void(book, FIRST)
    with refused(BookRefused, "number 100501 of main is voided, so it cannot be voided", "It was voided before: wrong"):
        void(book, FIRST)


def test_only_a_good_cheque_can_be_voided(book: Book) -> None:
    stock.spoil(book, account="main", first=100590, last=100590, reason="torn")
    stock.missing(book, account="main", first=100591, last=100591, reason="gone")
    stock.destroy(book, account="main", first=100592, last=100592, witness="w", reason="r")
    batch = accept(book, payday(2, start=50))
    run, numbers = start(book, batch, 100520)
    send(book, run, numbers[:1])
    for number, state in (
        (100590, "spoiled"),
        (100591, "missing"),
        (100592, "destroyed"),
        (100593, "on hand"),
        (100520, "sent"),
        (100521, "reserved"),
    ):
        with refused(BookRefused, f"number {number} of main is {state}, so it cannot be voided: only a good cheque"):
            void(book, number)
    with refused(BookRefused, "main:99 is on no stock"):
        void(book, 99)


def test_a_cheque_that_left_the_house_is_not_in_hand(book: Book) -> None:
    cheques.move(book, account="main", first=FIRST, last=FIRST, place="mailed", to="Ada Thwaite")
    with refused(BookRefused, "number 100501 of main was mailed, so it is not in hand", "say --paper returned"):
        void(book, FIRST)
    void(book, FIRST, "returned")
    assert (get(book, FIRST).custody, get(book, FIRST).stop) == ("returned", "")


# stopped


def test_a_void_cheque_that_is_not_in_hand_needs_the_banks_stop(book: Book) -> None:
    void(book, FIRST, "not in hand")
    assert get(book, FIRST).stop == "needed"
    assert cheques.reprint_source(book, "main", FIRST).stop_needed
    with refused(
        BookRefused,
        "number 100501 of main is not in hand and the bank has not confirmed a stop",
        "could pay it twice",
        "`cheque notice stopped main:100501 --confirmed-by NAME`",
        "--without-stop",
    ):
        reprint(book, FIRST)
    assert len(batches.every(book)) == 1
    cheques.confirm_stop(book, account="main", number=FIRST, by=" Tidewrack Savings ", on="2026-11-30")
    assert book.head.data == {"account": "main", "number": FIRST, "by": "Tidewrack Savings", "on": "2026-11-30"}
    assert get(book, FIRST).stop == "confirmed"
    assert batches.waiting(book, reprint(book, FIRST)) == [1]


def test_a_stop_can_be_done_without_only_for_a_reason_and_that_is_told(book: Book) -> None:
    void(book, FIRST, "not in hand")
    with refused(BookRefused, "the bank has not confirmed a stop"):
        reprint(book, FIRST, "  ")
    batch = reprint(book, FIRST, "known to have burnt")
    assert get(book, FIRST).stop == "overridden"
    assert [e.kind for e in story.history(book, "main", FIRST)][-2:] == ["stop.overridden", "batch.accepted"]
    batches.withdraw(book, batch, "no, wait for the bank")
    with refused(BookRefused, "the bank has not confirmed a stop"):  # done without once is not done without for ever
        reprint(book, FIRST)


def test_a_stop_confirmed_before_the_void_still_counts(book: Book) -> None:
    cheques.confirm_stop(book, account="main", number=FIRST, by="Tidewrack Savings", on="2026-11-30")
    void(book, FIRST, "not in hand")
    assert get(book, FIRST).stop == "confirmed"
    assert batches.waiting(book, reprint(book, FIRST)) == [1]
    assert verify.verify(book) == []


def test_a_stop_is_confirmed_once_by_somebody_on_a_day(book: Book) -> None:
    for by, on, words in (
        (" ", "2026-11-30", "who at the bank confirmed the stop?"),
        ("Bank", "30.11.2026", "found '30.11.2026'; wanted the day of the stop"),
        ("Bank", "2026-11-31", "wanted the day of the stop, such as 2026-11-27"),
        ("Bank", "", "wanted the day of the stop"),
    ):
        with refused(UsageRefused, words):
            cheques.confirm_stop(book, account="main", number=FIRST, by=by, on=on)
    cheques.confirm_stop(book, account="main", number=FIRST, by="Bank", on="2026-11-30")
    with refused(BookRefused, "the bank's stop of number 100501 of main is in the book already"):
        cheques.confirm_stop(book, account="main", number=FIRST, by="Bank", on="2026-11-30")


def test_where_there_is_nothing_to_stop_no_stop_is_entered(book: Book) -> None:
    with refused(BookRefused, "number 100590 of main is on hand: there is nothing for a bank to stop"):
        cheques.confirm_stop(book, account="main", number=100590, by="Bank", on="2026-11-30")
    stock.missing(book, account="main", first=100590, last=100590, reason="stolen")
    cheques.confirm_stop(book, account="main", number=100590, by="Bank", on="2026-11-30")  # a blank one can be forged


def test_a_void_cheque_that_came_back_needs_no_stop(book: Book) -> None:
    void(book, FIRST, "not in hand")
    cheques.move(book, account="main", first=FIRST, last=FIRST, place="returned", to="")
    assert (get(book, FIRST).stop, get(book, FIRST).custody) == ("", "returned")
    assert batches.waiting(book, reprint(book, FIRST)) == [1]
    assert verify.verify(book) == []


def test_an_advice_is_voided_without_a_stop_because_it_cannot_be_paid(book: Book) -> None:
    advice = payday(1, start=50)[0]._replace(amount=0, role=Role.ADVICE)
    print_good(book, accept(book, [advice]), 100520)
    void(book, 100520, "not in hand")
    assert get(book, 100520).stop == ""
    batch = reprint(book, 100520)
    assert batches.get(book, batch).total == 0
    assert print_good(book, batch, 100521) == [100521]
    assert verify.verify(book) == []


# printed again


def test_a_voided_cheques_payment_is_printed_again_as_a_batch_of_one(book: Book) -> None:
    original = batches.payment(book, 1, 2)
    void(book, FIRST + 1)
    batch = reprint(book, FIRST + 1)
    found = batches.get(book, batch)
    assert (found.kind, found.items, found.total, found.replaces) == ("reprint", 1, original.amount, FIRST + 1)
    assert found.form_digest == batches.get(book, 1).form_digest
    assert found.source == "reprint of main:100501".replace("501", "502")
    assert batches.payment(book, batch, 1) == original._replace(item=1, expected="")
    print_good(book, batch, 100520)
    assert (get(book, 100520).origin_batch, get(book, 100520).origin_item) == (1, 2)
    assert story.links(book, "main", FIRST + 1) == (None, 100520)
    assert story.links(book, "main", 100520) == (FIRST + 1, None)
    assert verify.verify(book) == []


def test_a_good_cheque_is_never_printed_again(book: Book) -> None:
    with refused(BookRefused, "number 100501 of main is printed: a good cheque is never printed again. Void it first"):
        reprint(book, FIRST)
    batch = accept(book, payday(2, start=50))
    run, numbers = start(book, batch, 100520)
    send(book, run, numbers[:1])
    for number, state in ((100520, "sent"), (100521, "reserved")):
        with refused(BookRefused, f"number {number} of main is {state}: a good cheque is never printed again"):
            reprint(book, number)


def test_what_never_carried_a_payment_is_not_printed_again(book: Book) -> None:
    with refused(BookRefused, "number 100590 of main is on hand and never carried a payment"):
        reprint(book, 100590)
    stock.spoil(book, account="main", first=100590, last=100590, reason="lead-in")
    with refused(BookRefused, "number 100590 of main is spoiled and never carried a payment"):
        reprint(book, 100590)


def test_a_payment_is_printed_again_once(book: Book) -> None:
    void(book, FIRST)
    batch = reprint(book, FIRST)
    with refused(BookRefused, f"a reprint of number 100501 of main is waiting already, as batch {batch}"):
        reprint(book, FIRST)
    run, numbers = start(book, batch, 100520)
    with refused(BookRefused, "was printed again on number 100520 of main, which is reserved: it is not printed twice"):
        reprint(book, FIRST)
    send(book, run, numbers)
    see(book, run, good=numbers)
    with refused(BookRefused, "was printed again on number 100520 of main, which is printed: it is not printed twice"):
        reprint(book, FIRST)


def test_a_reprint_that_was_withdrawn_or_pulled_can_be_asked_for_again(book: Book) -> None:
    void(book, FIRST)
    batches.withdraw(book, reprint(book, FIRST), "no, wait")
    batches.pull(book, reprint(book, FIRST), 1, "no, wait again")
    print_good(book, reprint(book, FIRST), 100520)
    assert verify.verify(book) == []


def test_the_latest_form_of_a_payment_decides_whether_it_is_printed_again(book: Book) -> None:
    """The first was voided in hand; its reprint was lost in the post. A reprint of the first would pay it twice."""
    void(book, FIRST)
    print_good(book, reprint(book, FIRST), 100520)
    void(book, 100520, "not in hand")
    with refused(BookRefused, "was printed again on number 100520 of main, which is voided: print that one again"):
        reprint(book, FIRST)
    with refused(BookRefused, "number 100520 of main is not in hand and the bank has not confirmed a stop"):
        reprint(book, 100520)
    cheques.confirm_stop(book, account="main", number=100520, by="Bank", on="2026-11-30")
    print_good(book, reprint(book, 100520), 100521)
    assert [n.number for n in cheques.of_payment(book, 1, 1)] == [FIRST, 100520, 100521]
    assert story.links(book, "main", 100520) == (FIRST, 100521)


def test_a_spoiled_forms_payment_is_printed_again_by_a_reprint_too(book: Book) -> None:
    batch = accept(book, payday(1, start=50))
    run, numbers = start(book, batch, 100520)
    send(book, run, numbers)
    see(book, run, spoiled={100520: "torn"})
    again = reprint(book, 100520)
    assert (batches.waiting(book, batch), batches.waiting(book, again)) == ([], [1])


def test_a_pulled_payment_is_not_printed_again(book: Book) -> None:
    batch = accept(book, payday(1, start=50))
    run, numbers = start(book, batch, 100520)
    send(book, run, numbers)
    see(book, run, spoiled={100520: "torn"})
    batches.pull(book, batch, 1, "she left the firm")
    with refused(BookRefused, f"payment of number 100520 of main was pulled out of batch {batch}: she left the firm"):
        reprint(book, 100520)


def test_a_missing_form_that_may_bear_a_cheque_needs_a_stop_before_its_reprint(book: Book) -> None:
    lost(book, accept(book, payday(1, start=50)), 100520)
    with refused(BookRefused, "number 100520 of main is not in hand and the bank has not confirmed a stop"):
        reprint(book, 100520)
    cheques.confirm_stop(book, account="main", number=100520, by="Bank", on="2026-11-30")
    batch = reprint(book, 100520)
    assert print_good(book, batch, 100521) == [100521]
    assert verify.verify(book) == []


def test_two_who_ask_for_the_same_reprint_get_one(book: Book) -> None:
    void(book, FIRST)
    source = cheques.reprint_source(book, "main", FIRST)
    cheques.accept_reprint(book, source)
    with refused(BookRefused, "is waiting already"):  # judged anew inside the transaction
        cheques.accept_reprint(book, source)


def test_a_spoiled_reprint_goes_on_to_the_next_form(book: Book) -> None:
    void(book, FIRST)
    batch = reprint(book, FIRST)
    run, numbers = start(book, batch, 100520)
    send(book, run, numbers)
    see(book, run, spoiled={100520: "torn"})
    print_good(book, batch, 100521)
    assert story.links(book, "main", 100520) == (FIRST, 100521)
    assert story.links(book, "main", FIRST) == (None, 100520)


# custody


def test_custody_goes_with_good_cheques(book: Book) -> None:
    assert cheques.PLACES == ("to be signed", "held", "handed over", "mailed", "returned")
    assert get(book, FIRST).custody == "to be signed"
    for place in cheques.PLACES:
        assert cheques.move(book, account="main", first=FIRST, last=FIRST + 2, place=place, to=" the crew ") == 3
        assert [get(book, n).custody for n in range(FIRST, FIRST + 4)] == [place] * 3 + ["to be signed"]
    assert book.head.data["to"] == "the crew"
    assert verify.verify(book) == []


def test_custody_of_what_is_no_cheque_is_refused(book: Book) -> None:
    with refused(UsageRefused, "found 'lost'; wanted one of to be signed, held, handed over, mailed, returned"):
        cheques.move(book, account="main", first=FIRST, last=FIRST, place="lost", to="")
    with refused(UsageRefused, "wanted the lower number first"):
        cheques.move(book, account="main", first=FIRST, last=FIRST - 1, place="held", to="")
    with refused(BookRefused, "number 100507 of main is on hand: only a cheque has custody"):
        cheques.move(book, account="main", first=FIRST, last=100507, place="held", to="")
    void(book, FIRST)
    with refused(BookRefused, "number 100501 of main is voided, so it is not mailed: it can only be held or returned"):
        cheques.move(book, account="main", first=FIRST, last=FIRST, place="mailed", to="")


# by hand


def hand(book: Book, number: int, batch: int, item: int, reason: str = "the printer is away") -> None:
    cheques.by_hand(book, account="main", number=number, batch=batch, item=item, reason=reason)


def test_a_cheque_is_written_by_hand_for_a_payment_that_lacks_a_form(book: Book) -> None:
    batch = accept(book, payday(2, start=50))
    hand(book, 100590, batch, 2)
    found = get(book, 100590)
    assert (found.state, found.role, found.batch, found.item, found.run) == ("printed", "cheque", batch, 2, 0)
    assert found.custody == "to be signed"
    assert batches.waiting(book, batch) == [1]
    assert [e.kind for e in story.history(book, "main", 100590)] == [
        "stock.received",
        "batch.accepted",
        "cheque.manual",
    ]
    void(book, 100590)
    hand(book, 100591, reprint(book, 100590), 1)
    assert story.links(book, "main", 100590) == (None, 100591)
    assert verify.verify(book) == []


def test_no_payment_is_paid_twice_by_hand(book: Book) -> None:
    with refused(UsageRefused, "why by hand? Give the reason with --reason"):
        hand(book, 100590, 1, 1, " ")
    with refused(BookRefused, "payment 1 of batch 1 is on number 100501, which is printed", "It is not paid twice"):
        hand(book, 100590, 1, 1)
    batch = accept(book, payday(3, start=50))
    batches.pull(book, batch, 1, "left")
    with refused(BookRefused, "payment 1 of batch 2 was pulled already: left. It is not paid twice"):
        hand(book, 100590, batch, 1)
    run, numbers = start(book, batch, 100520, count=1)
    with refused(BookRefused, "payment 2 of batch 2 is on number 100520, which is reserved"):
        hand(book, 100590, batch, 2)
    see(book, run, blank=numbers)
    with refused(BookRefused, "batch 2 has no payment 9"):
        hand(book, 100590, batch, 9)
    batches.withdraw(book, batch, "the wrong week")
    with refused(BookRefused, "payment 2 of batch 2 was withdrawn with its batch. It is not paid twice"):
        hand(book, 100590, batch, 2)


def test_no_cheque_is_written_on_a_used_form(book: Book) -> None:
    batch = accept(book, payday(1, start=50))
    with refused(BookRefused, "number 100501 of main is printed, so no cheque can be written on it. It is a good"):
        hand(book, FIRST, batch, 1)
    stock.spoil(book, account="main", first=100590, last=100590, reason="torn")
    with refused(BookRefused, "number 100590 of main is spoiled, so no cheque can be written on it"):
        hand(book, 100590, batch, 1)


def test_no_cheque_is_written_for_an_advice_or_from_another_account(book: Book) -> None:
    advice = payday(1, start=50)[0]._replace(amount=0, role=Role.ADVICE)
    batch = accept(book, [advice])
    with refused(BookRefused, "payment 1 of batch 2 is an advice: nothing is to be paid by cheque"):
        hand(book, 100590, batch, 1)
    stock.receive(book, account="petty", form=FORM, first="1", last="9")
    petty = accept(book, payday(1), account="petty")
    with refused(BookRefused, f"batch {petty} is paid from petty; number 100590 of main is not of that account"):
        hand(book, 100590, petty, 1)


def test_a_payment_of_no_register_is_accepted_and_written_by_hand_in_one_step(book: Book) -> None:
    before = book.head
    with refused(BookRefused, "number 100501 of main is printed"), book.change():
        hand(book, FIRST, accept(book, payday(1, start=50)), 1)
    assert book.head == before
    with book.change():
        hand(book, 100590, accept(book, payday(1, start=50)), 1)
    assert get(book, 100590).state == "printed"
    assert verify.verify(book) == []


def test_a_voided_number_is_never_used_again(book: Book) -> None:
    void(book, FIRST)
    batch = reprint(book, FIRST)
    with refused(BookRefused, "number 100501 of main is voided, so it cannot be printed on"):
        runs.plan(book, batch, FIRST)
    with refused(BookRefused, "number 100501 of main is voided, so no cheque can be written on it"):
        hand(book, FIRST, batch, 1)
