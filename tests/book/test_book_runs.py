"""A run: numbers reserved in one step, sent window by window, and closed by somebody who looked at the paper."""

from pathlib import Path
from typing import Any

import pytest
from book.quillmere import FORM, accept, again, begin, payday, print_good, prove, refused, see, send, start
from book.server import on_both as on_both

from cheque.book import batches, cheques, runs, stock, verify
from cheque.book.book import Book
from cheque.errors import BookRefused, UsageRefused


@pytest.fixture
def book(tmp_path: Path) -> Book:
    book = begin(tmp_path)
    stock.receive(book, account="main", form=FORM, first="000501", last="000520")
    return book


def states(book: Book, *numbers: int) -> list[str]:
    return [stock.state_of(book, "main", number).value for number in numbers]


def test_a_run_reserves_its_numbers_in_register_order(book: Book) -> None:
    batch = accept(book, payday(3))
    proof = prove(book, batch)
    run, planned = runs.begin(
        book,
        batch=batch,
        printer="payroom",
        address="file:x",
        language="escp9",
        first=501,
        count=0,
        proof=proof,
    )
    assert planned == [(501, 1), (502, 2), (503, 3)]
    assert states(book, 501, 502, 503, 504) == ["reserved"] * 3 + ["on hand"]
    assert runs.forms(book, run) == [runs.Form(n, i, stock.State.RESERVED) for n, i in planned]
    found = runs.get(book, run)
    assert (found.batch, found.printer, found.first, found.last, found.state) == (batch, "payroom", 501, 503, "open")
    assert runs.unfinished(book) == runs.unfinished(book, batch=batch, printer="payroom") == [found]
    assert runs.unfinished(book, printer="stores") == runs.unfinished(book, batch=9) == []
    assert runs.of_batch(book, batch) == [found]


def test_payments_that_have_their_forms_are_passed_over(book: Book) -> None:
    batch = accept(book, payday(6))
    batches.pull(book, batch, 2, "left")
    run, numbers = start(book, batch, 501, count=3)
    send(book, run, numbers)
    see(book, run, good=[501, 503], spoiled={502: "torn"})
    assert runs.plan(book, batch, 504) == [(504, 3), (505, 5), (506, 6)]
    run, _ = start(book, batch, 504)
    assert book.head.data["forms"] == [[504, 3, 1], [505, 5, 2]]


def test_only_so_many_forms_as_asked_for_are_reserved(book: Book) -> None:
    batch = accept(book, payday(6))
    assert runs.plan(book, batch, 501, 2) == [(501, 1), (502, 2)]
    with refused(UsageRefused, "found a count of -1 forms; wanted 1 or more"):
        runs.plan(book, batch, 501, -1)


def test_where_there_is_nothing_to_print_no_run_begins(book: Book) -> None:
    batch = accept(book, payday(1))
    print_good(book, batch, 501)
    with refused(BookRefused, "batch 1 has no payment that lacks a form: there is nothing to print"):
        start(book, batch, 502)
    with refused(BookRefused, "there is no batch 9. `cheque batch list` shows those there are"):
        runs.plan(book, 9, 501)


def test_numbers_are_taken_only_from_stock_of_the_right_form(book: Book) -> None:
    batch = accept(book, payday(2))
    stock.receive(book, account="main", form="trade-us", first="700", last="710")
    with refused(BookRefused, "number 700 of main is on trade-us stock, but batch 1 was accepted for payroll-us"):
        runs.plan(book, batch, 700)
    with refused(BookRefused, "main:600 is on no stock"):
        runs.plan(book, batch, 600)


def test_a_run_ends_with_its_box(book: Book) -> None:
    batch = accept(book, payday(4))
    with refused(BookRefused, "the box ends at 000520: 2 forms for 4 payments", "Print the first 2 with --count"):
        runs.plan(book, batch, 519)
    _, numbers = start(book, batch, 519, count=2)
    assert numbers == [519, 520]


def test_a_number_that_is_not_on_hand_is_not_printed_on(book: Book) -> None:
    batch = accept(book, payday(4))
    stock.spoil(book, account="main", first=503, last=503, reason="torn")
    with refused(BookRefused, "number 000503 of main is spoiled", "Print up to it with --count 2"):
        start(book, batch, 501)
    with refused(BookRefused, "number 000503 of main is spoiled", "it is not 000503, or the book must be told first"):
        start(book, batch, 503)
    assert runs.unfinished(book) == []


def test_only_the_latest_proof_prints(book: Book) -> None:
    batch = accept(book, payday(2))
    for proof in ("", "0" * 64):
        with refused(BookRefused, "the proof of batch 1 is not the latest one: make a proof, look at it"):
            runs.begin(book, batch=batch, printer="p", address="", language="", first=501, count=0, proof=proof)


def test_a_run_that_nobody_answered_for_bars_the_next(book: Book) -> None:
    batch, other = accept(book, payday(4)), accept(book, payday(2, start=20))
    run, numbers = start(book, batch, 501, count=2)
    for what in (batch, other):
        with refused(BookRefused, "run 1 of batch 1 on payroom was not answered for", "`cheque resume 1`"):
            start(book, what, 510)
    start(book, other, 510, printer="stores")  # another printer may go on
    send(book, run, numbers)
    runs.finished(book, run)
    with refused(BookRefused, "run 1 of batch 1 on payroom was not answered for"):
        start(book, batch, 503)  # its own batch waits for the answer
    third = accept(book, payday(1, start=40))
    start(book, third, 515)  # but the printer is free: all of the run was sent


def test_a_run_given_up_elsewhere_sends_nothing_more(book: Book) -> None:
    """The process hung; somebody answered for the run and began another on the same numbers; it wakes up."""
    batch = accept(book, payday(3))
    run, numbers = start(book, batch, 501)
    send(book, run, numbers[:1])
    with again(book) as other:
        see(other, run, good=[501], blank=[502, 503])
        _, held = start(other, batch, 502)
        assert held == [502, 503]
    with refused(BookRefused, "run 1 was answered for already: nothing more of it is sent"):
        send(book, run, [502])
    for end in (lambda: runs.stopped(book, run, "c"), lambda: runs.finished(book, run)):
        with refused(BookRefused, "run 1 was answered for already, from elsewhere"):
            end()
    assert states(book, 502, 503) == ["reserved", "reserved"]
    assert verify.verify(book) == []


def test_a_run_ends_once(book: Book) -> None:
    batch = accept(book, payday(2))
    run, numbers = start(book, batch, 501)
    send(book, run, numbers[:1])
    runs.stopped(book, run, "the cable\ncame  loose \udce9")
    assert runs.get(book, run).cause == "the cable came loose \\udce9"
    for what in (lambda: runs.stopped(book, run, "c"), lambda: runs.finished(book, run)):
        with refused(BookRefused, "run 1 is stopped already"):
            what()
    with refused(BookRefused, "are not reserved for run 1"):
        send(book, run, numbers[1:])
    with refused(BookRefused, "there is no run 9 in the book"):
        runs.stopped(book, 9, "c")


def test_what_was_seen_becomes_of_every_form(book: Book) -> None:
    batch = accept(book, payday(6))
    run, numbers = start(book, batch, 501)
    send(book, run, numbers[:5])
    runs.stopped(book, run, "paper jam")
    see(
        book,
        run,
        good=[501, 502],
        spoiled={503: "torn", 504: "torn"},
        missing={505: "not there"},
        blank=[506],
    )
    assert states(book, *range(501, 507)) == ["printed", "printed", "spoiled", "spoiled", "missing", "on hand"]
    assert book.head.data == {
        "run": run,
        "how": "confirm",
        "good": [[501, 502]],
        "spoiled": [[503, 504, "torn"]],
        "missing": [[505, 505, "not there"]],
        "blank": [[506, 506]],
    }
    assert runs.unfinished(book) == []
    assert runs.forms(book, run) == []
    first = cheques.get(book, "main", 501)
    assert first is not None
    assert (first.custody, first.run, first.item) == ("to be signed", run, 1)
    assert 0 < first.taken < first.sent < first.seq
    assert verify.verify(book) == []


def test_every_number_in_doubt_is_answered_for_once(book: Book) -> None:
    batch = accept(book, payday(4))
    run, _ = start(book, batch, 501)
    send(book, run, [501, 502])
    for told, kind, words in (
        ({"good": [501]}, UsageRefused, "nothing is said of number 000502 and 2 more: every form in doubt"),
        ({"good": [501, 502], "blank": [503]}, UsageRefused, "nothing is said of number 000504: every form"),
        ({"good": [501, 501, 502], "blank": [503, 504]}, UsageRefused, "number 000501 is answered for twice"),
        ({"good": [501, 502], "blank": [503, 504], "spoiled": {502: "x"}}, UsageRefused, "000502 is answered for"),
        ({"good": [501, 502], "blank": [503, 504, 505]}, BookRefused, "number 000505 is not in doubt in this run"),
        ({"good": [501, 502, 503], "blank": [504]}, BookRefused, "number 000503 was never sent to the printer"),
        ({"good": [501], "spoiled": {502: " "}, "blank": [503, 504]}, UsageRefused, "a reason is wanted for number"),
        ({"good": [501], "missing": {502: "\x1b"}, "blank": [503, 504]}, UsageRefused, "wanted plain text"),
    ):
        with refused(kind, words):
            see(book, run, **told)  # type: ignore[arg-type]
    assert states(book, 501, 502, 503) == ["sent", "sent", "reserved"]
    see(book, run, good=[501, 502], blank=[503, 504])


def test_a_run_is_answered_for_once(book: Book) -> None:
    batch = accept(book, payday(1))
    print_good(book, batch, 501)
    with refused(BookRefused, "run 1 was answered for already", "`cheque show NUMBER`"):
        see(book, 1)
    with refused(BookRefused, "there is no run 9"):
        see(book, 9)


def test_a_large_run_is_answered_for_without_delay(tmp_path: Path) -> None:
    book = begin(tmp_path)
    stock.receive(book, account="main", form=FORM, first="1", last="5000")
    batch = accept(book, payday(3000))
    run, numbers = start(book, batch, 1)
    runs.sent(book, run, 1, 3000, digest="", length=1, k=0)
    with refused(UsageRefused, "number 1 is answered for twice"):
        see(book, run, good=[*numbers, *numbers])
    see(book, run, good=numbers)
    assert book.head.data["good"] == [[1, 3000]]
    assert verify.verify(book) == []


def test_a_blank_form_can_carry_another_payment_and_a_used_one_never(book: Book) -> None:
    one, other = accept(book, payday(2)), accept(book, payday(2, start=30))
    run, numbers = start(book, one, 501)
    send(book, run, numbers[:1])
    see(book, run, good=[501], blank=[502])
    run, held = start(book, other, 502)
    assert held == [502, 503]
    with refused(BookRefused, "number 000501 of main is printed"):
        runs.plan(book, one, 501)
    assert cheques.get(book, "main", 502).batch == other  # type: ignore[union-attr]


def of_six(book: Book) -> tuple[int, str]:
    batch = accept(book, payday(6))
    return batch, prove(book, batch)


def test_runs_begun_together_hold_payments_and_numbers_of_their_own(book: Book) -> None:
    batch, proof = of_six(book)
    parts = [runs.Part("a", "file:a", "plain", 501, 2), runs.Part("b", "file:b", "plain", 511, 4)]
    (one, first), (other, second) = runs.begin_together(book, batch=batch, proof=proof, parts=parts)
    assert first == [(501, 1), (502, 2)]
    assert second == [(511, 3), (512, 4), (513, 5), (514, 6)]
    assert [run.id for run in runs.unfinished(book, batch=batch)] == [one, other]
    assert [run.printer for run in runs.unfinished(book, batch=batch)] == ["a", "b"]


def test_of_runs_begun_together_all_begin_or_none(book: Book) -> None:
    batch, proof = of_six(book)
    for second in (502, 9_999):  # a number that the first has taken, one that is on no stock
        parts = [runs.Part("a", "file:a", "plain", 501, 2), runs.Part("b", "file:b", "plain", second, 4)]
        with pytest.raises(BookRefused):
            runs.begin_together(book, batch=batch, proof=proof, parts=parts)
    assert runs.unfinished(book) == []
    assert runs.plan(book, batch, 501)[0] == (501, 1)


def test_another_run_of_a_batch_begins_only_beside_runs_that_are_named(book: Book) -> None:
    batch, proof = of_six(book)
    told: dict[str, Any] = {"batch": batch, "address": "", "language": "plain", "count": 2, "proof": proof}
    run, _ = runs.begin(book, printer="a", first=501, **told)
    with refused(BookRefused, f"run {run} of batch {batch} on a"):
        runs.begin(book, printer="b", first=511, **told)
    with refused(BookRefused, "was not answered for"):
        runs.begin(book, printer="a", first=511, beside=[run], **told)
    _, planned = runs.begin(book, printer="b", first=511, beside=[run], **told)
    assert planned == [(511, 3), (512, 4)]


def part(printer: str, first: int, forms: int) -> runs.Part:
    return runs.Part(printer, f"file:{printer}.prn", "escp9", first, forms)


def test_several_printers_begin_together_or_not_at_all(book: Book) -> None:
    batch = accept(book, payday(6))
    proof = prove(book, batch)
    with refused(BookRefused, "the box ends at 000520"):
        runs.begin_together(book, batch=batch, proof=proof, parts=[part("a", 501, 3), part("b", 519, 3)])
    with refused(BookRefused, "number 000503 of main is reserved"):
        runs.begin_together(book, batch=batch, proof=proof, parts=[part("a", 501, 3), part("b", 503, 3)])
    with refused(BookRefused, "run 1 of batch 1 on a was not answered for"):
        runs.begin_together(book, batch=batch, proof=proof, parts=[part("a", 501, 3), part("a", 510, 3)])
    assert runs.unfinished(book) == []
    assert states(book, 501, 519) == ["on hand", "on hand"]
    begun = runs.begin_together(book, batch=batch, proof=proof, parts=[part("a", 501, 4), part("b", 510, 2)])
    assert begun == [(1, [(501, 1), (502, 2), (503, 3), (504, 4)]), (2, [(510, 5), (511, 6)])]
    assert verify.verify(book) == []


def test_a_run_beside_another_never_takes_what_that_holds(book: Book) -> None:
    batch = accept(book, payday(4))
    run, _ = start(book, batch, 501, count=2)
    beside = {"batch": batch, "printer": "stores", "address": "", "language": "", "count": 0}
    proof = batches.get(book, batch).proof
    with refused(BookRefused, "number 000501 of main is reserved"):
        runs.begin(book, first=501, proof=proof, beside=[run], **beside)  # type: ignore[arg-type]
    _, planned = runs.begin(book, first=510, proof=proof, beside=[run], **beside)  # type: ignore[arg-type]
    assert planned == [(510, 3), (511, 4)]
    assert verify.verify(book) == []
