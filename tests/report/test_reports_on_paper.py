"""The reports that follow the paper: voided, spoiled and missing forms, and the sheet that people sign."""

from report.payday import Payday, crew, payment
from report.reading import rows, text_of, totals

from cheque.book import batches, cheques, runs, stock
from cheque.payment import Role
from cheque.report import handover, voids
from cheque.report.render import render


class TestVoids:
    def test_it_says_why_where_the_paper_is_and_what_replaced_it(self, done: Payday) -> None:
        report = voids.build(done.book, done.settings, done.when())
        voided = rows(report, "voided")
        assert [(r["number"], r["reason"], r["paper"], r["replaced_by"]) for r in voided] == [
            ("100505", "wrong hours", "held", "100509 (batch 2)")
        ]
        spoiled = rows(report, "spoiled")
        assert [(r["number"], r["reason"], r["replaced_by"]) for r in spoiled] == [
            ("100503", "torn at the perforation", "100504 (batch 1)")
        ]
        assert spoiled[0]["amount"] is None, "a spoiled form is no money"

    def test_a_cheque_out_of_hand_wants_a_stop(self, day: Payday) -> None:
        day.print(day.accept(crew(3)), 100501, missing={100503: "not in the tray"})
        day.void(100501, "lost in the post", paper="not in hand")
        report = voids.build(day.book, day.settings, day.when())
        assert [row["stop"] for row in rows(report, "voided")] == ["NOT CONFIRMED"]
        assert [row["stop"] for row in rows(report, "missing")] == ["NOT CONFIRMED"]
        assert [row["amount"] for row in rows(report, "missing")] == ["627.28"]
        assert "No stop is confirmed for 100501, 100503" in text_of(report)
        cheques.confirm_stop(day.book, account="main", number=100501, by="Ms Tarn of the bank", on="2026-11-28")
        report = voids.build(day.book, day.settings, day.when())
        assert [row["stop"] for row in rows(report, "voided")] == ["confirmed by Ms Tarn of the bank on 2026-11-28"]
        assert "No stop is confirmed for 100503:" in text_of(report)

    def test_a_missing_form_that_was_never_sent_needs_no_stop(self, day: Payday) -> None:
        batch = day.accept(crew(1))
        run, _ = runs.begin(
            day.book, batch=batch, printer="payroom", address="file:x", language="escp9",
            first=100501, count=0, proof=day.proof(batch),
        )  # fmt: skip
        day.seen(run, missing={100501: "not in the tray"})
        report = voids.build(day.book, day.settings, day.when())
        assert [row["stop"] for row in rows(report, "missing")] == [""]
        assert "No stop is confirmed" not in text_of(report)

    def test_a_voided_advice_is_no_money(self, day: Payday) -> None:
        batch = day.accept([*crew(1), payment(2, "Zoë Marlinspike", 70000, role=Role.ADVICE)])
        day.print(batch, 100501)
        day.void(100501)
        day.void(100502, "smudged")
        report = voids.build(day.book, day.settings, day.when())
        assert [row["number"] for row in rows(report, "voided")] == ["100501", "100502"]
        assert [(total["label"], total["amount"]) for total in totals(report, "voided")] == [("1 cheque", "863.79")]

    def test_a_stop_that_was_done_without_is_told_with_its_reason(self, day: Payday) -> None:
        day.print(day.accept(crew(1)), 100501)
        day.void(100501, "lost", paper="not in hand")
        day.reprint(100501, 100502, without_stop="the payee swore it burnt")
        found = rows(voids.build(day.book, day.settings, day.when()), "voided")
        assert found[0]["stop"] == "not confirmed; printed again all the same: the payee swore it burnt"
        assert found[0]["replaced_by"] == "100502 (batch 2)"

    def test_what_the_payment_waits_for_is_said(self, day: Payday) -> None:
        batch = day.accept(crew(3))
        day.print(batch, 100501, spoiled={100501: "torn", 100502: "torn"})
        batches.pull(day.book, batch, 2, "left the yard")
        day.void(100503)
        voided = {
            r["number"]: r["replaced_by"] for r in rows(voids.build(day.book, day.settings, day.when()), "voided")
        }
        spoiled = rows(voids.build(day.book, day.settings, day.when()), "spoiled")
        assert voided == {"100503": "nothing: not printed again"}
        assert [row["replaced_by"] for row in spoiled] == [
            "nothing yet", "nothing: the payment was pulled (left the yard)"
        ]  # fmt: skip
        source = cheques.reprint_source(day.book, "main", 100503)
        cheques.accept_reprint(day.book, source)
        found = rows(voids.build(day.book, day.settings, day.when()), "voided")
        assert found[0]["replaced_by"] == "batch 2, not printed yet"

    def test_blank_forms_spoiled_together_share_a_row(self, day: Payday) -> None:
        stock.spoil(day.book, account="main", first=100501, last=100503, reason="alignment")
        stock.spoil(day.book, account="main", first=100504, last=100504, reason="coffee")
        report = voids.build(day.book, day.settings, day.when())
        assert [(r["number"], r["forms"], r["reason"]) for r in rows(report, "spoiled")] == [
            ("100501-100503", 3, "alignment"), ("100504", 1, "coffee")
        ]  # fmt: skip
        assert "4 forms that bore no payment" in text_of(report)


class TestHandover:
    def test_one_persons_pay_is_not_shown_to_the_next_who_signs(self, done: Payday) -> None:
        report = handover.build(done.book, done.settings, done.when())
        for form in ("text", "csv", "json", "html"):
            text = render(report, form)
            assert "863.79" not in text
            assert "86379" not in text
            assert "W48-" not in text

    def test_good_cheques_not_yet_handed_over_have_a_line_to_sign(self, done: Payday) -> None:
        report = handover.build(done.book, done.settings, done.when())
        assert [row["number"] for row in rows(report)] == ["100501", "100504", "100506", "100507", "100508", "100509"]
        lines = [line for line in render(report).split("\n") if "Tobias Quenby" in line]
        assert len(lines) == 1
        assert lines[0].count("_") > 30

    def test_amounts_are_shown_when_asked_for_with_a_caution(self, done: Payday) -> None:
        report = handover.build(done.book, done.settings, done.when(), amounts=True)
        assert "863.79" in text_of(report)
        assert "let nobody see any line but their own" in text_of(report)

    def test_every_good_cheque_is_there_when_asked_for(self, done: Payday) -> None:
        report = handover.build(done.book, done.settings, done.when(), every=True)
        assert {row["number"]: row["custody"] for row in rows(report)}["100502"] == "handed over"

    def test_a_stopped_cheque_is_not_handed_over(self, day: Payday) -> None:
        day.print(day.accept(crew(2)), 100501)
        cheques.confirm_stop(day.book, account="main", number=100501, by="the bank", on="2026-11-27")
        report = handover.build(day.book, day.settings, day.when())
        assert [row["number"] for row in rows(report)] == ["100502"]
        assert "Stopped at the bank, not to be handed over: 100501." in text_of(report)

    def test_nothing_to_hand_over_is_said(self, day: Payday) -> None:
        assert "No cheque is waiting" in text_of(handover.build(day.book, day.settings, day.when()))
