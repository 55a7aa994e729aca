"""The next step of a payday, from facts alone: over every combination of facts that there can be."""

from itertools import product

import pytest

from cheque.guide.step import LAST, TITLES, Facts, Step, next_step

FLAGS = ("stopped", "finished", "approved", "held_told", "reconciled", "reported", "told", "signed")
EVERY = [
    Facts(batch=1, waiting=waiting, held=held, to_sign=to_sign, **dict(zip(FLAGS, flags, strict=True)))
    for waiting, held, to_sign in product((0, 3), repeat=3)
    for flags in product((False, True), repeat=len(FLAGS))
]


def test_nothing_is_printed_while_forms_are_in_doubt() -> None:
    for facts in EVERY:
        if facts.stopped or facts.finished:
            assert next_step(facts) in (Step.DOUBT, Step.LOOK)


def test_nothing_is_printed_that_nobody_approved() -> None:
    for facts in EVERY:
        assert facts.approved or next_step(facts) is not Step.PRINT


def test_nothing_is_reconciled_while_a_payment_lacks_a_form() -> None:
    closing = (Step.HELD, Step.NUMBERS, Step.REPORTS, Step.BANK, Step.SIGN, Step.DONE)
    for facts in EVERY:
        assert (next_step(facts) in closing) == (not facts.waiting and not facts.stopped and not facts.finished)


def test_a_payday_is_done_when_nothing_is_left() -> None:
    for facts in EVERY:
        open_still = facts.stopped or facts.finished or facts.waiting or (facts.held and not facts.held_told)
        closed = facts.reconciled and facts.reported and facts.told and (facts.signed or not facts.to_sign)
        assert (next_step(facts) is Step.DONE) == (not open_still and closed)


def test_doing_a_step_leads_on_until_all_is_done() -> None:
    done = {
        Step.PROOF: {"approved": True},
        Step.PRINT: {"waiting": 0, "finished": True},
        Step.DOUBT: {"stopped": False},
        Step.LOOK: {"finished": False},
        Step.HELD: {"held_told": True},
        Step.NUMBERS: {"reconciled": True},
        Step.REPORTS: {"reported": True},
        Step.BANK: {"told": True},
        Step.SIGN: {"signed": True},
    }
    for facts in EVERY:
        for _ in range(len(done) + 3):  # a run may come twice, and be looked at twice
            step = next_step(facts)
            if step is Step.DONE:
                break
            facts = facts._replace(**done[step])
        assert next_step(facts) is Step.DONE


def test_without_a_batch_a_register_is_asked_for() -> None:
    assert next_step(Facts()) is Step.REGISTER


@pytest.mark.parametrize("step", [step for step in Step if step is not Step.DONE])
def test_every_step_has_a_place_and_a_title(step: Step) -> None:
    place, title = TITLES[step]
    assert 1 <= place <= LAST
    assert title
