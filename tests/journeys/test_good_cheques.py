"""Good cheques afterwards: voided, stopped, printed again, written by hand, handed over."""

from datetime import date, timedelta

import pytest
from journeys.firm import Firm

WHY = ("--reason", "wrong hours")


def void(firm: Firm, number: int | str, paper: str, expect: int = 0) -> str:
    """Void a cheque; what is said."""
    return firm.run("void", str(number), "--paper", paper, *WHY, expect=expect).err


def test_a_cheque_in_hand_is_voided_and_told_to_be_defaced(paid: Firm) -> None:
    said = void(paid, 100503, "in-hand")
    assert "main:100503 is void." in said
    assert "Write VOID across every part, cut off the signature, and keep it for the auditor." in said
    assert "voiding a wage cheque does not cancel the wage" in said
    assert "cheque reprint main:100503" in said
    assert paid.state(100503) == "voided"


def test_a_cheque_that_has_left_the_hand_is_stopped_by_the_bank_only(paid: Firm) -> None:
    said = void(paid, 100503, "not-in-hand")
    assert "Voiding it here does not stop it: only the bank can, and a stop lapses." in said
    assert "cheque notice stopped main:100503 --confirmed-by NAME --on DATE" in said
    said = paid.run("reprint", "100503", expect=5).err
    assert "number 100503 of main is not in hand and the bank has not confirmed a stop" in said
    assert "or give a reason with --without-stop" in said
    said = paid.run("notice", "stopped", "100503", "--confirmed-by", "N. Vault").err
    assert "The stop of main:100503 is entered, confirmed by N. Vault" in said
    assert "(6 months, UCC § 4-403(b)); ask your bank, and renew it before" in said
    assert paid.run("reprint", "100503").out == "2\n"


def test_a_reprint_without_a_stop_needs_a_reason_which_is_recorded(paid: Firm) -> None:
    void(paid, 100503, "not-in-hand")
    paid.run("reprint", "100503", "--without-stop", " ", expect=5)
    paid.run("reprint", "100503", "--without-stop", "burned before witnesses")
    overridden = [body for kind, body in paid.events() if kind == "stop.overridden"]
    assert [body["reason"] for body in overridden] == ["burned before witnesses"]
    assert "burned before witnesses" in paid.run("report", "voids", "--json").out


def test_a_cheque_that_came_back_is_in_hand_again(paid: Firm) -> None:
    paid.run("custody", "100503", "--place", "mailed", "--to", "Björn Saltängen")
    said = void(paid, 100503, "in-hand", expect=5)
    assert "number 100503 of main was mailed, so it is not in hand." in said
    assert "If it came back, say --paper returned; if not, --paper not-in-hand." in said
    void(paid, 100503, "returned")
    paid.run("reprint", "100503")


def test_nothing_but_a_good_cheque_can_be_voided_and_that_once(paid: Firm) -> None:
    void(paid, 100503, "in-hand")
    said = void(paid, 100503, "in-hand", expect=5)
    assert "number 100503 of main is voided, so it cannot be voided: only a good cheque can." in said
    assert "It was voided before: wrong hours." in said
    assert "number 100530 of main is on hand, so it cannot be voided" in void(paid, 100530, "in-hand", expect=5)
    assert "300501 is on no stock in the book." in void(paid, 300501, "in-hand", expect=5)
    paid.run("spoil", "100531", *WHY)
    assert "number 100531 of main is spoiled, so it cannot be voided" in void(paid, 100531, "in-hand", expect=5)
    assert "wanted one number" in void(paid, "100504-100505", "in-hand", expect=2)


def test_a_void_needs_a_reason_and_where_the_paper_is(paid: Firm) -> None:
    said = paid.run("void", "100503", "--paper", "in-hand", "--reason", "", expect=2).err
    assert "a cheque is voided for a reason: give it with --reason." in said
    said = paid.run("void", "100503", *WHY, expect=2).err
    assert "an answer is missing: give --paper." in said
    assert "'in the post' is not one of 'in-hand', 'returned', 'not-in-hand'" in void(
        paid, 100503, "in the post", expect=2
    )


def test_a_good_cheque_is_never_printed_again(paid: Firm) -> None:
    said = paid.run("reprint", "100503", expect=5).err
    assert "number 100503 of main is printed: a good cheque is never printed again. Void it first." in said
    said = paid.run("reprint", "100530", expect=5).err
    assert "number 100530 of main is on hand and never carried a payment." in said


def test_a_reprint_has_all_of_prints_checks_and_links_both_ways(paid: Firm) -> None:
    void(paid, 100503, "in-hand")
    said = paid.run("reprint", "100503")
    assert said.out == "2\n"
    assert "Batch 2: Björn Saltängen, 627.28 USD, instead of main:100503." in said.err
    line = ("print", "2", "--first-number", "100525", "--paper-loaded", "--after-first", "go-on")
    assert "batch 2 has no proof" in paid.run(*line, "--proof-code", "2222-2222", expect=5).err
    said = paid.print(2, 100525)
    assert "Run 2: 1 form, 100525, to payroom" in said.err
    paid.run("confirm", "2", "--good-count", "1")
    assert paid.run("show", "100503", "--json").json["replaced by"] == "100525"
    assert paid.run("show", "100525", "--json").json["replaces"] == "100503"
    said = paid.run("reprint", "100503", expect=5)
    assert "was printed again on number 100525 of main, which is printed: it is not printed twice." in said.err
    paid.run("reconcile", "numbers", "1")
    paid.run("reconcile", "numbers", "2")
    # The one that replaced it may itself be voided and replaced, and then the first one says so.
    void(paid, 100525, "in-hand")
    said = paid.run("reprint", "100503", expect=5)
    assert "print that one again instead" in said.err
    paid.run("reprint", "100525")


def test_a_payment_waits_in_one_reprint_only(paid: Firm) -> None:
    void(paid, 100503, "in-hand")
    paid.run("reprint", "100503")
    said = paid.run("reprint", "100503", expect=5).err
    assert "a reprint of number 100503 of main is waiting already, as batch 2" in said
    paid.run("batch", "withdraw", "2", "--reason", "paid by transfer after all")
    paid.run("reprint", "100503")


def test_the_banks_stop_is_confirmed_by_somebody_on_a_day_that_has_come(paid: Firm) -> None:
    stop = ("notice", "stopped", "100503")
    assert "or --confirmed-by with the name of who at the bank confirmed it" in paid.run(*stop, expect=2).err
    said = paid.run(*stop, "--confirmed-by", " ", expect=2).err
    assert "who at the bank confirmed the stop? Give the name with --confirmed-by." in said
    for day, why in (
        ("2026-02-30", "wanted a date such as 2026-11-27"),
        ("soon", "wanted a date"),
        ("9999-01-01", "yet to come"),
    ):
        assert why in paid.run(*stop, "--confirmed-by", "N. Vault", "--on", day, expect=2).err
    long_ago = (date.today() - timedelta(days=300)).isoformat()
    said = paid.run(*stop, "--confirmed-by", "N. Vault", "--on", long_ago).err
    assert "IT HAS LAPSED" in said  # so that a new one can be given
    paid.run(*stop, "--confirmed-by", "N. Vault")
    said = paid.run(*stop, "--confirmed-by", "N. Vault", expect=5).err
    assert "the bank's stop of number 100503 of main is in the book already." in said
    said = paid.run("notice", "stopped", "100530", "--confirmed-by", "N. Vault", expect=5).err
    assert "number 100530 of main is on hand: there is nothing for a bank to stop." in said


def test_a_cheque_written_by_hand_pays_a_payment_that_lacks_a_form(accepted: Firm) -> None:
    accepted.print(1, 100501, "--count", "23")
    accepted.run("confirm", "1", "--good-count", "23")
    line = ("manual", "100530", "--payment", "1:24", "--reason", "the ribbon ran out")
    said = accepted.run(*line).err
    assert "main:100530 is entered as written by hand." in said
    assert accepted.numbers()[24] == (100530, "printed")
    said = accepted.run("manual", "100531", *line[2:], expect=5).err
    assert "payment 24 of batch 1 is on number 100530, which is printed" in said
    assert "It is not paid twice." in said
    said = accepted.print(1, 100524, expect=5).err
    assert "batch 1 has no payment that lacks a form" in said
    report = accepted.run("report", "issued", "--json").out
    assert "100530" in report


@pytest.mark.parametrize(
    ("number", "payment", "status", "why"),
    [
        ("100501", "1:24", 5, "number 100501 of main is printed, so no cheque can be written on it."),
        ("300501", "1:24", 5, "300501 is on no stock in the book."),
        ("100530", "1:99", 5, "batch 1 has no payment 99."),
        ("100530", "9:1", 5, "there is no batch 9."),
        ("100530", "24", 2, "found --payment '24'; wanted BATCH:ITEM, as `cheque batch show` lists them."),
        ("100530", "1:", 2, "found --payment '1:'"),
        ("100530", "1:0", 2, "found --payment '1:0'"),
        ("100530", f"1:{'9' * 30}", 2, "wanted BATCH:ITEM"),
        ("100530", "1:1", 5, "payment 1 of batch 1 is on number 100501, which is printed"),
    ],
)  # fmt: skip
def test_what_a_cheque_by_hand_is_refused_for(paid: Firm, number: str, payment: str, status: int, why: str) -> None:
    said = paid.run("manual", number, "--payment", payment, "--reason", "no printer", expect=status).err
    assert why in said


def test_an_advice_is_not_paid_by_hand(firm: Firm) -> None:
    firm.accept("payday-with-advice.csv", "--control-total", "3016.07", "--item-count", "6")
    said = firm.run("manual", "100501", "--payment", "1:3", "--reason", "no printer", expect=5).err
    assert "payment 3 of batch 1 is an advice: nothing is to be paid by cheque." in said


def test_where_the_paper_is_moves_from_hand_to_hand(paid: Firm) -> None:
    for place, told in (
        ("to-be-signed", "to be signed"),
        ("held", "held"),
        ("handed-over", "handed over"),
        ("returned", "returned"),
        ("mailed", "mailed"),
    ):
        said = paid.run("custody", "100505-100510", "--place", place, "--to", "S. Mooring").err
        assert f"6 cheques of main: {told} (S. Mooring)." in said
        assert paid.run("show", "100507", "--json").json["paper"] == told
    assert "1 cheque of main: held." in paid.run("custody", "100511", "--place", "held").err
    said = paid.run("custody", "100520-100530", "--place", "held", expect=5).err
    assert "number 100525 of main is on hand: only a cheque has custody." in said
    void(paid, 100512, "in-hand")
    said = paid.run("custody", "100512", "--place", "handed-over", expect=5).err
    assert "number 100512 of main is voided, so it is not handed over: it can only be held or returned." in said
    said = paid.run("custody", "100513", "--place", "held", "--to", "a\nb", expect=2).err
    assert "with a character that is not printed; wanted plain text" in said


def test_the_handover_sheet_lists_the_cheques_that_people_sign_for(paid: Firm) -> None:
    sheet = paid.run("report", "handover").out
    assert "Niamh O'Dunmarrow" in sheet
    assert "100501" in sheet
