"""The guided payday where the settings keep hands apart: nobody gets past it there who could not by the commands."""

from pathlib import Path

import pytest
from journeys.attending import Attend
from journeys.firm import Firm

APPROVE = "Do you approve it, as"


@pytest.fixture
def firm(tmp_path: Path) -> Firm:
    firm = Firm(tmp_path).set_up()
    firm.register()
    return firm


def keep_apart(firm: Firm, *duties: str) -> None:
    firm.change("[duties]\n", "[duties]\n" + "".join(f"{name} = true\n" for name in duties))


def forms(firm: Firm) -> int:
    """How many forms were struck."""
    return len(firm.struck()) if (firm.folder / "payroom.prn").exists() else 0


def test_who_accepted_is_told_who_has_to_approve_and_leaves_with_nothing_printed(attend: Attend, firm: Firm) -> None:
    keep_apart(firm, "approve")
    operator = attend(firm, person="mara")
    assert operator.to_the_end() == 0
    assert APPROVE not in operator.shown
    assert "batch 1 is printed once somebody other than mara (" in operator.shown
    assert "`cheque batch approve 1 --proof-code CODE`" in operator.shown
    assert "Left here; nothing is lost." in operator.shown
    assert "Step 3" not in operator.shown
    assert forms(firm) == 0


def test_another_approves_in_the_same_command_and_the_payday_goes_on(attend: Attend, firm: Firm) -> None:
    keep_apart(firm, "approve")
    attend(firm, person="mara").to_the_end()
    again = attend(firm, person="mara")
    assert "batch 1 is printed once somebody other than mara (" in again.until("Which batch do you go on with?")
    again.type("q")
    assert again.terminal.ended() == 0
    operator = attend(firm, person="ives", answers={APPROVE: ["maybe", "yes"]})
    assert operator.to_the_end() == 0
    assert "is approved by ives (" in operator.shown
    assert forms(firm) == 24
    assert len(firm.events_of("batch.approved")) == 1
    assert "by ives (" in firm.run("report", "control", "--batch", "1").out


def test_who_does_not_approve_prints_nothing(attend: Attend, firm: Firm) -> None:
    keep_apart(firm, "approve")
    attend(firm, person="mara").to_the_end()
    operator = attend(firm, person="ives", answers={APPROVE: "no"})
    assert operator.to_the_end() == 0
    assert firm.events_of("batch.approved") == []
    assert forms(firm) == 0


def test_an_approval_asked_for_only_after_the_first_run_is_still_wanted(attend: Attend, firm: Firm) -> None:
    operator = attend(firm, answers={"How many good": "23", "Bad form 1": "100507", "What is wrong": "torn"})
    operator.until("Is that right?")
    keep_apart(firm, "approve")
    operator.type("yes")
    operator.until("Is the paper loaded")  # its settings were read before
    operator.type("q")
    assert operator.terminal.ended() == 0
    later = attend(firm)
    assert later.to_the_end() == 0
    assert "Nothing is printed yet: batch 1 is printed once somebody other than" in later.shown
    assert forms(firm) == 24


def test_an_amount_over_the_limit_wants_two(attend: Attend, firm: Firm) -> None:
    firm.change('# second_approval_over = "5000.00"', 'second_approval_over = "1000.00"')
    attend(firm, person="mara").to_the_end()
    first = attend(firm, person="ives", answers={APPROVE: "yes"})
    assert first.to_the_end() == 0
    assert "once two people other than mara (" in first.shown
    assert "approved it" in first.shown
    assert forms(firm) == 0
    second = attend(firm, person="noor", answers={APPROVE: "yes"})
    assert second.to_the_end() == 0
    assert forms(firm) == 24


def test_who_printed_leaves_the_numbers_to_somebody_else(attend: Attend, firm: Firm) -> None:
    keep_apart(firm, "reconcile")
    operator = attend(firm, person="mara")
    assert operator.to_the_end() == 0
    assert "printed batch 1, so somebody else has to reconcile it" in operator.shown
    assert "Hand nothing over before." in operator.shown
    assert "Everything agrees" not in operator.shown
    other = attend(firm, person="ives")
    assert other.to_the_end() == 0
    assert "Everything agrees: every number is accounted for." in other.shown
    assert firm.run("show", "100524", "--json").json["paper"] == "held"


def test_a_cheque_is_only_asked_to_be_voided_and_kept_apart_until_a_second_person_does(
    attend: Attend, firm: Firm
) -> None:
    keep_apart(firm, "second_person")
    operator = attend(
        firm,
        person="mara",
        answers={"Is any good cheque to be cancelled": ["100503", ""], "Why is it cancelled": "coffee spilt on it",
                 "Is the paper of it in your hands": "yes"},
    )  # fmt: skip
    assert operator.to_the_end() == 0
    assert firm.state(100503) == "printed"
    assert "`cheque void 100503 --second`" in operator.shown
    assert "Keep apart, a second person is to void it: 100503." in operator.shown
    assert "23 cheques to be signed" in operator.shown
    assert firm.run("show", "100503", "--json").json["paper"] == "to be signed"
    firm.run("--as", "ives", "void", "100503", "--second")
    assert firm.state(100503) == "voided"
