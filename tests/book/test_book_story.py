"""What the book tells when it is asked: a form's story, a search, a safe copy."""

import sqlite3
import stat
from pathlib import Path

import pytest
from book.quillmere import FORM, accept, again, begin, payday, print_good, printed, prove, refused, see, send, start

from cheque.book import batches, cheques, restoring, runs, stock, store, story, verify
from cheque.book.book import FILE, Book, open_book, open_copy
from cheque.errors import BookRefused, InputRefused, UsageRefused


def kinds(book: Book, number: int) -> list[str]:
    return [event.kind for event in story.history(book, "main", number)]


def test_a_form_tells_its_whole_story(tmp_path: Path) -> None:
    book = begin(tmp_path)
    stock.receive(book, account="main", form=FORM, first="100501", last="100600")
    batch = accept(book, payday(4))
    prove(book, batch)
    batches.pull(book, batch, 4, "left")
    prove(book, batch)
    stock.count(book, account="main", first=100501, last=100600, counted=100)
    run, numbers = start(book, batch, 100501)
    send(book, run, numbers)
    runs.stopped(book, run, "c")
    see(book, run, good=numbers)
    cheques.move(book, account="main", first=100502, last=100503, place="mailed", to="")
    cheques.void(book, account="main", number=100502, reason="r", paper="not in hand")
    cheques.confirm_stop(book, account="main", number=100502, by="Bank", on="2026-11-30")
    other = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 100502))
    print_good(book, other, 100510)
    stock.spoil(book, account="main", first=100590, last=100599, reason="wet")
    assert kinds(book, 100502) == [
        "stock.received",
        "batch.accepted",
        "proof.made",
        "stock.counted",
        "run.begun",
        "run.sent",
        "run.stopped",
        "paper.seen",
        "custody.changed",
        "cheque.voided",
        "stop.confirmed",
        "batch.accepted",
    ]
    own = story.history(book, "main", 100502)
    assert own[2].data["proof"] == own[4].data["proof"] == batches.get(book, batch).proof
    assert own[5].data["first"] == 100502
    assert kinds(book, 100510) == [
        "stock.received",
        "stock.counted",
        "batch.accepted",
        "proof.made",
        "run.begun",
        "run.sent",
        "run.finished",
        "paper.seen",
    ]
    assert kinds(book, 100595) == ["stock.received", "stock.counted", "form.spoiled"]
    assert kinds(book, 100600) == ["stock.received", "stock.counted"]
    with refused(BookRefused, "main:99 is on no stock"):
        story.history(book, "main", 99)


def test_a_form_returned_blank_tells_of_the_run_that_did_not_print_it(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    run, numbers = start(book, accept(book, payday(2, start=50)), 100520)
    runs.stopped(book, run, "paper jam")
    see(book, run, blank=numbers)
    assert kinds(book, 100520) == [
        "stock.received",
        "batch.accepted",
        "proof.made",
        "run.begun",
        "run.stopped",
        "paper.seen",
    ]
    assert story.links(book, "main", 100520) == (None, None)


def test_a_payment_pulled_after_its_form_was_spoiled_is_in_that_forms_story(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    batch = accept(book, payday(2, start=50))
    run, numbers = start(book, batch, 100520)
    send(book, run, numbers)
    see(book, run, good=[100521], spoiled={100520: "torn"})
    batches.pull(book, batch, 1, "left")
    assert kinds(book, 100520)[-1] == "payment.pulled"
    assert kinds(book, 100521)[-1] == "paper.seen"


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Six good cheques, and a batch of which one payment was spoiled, one is pulled, and two wait."""
    book, _, _ = printed(tmp_path, first="000501", last="000600")
    payments = payday(4, start=50)
    payments[0] = payments[0]._replace(payee="Zoë Ångström", reference="INV-77", amount=1_234_567)
    payments[1] = payments[1]._replace(payee="Ada Thwaite & Sons", reference="Ada Thwaite")
    batch = accept(book, payments)
    batches.pull(book, batch, 4, "left")
    run, numbers = start(book, batch, 520, count=1)
    send(book, run, numbers)
    see(book, run, spoiled={520: "torn"})
    return book


def found(book: Book, text: str) -> list[tuple[int | None, str, int, int]]:
    return [(one.number, one.state, one.batch, one.item) for one in story.search(book, text)]


def test_a_search_finds_a_payee_by_any_part_capitals_or_not(book: Book) -> None:
    both = [(501, "printed", 1, 1), (None, "waiting", 2, 2)]
    for text in ("Ada Thwaite", "ada", "THWAITE", "da  thw", " a tHw "):
        assert found(book, text) == both
    assert set(found(book, "ångSTRÖM")) == {(520, "spoiled", 2, 1), (None, "waiting", 2, 1)}
    assert found(book, "nobody") == []
    assert found(book, "%") == found(book, "_") == []


def test_a_search_finds_an_amount_as_written_or_in_minor_units(book: Book) -> None:
    spoiled = {(520, "spoiled", 2, 1), (None, "waiting", 2, 1)}
    for text in ("12345.67", "12,345.67", "1234567"):
        assert set(found(book, text)) == spoiled
    assert found(book, "12345.6") == found(book, "12345.670") == []


def test_a_search_finds_a_reference_and_says_what_became_of_the_payment(book: Book) -> None:
    assert found(book, "PR-0001") == [(501, "printed", 1, 1)]
    assert set(found(book, "INV-77")) == {(520, "spoiled", 2, 1), (None, "waiting", 2, 1)}
    assert found(book, "PR-0054") == [(None, "pulled", 2, 4)]
    withdrawn = accept(book, payday(1, start=80))
    batches.withdraw(book, withdrawn, "the wrong week")
    assert found(book, "PR-0081") == [(None, "withdrawn", withdrawn, 1)]
    reprint = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 520))
    assert set(found(book, "INV-77")) == {(520, "spoiled", 2, 1), (None, "waiting", reprint, 1)}


def test_a_search_finds_a_number_with_or_without_zeros_or_account(book: Book) -> None:
    for text in ("502", "000502", "main:502", "main:000502"):
        assert (502, "printed", 1, 2) in found(book, text)
    assert found(book, "590") == [(590, "on hand", 0, 0)]
    assert found(book, "petty:590") == found(book, "999999") == []
    stock.receive(book, account="petty", form=FORM, first="590", last="591")
    assert {one.account for one in story.search(book, "590")} == {"main", "petty"}


def test_a_search_gives_the_payment_whole(book: Book) -> None:
    (one,) = story.search(book, "PR-0003")
    assert one == story.Found("main", 503, "printed", 1, 3, "Cora Selwick", 81_261, "2026-11-27", "PR-0003", "USD")
    assert cheques.search is story.search
    assert cheques.links is story.links


def test_a_search_for_nothing_is_refused(book: Book) -> None:
    for text in ("", "  \t"):
        with refused(UsageRefused, "what is to be found? Give a payee, an amount, a reference or a number"):
            story.search(book, text)
    with refused(BookRefused, "text only"):
        story.search(book, "\udce9")
    assert story.search(book, "9" * 40) == []


# copies


def test_a_copy_is_whole_private_and_has_the_latest_event(book: Book, tmp_path: Path) -> None:
    head = story.backup(book, tmp_path / "copy.sqlite")
    assert head == book.head
    copy = tmp_path / "copy.sqlite"
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    assert sorted(path.name for path in tmp_path.iterdir()) == ["book", "copy.sqlite"]
    with open_copy(copy) as reader:
        assert list(verify.events(reader)) == list(verify.events(book))


def test_a_copy_put_in_a_place_of_its_own_is_the_book_again(book: Book, tmp_path: Path) -> None:
    story.backup(book, tmp_path / "copy.sqlite")
    stock.spoil(book, account="main", first=600, last=600, reason="torn")
    (tmp_path / "restored").mkdir(mode=0o700)
    (tmp_path / "copy.sqlite").rename(tmp_path / "restored" / FILE)
    with open_book(tmp_path / "restored") as restored:
        assert restored.identity == book.identity
        assert stock.state_of(restored, "main", 600) == "on hand"
        with refused(UsageRefused, "is a copy", "--restored"):
            stock.spoil(restored, account="main", first=599, last=599, reason="torn")
        restoring.restored_here(restored, [("main", 599)])
        stock.spoil(restored, account="main", first=599, last=599, reason="torn")
        assert restored.value("PRAGMA journal_mode") == "wal"
        assert verify.verify(restored) == []
        # what the paper of after the copy shows is not in it
        assert verify.verify(restored, digest=book.head.digest) != []


def test_a_copy_is_made_while_another_station_writes(book: Book, tmp_path: Path) -> None:
    other = again(book)
    with other.change():
        stock.spoil(other, account="main", first=600, last=600, reason="torn")
        head = story.backup(book, tmp_path / "copy.sqlite")
    assert head.seq == book.head.seq - 1


def test_nothing_is_copied_over(book: Book, tmp_path: Path) -> None:
    (tmp_path / "copy.sqlite").write_text("precious")
    with refused(InputRefused, "is there already: nothing is written over"):
        story.backup(book, tmp_path / "copy.sqlite")
    assert (tmp_path / "copy.sqlite").read_text() == "precious"
    (tmp_path / "link.sqlite").symlink_to(tmp_path / "elsewhere")
    with refused(InputRefused, "is there already"):
        story.backup(book, tmp_path / "link.sqlite")
    with refused(InputRefused, "a copy cannot be made at", "No such file or directory"):
        story.backup(book, tmp_path / "no" / "folder" / "copy.sqlite")


def test_no_copy_is_kept_of_a_book_that_is_not_whole(book: Book, tmp_path: Path) -> None:
    with book.store.writing():
        book.store.execute("UPDATE tally SET forms = forms + 1 WHERE state = 'printed'")
    with refused(BookRefused, "the book is not whole, so no copy of it was kept", "table tally"):
        story.backup(book, tmp_path / "copy.sqlite")
    assert not (tmp_path / "copy.sqlite").exists()


def test_a_copy_that_fails_leaves_no_file(book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Full(sqlite3.OperationalError):
        sqlite_errorcode = sqlite3.SQLITE_FULL

    def full(*_: object, **__: object) -> object:
        raise Full("database or disk is full")

    monkeypatch.setattr(store.sqlite3, "connect", full)
    with refused(BookRefused, "copy.sqlite could not be written: the disk is full"):
        story.backup(book, tmp_path / "copy.sqlite")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["book"]


def test_a_copy_that_cannot_be_proved_is_not_kept(book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object, **__: object) -> list[object]:
        raise KeyboardInterrupt

    monkeypatch.setattr(verify, "verify", stopped)
    with pytest.raises(KeyboardInterrupt):
        story.backup(book, tmp_path / "copy.sqlite")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["book"]


def test_what_is_no_copy_of_a_book_is_not_opened_as_one(book: Book, tmp_path: Path) -> None:
    (tmp_path / "letters.txt").write_text("Dear Ada, " * 100)
    with refused(BookRefused, "is not a book"):
        open_copy(tmp_path / "letters.txt")
    with refused(BookRefused, "cannot be opened"):
        open_copy(tmp_path / "nothing")
    with open_copy(book.place / FILE) as reader, refused(BookRefused, "cannot be written"):
        stock.spoil(reader, account="main", first=600, last=600, reason="torn")
