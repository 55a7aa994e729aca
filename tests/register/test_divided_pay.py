"""Net pay divided between a cheque and a transfer: added up, counted, shown, and refused where it does not agree."""

import io

import pytest
from register.registers import faults, judged, messages, payments

from cheque.control import Slip, compare, describe, explain
from cheque.payment import from_text, to_text
from cheque.register import Reading, csvfile, read_register, xlsxfile

HEAD = "payee,amount,transfer,total_net,date,reference,earning1,earning1_amount,deduction1,deduction1_amount\n"
DIVIDED = "Ay Li,500.00,300.00,800.00,2026-11-27,R1,Wages,900.00,Tax,100.00\n"


def test_cheque_and_transfer_are_net_pay_together() -> None:
    (payment,) = payments(HEAD + DIVIDED)
    assert (payment.amount, payment.by_transfer, str(payment.role)) == (50000, 30000, "cheque")
    assert messages(HEAD + DIVIDED) == []
    assert from_text(to_text(payment)) == payment._replace(line=0)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "500.00,300.00",
            "500.00,299.00",
            "line 2, total_net: found 800.00; wanted 799.00, which is 500.00 by cheque and 299.00 by transfer",
        ),
        (
            "300.00,800.00",
            "300.00,",
            "",
        ),
        ("300.00,800.00", "-1.00,", "line 2, transfer: found -1.00; wanted an amount of nought or more"),
        ("300.00,800.00", "three,", "line 2, transfer: found 'three'; wanted an exact USD amount"),
        ("300.00,800.00", "300.00,eight", "line 2, total_net: found 'eight'; wanted an exact USD amount"),
    ],
)
def test_what_does_not_agree_is_refused(old: str, new: str, said: str) -> None:
    found = faults(HEAD + DIVIDED.replace(old, new))
    assert [fault for fault in found if said not in fault] == []
    assert bool(found) == bool(said)


def test_without_a_total_the_stub_says_what_net_pay_is() -> None:
    (said,) = messages(HEAD + DIVIDED.replace("300.00,800.00", "299.00,"))
    assert "amount: found 500.00 by cheque and 299.00 by transfer; wanted 800.00, which is 900.00 of earnings" in said


def test_a_total_alone_checks_the_amount() -> None:
    head = "payee,amount,total_net,date,reference\n"
    assert faults(head + "Ay Li,500.00,500.00,2026-11-27,R1\n") == []
    (said,) = faults(head + "Ay Li,500.00,500.01,2026-11-27,R1\n")
    assert "total_net: found 500.01; wanted 500.00, which is 500.00 by cheque and 0.00 by transfer" in said


def test_the_transfer_is_in_no_control_total_and_explains_one_that_has_it() -> None:
    verdict = judged(HEAD + DIVIDED)
    assert (verdict.totals.control_total, verdict.totals.transfer_total) == (50000, 30000)
    assert verdict.notes == ("300.00 of net pay goes by transfer besides, and is not in the control total.",)
    slip = Slip(1, 80000)
    (difference,) = compare(slip, verdict.totals)
    assert "800.00 on the slip and 500.00 in the register" in describe(difference, "USD")
    told = explain(slip, verdict.totals, lambda: payments(HEAD + DIVIDED), "USD")
    assert told[0].startswith("The difference is what is paid by transfer, 300.00")


@pytest.mark.parametrize("module", [csvfile, xlsxfile])
def test_it_reads_back_from_another_file(module: object) -> None:
    before = [payment._replace(line=0) for payment in payments(HEAD + DIVIDED)]
    out = io.BytesIO()
    module.write(before, out, "USD")  # type: ignore[attr-defined]
    kind = "csv" if module is csvfile else "xlsx"
    back = read_register(io.BytesIO(out.getvalue()), Reading("r", "USD", kind=kind))
    assert [item._replace(line=0) for item in back] == before  # type: ignore[union-attr]
