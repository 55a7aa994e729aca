"""Advices, which pay nobody: on the cheques' stock struck VOID, or set apart on stock of their own; never money out."""

import pytest
from journeys.firm import Firm

ROWS = (
    "Ada Thwaite,812.40,2026-11-27,A-1,",
    "Bryn Marlow,500.00,2026-11-27,A-2,transfer",
    "Cora Selwick,0.00,2026-11-27,A-3,",
    "Dov Anstey,100.00,2026-11-27,A-4,cheque",
)


@pytest.fixture
def mixed(firm: Firm) -> Firm:
    """A register with two cheques, a payment by transfer and one of nothing, accepted; and stock for advices."""
    firm.run("stock", "receive", "advice-us", "--account", "main", "--first", "700001", "--last", "700100")
    name = firm.write("mixed.csv", *ROWS, head="payee,amount,date,reference,paid_by")
    firm.run("batch", "accept", name, "--form", "payroll-us", "--control-total", "912.40", "--item-count", "4")
    return firm


def struck(firm: Firm, batch: int, payment: int) -> str:
    """What the proof shows of one payment."""
    name = f"proof-{batch}-{payment}.txt"
    firm.run("proof", str(batch), "-o", name, "--payment", str(payment))
    return (firm.folder / name).read_text("utf-8")


def test_on_the_cheques_stock_an_advice_is_void_through_amount_and_signature(mixed: Firm) -> None:
    for payment in (2, 3):
        text = struck(mixed, 1, payment)
        assert "NON-NEGOTIABLE*" in text
        assert "VOID" in text
        assert "VOID*VOID" in text  # where a cheque is signed
    assert "NON-NEGOTIABLE*" not in struck(mixed, 1, 1)
    mixed.print(1, 100501)
    mixed.run("confirm", "1", "--good-count", "4")
    issued = mixed.run("report", "issued", "--batch", "1").out
    assert "912.40" in issued
    assert "1412.40" not in issued
    assert "2 advices" in issued
    mixed.run("reconcile", "numbers", "1")


def test_advices_set_apart_go_on_stock_of_their_own_and_are_never_money_out(mixed: Firm) -> None:
    said = mixed.run("batch", "advices", "1", "--form", "advice-us")
    assert said.out == "2\n"
    assert "2 advices of batch 1 are batch 2 now" in said.err
    text = struck(mixed, 2, 1)
    assert "NON-NEGOTIABLE*" in text
    assert "VOID" not in text
    assert "Bryn Marlow" in text
    mixed.print(1, 100501)
    mixed.run("confirm", "1", "--good-count", "2")
    mixed.print(2, 700001)
    mixed.run("confirm", "2", "--good-count", "2")
    assert [mixed.state(number) for number in (100501, 100502, 700001, 700002)] == ["printed"] * 4
    assert mixed.run("show", "700001", "--json").json["role"] == "advice"
    for batch in ("1", "2"):
        mixed.run("reconcile", "numbers", batch)
        mixed.run("report", "control", "--batch", batch)
    assert "912.40" in mixed.run("report", "issued").out
    for report in ("issued", "outstanding", "handover", "control --batch 1", "control --batch 2"):
        said = mixed.run("report", *report.split())
        assert "1412.40" not in said.out.replace(",", "")
    mixed.run("book", "verify")


def test_advices_set_apart_wait_in_one_batch_only(mixed: Firm) -> None:
    mixed.run("batch", "advices", "1", "--form", "advice-us")
    assert "no advice that waits" in mixed.run("batch", "advices", "1", "--form", "advice-us", expect=5).err
    pulled = mixed.run("batch", "pull", "1", "2", "--reason", "x", expect=5).err
    assert "waits as an advice on a form of its own, batch 2" in pulled
    assert "withdraw that one first" in mixed.run("batch", "withdraw", "1", "--reason", "x", expect=5).err
    mixed.run("batch", "withdraw", "2", "--reason", "no such stock after all")
    mixed.print(1, 100501)
    mixed.run("confirm", "1", "--good-count", "4")
    mixed.run("reconcile", "numbers", "1")
    mixed.run("book", "verify")


def test_only_a_form_for_advices_of_their_own_takes_them(mixed: Firm) -> None:
    assert "the form of the batch" in mixed.run("batch", "advices", "1", "--form", "payroll-us", expect=3).err
    mixed.run("batch", "advices", "1", "--form", "nonesuch", expect=3)
    mixed.run("batch", "advices", "9", "--form", "advice-us", expect=5)


def test_what_advices_come_to_is_in_no_sum_of_the_control_report(mixed: Firm) -> None:
    said = mixed.run("report", "control", "--batch", "1").out
    assert "1412.40" not in said
    assert "2 cheques" in said
