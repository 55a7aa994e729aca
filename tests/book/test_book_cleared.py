"""What the bank has paid is cleared, and that bars void, reprint, renumber, custody and use."""

from pathlib import Path

import pytest
from book.quillmere import accept, again, payday, print_good, printed, prove, refused, see, send, start
from book.server import on_both as on_both

from cheque.book import batches, cheques, cleared, renumber, runs, statements, stock, story, verify
from cheque.book.book import Book
from cheque.book.event import Event
from cheque.book.state import State
from cheque.book.statements import Item
from cheque.errors import BookRefused

FIRST = 100501


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Six good cheques, 100501 to 100506, of batch 1."""
    book, _, _ = printed(tmp_path)
    return book


def enter(book: Book, *items: Item, account: str = "main", **more: object) -> Event:
    """A statement of these items, entered."""
    told = {"name": "2026-12", "source": "statement.xml", "digest": "", "first": "2026-12-01", "last": "2026-12-31"}
    return statements.enter(
        book,
        items,
        account=account,
        **{"opening": None, "closing": None, "entries": len(items), **told, **more},  # type: ignore[arg-type]
    )


def paid(number: int, amount: int = 81_247, day: str = "2026-12-03", nth: int = 1) -> Item:
    """A cheque paid by the bank."""
    return Item(day, number, -amount, nth, day, f"REF-{number}", "", "")


def test_a_cheque_that_the_bank_paid_is_cleared_and_still_printed(book: Book) -> None:
    assert cleared.get(book, "main", FIRST) is None
    event = enter(book, paid(FIRST), Item("2026-12-31", 0, -1500, 1, about="account fee"))
    assert cleared.get(book, "main", FIRST) == cleared.Cleared("main", FIRST, "2026-12-03", 81_247, 1, event.seq)
    assert cleared.get(book, "main", 0) is None
    assert stock.state_of(book, "main", FIRST) is State.PRINTED
    assert [e.kind for e in story.history(book, "main", FIRST)][-1] == "statement.read"
    assert [e.kind for e in story.history(book, "main", FIRST + 1)][-1] != "statement.read"
    assert verify.verify(book) == []


def test_a_cleared_cheque_is_not_voided_given_out_or_moved(book: Book) -> None:
    enter(book, paid(FIRST))
    head = book.head
    with refused(BookRefused, "number 100501 of main was paid by the bank on 2026-12-03, so it is not voided"):
        cheques.void(book, account="main", number=FIRST, reason="wrong", paper="in hand")
    with refused(BookRefused, "number 100501 of main was paid by the bank", "the bank has it"):
        cheques.move(book, account="main", first=FIRST, last=FIRST + 1, place="held", to="")
    with refused(BookRefused, "number 100501 of main was paid by the bank", "these numbers are not moved"):
        renumber.move(
            book, account="main", first=FIRST, last=FIRST + 5, by=1, left=State.SPOILED, reason="r", approved="Ada"
        )
    assert book.head == head
    cheques.void(book, account="main", number=FIRST + 1, reason="wrong", paper="in hand")


def test_what_the_bank_paid_is_not_printed_again(book: Book) -> None:
    cheques.void(book, account="main", number=FIRST, reason="wrong", paper="not in hand")
    cheques.confirm_stop(book, account="main", number=FIRST, by="Bank", on="2026-11-30")
    reprint = cheques.accept_reprint(book, cheques.reprint_source(book, "main", FIRST))
    proof = prove(book, reprint)
    enter(book, paid(FIRST))
    with refused(BookRefused, "the payment of number 100501 of main was paid by the bank on 2026-12-03"):
        cheques.reprint_source(book, "main", FIRST)
    with refused(BookRefused, f"payment 1 of batch {reprint} was paid by the bank on 2026-12-03, on number 100501"):
        start(book, reprint, 100520)
    with (
        refused(BookRefused, "breaks the law of the book", "was paid by the bank, on number 100501"),
        book.change() as c,
    ):
        forms = [[100520, 1, 1]]
        told = {"printer": "p", "address": "file:x", "language": "escp9", "proof": proof, "forms": forms}
        c.append("run.begun", {"run": 9, "batch": reprint, "account": "main", **told})
    with refused(BookRefused, "payment 1 of batch 2"), book.change() as c:
        manual = {"account": "main", "number": 100520, "batch": reprint, "item": 1, "reason": "r"}
        c.append("cheque.manual", manual)
    batches.pull(book, reprint, 1, "the bank paid it")


def test_a_spoiled_form_that_the_bank_paid_all_the_same_is_not_paid_again_by_a_resumed_run(book: Book) -> None:
    batch = accept(book, payday(2, start=50))
    run, numbers = start(book, batch, 100520)
    send(book, run, numbers)
    see(book, run, good=numbers[1:], spoiled={100520: "torn"})
    enter(book, paid(100520))
    with refused(BookRefused, f"payment 1 of batch {batch} was paid by the bank", f"`cheque batch pull {batch} 1`"):
        runs.plan(book, batch, 100522)


def test_a_form_on_hand_that_the_bank_paid_is_not_used_but_may_be_spoiled(book: Book) -> None:
    enter(book, paid(100510))
    batch = accept(book, payday(2, start=50))
    with refused(BookRefused, "number 100510 of main was paid by the bank", "nothing is printed on it: spoil it first"):
        start(book, batch, 100509)
    with refused(BookRefused, "number 100510 of main was paid by the bank", "no cheque is written on it"):
        cheques.by_hand(book, account="main", number=100510, batch=batch, item=1, reason="r")
    stock.spoil(book, account="main", first=100510, last=100510, reason="its number was forged")
    assert print_good(book, batch, 100511) == [100511, 100512]
    assert verify.verify(book) == []


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("cheque.voided", {"number": FIRST, "reason": "r", "paper": "in hand"}),
        ("custody.changed", {"first": FIRST, "last": FIRST, "place": "held", "to": ""}),
        ("numbers.moved", {"first": FIRST, "last": FIRST, "by": 20, "left": "spoiled", "reason": "", "approved": ""}),
    ],
)
def test_no_path_around_the_commands_breaks_it(book: Book, kind: str, body: dict[str, object]) -> None:
    enter(book, paid(FIRST))
    with refused(BookRefused, "breaks the law of the book", "number 100501 was paid by the bank"), book.change() as c:
        c.append(kind, {"account": "main", **body})


def test_the_database_itself_bars_it(book: Book) -> None:
    enter(book, paid(FIRST))
    for change in ("state = 'voided'", "number = 100520"):
        with refused(BookRefused, "refuses what would break its own law"), book.change() as c:
            c.store.execute(f"UPDATE number SET {change} WHERE number = ?", (FIRST,))


def test_a_payment_that_the_bank_took_back_is_outstanding_again(book: Book) -> None:
    enter(book, paid(FIRST), paid(FIRST, nth=2), paid(FIRST + 1))
    found = cleared.get(book, "main", FIRST)
    assert found is not None
    assert (found.amount, found.payments) == (2 * 81_247, 2)
    enter(book, Item("2026-12-05", FIRST, 81_247), Item("2026-12-05", FIRST + 1, 81_247))
    found = cleared.get(book, "main", FIRST)
    assert found is not None
    assert (found.booked, found.amount, found.payments) == ("2026-12-03", 81_247, 1)
    assert cleared.get(book, "main", FIRST + 1) is None
    cheques.void(book, account="main", number=FIRST + 1, reason="not paid", paper="not in hand")
    assert [item.amount for item in statements.of_number(book, "main", FIRST)] == [-81_247, -81_247, 81_247]
    assert verify.verify(book) == []


def test_a_number_never_issued_and_one_of_another_account_can_be_paid(book: Book) -> None:
    enter(book, paid(7))
    enter(book, paid(FIRST), account="second")
    assert cleared.get(book, "main", 7)
    assert cleared.get(book, "main", FIRST) is None
    cheques.void(book, account="main", number=FIRST, reason="wrong", paper="in hand")
    assert verify.verify(book) == []


def test_an_item_is_entered_once(book: Book) -> None:
    enter(book, paid(FIRST))
    with refused(BookRefused, "refuses what would break its own law"):
        enter(book, paid(FIRST + 1), paid(FIRST))
    assert cleared.get(book, "main", FIRST + 1) is None


def test_a_long_statement_is_kept_in_texts_of_a_bounded_size_and_rebuilt_from_them(book: Book) -> None:
    count = 2 * statements.AT_ONCE + 1
    hard = 'Ada\u2028Thwaite\x85 "\\'
    items = [Item("2026-12-03", n, -n, 1, "2026-12-03", f"R{n}", hard, "") for n in range(1, count + 1)]
    event = enter(book, *items, opening=-5, closing=7)
    assert len(event.data["lists"]) == 3
    assert list(statements.items(book, "main", "2026-12-03", "2026-12-03")) == items
    with book.store.writing():
        book.store.derived_version = 0
    book.close()
    with again(book) as rebuilt:
        assert list(statements.items(rebuilt, "main", "2026-01-01", "2026-12-31")) == items
        (found,) = statements.every(rebuilt, "main")
        assert (found.opening, found.closing, found.entries, found.fresh) == (-5, 7, count, count)
        assert verify.verify(rebuilt) == []
