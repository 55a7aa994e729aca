"""What each report tells of a payday, as the one who files it would look for it."""

import json
from datetime import timedelta
from pathlib import Path

import pytest
from report.payday import MAIN, Payday, crew, payment
from report.reading import rows, text_of, totals

from cheque.book import batches, cheques, stock
from cheque.errors import BookRefused
from cheque.payment import Role
from cheque.report import control, issued, numbers, outstanding
from cheque.report.render import render


class TestIssued:
    def test_it_lists_good_cheques_by_number_and_those_voided_since_apart(self, done: Payday) -> None:
        report = issued.build(done.book, done.settings, done.when(), batch=1)
        assert [(row["number"], row["state"]) for row in rows(report)] == [
            ("100501", "good"), ("100502", "good"), ("100504", "good"), ("100506", "good"), ("100507", "good"),
            ("100508", "good"), ("100505", "voided"),
        ]  # fmt: skip
        assert [(total["label"], total["amount"]) for total in totals(report, "cheques")] == [
            ("6 cheques", "4273.22"),
            ("1 cheque", "575.11"),
            ("7 cheques issued", "4848.33"),
        ]

    def test_cheques_can_be_asked_for_by_the_days_they_are_dated(self, day: Payday) -> None:
        batch = day.accept([payment(1, "Ay Li", 100), payment(2, "Tobias Quenby", 200, date="2026-12-04")])
        day.print(batch, 100501)
        build = issued.build
        later = build(day.book, day.settings, day.when(), dated_from="2026-12-01")
        assert [row["payee"] for row in rows(later)] == ["Tobias Quenby"]
        assert "Dated from 2026-12-01 on" in text_of(later)
        upto = build(day.book, day.settings, day.when(), dated_to="2026-11-27")
        assert [row["payee"] for row in rows(upto)] == ["Ay Li"]
        both = build(day.book, day.settings, day.when(), dated_from="2026-11-01", dated_to="2026-12-31")
        assert len(rows(both)) == 2
        assert "Dated from 2026-11-01 to 2026-12-31" in text_of(both)

    def test_forms_in_doubt_are_named_and_not_counted(self, day: Payday) -> None:
        day.run(day.accept(crew(3)), 100501)
        report = issued.build(day.book, day.settings, day.when())
        assert rows(report) == []
        assert "No cheques." in text_of(report)
        assert "until somebody has looked at the paper: 100501 and 2 more." in text_of(report)

    def test_advices_are_no_cheques(self, day: Payday) -> None:
        payments = [payment(1, "Ay Li", 100), payment(2, "Tobias Quenby", 500, role=Role.ADVICE)]
        day.print(day.accept(payments), 100501)
        report = issued.build(day.book, day.settings, day.when())
        assert [row["payee"] for row in rows(report)] == ["Ay Li"]
        assert "1 advice, which cannot be paid, is not in it." in text_of(report)

    def test_a_cheque_written_by_hand_is_issued_and_said_to_be(self, day: Payday) -> None:
        batch = day.accept(crew(2))
        day.print(batch, 100501, count=1)
        cheques.by_hand(day.book, account="main", number=100550, batch=batch, item=2, reason="printer at the mender's")
        report = issued.build(day.book, day.settings, day.when())
        assert [row["number"] for row in rows(report)] == ["100501", "100550"]
        assert "Written by hand: 100550." in text_of(report)


class TestControl:
    def test_the_slip_stands_beside_the_register(self, done: Payday) -> None:
        report = control.build(done.book, done.settings, done.when(), batch=1)
        assert [(row["total"], row["given"], row["found"], row["agrees"]) for row in rows(report, "totals")] == [
            ("Item count", 8, 8, "yes"),
            ("Control total", "5881.78", "5881.78", "yes"),
            ("Hash total", 16836, 16836, "yes"),
        ]

    def test_a_total_that_was_not_given_or_is_not_the_registers_shows(self, day: Payday) -> None:
        batch = day.accept(crew(2), given_hash_total=1, given_pairs_digest="00 11")
        report = control.build(day.book, day.settings, day.when(), batch=batch)
        assert {row["total"]: row["agrees"] for row in rows(report, "totals")} == {
            "Item count": "yes",
            "Control total": "yes",
            "Hash total": "NO",
            "Pairs digest": "NO",
        }

    def test_a_pairs_digest_given_by_its_beginning_agrees(self, day: Payday) -> None:
        first = day.accept(crew(2))
        begin = batches.get(day.book, first).pairs[:20].upper()
        batch = day.accept(crew(2), given_pairs_digest=f"{begin[:8]} {begin[8:]}")
        found = {row["total"]: row["agrees"] for row in rows(control.build(
            day.book, day.settings, day.when(), batch=batch), "totals")}  # fmt: skip
        assert found["Pairs digest"] == "yes"

    def test_accepted_less_pulled_is_printed(self, done: Payday) -> None:
        report = control.build(done.book, done.settings, done.when(), batch=1)
        steps = {row["key"]: (row["payments"], row["amount_minor_units"]) for row in rows(report, "steps")}
        assert steps["accepted"] == (8, 588178)
        assert steps["pulled"] == (-1, -103345)
        assert steps["good"] == (7, 484833)
        pulled = rows(report, "pulled")
        assert [(row["item"], row["reason"]) for row in pulled] == [(8, "paid by hand from petty cash")]
        assert pulled[0]["pulled"].endswith("by ines")

    def test_attempts_that_were_refused_are_told(self, done: Payday) -> None:
        refused = rows(control.build(done.book, done.settings, done.when(), batch=1), "refused")
        assert [(row["by"], row["control_total"], row["item_count"]) for row in refused] == [("ines", "5881.87", 8)]
        assert refused[0]["why"].endswith("The control total is wrong.")

    def test_attempts_before_an_earlier_batch_and_of_other_accounts_are_not_this_batchs(self, day: Payday) -> None:
        day.refuse(1)
        day.accept(crew(1))
        day.refuse(2)
        day.refuse(3, account="quay")
        second = day.accept([payment(1, "Ay Li", 5)])
        report = control.build(day.book, day.settings, day.when(), batch=second)
        assert [row["control_total"] for row in rows(report, "refused")] == ["0.02"]

    def test_new_payees_come_first_and_each_group_is_in_the_registers_order(self, day: Payday) -> None:
        day.accept(crew(3))
        changed = [*crew(3), payment(4, "Zoë Marlinspike", 70000), payment(5, "Ay Li", 57511)]
        listed = sorted(changed, key=lambda one: one.payee, reverse=True)
        second = day.accept([one._replace(item=place) for place, one in enumerate(listed, 1)])
        found = rows(control.build(day.book, day.settings, day.when(), batch=second), "payments")
        assert [(row["new"], row["item"]) for row in found] == [
            ("yes", 1), ("yes", 4), ("no", 2), ("no", 3), ("no", 5)
        ]  # fmt: skip
        assert [row["payee"] for row in found][:2] == ["Zoë Marlinspike", "Ay Li"]

    def test_a_payee_of_a_batch_that_was_withdrawn_is_still_new(self, day: Payday) -> None:
        first = day.accept(crew(1))
        batches.withdraw(day.book, first, "wrong week")
        second = day.accept(crew(1))
        found = rows(control.build(day.book, day.settings, day.when(), batch=second), "payments")
        assert [row["new"] for row in found] == ["yes"]
        report = control.build(day.book, day.settings, day.when(), batch=first)
        assert "WITHDRAWN" in text_of(report)
        assert "wrong week" in text_of(report)

    def test_the_digest_of_the_book_is_printed_in_full_and_verifies(self, done: Payday) -> None:
        from cheque.book.verify import verify

        report = control.build(done.book, done.settings, done.when(), batch=1)
        text = render(report)
        start = text.index("Digest of the book")
        lines = text[start:].split("\n")[:2]
        read_back = " ".join(line.removeprefix("Digest of the book").strip() for line in lines)
        assert "".join(read_back.split()) == done.book.head.digest
        assert verify(done.book, digest=read_back) == []

    def test_proofs_and_runs_are_told(self, done: Payday) -> None:
        report = control.build(done.book, done.settings, done.when(), batch=1)
        proofs = rows(report, "proofs")
        assert [row["latest"] for row in proofs] == ["the one to print by"]
        assert proofs[0]["code"][4] == "-"
        runs = [{k: v for k, v in row.items() if v} for row in rows(report, "runs")]
        assert [(row["numbers"], row["good"]) for row in runs] == [("100501-100507", 2), ("100504-100508", 4)]
        assert runs[0]["spoiled"] == 1
        assert runs[1]["voided"] == 1
        assert [row["by"] for row in runs] == [done.book.who] * 2

    def test_a_proof_made_anew_after_a_pull_supersedes_the_first(self, day: Payday) -> None:
        batch = day.accept(crew(3))
        day.proof(batch)
        batches.pull(day.book, batch, 2, "left the yard")
        found = rows(control.build(day.book, day.settings, day.when(), batch=batch), "proofs")
        assert [row["latest"] for row in found] == ["superseded"]
        day.proof(batch)
        found = rows(control.build(day.book, day.settings, day.when(), batch=batch), "proofs")
        assert [row["latest"] for row in found] == ["superseded", "the one to print by"]

    def test_money_by_transfer_is_told_beside_the_control_total(self, day: Payday) -> None:
        batch = day.accept([*crew(1), payment(2, "Zoë Marlinspike", 70000, role=Role.ADVICE)])
        report = control.build(day.book, day.settings, day.when(), batch=batch)
        assert "Paid by transfer, and not in the control total: 700.00." in text_of(report)
        assert [row["note"] for row in rows(report, "payments")] == ["", "advice"]

    def test_a_reprint_says_what_it_replaces(self, done: Payday) -> None:
        report = control.build(done.book, done.settings, done.when(), batch=2)
        assert "Replaces main:100505, batch 1" in text_of(report)

    def test_a_batch_that_is_not_there_is_refused(self, done: Payday) -> None:
        with pytest.raises(BookRefused, match="no batch 9"):
            control.build(done.book, done.settings, done.when(), batch=9)


class TestNumbers:
    def test_every_number_of_the_box_is_there_once(self, done: Payday) -> None:
        report = numbers.build(done.book, done.settings, done.when())
        found = rows(report, "numbers")
        assert sum(row["forms"] for row in found) == 100
        assert [row["number"] for row in found][-1] == "100510-100600"
        assert {row["number"]: row["state"] for row in found}["100503"] == "spoiled"
        assert report.agrees is True
        assert "100 received = 91 on hand + 7 printed + 1 spoiled + 1 voided" in text_of(report)

    def test_a_part_of_a_box_can_be_asked_for(self, done: Payday) -> None:
        report = numbers.build(done.book, done.settings, done.when(), first=100503, last=100504)
        assert [row["number"] for row in rows(report, "numbers")] == ["100503", "100504"]
        report = numbers.build(done.book, done.settings, done.when(), first=100600, last=100601)
        assert "1 number of 100600-100601 is in no box." in text_of(report)

    def test_leading_zeros_are_kept(self, tmp_path: Path) -> None:
        with (day := Payday(tmp_path)).book:
            day.receive("000501", "000510")
            day.print(day.accept(crew(2)), 501)
            report = numbers.build(day.book, day.settings, day.when())
            assert [row["number"] for row in rows(report, "numbers")] == ["000501", "000502", "000503-000510"]

    def test_neighbours_that_went_the_same_way_share_a_line_and_are_counted(self, day: Payday) -> None:
        stock.spoil(day.book, account="main", first=100501, last=100503, reason="alignment")
        stock.missing(day.book, account="main", first=100504, last=100504, reason="not in the box")
        stock.destroy(day.book, account="main", first=100590, last=100600, witness="Ay Li", reason="old bank")
        found = rows(numbers.build(day.book, day.settings, day.when()), "numbers")
        assert [(row["number"], row["forms"], row["state"]) for row in found] == [
            ("100501-100503", 3, "spoiled"),
            ("100504", 1, "missing"),
            ("100505-100589", 85, "on hand"),
            ("100590-100600", 11, "destroyed"),
        ]

    def test_a_box_whose_counts_were_altered_does_not_agree(self, day: Payday) -> None:
        with day.book.store.writing():
            day.book.store.execute("UPDATE tally SET forms = forms - 1 WHERE state = 'on hand'")
        report = numbers.build(day.book, day.settings, day.when())
        assert report.agrees is False
        assert "IT DOES NOT ALL AGREE" in text_of(report)
        assert "IS NOT" in text_of(report)

    def test_without_stock_it_says_so(self, tmp_path: Path) -> None:
        with (day := Payday(tmp_path)).book:
            assert "No box" in text_of(numbers.build(day.book, day.settings, day.when()))


class TestOutstanding:
    def test_cheques_are_grouped_by_age_and_the_stale_ones_apart(self, day: Payday) -> None:
        """UCC § 4-404: a bank need not pay a cheque more than six months old; 180 days in these settings."""
        dates = ["2026-05-30", "2026-05-31", "2026-10-01", "2026-11-27", "2026-12-04"]
        day.print(day.accept([payment(i, f"Payee {i}", 100 * i, date=d) for i, d in enumerate(dates, 1)]), 100501)
        found = rows(outstanding.build(day.book, day.settings, day.when()))
        assert [(row["payee"], row["days"], row["group"]) for row in found] == [
            ("Payee 5", -7, "Dated later than this report"),
            ("Payee 4", 0, "0 to 30 days"),
            ("Payee 3", 57, "31 to 60 days"),
            ("Payee 2", 180, "91 to 180 days"),
            ("Payee 1", 181, "Stale: over 180 days"),
        ]

    def test_voided_and_spoiled_cheques_and_advices_are_not_outstanding(self, done: Payday) -> None:
        found = rows(outstanding.build(done.book, done.settings, done.when()))
        assert [row["number"] for row in found] == [
            "100501", "100502", "100504", "100506", "100507", "100508", "100509"
        ]  # fmt: skip

    def test_a_stopped_cheque_that_was_not_voided_shows_its_stop(self, day: Payday) -> None:
        day.print(day.accept(crew(2)), 100501)
        cheques.confirm_stop(day.book, account="main", number=100502, by="the bank", on="2026-11-27")
        found = {row["number"]: row["stop"] for row in rows(outstanding.build(day.book, day.settings, day.when()))}
        assert found == {"100501": "", "100502": "confirmed by the bank"}

    def test_an_account_that_left_the_settings_still_reports(self, done: Payday) -> None:
        settings = done.settings._replace(accounts={})
        text = text_of(outstanding.build(done.book, settings, done.when()))
        assert "no longer in the settings" in text
        assert "7 cheques outstanding" in text

    def test_nothing_outstanding_is_said(self, day: Payday) -> None:
        assert "No cheque is outstanding." in text_of(outstanding.build(day.book, day.settings, day.when()))


def test_a_report_as_of_an_earlier_moment_knows_nothing_later(day: Payday) -> None:
    from cheque.book.verify import as_of

    day.print(day.accept(crew(2)), 100501)
    then, digest = day.clock.at, day.book.head.digest
    day.clock.later(days=1)
    day.void(100501)
    past = as_of(day.book, then)
    try:
        when = day.when()._replace(printed=then.astimezone() + timedelta(days=1))
        report = issued.build(past, day.settings, when)
        assert {row["state"] for row in rows(report)} == {"good"}
        sheet = json.loads(render(control.build(past, day.settings, when, batch=1), "json"))
        assert sheet["about"]["book_digest"] == digest
    finally:
        past.store.close()


def test_the_firm_is_the_drawers_legal_name(done: Payday) -> None:
    assert issued.build(done.book, done.settings, done.when()).firm == MAIN.drawer
