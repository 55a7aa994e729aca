"""Every number of a batch accounted for, and every difference explained or named."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from report.payday import CREW, Payday, crew, payment, played

from cheque.book import batches, cheques, runs, stock
from cheque.errors import BookRefused
from cheque.payment import Role
from cheque.reconcile.finding import Finding
from cheque.reconcile.numbers import reconcile

TOTAL = sum(amount for _, amount in CREW)


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Payday]:
    """A payday with a box of forms, 100501 to 100600."""
    with (found := Payday(tmp_path)).book:
        found.receive()
        yield found


def steps(finding: Finding) -> dict[str, tuple[int, int]]:
    """The steps from the register to the good cheques, by their key."""
    return {step.key: (step.items, step.amount) for step in finding.steps}


def reserved(day: Payday, batch: int) -> int:
    """A run that took its numbers and sent nothing; gives the run."""
    run, _ = runs.begin(
        day.book, batch=batch, printer="payroom", address="file:payroom.prn", language="escp9",
        first=100501, count=0, proof=day.proof(batch),
    )  # fmt: skip
    return run


def covered(finding: Finding) -> None:
    """The lines of every stretch are exactly its numbers, in order, none twice."""
    for stretch in finding.stretches:
        told = [number for line in stretch.lines for number in range(line.first, line.last + 1)]
        assert told == list(range(stretch.first, stretch.last + 1))


def test_a_payday_without_a_hitch_agrees(day: Payday) -> None:
    batch = day.accept(crew())
    day.print(batch, 100501)
    finding = reconcile(day.book, batch)
    assert finding.agrees
    assert finding.unexplained == finding.attention == finding.shifts == ()
    assert steps(finding) == {"accepted": (8, TOTAL), "good": (8, TOTAL)}
    (stretch,) = finding.stretches
    assert [(line.text, line.expected, line.item, line.state) for line in stretch.lines][:2] == [
        ("100501", "100501", 1, "printed"),
        ("100502", "100502", 2, "printed"),
    ]
    covered(finding)


def test_a_whole_payday_with_its_accidents_agrees_and_says_how(tmp_path: Path) -> None:
    with (day := played(tmp_path)).book:
        finding = reconcile(day.book, 1)
        assert finding.agrees
        assert steps(finding) == {
            "accepted": (8, 588178), "pulled": (-1, -103345), "good": (7, 484833), "elsewhere": (1, 57511)
        }  # fmt: skip
        assert finding.shifts == (
            "From payment 3 on (100504), every number is 1 higher than payroll expected: "
            "100503 was spoiled (torn at the perforation).",
        )
        assert [identity.sentence for identity in finding.identities] == [
            "100 received = 91 on hand + 7 printed + 1 spoiled + 1 voided"
        ]
        covered(finding)
        reprint = reconcile(day.book, 2)
        assert reprint.agrees
        assert steps(reprint) == {"accepted": (1, 57511), "good": (1, 57511)}


def test_a_batch_that_is_not_there_is_refused(day: Payday) -> None:
    with pytest.raises(BookRefused, match="no batch 7"):
        reconcile(day.book, 7)


def test_a_batch_of_which_nothing_was_printed_waits_whole(day: Payday) -> None:
    batch = day.accept(crew())
    finding = reconcile(day.book, batch)
    assert finding.agrees
    assert finding.stretches == ()
    assert steps(finding) == {"accepted": (8, TOTAL), "waiting": (-8, -TOTAL), "good": (0, 0)}
    assert finding.attention == ("payment 1 and 7 more still wait for a form",)


def test_forms_in_doubt_are_not_explained_until_somebody_looked(day: Payday) -> None:
    batch = day.accept(crew(2))
    run = day.run(batch, 100501)
    finding = reconcile(day.book, batch)
    assert not finding.agrees
    assert steps(finding)["doubt"] == (-2, -(86379 + 67873))
    assert finding.unexplained == (
        "100501-100502 are sent with payments of batch 1: nobody has said what became of them: `cheque confirm 1`",
    )
    day.seen(run)
    assert reconcile(day.book, batch).agrees


def test_a_form_passed_over_is_not_explained_until_it_is_entered(day: Payday) -> None:
    batch = day.accept(crew(4))
    day.print(batch, 100501, count=2)
    day.print(batch, 100505)
    finding = reconcile(day.book, batch)
    covered(finding)
    assert finding.unexplained == (
        "100503-100504 are on hand in the book, though a higher number was used on the same printer: look for them; "
        "then `cheque spoil` or `cheque missing`, or `cheque stock count` if the box holds them",
    )
    stock.spoil(day.book, account="main", first=100503, last=100503, reason="torn off")
    assert len(reconcile(day.book, batch).unexplained) == 1
    stock.missing(day.book, account="main", first=100504, last=100504, reason="not found")
    finding = reconcile(day.book, batch)
    assert finding.agrees
    assert finding.shifts == (
        "From payment 3 on (100505), every number is 2 higher than payroll expected: 100503 was spoiled (torn off); "
        "100504 was missing (not found).",
    )


def test_a_count_of_the_box_that_agrees_explains_forms_passed_over(day: Payday) -> None:
    batch = day.accept(crew(4))
    day.print(batch, 100501, count=2)
    day.print(batch, 100505)
    stock.count(day.book, account="main", first=100503, last=100504, counted=1)
    assert not reconcile(day.book, batch).agrees
    stock.count(day.book, account="main", first=100501, last=100600, counted=96)
    assert reconcile(day.book, batch).agrees
    stock.count(day.book, account="main", first=100503, last=100504, counted=0)
    assert not reconcile(day.book, batch).agrees, "the latest count is the one that holds"


def test_forms_still_in_the_box_after_the_last_one_used_want_no_explaining(day: Payday) -> None:
    batch = day.accept(crew(4))
    run = day.run(batch, 100501)
    day.seen(run, blank=(100503, 100504))
    finding = reconcile(day.book, batch)
    assert finding.agrees
    assert finding.stretches[0].lines[-1].what == "are on hand"
    assert finding.attention == ("payment 3 and 1 more still wait for a form",)


def test_a_later_batch_on_the_printer_shows_what_an_earlier_one_left_open(day: Payday) -> None:
    batch = day.accept(crew(4))
    day.seen(day.run(batch, 100501), blank=(100503, 100504))
    other = day.accept([payment(1, "Zoë Marlinspike", 5000, expected="")])
    day.print(other, 100504)
    finding = reconcile(day.book, batch)
    assert len(finding.unexplained) == 1
    assert finding.unexplained[0].startswith("100503 is on hand in the book")
    lines = {line.text: line.what for line in finding.stretches[0].lines}
    assert lines["100504"] == "is good with payment 1 of batch 2 (Zoë Marlinspike)"
    assert reconcile(day.book, other).agrees is True


def test_what_is_taken_off_is_named(day: Payday) -> None:
    advice = payment(5, "Zoë Marlinspike", 70000, role=Role.ADVICE)
    batch = day.accept([*crew(4), advice])
    batches.pull(day.book, batch, 4, "left the yard")
    day.print(batch, 100501, count=2)
    day.void(100502)
    finding = reconcile(day.book, batch)
    assert steps(finding) == {
        "accepted": (5, 274491), "advice": (-1, 0), "pulled": (-1, -57511), "voided": (-1, -67873),
        "waiting": (-1, -62728), "good": (1, 86379),
    }  # fmt: skip
    assert sum(amount for key, (_, amount) in steps(finding).items() if key != "good") == 86379
    assert sum(items for key, (items, _) in steps(finding).items() if key != "good") == 1
    named = {step.key: step.named for step in finding.steps}
    assert named["pulled"] == ("payment 4, Ay Li, 575.11: left the yard",)
    assert named["voided"] == ("payment 2, Aurélie Thornquay-Baptiste, 678.73: 100502 is voided (wrong hours)",)
    assert finding.agrees
    assert "payment 2, Aurélie Thornquay-Baptiste, is still owed: 100502 is voided" in finding.attention


def test_a_missing_form_that_may_bear_a_cheque_wants_the_bank(day: Payday) -> None:
    batch = day.accept(crew(3))
    day.print(batch, 100501, missing={100502: "not in the tray"})
    finding = reconcile(day.book, batch)
    assert finding.agrees
    assert steps(finding)["missing"] == (-1, -67873)
    assert "payment 2, Aurélie Thornquay-Baptiste, is still owed: 100502 is missing" in finding.attention
    assert "100502 is missing with payment 2 on it, and no stop is confirmed: ask the bank" in finding.attention
    cheques.confirm_stop(day.book, account="main", number=100502, by="the bank", on="2026-11-27")
    assert not any("ask the bank" in line for line in reconcile(day.book, batch).attention)


def test_a_missing_form_that_was_never_sent_bears_no_cheque(day: Payday) -> None:
    batch = day.accept(crew(1))
    run = reserved(day, batch)
    day.seen(run, missing={100501: "not in the tray"})
    finding = reconcile(day.book, batch)
    assert steps(finding) == {"accepted": (1, 86379), "waiting": (-1, -86379), "good": (0, 0)}
    assert finding.attention == ("payment 1 still waits for a form",)


def test_a_void_cheque_out_of_hand_wants_the_bank(day: Payday) -> None:
    batch = day.accept(crew(1))
    day.print(batch, 100501)
    day.void(100501, "lost", paper="not in hand")
    attention = reconcile(day.book, batch).attention
    assert "100501 is voided with payment 1 on it, and no stop is confirmed: ask the bank" in attention


def test_a_reprint_in_doubt_is_told_to_the_batch_it_came_from(day: Payday) -> None:
    batch = day.accept(crew(1))
    day.print(batch, 100501)
    day.void(100501)
    second = cheques.accept_reprint(day.book, cheques.reprint_source(day.book, "main", 100501))
    day.run(second, 100502)
    finding = reconcile(day.book, batch)
    assert finding.agrees, "every number of this batch is accounted for"
    assert "payment 1 is in doubt on 100502: `cheque confirm 2`" in finding.attention
    assert not reconcile(day.book, second).agrees


def test_a_reprint_withdrawn_and_made_again_stays_with_its_batch(day: Payday) -> None:
    batch = day.accept(crew(1))
    day.print(batch, 100501)
    day.void(100501)
    second = cheques.accept_reprint(day.book, cheques.reprint_source(day.book, "main", 100501))
    assert steps(reconcile(day.book, second))["waiting"] == (-1, -86379)
    batches.withdraw(day.book, second, "wrong form")
    third = day.reprint(100501, 100502)
    withdrawn = reconcile(day.book, second)
    assert withdrawn.agrees
    assert steps(withdrawn) == {"accepted": (1, 86379), "withdrawn": (-1, -86379), "good": (0, 0)}
    assert steps(reconcile(day.book, batch))["elsewhere"] == (1, 86379)
    assert steps(reconcile(day.book, third))["good"] == (1, 86379)


def test_a_cheque_written_by_hand_stands_outside_the_runs(day: Payday) -> None:
    batch = day.accept(crew(2))
    day.print(batch, 100501, count=1)
    cheques.by_hand(day.book, account="main", number=100550, batch=batch, item=2, reason="ribbon gone")
    finding = reconcile(day.book, batch)
    assert finding.agrees
    assert [(line.text, line.what) for line in finding.by_hand] == [
        ("100550", "is good with payment 2 (Aurélie Thornquay-Baptiste), written by hand")
    ]
    assert steps(finding)["good"] == (2, 86379 + 67873)


def test_two_printers_are_two_stretches(day: Payday) -> None:
    day.receive("200001", "200050")
    batch = day.accept(crew(4))
    day.print(batch, 100501, count=2)
    day.print(batch, 200001, printer="office")
    finding = reconcile(day.book, batch)
    assert finding.agrees
    assert [(s.printer, s.first, s.last) for s in finding.stretches] == [
        ("payroom", 100501, 100502), ("office", 200001, 200002)
    ]  # fmt: skip
    assert len(finding.identities) == 2
    assert finding.shifts == (
        "The printing began at 200001 with payment 3, which payroll expected on 100503: every number is 99498 higher "
        "than expected. Payroll's numbers are not of this box; the number was read from the paper.",
    )


def test_one_box_shared_by_two_printers_has_no_gap_between_them(day: Payday) -> None:
    batch = day.accept(crew(4))
    day.print(batch, 100501, count=2)
    day.print(batch, 100551, printer="office")
    assert reconcile(day.book, batch).agrees


class TestAgainstAForgedBook:
    """The tables of a book can be altered by whoever can write its file; what the money says must show it."""

    @staticmethod
    def forge(day: Payday, sql: str) -> None:
        with day.book.store.writing():
            day.book.store.execute(sql)

    def test_an_amount_altered_on_a_reprint(self, tmp_path: Path) -> None:
        with (day := played(tmp_path)).book:
            self.forge(day, "UPDATE claim SET amount = 57512 WHERE batch = 2")
            finding = reconcile(day.book, 1)
            assert finding.unexplained == (
                "payment 4, Ay Li, 575.11, stands on 100509 as Ay Li, 575.12",
                "what is explained leaves 4848.33 of the register's total, but the good cheques come to 4848.34",
            )

    def test_an_amount_altered_in_the_batch(self, tmp_path: Path) -> None:
        with (day := played(tmp_path)).book:
            self.forge(day, "UPDATE claim SET amount = 86380 WHERE batch = 1 AND item = 1")
            assert (
                "the payments come to 5881.79, but the batch was accepted with 5881.78"
                in reconcile(day.book, 1).unexplained
            )

    def test_a_payment_dropped(self, day: Payday) -> None:
        batch = day.accept(crew(3))
        self.forge(day, "DELETE FROM claim WHERE item = 3")
        assert "the batch has 2 payments, but was accepted with 3" in reconcile(day.book, batch).unexplained

    def test_a_pulled_payment_with_a_good_cheque(self, tmp_path: Path) -> None:
        with (day := played(tmp_path)).book:
            self.forge(day, "UPDATE claim SET pulled = 'quietly' WHERE batch = 1 AND item = 1")
            assert (
                "payment 1, Niamh O'Dunmarrow, was pulled, yet 100501 is printed with it"
                in reconcile(day.book, 1).unexplained
            )

    def test_a_batch_withdrawn_with_good_cheques(self, tmp_path: Path) -> None:
        with (day := played(tmp_path)).book:
            self.forge(day, "UPDATE batch SET state = 'withdrawn' WHERE id = 1")
            assert any("is of a batch withdrawn" in line for line in reconcile(day.book, 1).unexplained)

    def test_two_live_cheques_for_one_payment(self, tmp_path: Path) -> None:
        with (day := played(tmp_path)).book:
            self.forge(day, "DROP INDEX one_live_cheque")
            self.forge(day, "DROP TRIGGER number_moves")
            self.forge(day, "UPDATE number SET state = 'printed' WHERE number = 100505")
            unexplained = reconcile(day.book, 1).unexplained
            assert "payment 4, Ay Li, is on 100505 and on 100509, all live" in unexplained

    def test_counts_that_do_not_add_up(self, tmp_path: Path) -> None:
        with (day := played(tmp_path)).book:
            self.forge(day, "UPDATE tally SET forms = forms + 1 WHERE state = 'spoiled'")
            (line,) = reconcile(day.book, 1).unexplained
            assert "main:100501-100600" in line
            assert "cheque book verify" in line


def test_a_run_that_took_numbers_and_was_never_sent_holds_them_in_doubt(day: Payday) -> None:
    batch = day.accept(crew(2))
    reserved(day, batch)
    finding = reconcile(day.book, batch)
    assert [line.split(" with ")[0] for line in finding.unexplained] == ["100501-100502 are reserved"]


def test_forms_in_doubt_are_told_by_stretches_of_one_state(day: Payday) -> None:
    batch = day.accept(crew(4))
    run = reserved(day, batch)
    runs.sent(day.book, run, 100501, 100501, digest="0" * 64, length=1, k=0)
    assert reconcile(day.book, batch).unexplained == (
        "100501 is sent with payment 1 (Niamh O'Dunmarrow): nobody has said what became of it: `cheque confirm 1`",
        "100502-100504 are reserved with payments of batch 1: nobody has said what became of them: `cheque confirm 1`",
    )
