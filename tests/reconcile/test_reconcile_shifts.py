"""The numbers printed against those that payroll expected: where they part, and why, in words."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from report.payday import Payday, crew, payment

from cheque.book import batches, stock
from cheque.reconcile.numbers import reconcile


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Payday]:
    """A payday with a box of forms, 100501 to 100600."""
    with (found := Payday(tmp_path)).book:
        found.receive()
        yield found


def shifts(day: Payday, batch: int = 1) -> tuple[str, ...]:
    """What is said of the numbers, once it is sure that they are explained."""
    finding = reconcile(day.book, batch)
    assert finding.unexplained == ()
    return finding.shifts


def test_a_form_spoiled_on_the_way_makes_the_later_numbers_higher(day: Payday) -> None:
    batch = day.accept(crew(6))
    day.seen(day.run(batch, 100501), spoiled={100503: "misfed"}, blank=range(100504, 100507))
    day.seen(day.run(batch, 100504), spoiled={100506: "torn"}, blank=[100507])
    day.print(batch, 100507)
    assert shifts(day) == (
        "From payment 3 on (100504), every number is 1 higher than payroll expected: 100503 was spoiled (misfed).",
        "From payment 5 on (100507), every number is 2 higher than payroll expected: 100506 was spoiled (torn).",
    )


def test_a_payment_printed_again_at_the_end_is_told_by_itself(day: Payday) -> None:
    batch = day.accept(crew(6))
    day.print(batch, 100501, spoiled={100503: "torn"})
    day.print(batch, 100507)
    assert shifts(day) == (
        "Payment 3 (Björn Saltängen) was expected on 100503; 100503 was spoiled (torn), and it is on 100507.",
    )


def test_a_payment_pulled_makes_the_later_numbers_lower(day: Payday) -> None:
    batch = day.accept(crew(5))
    batches.pull(day.book, batch, 2, "left the yard")
    day.print(batch, 100501)
    assert shifts(day) == (
        "From payment 3 on (100502), every number is 1 lower than payroll expected: "
        "payment 2 (Aurélie Thornquay-Baptiste) was pulled.",
    )


def test_a_pull_and_a_spoiled_form_together_bring_the_numbers_back(day: Payday) -> None:
    batch = day.accept(crew(6))
    batches.pull(day.book, batch, 2, "left the yard")
    day.seen(day.run(batch, 100501), spoiled={100503: "torn"}, blank=range(100504, 100506))
    day.print(batch, 100504)
    assert shifts(day)[1] == (
        "From payment 4 on (100504), the numbers are as payroll expected: 100503 was spoiled (torn)."
    )


def test_lead_in_forms_spoiled_before_the_first_number(day: Payday) -> None:
    stock.spoil(day.book, account="main", first=100501, last=100502, reason="lead-in")
    batch = day.accept(crew(3))
    day.print(batch, 100503)
    assert shifts(day) == (
        "The printing began at 100503 with payment 1, which payroll expected on 100501: every number is 2 higher "
        "than expected: 100501-100502 were spoiled (lead-in).",
    )


def test_forms_on_hand_below_the_first_number_are_not_explained(day: Payday) -> None:
    batch = day.accept(crew(3))
    day.print(batch, 100502)
    assert reconcile(day.book, batch).unexplained == (
        "100501 is on hand in the book, though payroll expected it and the printing began at 100502: look for the "
        "form, and enter what became of it",
    )
    stock.count(day.book, account="main", first=100501, last=100600, counted=97)
    assert reconcile(day.book, batch).agrees, "a count of the box that agrees explains it"


def test_a_start_lower_than_payroll_expected(day: Payday) -> None:
    batch = day.accept([one._replace(expected=str(int(one.expected) + 10)) for one in crew(3)])
    day.print(batch, 100501)
    assert shifts(day) == (
        "The printing began at 100501 with payment 1, which payroll expected on 100511: every number is 10 lower "
        "than expected. The number was read from the paper.",
    )


def test_numbers_used_by_another_batch_in_between(day: Payday) -> None:
    batch = day.accept(crew(4))
    day.print(batch, 100501, count=2)
    other = day.accept([payment(1, "Zoë Marlinspike", 5000, expected="")])
    day.print(other, 100503)
    day.print(batch, 100504)
    assert shifts(day) == (
        "From payment 3 on (100504), every number is 1 higher than payroll expected: "
        "100503 is good with payment 1 of batch 2 (Zoë Marlinspike).",
    )


def test_a_gap_in_payrolls_own_numbers_is_payrolls(day: Payday) -> None:
    given = crew(4)
    given[2:] = [one._replace(expected=str(int(one.expected) + 5)) for one in given[2:]]
    day.print(day.accept(given), 100501)
    assert shifts(day) == (
        "From payment 3 on (100503), every number is 5 lower than payroll expected: "
        "payroll's own numbers go from 100502 to 100508.",
    )


def test_payments_printed_elsewhere_make_the_later_numbers_lower(day: Payday) -> None:
    day.receive("200001", "200050")
    batch = day.accept(crew(6))
    day.print(batch, 100501, count=2)
    day.print(batch, 200001, count=2, printer="office")
    day.print(batch, 100503)
    assert shifts(day)[0] == (
        "From payment 5 on (100503), every number is 2 lower than payroll expected: "
        "payment 3 (Björn Saltängen) was not printed here; payment 4 (Ay Li) was not printed here."
    )


def test_the_next_run_began_lower_in_the_box(day: Payday) -> None:
    batch = day.accept(crew(4))
    day.print(batch, 100551, count=2)
    day.print(batch, 100501)
    finding = reconcile(day.book, batch)
    assert finding.shifts[1] == (
        "From payment 3 on (100501), every number is 2 lower than payroll expected: the printing went on at 100501."
    )


def test_a_voided_cheque_does_not_move_the_numbers(day: Payday) -> None:
    batch = day.accept(crew(4))
    day.print(batch, 100501)
    day.void(100502)
    day.reprint(100502, 100505)
    assert shifts(day) == ()


def test_a_register_without_numbers_has_no_shifts(day: Payday) -> None:
    batch = day.accept([one._replace(expected="") for one in crew(4)])
    day.print(batch, 100511)
    assert shifts(day) == ()


def test_many_reasons_are_counted_and_not_dropped_in_silence(day: Payday) -> None:
    batch = day.accept(crew(2))
    day.print(batch, 100501, count=1)
    for number in range(100502, 100511):
        stock.spoil(day.book, account="main", first=number, last=number, reason=f"crumpled, sheet {number}")
    day.print(batch, 100511)
    (said,) = shifts(day)
    assert "100506 was spoiled (crumpled, sheet 100506)" in said
    assert said.endswith("and 4 more reasons, which the list of numbers shows.")


def test_numbers_with_leading_zeros_are_compared_as_numbers(tmp_path: Path) -> None:
    with (day := Payday(tmp_path)).book:
        day.receive("000501", "000600")
        batch = day.accept([one._replace(expected=one.expected.replace("100", "000")) for one in crew(2)])
        day.print(batch, 502)
        finding = reconcile(day.book, batch)
        assert finding.unexplained[0].startswith("000501 is on hand")
