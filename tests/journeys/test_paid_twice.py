"""Nothing is paid twice: against all earlier batches, whoever keyed it again and however."""

import pytest
from journeys.firm import Firm
from journeys.terminal import Terminal

HEAD = "payee,amount,date,reference,invoice1,invoice1_net"
FIRST = "Hawser & Co,80.00,2026-11-02,A-1,INV-00417,80.00"
AGAIN = "HAWSER + CO.,80.00,2026-12-21,A-9,inv 417,80.00"
NEAR = ("Ay Li,1.00,2026-11-27,B-1", "Ay Li,1.00,2026-11-30,B-2")


def accept(firm: Firm, row: str, *more: str, head: str = HEAD, expect: int = 0) -> str:
    """Accept a register of one payment; what was said."""
    total = row.split(",")[1]
    name = firm.write(f"{row.split(',')[3]}.csv", row, head=head)
    totals = ("--form", "remittance-us" if head is HEAD else "payroll-us", "--control-total", total)
    return firm.run("batch", "accept", name, *totals, "--item-count", "1", *more, expect=expect).err


@pytest.fixture
def supplier(firm: Firm) -> Firm:
    """A supplier's invoice, paid."""
    accept(firm, FIRST)
    return firm


def test_an_invoice_keyed_again_is_found_whatever_the_payment(supplier: Firm) -> None:
    said = accept(supplier, AGAIN, expect=3)
    assert (
        "A-9.csv line 2, invoice 'inv 417', number: found the same vendor and invoice number as one of payment 1 of "
        "batch 1; wanted each invoice paid once"
    ) in said
    assert "found the same vendor" in supplier.run("register", "check", "A-9.csv", expect=3).err
    accept(supplier, AGAIN, "--allow-duplicate", "inv 417")
    assert "Allowed again" in supplier.run("report", "control", "--batch", "2").out
    supplier.run("book", "verify")


def test_a_batch_withdrawn_and_a_payment_pulled_paid_nothing(supplier: Firm) -> None:
    supplier.run("batch", "pull", "1", "1", "--reason", "disputed")
    accept(supplier, AGAIN)
    supplier.run("batch", "withdraw", "2", "--reason", "wrong day")
    accept(supplier, AGAIN)
    assert "payment 1 of batch 3" in accept(supplier, FIRST.replace("A-1", "A-3"), expect=3)


def test_a_payment_nearly_the_same_is_asked_about_and_the_answer_recorded(firm: Firm) -> None:
    head = "payee,amount,date,reference"
    accept(firm, NEAR[0], head=head)
    said = accept(firm, NEAR[1], head=head, expect=2)
    assert "Is this paid twice?" in said
    assert (
        "B-2.csv line 2, payee: 1.00 to 'Ay Li', reference 'B-2', is within 5 days of payment 1 of batch 1, "
        "dated 2026-11-27, reference 'B-1'"
    ) in said
    assert "--not-a-duplicate" in said
    assert "paid twice? B-2.csv line 2" in firm.run("register", "check", "B-2.csv").err
    accept(firm, NEAR[1], "--not-a-duplicate", "two hires in a week", head=head)
    assert firm.events()[-1][1]["not_a_duplicate"] == "two hires in a week"
    about = firm.run("report", "control", "--batch", "2", "--json").json["about"]
    assert about["not_a_duplicate"] == "two hires in a week"


def test_at_a_terminal_a_person_is_asked(firm: Firm) -> None:
    head = "payee,amount,date,reference"
    accept(firm, NEAR[0], head=head)
    name = firm.write("B-2.csv", NEAR[1], head=head)
    command = ("batch", "accept", name, "--form", "payroll-us", "--control-total", "1.00", "--item-count", "1")
    person = Terminal(firm.folder, *command)
    person.asked("Is any of them paid twice? (yes/no)", "yes")
    assert person.ended() == 3
    assert "pays twice, so it is not accepted" in person.shown
    person = Terminal(firm.folder, *command)
    person.asked("Is any of them paid twice? (yes/no)", "no")
    person.asked("Why are they none of those?", "two hires")
    assert person.ended() == 0
    assert firm.events()[-1][1]["not_a_duplicate"] == "two hires"


def test_how_far_apart_is_a_setting_and_0_is_never(firm: Firm) -> None:
    head = "payee,amount,date,reference"
    accept(firm, NEAR[0], head=head)
    firm.change("near_duplicate_days = 5", "near_duplicate_days = 0")
    accept(firm, NEAR[1], head=head)
    firm.change("near_duplicate_days = 0", "near_duplicate_days = 30")
    row = NEAR[1].replace("11-30", "12-30").replace("B-2", "B-3")
    assert "payment 1 of batch 2" in accept(firm, row, head=head, expect=2)


def test_a_reprint_is_no_payment_of_its_own(paid: Firm) -> None:
    paid.run("void", "100503", "--reason", "torn", "--paper", "in-hand")
    assert paid.run("reprint", "100503").out == "2\n"
    row = "Björn Saltängen,627.28,2026-11-28,again"
    said = accept(paid, row, head="payee,amount,date,reference", expect=2)
    assert "is within 5 days of payment 3 of batch 1, number 100503, voided, dated 2026-11-27" in said


def test_an_allowance_that_is_for_nothing_in_the_register_is_told(firm: Firm) -> None:
    name = firm.write("one.csv", "Ada Thwaite,5.00,2026-11-27,R-1", head="payee,amount,date,reference")
    slip = ("--control-total", "5.00", "--item-count", "1")
    how = ("--form", "payroll-us", "--allow-duplicate", "R-1", "--allow-duplicate", "R-l")
    said = firm.run("batch", "accept", name, *how, *slip).err
    assert "'R-l' is allowed to be paid again, and is no reference and no invoice of this register" in said
    assert "'R-1' is allowed" not in said
