"""What is kept with every event, so that a question does not count: what waits of a batch, what is free of a box."""

from pathlib import Path

import pytest
from book.quillmere import FORM, accept, again, begin, payday, print_good, prove, see, send, start
from book.server import on_both as on_both

from cheque.book import batches, cheques, opening, runs, stock, verify
from cheque.book.book import Book
from cheque.payment import Role


@pytest.fixture
def book(tmp_path: Path) -> Book:
    book = begin(tmp_path)
    stock.receive(book, account="main", form=FORM, first="100501", last="100600")
    return book


def waits(book: Book) -> list[int]:
    """What is kept for each batch; it is what waits there when they are counted, and what a rebuilt book has."""
    found = batches.every(book)
    assert [one.waits for one in found] == [len(batches.waiting(book, one.id)) for one in found]
    assert verify.verify(book) == []
    return [one.waits for one in found]


def free(book: Book) -> list[list[int]]:
    (box,) = stock.ranges(book)
    assert verify.verify(book) == []
    return stock.on_hand(book, box, box.first, box.last)


def apart(book: Book, batch: int, items: list[list[int]]) -> int:
    """Advices of a batch set apart onto a form of their own."""
    with batches.accepting(book) as acceptance:
        wanted = [item for first, last in items for item in range(first, last + 1)]
        for place, item in enumerate(wanted, 1):
            acceptance.add(batches.payment(book, batch, item)._replace(item=place))
        told = {"account": "main", "form": "advice", "form_digest": acceptance.keep_form("an advice")}
        told |= {"currency": "USD", "source": "advices", "kind": "advices", "register": "", "pairs": ""}
        sums = {"items": len(wanted), "total": 0, "hash": 0}
        acceptance.finish({**told, **sums, "apart": {"batch": batch, "items": items}})
    return acceptance.batch


def test_a_payment_waits_until_it_has_its_form_and_again_when_that_is_no_good(book: Book) -> None:
    batch = accept(book, payday(6))
    assert waits(book) == [6]
    run, numbers = start(book, batch, 100501, count=5)
    assert waits(book) == [1]
    send(book, run, numbers[:4])
    runs.stopped(book, run, "paper out")
    assert waits(book) == [1]
    see(book, run, good=[100501], spoiled={100502: "torn"}, missing={100503: "gone", 100504: "gone"}, blank=[100505])
    assert waits(book) == [3]  # what is missing after it was sent may bear a cheque: it is held
    assert [item for item, _ in batches.held(book, batch)] == [3, 4]
    stock.found(book, account="main", first=100503, last=100503, spoiled=True, reason="behind the printer")
    assert waits(book) == [4]
    batches.pull(book, batch, 6, "left")
    assert waits(book) == [3]


def test_a_void_cheque_waits_only_in_its_reprint_and_a_spoiled_one_in_the_latest_batch(book: Book) -> None:
    batch = accept(book, payday(3))
    print_good(book, batch, 100501)
    cheques.void(book, account="main", number=100502, reason="wrong hours", paper="in hand")
    assert waits(book) == [0]
    other = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 100502))
    assert waits(book) == [0, 1]
    batches.withdraw(book, other, "not now")
    assert waits(book) == [0, 0]
    third = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 100502))
    run, numbers = start(book, third, 100510)
    send(book, run, numbers)
    runs.stopped(book, run, "jam")
    see(book, run, spoiled={100510: "torn"})
    assert waits(book) == [0, 0, 1]
    batches.pull(book, third, 1, "paid otherwise")
    assert waits(book) == [0, 0, 0]


def test_advices_set_apart_wait_there_and_in_their_own_batch_again_when_that_is_withdrawn(book: Book) -> None:
    stock.receive(book, account="main", form="advice", first="500", last="600")
    people = [one._replace(role=Role.ADVICE) if one.item > 3 else one for one in payday(6)]
    batch = accept(book, people)
    other = apart(book, batch, [[4, 5], [6, 6]])
    assert waits(book) == [3, 3]
    batches.pull(book, other, 2, "left")
    assert waits(book) == [4, 2]
    batches.withdraw(book, other, "on the same form after all")
    assert waits(book) == [6, 0]
    third = apart(book, batch, [[4, 6]])
    run, numbers = start(book, third, 500, count=2)
    assert waits(book) == [3, 0, 1]
    send(book, run, numbers)
    runs.stopped(book, run, "jam")
    see(book, run, good=[500], missing={501: "gone"})
    assert waits(book) == [3, 0, 2]  # an advice that is missing is printed again


def test_cheques_of_an_opening_list_wait_for_nothing(book: Book) -> None:
    out = [opening.Out(str(number), "2026-10-30", f"Payee {number}", 100) for number in (7, 8, 12)]
    told = {"account": "main", "form": FORM, "definition": "the definition", "currency": "USD"}
    opening.enter(book, out, **told, source="out.csv")
    assert waits(book) == [0]


def test_what_is_free_of_a_box_falls_apart_and_comes_together(book: Book) -> None:
    assert free(book) == [[100501, 100600]]
    stock.spoil(book, account="main", first=100501, last=100502, reason="torn")
    stock.missing(book, account="main", first=100510, last=100519, reason="gone")
    stock.destroy(book, account="main", first=100600, last=100600, witness="Ada", reason="old")
    assert free(book) == [[100503, 100509], [100520, 100599]]
    (box,) = stock.ranges(book)
    assert stock.on_hand(book, box, 100505, 100525) == [[100505, 100509], [100520, 100525]]
    assert stock.on_hand(book, box, 100511, 100518) == stock.on_hand(book, box, 100501, 100502) == []
    for first, last, left in (
        (100512, 100514, [[100503, 100509], [100512, 100514], [100520, 100599]]),
        (100510, 100511, [[100503, 100514], [100520, 100599]]),
        (100516, 100519, [[100503, 100514], [100516, 100599]]),
        (100515, 100515, [[100503, 100599]]),
    ):
        stock.found(book, account="main", first=first, last=last, spoiled=False, reason="in the drawer")
        assert free(book) == left


def test_boxes_that_follow_each_other_stay_apart(book: Book) -> None:
    stock.receive(book, account="main", form=FORM, first="100601", last="100700")
    stock.spoil(book, account="main", first=100600, last=100600, reason="torn")
    assert list(book.rows("SELECT first, last FROM free ORDER BY first")) == [(100501, 100599), (100601, 100700)]


def test_batches_of_which_nothing_is_left_to_do_make_room_for_newer_ones(book: Book) -> None:
    first = accept(book, payday(2))
    for place in range(3):
        print_good(book, accept(book, payday(1, start=10 + place)), 100501 + place)
    withdrawn = accept(book, payday(1, start=20))
    batches.withdraw(book, withdrawn, "wrong week")
    last = accept(book, payday(1, start=30))
    start(book, last, 100520)
    found, older = batches.current(book, 0)
    assert ([one.id for one in found], older) == ([first, last], 4)
    found, older = batches.current(book, 2)
    assert ([one.id for one in found], older) == ([first, withdrawn, last], 3)
    assert batches.current(book)[1] == 0


def test_a_book_of_the_release_before_has_them_when_it_is_opened(book: Book, request: pytest.FixtureRequest) -> None:
    prove(book, accept(book, payday(6)))
    start(book, 1, 100501, count=2)
    before = {name: list(book.rows(f"SELECT * FROM {name}")) for name in ("free", "batch", "claim")}
    if "roles" in request.node.name:  # there only the owner makes its tables anew: tests/book/test_book_roles.py
        assert verify.verify(book) == []
        return
    with book.store.writing():
        for name in ("free", "batch"):  # as it had none of the one, and the other without what waits
            book.store.execute(f"DROP TABLE {name}")
        book.store.derived_version = 3
    newer = again(book)
    assert {name: list(newer.rows(f"SELECT * FROM {name}")) for name in before} == before
    assert verify.verify(newer) == []
