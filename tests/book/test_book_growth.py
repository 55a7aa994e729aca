"""What a step costs does not grow with the book: counted in the database's own instructions, so exactly."""

from collections.abc import Callable
from pathlib import Path

import pytest
from book.quillmere import FORM, accept, begin, payday, print_good, prove, see, send, start

from cheque.book import batches, cheques, paid_before, runs, stock, story
from cheque.book.book import Book
from cheque.payment import Kind, StubLine

INVOICE = StubLine(Kind.INVOICE, "Q-1042", 100)


def kept(folder: Path, paydays: int) -> Book:
    """A book of so many paydays of fifty payments, and one waiting batch."""
    book = begin(folder)
    book.store.execute("PRAGMA synchronous = OFF")
    stock.receive(book, account="main", form=FORM, first="10001", last="90000")
    with book.change():
        for place in range(paydays):
            print_good(book, accept(book, payday(50, start=50 * place)), 10_001 + 50 * place)
        prove(book, accept(book, payday(50, start=50 * paydays)))
    return book


def instructions(book: Book, step: Callable[[], object]) -> int:
    """How many instructions of the database a step takes."""
    spent = 0

    def tick() -> int:
        nonlocal spent
        spent += 1
        return 0

    book.store._db.set_progress_handler(tick, 1)
    try:
        step()
    finally:
        book.store._db.set_progress_handler(None, 0)
    return spent


def steps(book: Book, paydays: int) -> dict[str, int]:
    """What each step costs in a book of so many paydays."""
    batch, head, old = paydays + 1, 10_001 + 50 * paydays, 10_001 + 50 * (paydays // 2)
    spent = {}

    def step(name: str, what: Callable[[], object]) -> None:
        spent[name] = instructions(book, what)

    step("begin a run", lambda: start(book, batch, head))
    run = runs.unfinished(book)[0].id
    step("send a window", lambda: runs.sent(book, run, head, head + 3, digest="", length=1, k=0))
    send(book, run, range(head + 4, head + 50))
    step("ask what a run holds", lambda: runs.forms(book, run))
    step("enter what was seen", lambda: see(book, run, good=range(head, head + 50)))
    step("void", lambda: cheques.void(book, account="main", number=old, reason="r", paper="in hand"))
    step("reprint", lambda: cheques.accept_reprint(book, cheques.reprint_source(book, "main", old)))
    step("move", lambda: cheques.move(book, account="main", first=old + 1, last=old + 9, place="mailed", to=""))
    step("spoil", lambda: stock.spoil(book, account="main", first=80_000, last=80_000, reason="torn"))
    step("miss", lambda: stock.missing(book, account="main", first=80_001, last=80_002, reason="gone"))
    step("find", lambda: stock.found(book, account="main", first=80_001, last=80_002, spoiled=True, reason="r"))
    step("what waits", lambda: batches.waiting(book, batch - 1))
    step("what is held", lambda: batches.held(book, batch - 1))
    known = payday(1, start=60)[0]
    step("seen before", lambda: paid_before.payment(book, "main", known))
    step("nearly seen before", lambda: paid_before.nearly(book, known, "USD", 5))
    step("invoice seen before", lambda: paid_before.invoice(book, known._replace(stub=(INVOICE,))))
    step("known payee", lambda: batches.known_payee(book, "main", "Ada Thwaite"))
    step("pull", lambda: batches.pull(book, accept(book, payday(2, start=10**6)), 1, "left"))
    step("withdraw", lambda: batches.withdraw(book, accept(book, payday(2, start=10**6 + 9)), "wrong week"))
    step("a form's links", lambda: story.links(book, "main", old))
    step("its number", lambda: story.search(book, f"main:{old}"))
    step("a reference", lambda: story.search(book, "PR-0060"))
    step("an amount", lambda: story.search(book, f"{(81_240 + 7 * 60) / 100:.2f}"))
    step("nobody's name", lambda: story.search(book, "nobody at all"))
    box = stock.ranges(book)[0]
    step("what is on hand", lambda: stock.on_hand(book, box, box.first, box.last))
    step("how many are on hand", lambda: stock.how_many_on_hand(book, "main", FORM))
    step("how many wait", lambda: batches.left(book, batch))
    step("the batches with something left to do", lambda: batches.current(book, 2))
    return spent


@pytest.fixture(scope="module")
def spent(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, int], dict[str, int]]:
    """The steps in a small book, and in one of twenty times as many payments."""
    few, many = ((paydays, tmp_path_factory.mktemp("growth")) for paydays in (2, 40))
    return tuple(steps(kept(folder, paydays), paydays) for paydays, folder in (few, many))  # type: ignore[return-value]


def test_no_step_costs_more_in_a_large_book(spent: tuple[dict[str, int], dict[str, int]]) -> None:
    small, large = spent
    grown = {name: (small[name], large[name]) for name in small if large[name] > 1.5 * small[name] + 100}
    assert grown == {}


def test_the_count_would_show_a_step_that_grew(tmp_path: Path) -> None:
    few, many = kept(tmp_path / "few", 2), kept(tmp_path / "many", 12)

    def scan(book: Book) -> int:
        return instructions(book, lambda: book.value("SELECT count(*) FROM number WHERE reason = 'torn'"))

    assert scan(many) > 4 * scan(few)
