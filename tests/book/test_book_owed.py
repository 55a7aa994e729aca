"""A voided cheque is no payment: the debt stays until it is paid, or somebody says, with a reason, that it is none."""

from pathlib import Path

import pytest
from book.quillmere import print_good, printed, prove, refused
from book.server import on_both as on_both
from book.test_book_cleared import enter, paid
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cheque.book import batches, cheques, owed, verify
from cheque.book.book import Book
from cheque.errors import BookRefused, Refusal, UsageRefused

FIRST = 100501


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Six good cheques, 100501 to 100506, of batch 1."""
    book, _, _ = printed(tmp_path)
    return book


def void(book: Book, number: int = FIRST, disposition: str = "", paper: str = "in hand") -> None:
    cheques.void(book, account="main", number=number, reason="wrong hours", paper=paper, disposition=disposition)


def dispose(book: Book, disposition: str, number: int = FIRST) -> owed.Debt:
    return owed.dispose(book, account="main", number=number, disposition=disposition, reason="asked payroll")


def listed(book: Book) -> dict[int, str]:
    """Number of each debt -> what was decided."""
    return {debt.number: debt.disposition for debt in owed.every(book)}


def reprinted(book: Book, number: int, on: int) -> int:
    """Print a payment again, on another form; gives the batch."""
    batch = cheques.accept_reprint(book, cheques.reprint_source(book, "main", number))
    prove(book, batch)
    print_good(book, batch, on, 1)
    return batch


def test_a_voided_cheque_is_owed_although_nobody_said_so(book: Book) -> None:
    assert listed(book) == {}
    void(book)
    (debt,) = owed.every(book)
    assert (debt.number, debt.payee, debt.amount, debt.date) == (FIRST, "Ada Thwaite", 81_247, "2026-11-27")
    assert (debt.disposition, debt.waits, debt.settled) == ("", 0, False)
    assert verify.verify(book) == []


@pytest.mark.parametrize("disposition", owed.DISPOSITIONS)
def test_what_becomes_of_a_debt_is_said_when_voiding_or_later_and_may_be_said_anew(
    book: Book, disposition: str
) -> None:
    void(book, FIRST, disposition)
    void(book, FIRST + 1)
    dispose(book, disposition, FIRST + 1)
    assert listed(book) == {FIRST: disposition, FIRST + 1: disposition}
    dispose(book, "still owed", FIRST + 1)
    assert listed(book) == {FIRST: disposition, FIRST + 1: "still owed"}
    assert verify.verify(book) == []


def test_a_voided_stale_wage_stays_a_debt_until_it_is_printed_again(book: Book) -> None:
    void(book, FIRST, "still owed")
    batch = cheques.accept_reprint(book, cheques.reprint_source(book, "main", FIRST))
    assert [debt.waits for debt in owed.every(book)] == [batch]
    prove(book, batch)
    print_good(book, batch, FIRST + 6, 1)
    assert listed(book) == {}
    void(book, FIRST + 6)
    assert listed(book) == {FIRST + 6: ""}  # once, with its latest number; what was said of the first one is past


@pytest.mark.parametrize("settled", owed.SETTLED)
def test_what_is_settled_is_not_printed_again_unless_somebody_says_that_it_is_owed(book: Book, settled: str) -> None:
    void(book, FIRST, settled)
    with refused(
        BookRefused, f"is {settled} (wrong hours): it is not printed again", "disposition main:100501 reissue"
    ):
        cheques.reprint_source(book, "main", FIRST)
    dispose(book, "reissue")
    reprinted(book, FIRST, FIRST + 6)
    assert listed(book) == {}


def test_what_waits_to_be_printed_again_is_not_settled_besides(book: Book) -> None:
    void(book)
    batch = cheques.accept_reprint(book, cheques.reprint_source(book, "main", FIRST))
    with refused(BookRefused, f"waits to be printed again as batch {batch}"):
        dispose(book, "paid otherwise")
    dispose(book, "reissue")
    batches.withdraw(book, batch=batch, reason="paid in cash")
    dispose(book, "paid otherwise")
    assert listed(book) == {FIRST: "paid otherwise"}


def test_what_the_bank_paid_all_the_same_is_owed_no_more(book: Book) -> None:
    void(book, FIRST, "still owed", paper="not in hand")
    enter(book, paid(FIRST))
    assert listed(book) == {}
    with refused(BookRefused, "was paid by the bank on 2026-12-03, on number 100501 of main: nothing is owed any more"):
        dispose(book, "not owed")


def test_only_a_voided_cheque_has_a_debt_to_be_decided(book: Book) -> None:
    with refused(BookRefused, "number 100501 of main is printed: only a voided cheque"):
        dispose(book, "not owed")
    with refused(BookRefused, "number 100530 of main is on hand"):
        dispose(book, "not owed", FIRST + 29)
    with refused(UsageRefused, "found 'lost'; wanted one of reissue, still owed, not owed, paid otherwise"):
        void(book, FIRST, "lost")
    void(book)
    with refused(UsageRefused, "why?"):
        owed.dispose(book, account="main", number=FIRST, disposition="not owed", reason=" ")
    reprinted(book, FIRST, FIRST + 6)
    with refused(BookRefused, "printed again on another form"):
        dispose(book, "not owed")


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_paid_and_owed_and_settled_make_what_was_to_be_paid(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """A plain model: each payment is out on one form, paid, owed, or settled; the book says the same, in money too."""
    book, _, _ = printed(tmp_path_factory.mktemp("owed"))
    at = {payment: FIRST + payment for payment in range(6)}  # the number each payment was last on
    fate, said = dict.fromkeys(at, "out"), dict.fromkeys(at, "")
    free = FIRST + 6
    for _ in range(data.draw(st.integers(3, 14))):
        one = data.draw(st.sampled_from(sorted(at)))
        do = data.draw(st.sampled_from(["void", "dispose", "reprint", "clear"]))
        word = data.draw(st.sampled_from(owed.DISPOSITIONS))
        may = {"void": fate[one] == "out", "dispose": fate[one] == "owed", "clear": fate[one] != "paid",
               "reprint": fate[one] == "owed" and said[one] not in owed.SETTLED}[do]  # fmt: skip
        try:
            if do == "void":
                void(book, at[one])
            elif do == "dispose":
                dispose(book, word, at[one])
            elif do == "reprint":
                reprinted(book, at[one], free)
            elif may:
                enter(book, paid(at[one], 81_247 + 7 * one))
        except Refusal:
            assert not may
            continue
        assert may or do == "clear"
        if do == "void":
            fate[one], said[one] = "owed", ""
        elif do == "dispose":
            said[one] = word
        elif do == "reprint":
            fate[one], at[one], free = "out", free, free + 1
        elif may:
            fate[one] = "paid"
    wanted = {at[one]: said[one] for one in at if fate[one] == "owed"}
    assert listed(book) == wanted
    debts = {debt.number: debt.amount for debt in owed.every(book)}
    assert debts == {at[one]: 81_247 + 7 * one for one in at if fate[one] == "owed"}
    assert verify.verify(book) == []
    book.close()
