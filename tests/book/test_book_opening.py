"""Cheques already out when the book was begun: good cheques like any other, on numbers that nothing else can use."""

from pathlib import Path

import pytest
from book.quillmere import FORM, accept, begin, payday, print_good, refused, start
from book.server import on_both as on_both

from cheque.book import batches, cheques, cleared, opening, renumber, statements, stock, story, verify
from cheque.book.book import Book
from cheque.book.opening import Out
from cheque.book.state import State
from cheque.errors import BookRefused, InputRefused

LIST = (
    Out("0498", "2026-10-30", "Ada Thwaite", 81_240, "line 2"),
    Out("0500", "2026-11-13", "Bryn Marlow", 70_000, "line 3"),
    Out("0499", "2026-10-30", "Cora Selwick", 64_015, "line 4"),
    Out("0460", "2026-06-05", "Dov Anstey", 1_250, "line 5"),
)


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """A book just begun, with a box from 0501 on."""
    book = begin(tmp_path)
    stock.receive(book, account="main", form=FORM, first="0501", last="0600")
    return book


def enter(book: Book, *out: Out, account: str = "main") -> int:
    told = {"form": FORM, "definition": f"the definition of {FORM}", "currency": "USD", "source": "out.csv"}
    return opening.enter(book, out, account=account, **told)


def test_what_is_out_is_a_good_cheque_with_its_payment(book: Book) -> None:
    batch = enter(book, *LIST)
    found = batches.get(book, batch)
    assert (found.kind, found.items, found.total) == ("opening", 4, 216_505)
    assert [(p.payee, p.expected) for p in batches.payments(book, batch)][:2] == [
        ("Dov Anstey", "0460"),
        ("Ada Thwaite", "0498"),
    ]
    for number in (460, 498, 499, 500):
        assert stock.state_of(book, "main", number) is State.PRINTED
    assert [(r.first, r.last, r.digits, r.form) for r in stock.ranges(book)][:2] == [
        (460, 460, 4, "opening list"),
        (498, 500, 4, "opening list"),
    ]
    assert batches.waiting(book, batch) == []
    assert [one.number for one in story.search(book, "Cora Selwick")] == [499]
    assert [event.kind for event in story.history(book, "main", 499)] == ["opening.entered"]
    assert verify.verify(book) == []


def test_it_can_be_cleared_stopped_voided_and_paid_again(book: Book) -> None:
    enter(book, *LIST)
    days = {"first": "2026-12-01", "last": "2026-12-31", "opening": None, "closing": None, "entries": 1}
    item = statements.Item("2026-12-03", 498, -81_240)
    statements.enter(book, [item], account="main", name="", source="s", digest="", **days)  # type: ignore[arg-type]
    assert cleared.get(book, "main", 498)
    with refused(BookRefused, "number 0498 of main was paid by the bank"):
        cheques.void(book, account="main", number=498, reason="r", paper="not in hand")
    cheques.confirm_stop(book, account="main", number=460, by="Bank", on="2026-12-01")
    cheques.void(book, account="main", number=460, reason="lost", paper="not in hand")
    again = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 460))
    assert batches.get(book, again).form == FORM
    assert print_good(book, again, 501) == [501]
    assert story.links(book, "main", 501).replaces == 460
    assert verify.verify(book) == []


def test_its_numbers_meet_no_box_whichever_came_first(book: Book) -> None:
    with refused(BookRefused, "line 9: found number 0501 of main, in the box 501 to 600 already", "nothing of it"):
        enter(book, *LIST, Out("0501", "2026-10-30", "Ada Thwaite", 1, "line 9"))
    assert batches.every(book) == []
    enter(book, *LIST)
    with refused(BookRefused, "overlaps 460-460 (opening list), received already"):
        stock.receive(book, account="main", form=FORM, first="0401", last="0500")
    with refused(BookRefused, "line 2: found number 0498 of main, on an opening list already"):
        enter(book, LIST[0])
    enter(book, *LIST, account="second")
    batch = accept(book, payday(2))
    with refused(BookRefused, "number 0460 of main is on opening list stock"):
        start(book, batch, 460)
    with refused(BookRefused, "number 0498 is printed, so it is not moved"):
        renumber.move(book, account="main", first=498, last=498, by=1, left=State.SPOILED, reason="r", approved="Ada")
    assert verify.verify(book) == []


def test_a_list_with_faults_is_refused_whole_with_all_of_them(book: Book) -> None:
    with refused(
        InputRefused,
        "out.csv is refused: 5 faults",
        "line 3: found number '5O0'; wanted digits only, as preprinted",
        "line 4: found number 0499, which line 2 has too; wanted each number once",
        "line 5: found an amount of nought",
        "line 6: found date '30.10.2026'; wanted a day such as 2026-10-30",
        "line 7: found number '000'",
    ):
        enter(
            book,
            Out("499", "2026-10-30", "Ada Thwaite", 1, "line 2"),
            Out("5O0", "2026-10-30", "Ada Thwaite", 1, "line 3"),
            Out("0499", "2026-10-30", "Ada Thwaite", 1, "line 4"),
            Out("0480", "2026-10-30", "Ada Thwaite", 0, "line 5"),
            Out("0481", "30.10.2026", "Ada Thwaite", 1, "line 6"),
            Out("000", "2026-10-30", "Ada Thwaite", 1, "line 7"),
        )
    with refused(InputRefused, "out.csv has no cheque in it"):
        enter(book)
    assert batches.every(book) == []


def test_a_list_that_says_what_it_does_not_have_breaks_the_law(book: Book) -> None:
    batch = enter(book, *LIST)
    body = {"account": "main", "form": opening.FORM, "first": 1, "last": 5, "digits": 4, "batch": batch, "item": 1}
    with refused(BookRefused, "each number bears one payment of the list"), book.change() as change:
        change.append("opening.entered", body)
    with refused(BookRefused), book.change() as change:  # the payment is on its number already
        change.append("opening.entered", {**body, "last": 1})
