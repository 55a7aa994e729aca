"""Payroll's slip against the register: every total that can be wrong, and what the refusal says explains it."""

from typing import Any

import pytest
from journeys.firm import REGISTER, TOTALS, Firm

SLIP = {"--control-total": "18214.77", "--item-count": "24", "--hash-total": "51877"}


def accept(firm: Firm, name: str = REGISTER, expect: int = 3, **changed: str) -> str:
    """Accept with a slip in which some totals are other; gives what is said."""
    slip = {**SLIP, **{f"--{key.replace('_', '-')}": value for key, value in changed.items()}}
    options = [text for pair in slip.items() for text in pair]
    return firm.run("batch", "accept", name, "--form", "payroll-us", *options, expect=expect).err


@pytest.fixture
def handed(firm: Firm) -> Firm:
    """The boatyard with payroll's registers in its folder."""
    for name in (REGISTER, "payday-digits-exchanged.csv", "payday-lost-line.csv"):
        firm.register(name)
    return firm


def test_two_digits_exchanged_in_the_register_are_named_with_their_line_and_payee(handed: Firm) -> None:
    said = accept(handed, "payday-digits-exchanged.csv")
    assert "The control total is 18214.77 on the slip and 18214.14 in the register, which has 0.63 less." in said
    assert "Two digits may be exchanged (the difference divides by nine)" in said
    assert "line 14, Precious Adebarrow, 916.18 that should be 916.81" in said
    assert "Ask payroll which is right; do not key in the register's own totals." in said


def test_a_line_lost_is_seen_by_all_three_totals_and_described(handed: Firm) -> None:
    said = accept(handed, "payday-lost-line.csv")
    assert "The item count is 24 on the slip and 23 in the register" in said
    assert "The control total is 18214.77 on the slip and 17384.04 in the register" in said
    assert "The hash total is 51877 on the slip and 49746 in the register" in said
    assert "look for a line lost; it would have an amount of 830.73 and the number 2131 in the hash column" in said


def test_a_line_doubled_with_another_reference_is_named(handed: Firm) -> None:
    text = (handed.folder / REGISTER).read_text("utf-8")
    line = next(line for line in text.splitlines() if line.startswith("Ay Li,"))
    (handed.folder / "doubled.csv").write_text(text + line.replace("W48-2112", "W48-2112B") + "\n", "utf-8")
    said = accept(handed, "doubled.csv")
    assert "The register has one line more than the slip counts: look for a line doubled." in said
    assert "The difference is one amount, which may be in the register twice" in said
    assert "Ay Li, 575.11" in said


def test_an_amount_counted_with_the_wrong_sign_is_named(handed: Firm) -> None:
    # The slip's adding machine took 863.79 away instead of adding it: twice that is missing.
    said = accept(handed, control_total="16487.19")
    assert "The difference is twice one amount, which may have been counted with the wrong sign" in said
    assert "line 2, Niamh O'Dunmarrow, 863.79" in said


def test_a_control_total_keyed_with_two_digits_exchanged_is_told_as_that(handed: Firm) -> None:
    said = accept(handed, control_total="18241.77")
    assert "The control total may have been keyed with two digits exchanged: 18241.77 for 18214.77." in said


def test_a_wrong_hash_total_alone_refuses_the_batch(handed: Firm) -> None:
    said = accept(handed, hash_total="51787")
    assert "The hash total is 51787 on the slip and 51877 in the register" in said
    assert "keyed with two digits exchanged" in said


def test_a_wrong_item_count_alone_refuses_the_batch(handed: Firm) -> None:
    assert "The item count is 25 on the slip and 24 in the register" in accept(handed, item_count="25")


def test_a_hash_total_for_a_register_without_that_column_cannot_agree(firm: Firm) -> None:
    firm.write("few.csv", "Ay Li,575.11,2026-11-27,W48-1", head="payee,amount,date,reference")
    said = accept(firm, "few.csv", item_count="1", control_total="575.11")
    assert "The hash total is 51877 on the slip, and the register has no column to sum for it." in said


def test_exchanged_amounts_pass_every_total_and_only_the_digest_of_the_pairs_tells(handed: Firm) -> None:
    digest = handed.run("register", "check", REGISTER, "--json").json["pairs_digest"]
    text = (handed.folder / REGISTER).read_text("utf-8")
    rows = text.splitlines()
    niamh, ay = (next(row for row in rows if row.startswith(name)) for name in ("Niamh", "Ay Li,"))
    swapped = text.replace(niamh, niamh.replace("Niamh O'Dunmarrow", "Ay Li", 1))
    swapped = swapped.replace(ay, ay.replace("Ay Li", "Niamh O'Dunmarrow", 1))
    (handed.folder / "swapped.csv").write_text(swapped, "utf-8")
    said = accept(handed, "swapped.csv", pairs_digest=digest[:16])
    assert "The totals agree but the pairs of payee and amount do not" in said
    assert "Compare payee and amount side by side" in said
    said = accept(handed, "swapped.csv", pairs_digest=digest[:5])
    assert "The pairs digest given is too short" in said
    accept(handed, "swapped.csv", expect=0)  # the totals alone do not see it
    handed.run("batch", "withdraw", "1", "--reason", "two amounts were exchanged")
    accept(handed, pairs_digest=digest[:16].upper(), expect=0)


def test_every_attempt_is_recorded_and_shown_on_the_control_report(handed: Firm) -> None:
    accept(handed, "payday-digits-exchanged.csv")
    accept(handed, control_total="18241.77")
    handed.run("register", "check", REGISTER)
    handed.accept()
    refused: list[Any] = [body for kind, body in handed.events() if kind == "batch.refused"]
    assert [body["given_control_total"] for body in refused] == [1821477, 1824177]
    assert [body["source"] for body in refused] == ["payday-digits-exchanged.csv", REGISTER]
    report = handed.run("report", "control").out
    assert "Attempts refused since the account's batch before" in report
    assert "payday-digits-exchanged.csv" in report


def test_a_slip_that_cannot_be_read_is_a_usage_error(handed: Firm) -> None:
    for total in ("18214.7", "18,21.77", "18214,77", "1e4", ""):
        said = handed.run(
            "batch",
            "accept",
            REGISTER,
            "--form",
            "payroll-us",
            "--control-total",
            total,
            "--item-count",
            "24",
            expect=2,
        )
        assert "--control-total" in said.err, said.err
    assert handed.run("batch", "list", "--json").json == []


def test_commas_between_thousands_are_understood_on_the_slip(handed: Firm) -> None:
    accept(handed, control_total="18,214.77", expect=0)


def test_the_slips_totals_must_be_given_when_nobody_can_be_asked(handed: Firm) -> None:
    said = handed.run("batch", "accept", REGISTER, "--form", "payroll-us", "--item-count", "24", expect=2)
    assert "Control total on payroll's slip? Give it with --control-total." in said.err
    said = handed.run("batch", "accept", REGISTER, "--form", "payroll-us", "--control-total", "18214.77", expect=2)
    assert "Item count on payroll's slip? Give it with --item-count." in said.err


def test_new_payees_come_first_where_payee_and_amount_stand_side_by_side(paid: Firm) -> None:
    paid.write("next.csv", "Ay Li,575.11,2026-12-04,W49-1,2112", "Osric Newhand,610.00,2026-12-04,W49-2,2500")
    shown = paid.run("register", "check", "next.csv").out.splitlines()
    assert shown[1].startswith("Osric Newhand")
    assert shown[1].rstrip().endswith("new payee")
    assert shown[2].startswith("Ay Li")
    assert "new payee" not in shown[2]
    paid.run("batch", "accept", "next.csv", "--form", "payroll-us", "--control-total", "1185.11", "--item-count", "2")
    report = paid.run("report", "control", "--batch", "2").out
    pairs = report[report.index("Payee and amount as accepted") :]
    assert pairs.index("Osric Newhand") < pairs.index("Payees paid before") < pairs.index("Ay Li")


def test_numbers_that_payroll_expects_are_held_against_the_stock(firm: Firm) -> None:
    firm.run("spoil", "100502", "--reason", "torn in the box")
    said = firm.run("batch", "accept", firm.register(), "--form", "payroll-us", *TOTALS)
    assert (
        "1 of 24 numbers that payroll expects are not on hand: payment 2 expects 100502, which is spoiled." in said.err
    )
    firm.run("batch", "withdraw", "1", "--reason", "to see what a number of another box does")
    text = (firm.folder / REGISTER).read_text("utf-8").replace(",100503,", ",300503,")
    (firm.folder / "other.csv").write_text(text, "utf-8")
    said = firm.run("batch", "accept", "other.csv", "--form", "payroll-us", *TOTALS)
    assert "payment 3 expects 300503, which is on no stock of main" in said.err
    assert "the register expects 300503 after 100502; 100503 to 300502 are left out" in said.err
