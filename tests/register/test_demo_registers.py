"""The boatyard's registers are what the demo says they are."""

from pathlib import Path

import pytest

from cheque.control import Slip, compare, explain
from cheque.payment import Kind, Payment
from cheque.register import Reading, read_register
from cheque.register.judge import Judge, Verdict

DEMO = Path(__file__).parents[2] / "demo"
SLIP = Slip(item_count=24, control_total=1821477, hash_total=51877)
GOOD = [
    "payday-2026-11-27.csv",
    "payday-digits-exchanged.csv",
    "payday-lost-line.csv",
    "payday-with-advice.csv",
    "suppliers-2026-11.csv",
]


def cp437(text: str) -> list[tuple[int, str]]:
    return [(place, c) for place, c in enumerate(text, 1) if not c.encode("cp437", "ignore")]


def judged(name: str, hash_column: str = "employee") -> tuple[list[Payment], Verdict]:
    reading = Reading(name, "USD", hash_column)
    judge = Judge(reading, unprintable=cp437)
    with (DEMO / name).open("rb") as file:
        payments = list(judge.payments(read_register(file, reading)))
    return payments, judge.verdict()


@pytest.mark.parametrize("name", GOOD)
def test_a_register_of_the_demo_is_good(name: str) -> None:
    _, verdict = judged(name)
    assert (verdict.faults, verdict.warnings) == ((), ())


def test_the_payday_agrees_with_payrolls_slip() -> None:
    payments, verdict = judged("payday-2026-11-27.csv")
    assert compare(SLIP, verdict.totals) == []
    assert [payment.expected for payment in payments] == [str(number) for number in range(100501, 100525)]
    assert verdict.totals.advices == 0


@pytest.mark.parametrize("name", ["payday-2026-11-27.csv", "payday-with-advice.csv"])
def test_the_stubs_fit_an_ordinary_form(name: str) -> None:
    for payment in judged(name)[0]:
        kinds = [line.kind for line in payment.stub]
        assert kinds.count(Kind.EARNING) <= 6
        assert kinds.count(Kind.DEDUCTION) <= 8
        assert len(payment.payee) <= 40


def test_the_names_try_the_printer() -> None:
    payees = [payment.payee for payment in judged("payday-2026-11-27.csv")[0]]
    assert any("'" in payee for payee in payees)
    assert any("-" in payee for payee in payees)
    assert sum(not payee.isascii() for payee in payees) >= 5
    assert max(map(len, payees)) >= 38


def test_the_exchanged_digits_are_found() -> None:
    payments, verdict = judged("payday-digits-exchanged.csv")
    assert explain(SLIP, verdict.totals, lambda: payments, "USD") == [
        "Two digits may be exchanged (the difference divides by nine): "
        "line 14, Precious Adebarrow, 916.18 that should be 916.81."
    ]


def test_the_lost_line_is_described() -> None:
    payments, verdict = judged("payday-lost-line.csv")
    assert explain(SLIP, verdict.totals, lambda: payments, "USD") == [
        "The register has one line fewer than the slip counts: look for a line lost; it would have an amount of "
        "830.73 and the number 2131 in the hash column."
    ]
    (lost,) = set(judged("payday-2026-11-27.csv")[0][8:9])
    assert (lost.amount, lost.hash_value) == (83073, 2131)


def test_the_advices_are_one_for_nothing_and_one_by_transfer() -> None:
    _, verdict = judged("payday-with-advice.csv")
    assert (verdict.totals.item_count, verdict.totals.advices, verdict.totals.transfer_total) == (6, 2, 83243)


def test_the_suppliers_can_be_summed_by_reference() -> None:
    payments, verdict = judged("suppliers-2026-11.csv", "reference")
    assert verdict.totals[:3] == (7, 2553801, sum(int(payment.reference) for payment in payments))
    assert {line.kind for payment in payments for line in payment.stub} == {Kind.INVOICE}


def test_the_register_full_of_faults_has_one_of_each() -> None:
    _, verdict = judged("payday-faults.csv")
    assert [fault.where.removeprefix("payday-faults.csv ") for fault in verdict.faults] == [
        "line 2, amount",
        "line 3, date",
        "line 4, payee",
        "line 5, amount",
        "line 6, identity",
        "line 7, payee",
        "line 8, payee",
        "line 9, employee",
        "line 11, payee",
        "line 13",
    ]
    assert [warning.where for warning in verdict.warnings] == ["payday-faults.csv line 12, earning 'Regular', to date"]
    assert not verdict.complete
