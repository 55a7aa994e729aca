"""After a stop: what a person sees on the paper is held against what the book knows, and all of it is entered."""

from pathlib import Path

import pytest
from book.quillmere import FORM, accept, begin, payday, refused, send, start
from book.server import on_both as on_both

from cheque.book import batches, doubt, runs, stock, verify
from cheque.book.book import Book
from cheque.book.doubt import InDoubt, Told
from cheque.errors import BookRefused, UsageRefused


def stopped(folder: Path, sent: int = 4) -> tuple[Book, InDoubt]:
    """A run of six forms from 000501, stopped after so many were sent."""
    book = begin(folder)
    stock.receive(book, account="main", form=FORM, first="000501", last="000510")
    batch = accept(book, payday(6))
    run, numbers = start(book, batch, 501)
    send(book, run, numbers[:sent])
    runs.stopped(book, run, "the cable came loose")
    return book, doubt.in_doubt(book, runs.get(book, run))


def states(book: Book) -> str:
    """A letter for the state of each number of the box."""
    return "".join(stock.state_of(book, "main", n).value[0] for n in range(501, 511))


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        (0, "nothing of 000501 to 000506 was sent"),
        (1, "000501 was sent, and nothing after"),
        (4, "000501 to 000504 were sent, and nothing after"),
    ],
)
def test_what_the_book_knows_is_said_in_words(tmp_path: Path, sent: int, words: str) -> None:
    _, found = stopped(tmp_path, sent)
    assert found.in_words() == words


def test_the_last_good_form_is_one_that_was_sent(tmp_path: Path) -> None:
    _, found = stopped(tmp_path)
    assert doubt.last_good(found, "000503") == 503
    assert doubt.last_good(found, " None ") == 500
    with refused(BookRefused, "number 000505 cannot be good: 000501 to 000504 were sent", "a form was skipped"):
        doubt.last_good(found, "000505")
    with refused(BookRefused, "this run began at 000501, so 000400 is not of it: say none"):
        doubt.last_good(found, "000400")
    for text in ("", "x", "1" * 19, "-1"):
        with refused(UsageRefused, "wanted the number preprinted on the last good form, or none"):
            doubt.last_good(found, text)


def test_the_number_at_the_head_comes_after_the_last_good_one(tmp_path: Path) -> None:
    book, found = stopped(tmp_path)
    assert doubt.head(book, found, 503, "000504") == 504
    assert doubt.head(book, found, 503, "000511") == 511  # the box is at its end
    with refused(BookRefused, "000503 is good, so the form at the head comes after it: 000503 does not"):
        doubt.head(book, found, 503, "000503")
    with refused(BookRefused, "the box ends at 000510: 000512 is not of it"):
        doubt.head(book, found, 503, "000512")
    stock.spoil(book, account="main", first=508, last=508, reason="torn")
    with refused(BookRefused, "between 000506, the last of the run, and 000510 are numbers that the book"):
        doubt.head(book, found, 503, "000510")


def test_every_form_up_to_the_head_is_accounted_for(tmp_path: Path) -> None:
    book, found = stopped(tmp_path)
    seen = doubt.settle(book, found, Told(502, 504, "torn", {}, {}))
    assert seen == runs.Seen((501, 502), {503: "torn"}, {}, (504, 505, 506))
    assert states(book) == "pps" + "o" * 7
    assert batches.waiting(book, 1) == [3, 4, 5, 6]
    assert verify.verify(book) == []


def test_a_bad_form_before_the_last_good_one_is_told_by_its_number(tmp_path: Path) -> None:
    book, found = stopped(tmp_path)
    doubt.settle(book, found, Told(504, 505, "", {502: "wet"}, {503: "not there"}))
    assert states(book) == "psmp" + "o" * 6
    assert batches.held(book, 1) == [(3, 503)]


def test_forms_fed_past_the_end_of_the_run_are_accounted_for_too(tmp_path: Path) -> None:
    book, found = stopped(tmp_path)
    doubt.settle(book, found, Told(504, 509, "fed by hand", {}, {508: "not there"}))
    assert states(book) == "ppppsssmoo"
    assert [e.kind for e in list(verify.events(book))[-3:]] == ["paper.seen", "form.spoiled", "form.missing"]
    assert verify.verify(book) == []


def test_all_of_what_was_told_is_entered_or_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book, found = stopped(tmp_path)
    before = book.head

    def failing(*_: object, **__: object) -> None:
        raise BookRefused("the disk is full")

    monkeypatch.setattr(stock, "spoil", failing)
    with refused(BookRefused, "the disk is full"):
        doubt.settle(book, found, Told(504, 509, "fed by hand", {}, {}))
    assert book.head == before
    assert runs.unfinished(book)


def test_what_became_of_the_forms_between_is_asked(tmp_path: Path) -> None:
    book, found = stopped(tmp_path)
    for head in (505, 509):
        with refused(UsageRefused, "what became of the forms between, 000503 to", "Give it with --between"):
            doubt.settle(book, found, Told(502, head, " ", {}, {}))
    assert states(book) == "ssssrroooo"


def test_a_form_at_the_head_or_after_it_is_blank(tmp_path: Path) -> None:
    book, found = stopped(tmp_path)
    with refused(BookRefused, "number 000504 is blank, being at the head or after: it cannot be spoiled"):
        doubt.settle(book, found, Told(502, 504, "torn", {504: "wet"}, {}))
    with refused(BookRefused, "number 000510 is not in doubt in this run"):
        doubt.settle(book, found, Told(502, 504, "torn", {}, {510: "gone"}))
