"""Somebody has looked at the paper: the count keyed in, the exceptions named, and no blind yes."""

import pytest
from journeys.firm import Firm


@pytest.fixture
def printed(accepted: Firm) -> Firm:
    """The boatyard with 24 forms sent that nobody has looked at."""
    accepted.print()
    return accepted


def confirm(firm: Firm, *options: str, expect: int = 0) -> str:
    """Confirm batch 1; what is said."""
    return firm.run("confirm", "1", *options, expect=expect).err


def test_without_a_count_nothing_is_confirmed(printed: Firm) -> None:
    said = confirm(printed, expect=2)
    assert "Run 1 on payroom: 100501 to 100524 were sent, and nothing after." in said
    assert "How many good forms do you count? Give it with --good-count." in said
    assert printed.state(100501) == "sent"


@pytest.mark.parametrize("count", ["23", "25", "0", "-1"])
def test_a_count_that_is_not_what_was_sent_less_the_exceptions_is_refused(printed: Firm, count: str) -> None:
    said = confirm(printed, "--good-count", count, expect=2)
    assert "24 forms went to the printer and 0 of them are told to be bad, so 24 ought to be good" in said
    assert f"found a count of {count}. Count again, and name every form that is not good" in said
    assert printed.state(100501) == "sent"


def test_the_exceptions_are_entered_as_what_they_are(printed: Firm) -> None:
    said = confirm(
        printed, "--good-count", "19", "--spoiled", "100502=smudged", "--spoiled", "100504-100505=creased",
        "--missing", "100507=not in the pile", "--blank", "100524",
    )  # fmt: skip
    assert "Entered: 19 good, 3 spoiled, 1 missing, 1 still blank." in said
    assert "Write VOID across the spoiled ones and keep them for the count." in said
    assert "ask the bank to stop it before its payment is printed again" in said
    assert "Still without a good form: 4 payments. Next: cheque resume 1" in said
    states = {number: printed.state(number) for number in (100501, 100502, 100504, 100505, 100507, 100524)}
    assert states == {
        100501: "printed",
        100502: "spoiled",
        100504: "spoiled",
        100505: "spoiled",
        100507: "missing",
        100524: "on hand",
    }
    assert "reason     creased" in printed.run("show", "100505").out
    # What is left is printed in the register's order, on the numbers that are there.
    printed.run("resume", "1", "--power-cycled", "--next-number", "100525", "--paper-loaded", "--after-first", "go-on")
    on = printed.numbers()
    assert [on[item][0] for item in (2, 4, 5, 24)] == [100525, 100526, 100527, 100528]
    assert on[7] == (100507, "missing")


def test_a_range_of_blank_forms_is_one_answer(printed: Firm) -> None:
    said = printed.run("confirm", "1", "--good-count", "20", "--blank", "100521-100524", "--json")
    assert said.json == {
        "batch": 1, "good": 20, "spoiled": [], "missing": [], "blank": [100521, 100522, 100523, 100524],
        "held_back": [],
        "still_to_print": 4,
    }  # fmt: skip
    assert printed.run("stock", "list", "--json").json[0]["states"] == {"on hand": 480, "printed": 20, "received": 500}


def test_a_form_is_told_of_once_and_only_when_it_is_in_doubt(printed: Firm) -> None:
    said = confirm(printed, "--good-count", "23", "--spoiled", "100600=torn", expect=5)
    assert "number 100600 is not in doubt in run 1: 100501 to 100524 were sent, and nothing after." in said
    said = confirm(printed, "--good-count", "23", "--spoiled", "100502=torn", "--missing", "100502=gone", expect=2)
    assert "number 100502 is answered for twice: say one thing of it." in said
    said = confirm(printed, "--good-count", "23", "--spoiled", "100502", expect=2)
    assert "found --spoiled '100502'; wanted NUMBER=REASON, such as 100507=torn." in said
    said = confirm(printed, "--good-count", "23", "--blank", "the last", expect=2)
    assert "found --blank 'the last'; wanted a number such as 100507, or a range such as 100507-100509." in said
    said = confirm(printed, "--good-count", "23", "--spoiled", "1-999999999=torn", expect=2)
    assert "wanted the lower number first, and at most 10,000 of them" in said
    assert printed.state(100502) == "sent"


def test_what_was_confirmed_is_not_confirmed_again(paid: Firm) -> None:
    assert "nothing of batch 1 is waiting to be confirmed." in confirm(paid, "--good-count", "24", expect=5)


def test_after_a_stop_the_forms_that_were_never_sent_are_blank_without_a_word(accepted: Firm) -> None:
    accepted.run(
        "print", "1", "--first-number", "100501", "--proof-code", accepted.proof(), "--paper-loaded",
        "--after-first", "stop", expect=4,
    )  # fmt: skip
    said = confirm(accepted, "--good-count", "1")
    assert "100501 was sent, and nothing after" in said
    assert "Entered: 1 good, 23 still blank." in said
    assert accepted.state(100502) == "on hand"
    said = confirm(accepted, "--good-count", "0", expect=5)


def test_a_number_never_sent_cannot_be_good(accepted: Firm) -> None:
    accepted.run(
        "print", "1", "--first-number", "100501", "--proof-code", accepted.proof(), "--paper-loaded",
        "--after-first", "stop", expect=4,
    )  # fmt: skip
    said = confirm(accepted, "--good-count", "2", expect=2)
    assert "1 form went to the printer and 0 of them are told to be bad, so 1 ought to be good" in said
