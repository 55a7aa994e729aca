"""A fault says where, what was found, what was wanted and what to do; a refusal all of them, and its exit status."""

import pytest

from cheque.errors import FAULTS_SHOWN, BookRefused, Fault, InputRefused, Refusal, RunStopped, UsageRefused


def test_a_fault_is_one_sentence_with_what_to_do_when_there_is_something() -> None:
    assert str(Fault("payday.csv line 3, date", "'2026-02-30'", "a real date", "correct it")) == (
        "payday.csv line 3, date: found '2026-02-30'; wanted a real date; correct it."
    )
    assert str(Fault("payday.csv line 3, date", "nothing", "a date")) == (
        "payday.csv line 3, date: found nothing; wanted a date."
    )


def test_a_refusal_tells_its_first_hundred_faults_and_counts_the_rest() -> None:
    faults = [Fault(f"line {number}", "nothing", "a payee") for number in range(1, 131)]
    lines = str(InputRefused("payday.csv is refused: 130 faults.", faults)).splitlines()
    assert FAULTS_SHOWN == 100
    assert len(lines) == 102
    assert lines[0] == "payday.csv is refused: 130 faults."
    assert lines[100] == "  line 100: found nothing; wanted a payee."
    assert lines[101] == "  … and 30 more."


def test_a_refusal_may_count_more_faults_than_it_was_given() -> None:
    refusal = InputRefused("refused.", [Fault("line 1", "nothing", "a payee")], total=5_000)
    assert str(refusal).endswith("… and 4900 more.")
    assert refusal.total == 5_000
    assert str(InputRefused("refused.")) == "refused."


@pytest.mark.parametrize(
    ("kind", "status"), [(UsageRefused, 2), (InputRefused, 3), (RunStopped, 4), (BookRefused, 5), (Refusal, 2)]
)
def test_each_kind_of_refusal_has_the_exit_status_of_the_contract(kind: type[Refusal], status: int) -> None:
    assert kind("why").status == status
    assert kind("why").message == "why"
    assert issubclass(kind, Refusal)
