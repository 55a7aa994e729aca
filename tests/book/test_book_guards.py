"""The laws that must never break are held by the database itself, whatever program writes to it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from book.quillmere import accept, again, payday, printed, prove, refused, send, start
from book.server import on_both as on_both
from book.server import under_roles

from cheque.book import batches, cheques, stock, verify
from cheque.book.book import Book
from cheque.book.state import FOLLOWS, State
from cheque.errors import BookRefused


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    book, _, _ = printed(tmp_path)
    yield book
    book.close()


def write(book: Book, sql: str, *values: object) -> None:
    with book.store.writing():
        book.store.execute(sql, values)


@pytest.mark.parametrize(
    ("table", "column"), [("event", "who"), ("payment", "body"), ("content", "body"), ("proof_page", "digest")]
)
def test_what_is_written_once_is_neither_changed_nor_removed(book: Book, table: str, column: str) -> None:
    assert book.value(f"SELECT count(*) FROM {table}") > 0
    with refused(BookRefused, "is never changed"):
        write(book, f"UPDATE {table} SET {column} = {column}")
    with refused(BookRefused, "is never changed"):
        write(book, f"DELETE FROM {table}")
    assert verify.verify(book) == []


def test_an_event_follows_the_one_before_it(book: Book) -> None:
    head = book.head
    sql = "INSERT INTO event (seq, at, who, station, kind, body, prev, digest) VALUES (?, '', '', '', '', '', ?, '')"
    for seq, prev in ((head.seq + 2, head.digest), (head.seq + 1, head.prev), (0, head.digest), (head.seq, head.prev)):
        with refused(BookRefused, "an event follows the one before it"):
            write(book, sql, seq, prev)


def test_a_payment_has_one_live_cheque(book: Book) -> None:
    with refused(BookRefused, "would break its own law"):
        write(
            book,
            "INSERT INTO number SELECT account, 100590, stock, state, role, batch, item, run, origin_batch, "
            "origin_item, taken, sent, reason, custody, stop, seq FROM number WHERE number = 100501",
        )


def test_a_number_carries_one_payment_for_ever(book: Book) -> None:
    for column in ("batch", "item", "origin_batch", "origin_item", "role", "number", "account", "run"):
        with refused(BookRefused, "a number carries one payment, for ever"):
            write(book, f"UPDATE number SET {column} = {column} WHERE number = 100501")


def test_a_used_form_never_comes_back(book: Book) -> None:
    stock.spoil(book, account="main", first=100590, last=100590, reason="torn")
    for number in (100501, 100590):
        with refused(BookRefused, "a used form never comes back"):
            write(book, "DELETE FROM number WHERE number = ?", number)


def test_a_number_is_received_once(book: Book) -> None:
    for first, last in ((100501, 100600), (1, 100501), (100600, 100700), (100550, 100560), (1, 200000)):
        with refused(BookRefused, "a number is received once"):
            write(book, "INSERT INTO stock VALUES (99, 'main', 'payroll-us', ?, ?, 6, 2)", first, last)


def test_a_form_goes_from_state_to_state_only_as_the_diagram_says(book: Book) -> None:
    for state in State:
        sql = "INSERT INTO number VALUES ('main', 100580, 2, ?, '', 0, 0, 0, 0, 0, 0, 0, '', '', '', 2)"
        if state in FOLLOWS[State.ON_HAND]:
            with book.store.writing():
                book.store.execute(sql, (state.value,))
                book.store.execute("ROLLBACK")
                book.store.execute("BEGIN")
        else:
            with refused(BookRefused, "a form on hand cannot become that"):
                write(book, sql, state.value)
    for before in State:
        if before in FOLLOWS[State.ON_HAND]:
            for after in State:
                _from_to(book, before, after)


def _from_to(book: Book, before: State, after: State) -> None:
    """Try one step on a form, in a transaction that is given up."""

    class GivenUp(Exception):
        pass

    def step() -> None:
        with book.store.writing():
            book.store.execute(
                "INSERT INTO number VALUES ('main', 100580, 2, ?, '', 0, 0, 0, 0, 0, 0, 0, '', '', '', 2)", (before,)
            )
            if after is State.ON_HAND:
                book.store.execute("DELETE FROM number WHERE number = 100580")
            else:
                book.store.execute("UPDATE number SET state = ? WHERE number = 100580", (after.value,))
            raise GivenUp

    if after in FOLLOWS[before]:
        with pytest.raises(GivenUp):
            step()
    else:
        with refused(BookRefused, "Nothing changed"):
            step()


def test_no_count_of_forms_falls_below_nothing(book: Book) -> None:
    with refused(BookRefused, "would break its own law"):
        write(book, "UPDATE tally SET forms = -1 WHERE state = 'on hand'")


def test_a_column_holds_only_its_own_kind_of_value(book: Book) -> None:
    with refused(BookRefused, "would break its own law"):
        write(book, "UPDATE batch SET total = 'much'")
    with refused(BookRefused, "would break its own law"):
        write(book, "UPDATE batch SET seq = '12x'" if book.server else "UPDATE batch SET source = x'00ff'")


TWICE = "its own law"


def _waits_not(words: str) -> str:
    """A second form for a payment: under roles it is refused by name, before the database's own key refuses it."""
    return "waits for no form" if words == TWICE and under_roles() else words


def event(office: Book, kind: str, /, **body: object) -> None:
    """Append an event past the commands, as a faulty or a forged program might."""
    with office.change() as change:
        change.append(kind, body)


def test_no_path_around_the_commands_sends_what_is_not_reserved_for_the_run(book: Book) -> None:
    first = accept(book, payday(3, start=20))
    run, numbers = start(book, first, 100520)
    second = accept(book, payday(3, start=40))
    other, _ = start(book, second, 100530, printer="stores")
    sent = {"digest": "", "length": 1, "k": 0}
    for what in (
        {"run": run, "first": 100530, "last": 100530},
        {"run": run, "first": 100501, "last": 100501},
        {"run": run, "first": 100522, "last": 100523},
        {"run": other, "first": 100520, "last": 100520},
    ):
        with refused(BookRefused, "are not reserved for run"):
            event(book, "run.sent", **what, **sent)
    with refused(BookRefused, "never began"):
        event(book, "run.sent", run=9, first=100520, last=100520, **sent)
    send(book, run, numbers)
    assert verify.verify(book) == []


@pytest.mark.parametrize(
    ("kind", "body", "words"),
    [
        ("book.begun", {"book": "b", "format": 1}, "a book begins once"),
        ("form.spoiled", {"account": "main", "first": 100501, "last": 100501, "reason": "r"}, "cannot become spoiled"),
        ("form.missing", {"account": "main", "first": 1, "last": 1, "reason": "r"}, "not within one range of stock"),
        ("form.spoiled", {"account": "main", "first": 100600, "last": 100601, "reason": "r"}, "not within one range"),
        ("form.spoiled", {"account": "main", "first": 100590, "last": 100580, "reason": "r"}, "not within one range"),
        ("stock.destroyed", {"account": "main", "first": 100506, "last": 100507, "reason": "r"}, "is printed"),
        ("form.found", {"account": "main", "first": 100501, "last": 100501, "as": "on hand", "reason": "r"}, "missing"),
        ("form.found", {"account": "main", "first": 100590, "last": 100590, "as": "spoiled", "reason": "r"}, "on hand"),
        ("cheque.voided", {"account": "main", "number": 100590, "reason": "r", "paper": "returned"}, "never left"),
        ("stop.confirmed", {"account": "main", "number": 100590, "by": "b", "on": "2026-11-30"}, "never left the box"),
        (
            "custody.changed",
            {"account": "main", "first": 100506, "last": 100507, "place": "mailed", "to": ""},
            "only a cheque, good or void",
        ),
        ("payment.pulled", {"batch": 1, "item": 1, "reason": "r"}, "that has its form is not pulled"),
        ("payment.pulled", {"batch": 1, "item": 99, "reason": "r"}, "payment 99 is in no batch 1"),
        ("payment.pulled", {"batch": 9, "item": 1, "reason": "r"}, "batch 9 is not one that was accepted"),
        ("batch.withdrawn", {"batch": 1, "reason": "r"}, "a batch with a number is not withdrawn"),
        ("proof.made", {"batch": 9, "proof": "", "pages": ""}, "batch 9 is not one that was accepted"),
        ("run.stopped", {"run": 9, "cause": "c"}, "never began"),
        ("run.finished", {"run": 1}, "answered for already"),
        (
            "paper.seen",
            {"run": 1, "how": "", "good": [], "spoiled": [], "missing": [], "blank": []},
            "answered for already",
        ),
        (
            "cheque.manual",
            {"account": "main", "number": 100590, "batch": 1, "item": 99, "reason": "r"},
            "which is not to be paid",
        ),
        ("cheque.manual", {"account": "main", "number": 100590, "batch": 1, "item": 1, "reason": "r"}, TWICE),
    ],
)
def test_an_event_that_breaks_a_law_is_refused_whoever_appends_it(
    book: Book, kind: str, body: dict[str, object], words: str
) -> None:
    seq = book.head.seq
    with refused(BookRefused, _waits_not(words)):
        event(book, kind, **body)
    assert book.head.seq == seq
    assert verify.verify(book) == []


def test_a_void_cheque_is_not_given_out(book: Book) -> None:
    cheques.void(book, account="main", number=100501, reason="wrong hours", paper="in hand")
    with refused(BookRefused, "a void cheque is not given out"):
        event(book, "custody.changed", account="main", first=100501, last=100502, place="mailed", to="")


def run_begun(book: Book, **changes: object) -> None:
    body = {
        "run": 7,
        "batch": 2,
        "account": "main",
        "printer": "p",
        "address": "",
        "language": "",
        "proof": book.value("SELECT proof FROM batch WHERE id = 2"),
        "forms": [[100520, 1, 3]],
    }
    event(book, "run.begun", **{**body, **changes})


def test_only_what_the_latest_proof_shows_is_reserved_for(book: Book) -> None:
    batch = accept(book, payday(3, start=20))
    with refused(BookRefused, "only what the latest proof shows"):
        run_begun(book)
    prove(book, batch)
    with refused(BookRefused, "only what the latest proof shows"):
        run_begun(book, proof="0" * 64)
    with refused(BookRefused, "are not all to be printed"):
        run_begun(book, forms=[[100520, 1, 4]])
    with refused(BookRefused, "are not all to be printed"):
        run_begun(book, account="petty")
    with refused(BookRefused, "number 100505 of main is printed: it cannot become reserved"):
        run_begun(book, forms=[[100505, 1, 3]])
    with refused(BookRefused, _waits_not(TWICE)):
        run_begun(book, forms=[[100520, 1, 1], [100530, 1, 1]])
    batches.pull(book, batch, 2, "left the firm")
    with refused(BookRefused, "only what the latest proof shows"):
        run_begun(book, proof=prove(book, batch) and "1" * 64)
    with refused(BookRefused, "are not all to be printed"):
        run_begun(book)
    assert verify.verify(book) == []


def test_a_run_is_answered_for_whole(book: Book) -> None:
    batch = accept(book, payday(3, start=20))
    run, numbers = start(book, batch, 100520)
    send(book, run, numbers[:2])

    def seen(**groups: list[list[object]]) -> None:
        nothing: dict[str, list[list[object]]] = {"good": [], "spoiled": [], "missing": [], "blank": []}
        event(book, "paper.seen", run=run, how="", **{**nothing, **groups})

    with refused(BookRefused, "number 100522 of the run is not answered for"):
        seen(good=[[100520, 100521]])
    with refused(BookRefused, "they cannot be good"):
        seen(good=[[100520, 100522]])
    with refused(BookRefused, "they cannot be spoiled"):
        seen(good=[[100520, 100521]], spoiled=[[100521, 100522, "torn"]])
    with refused(BookRefused, "they cannot be blank"):
        seen(good=[[100520, 100521]], blank=[[100522, 100523]])
    seen(good=[[100520, 100521]], blank=[[100522, 100522]])
    assert verify.verify(book) == []


def test_a_batch_adds_up_to_its_own_totals_or_is_not_accepted(book: Book) -> None:
    def accepted(**changes: object) -> None:
        with batches.accepting(book) as acceptance:
            for payment in payday(3, start=20):
                acceptance.add(payment)
            body: dict[str, object] = {
                "account": "main",
                "form": "payroll-us",
                "form_digest": acceptance.keep_form("f"),
                "currency": "USD",
                "items": 3,
                "total": sum(p.amount for p in payday(3, start=20)),
                "hash": 0,
                "source": "s",
                "kind": "csv",
                "register": "",
                "pairs": "",
            }
            acceptance.finish({**body, **changes})

    with refused(BookRefused, "add up to the batch's own totals"):
        accepted(items=4)
    with refused(BookRefused, "add up to the batch's own totals"):
        accepted(total=1)
    with refused(BookRefused, "a reprint is a batch of one"):
        accepted(replaces={"number": 100501, "batch": 1, "item": 1})
    accepted()
    assert [b.id for b in batches.every(again(book))] == [1, 2]
