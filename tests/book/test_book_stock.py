"""Numbered stock: received once, counted, destroyed before a witness; spoiled, missing, found."""

from pathlib import Path

import pytest
from book.quillmere import FORM, accept, begin, payday, printed, refused, see, send, start
from book.server import on_both as on_both

from cheque.book import batches, cheques, runs, stock, verify
from cheque.book.book import Book
from cheque.errors import BookRefused, UsageRefused


@pytest.fixture
def book(tmp_path: Path) -> Book:
    book = begin(tmp_path)
    stock.receive(book, account="main", form=FORM, first="000501", last="000600")
    return book


def test_a_box_is_entered_with_its_numbers_as_preprinted(book: Book) -> None:
    (box,) = stock.ranges(book)
    assert (box.account, box.form, box.first, box.last, box.digits) == ("main", FORM, 501, 600, 6)
    assert box.text(501) == "000501"
    assert stock.range_of(book, "main", 600) == box
    assert stock.on_hand(book, box, 501, 600) == [[501, 600]]
    assert stock.holders(book, 550) == ["main"]
    assert stock.ranges(book, "petty") == []


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("", "9", "wanted digits only"),
        ("1", "", "wanted digits only"),
        ("A1", "A9", "wanted digits only"),
        ("-1", "9", "wanted digits only"),
        ("1 ", "9", "wanted digits only"),
        ("١", "٩", "wanted digits only"),
        ("0001", "100", "0001 with 4 digits and 100 with 3; wanted both as preprinted"),
        ("1", "0100", "1 with 1 digits and 0100 with 4"),
        ("9", "1", "wanted the lowest number first, from 1 up"),
        ("0", "9", "wanted the lowest number first, from 1 up"),
        ("000", "009", "from 1 up"),
        ("1", "9" * 19, "a number has at most 18"),
        ("1" * 5000, "2", "a number has at most 18"),
        ("100501", "1010000000", "wanted at most 10000000 at a time. Is there a digit too many?"),
    ],
)
def test_what_is_no_range_of_numbers_is_refused(book: Book, first: str, last: str, words: str) -> None:
    with refused(UsageRefused, words):
        stock.receive(book, account="main", form=FORM, first=first, last=last)


def test_the_longest_numbers_there_are_can_be_received(book: Book) -> None:
    box = stock.receive(book, account="main", form=FORM, first="9" * 17 + "0", last="9" * 18)
    assert stock.range_of(book, "main", 10**18 - 1) == box
    assert verify.verify(book) == []


def test_numbers_may_grow_by_a_digit_in_a_box(book: Book) -> None:
    box = stock.receive(book, account="petty", form=FORM, first="98", last="103")
    assert [box.text(n) for n in (98, 103)] == ["98", "103"]


@pytest.mark.parametrize(
    ("first", "last"), [("000501", "000600"), ("600", "700"), ("401", "501"), ("550", "560"), ("100", "900")]
)
def test_a_number_is_received_once(book: Book, first: str, last: str) -> None:
    with refused(BookRefused, "overlaps 501-600 (payroll-us), received already", "Look at the numbers on the box"):
        stock.receive(book, account="main", form="another", first=first, last=last)


def test_two_accounts_may_have_the_same_numbers(book: Book) -> None:
    stock.receive(book, account="petty", form=FORM, first="501", last="600")
    assert stock.holders(book, 501) == ["main", "petty"]
    stock.spoil(book, account="petty", first=501, last=501, reason="torn")
    assert stock.state_of(book, "main", 501) == "on hand"
    assert stock.state_of(book, "petty", 501) == "spoiled"


@pytest.mark.parametrize("number", [500, 601, 0, -1])
def test_a_number_on_no_stock_is_refused(book: Book, number: int) -> None:
    with refused(BookRefused, f"main:{number} is on no stock", "`cheque stock receive` enters a new box"):
        stock.range_of(book, "main", number)
    assert stock.holders(book, number) == []


def test_a_count_is_held_against_what_should_be_there(book: Book) -> None:
    stock.spoil(book, account="main", first=501, last=510, reason="lead-in")
    assert stock.count(book, account="main", first=501, last=600, counted=90) == 0
    assert stock.count(book, account="main", first=501, last=600, counted=88) == -2
    assert stock.count(book, account="main", first=505, last=512, counted=3) == 1
    assert book.head.data == {"account": "main", "first": 505, "last": 512, "counted": 3, "expected": 2}


def test_each_box_is_counted_by_itself(book: Book) -> None:
    for first, last in ((501, 601), (510, 505)):
        with refused(BookRefused, "is not within one box: 501-600 is. Count each box by itself"):
            stock.count(book, account="main", first=first, last=last, counted=1)
    with refused(UsageRefused, "found -1 forms counted; wanted 0 or more"):
        stock.count(book, account="main", first=501, last=600, counted=-1)


def test_old_stock_is_destroyed_before_a_witness(book: Book) -> None:
    with refused(UsageRefused, "destroyed before a witness", "--witness"):
        stock.destroy(book, account="main", first=590, last=600, witness=" ", reason="old address")
    with refused(UsageRefused, "a reason is wanted", "--reason"):
        stock.destroy(book, account="main", first=590, last=600, witness="Cora Selwick", reason="")
    stock.destroy(book, account="main", first=590, last=600, witness=" Cora Selwick ", reason="old address")
    assert book.head.data["witness"] == "Cora Selwick"
    for kind in (stock.spoil, stock.missing):
        with refused(BookRefused, "number 000595 of main is destroyed, so it cannot become", "It was destroyed."):
            kind(book, account="main", first=595, last=595, reason="torn")


def test_only_what_is_on_hand_is_spoiled_missing_or_destroyed(tmp_path: Path) -> None:
    book, _, numbers = printed(tmp_path)
    first = numbers[0]
    cheques.void(book, account="main", number=numbers[1], reason="wrong hours", paper="in hand")
    stock.spoil(book, account="main", first=100590, last=100590, reason="torn")
    stock.missing(book, account="main", first=100591, last=100591, reason="gone")
    batch = accept(book, payday(2, start=50))
    run, held = start(book, batch, 100520)
    send(book, run, held[:1])
    for number, words in (
        (first, "is printed, so it cannot become destroyed. It is a good cheque: `cheque void`"),
        (numbers[1], "is voided, so it cannot become destroyed. It was accounted for already."),
        (100590, "is spoiled, so it cannot become destroyed. It was accounted for already."),
        (100591, "is missing, so it cannot become destroyed. It is missing: if it was found, say so"),
        (100520, "is sent, so it cannot become destroyed. It may have been printed: `cheque confirm`"),
        (100521, "is reserved, so it cannot become destroyed. A run holds it"),
    ):
        with refused(BookRefused, f"number {number} of main {words}"):
            stock.destroy(book, account="main", first=number, last=number, witness="w", reason="r")


def test_the_first_number_of_a_range_that_stands_in_the_way_is_named(book: Book) -> None:
    stock.spoil(book, account="main", first=520, last=520, reason="torn")
    with refused(BookRefused, "number 000520 of main is spoiled"):
        stock.missing(book, account="main", first=510, last=530, reason="gone")
    assert stock.state_of(book, "main", 510) == "on hand"
    with refused(BookRefused, "goes past the end of its box, 000600"):
        stock.spoil(book, account="main", first=590, last=601, reason="torn")
    with refused(UsageRefused, "wanted the lower number first"):
        stock.spoil(book, account="main", first=590, last=589, reason="torn")


@pytest.mark.parametrize("reason", ["", "  ", "\t\n"])
def test_a_reason_is_wanted(book: Book, reason: str) -> None:
    for what in (stock.spoil, stock.missing):
        with refused(UsageRefused, "a reason is wanted: give it with --reason"):
            what(book, account="main", first=501, last=501, reason=reason)
    with refused(UsageRefused, "a reason is wanted"):
        stock.found(book, account="main", first=501, last=501, spoiled=True, reason=reason)


@pytest.mark.parametrize("reason", ["torn\x1b[2J", "torn\nand wet", "torn\u202e", "torn\x00"])
def test_nothing_in_a_reason_can_steer_a_screen_or_a_printer(book: Book, reason: str) -> None:
    with refused(UsageRefused, "with a character that is not printed; wanted plain text"):
        stock.spoil(book, account="main", first=501, last=501, reason=reason)


def test_a_missing_blank_form_that_turns_up_is_on_hand_again(book: Book) -> None:
    stock.missing(book, account="main", first=510, last=512, reason="not in the box")
    stock.found(book, account="main", first=510, last=511, spoiled=False, reason="under the bench")
    stock.found(book, account="main", first=512, last=512, spoiled=True, reason="under the boat")
    assert [stock.state_of(book, "main", n) for n in (510, 511, 512)] == ["on hand", "on hand", "spoiled"]
    assert cheques.get(book, "main", 510) is None
    assert cheques.get(book, "main", 512).reason == "under the boat"  # type: ignore[union-attr]
    assert verify.verify(book) == []


def test_only_what_is_missing_is_found(book: Book) -> None:
    with refused(BookRefused, "number 000510 of main is on hand, so it cannot become on hand. It is in the box"):
        stock.found(book, account="main", first=510, last=510, spoiled=False, reason="r")
    stock.missing(book, account="main", first=510, last=510, reason="not in the box")
    with refused(BookRefused, "number 000511 of main is on hand"):
        stock.found(book, account="main", first=510, last=511, spoiled=True, reason="r")


def test_a_missing_form_that_may_bear_a_cheque_is_never_on_hand_again(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    batch = accept(book, payday(2, start=50))
    run, (first, second) = start(book, batch, 100520)
    send(book, run, [first])
    see(book, run, missing={first: "not there", second: "not there either"})
    with refused(BookRefused, "was sent to the printer with payment 1 of batch 2", "deface it", "--spoiled"):
        stock.found(book, account="main", first=first, last=second, spoiled=False, reason="behind the printer")
    # the second was only reserved: no bytes ever left for it, so it is blank
    stock.found(book, account="main", first=second, last=second, spoiled=False, reason="behind the printer")
    stock.found(book, account="main", first=first, last=first, spoiled=True, reason="behind the printer")
    assert batches.waiting(book, batch) == [1, 2]
    assert verify.verify(book) == []


def test_a_destroyed_or_spoiled_form_is_not_printed_on(book: Book) -> None:
    batch = accept(book, payday(3))
    stock.spoil(book, account="main", first=502, last=502, reason="torn")
    stock.destroy(book, account="main", first=510, last=510, witness="w", reason="r")
    with refused(BookRefused, "number 000502 of main is spoiled", "--count 1, then go on from the next number"):
        runs.plan(book, batch, 501)
    with refused(BookRefused, "number 000510 of main is destroyed", "Look at the number on the form at the head"):
        runs.plan(book, batch, 510)
