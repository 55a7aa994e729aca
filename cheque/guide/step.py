"""What comes next in a guided payday, decided from facts about one batch and nothing else.

>>> next_step(Facts())
<Step.REGISTER: 'register'>
>>> next_step(Facts(batch=1, waiting=24))
<Step.PROOF: 'proof'>
>>> next_step(Facts(batch=1, waiting=24, approved=True))
<Step.PRINT: 'print'>
>>> next_step(Facts(batch=1, waiting=14, approved=True, stopped=True))
<Step.DOUBT: 'doubt'>
>>> next_step(Facts(batch=1, to_sign=24, reconciled=True, reported=True, told=True))
<Step.SIGN: 'sign'>
"""

from enum import StrEnum
from typing import NamedTuple

from cheque.tongue import mark


class Step(StrEnum):
    """One step of a payday, in its order."""

    REGISTER = "register"
    PROOF = "proof"
    PRINT = "print"
    DOUBT = "doubt"
    LOOK = "look"
    HELD = "held"
    NUMBERS = "numbers"
    REPORTS = "reports"
    BANK = "bank"
    SIGN = "sign"
    DONE = "done"


class Facts(NamedTuple):
    """Where one batch stands.

    From the book: `batch` (0: none is in hand), `waiting` payments that lack a form, whether a run `stopped` in
    doubt or came to its end with nobody having looked (`finished`), payments `held` because their form is missing,
    cheques `to_sign`. `approved`: the code of the latest proof was keyed in, now or for an earlier run. The rest was
    done since this guided run began; nothing of it need be remembered, for all of it may be done again.
    """

    batch: int = 0
    waiting: int = 0
    stopped: bool = False
    finished: bool = False
    held: int = 0
    to_sign: int = 0
    approved: bool = False
    held_told: bool = False
    reconciled: bool = False
    reported: bool = False
    told: bool = False
    signed: bool = False


def next_step(facts: Facts) -> Step:
    """The step that these facts ask for.

    Forms in doubt come before anything else: nothing is printed, and nothing reconciled, until somebody has said
    what became of them.
    """
    if not facts.batch:
        return Step.REGISTER
    if facts.stopped:
        return Step.DOUBT
    if facts.finished:
        return Step.LOOK
    if facts.waiting:
        return Step.PRINT if facts.approved else Step.PROOF
    if facts.held and not facts.held_told:
        return Step.HELD
    if not facts.reconciled:
        return Step.NUMBERS
    if not facts.reported:
        return Step.REPORTS
    if not facts.told:
        return Step.BANK
    if facts.to_sign and not facts.signed:
        return Step.SIGN
    return Step.DONE


#: step -> the kind of event that it cannot do without, and what is done, as in "may not … here"; the others only read
WANTED = {
    Step.REGISTER: ("batch.accepted", mark("accept a register")),
    Step.PROOF: ("proof.made", mark("make a proof")),
    Step.PRINT: ("run.begun", mark("print")),
    Step.DOUBT: ("paper.seen", mark("say what is on the paper")),
    Step.LOOK: ("paper.seen", mark("say what is on the paper")),
    Step.BANK: ("notice.made", mark("tell the bank")),
    Step.SIGN: ("custody.changed", mark("say who has the cheques")),
}
#: steps that another may do later, while the rest goes on
APART = {Step.BANK: "told", Step.SIGN: "signed"}

#: step -> (its place on the way, what it is called); steps that only mishaps bring share a place
TITLES = {
    Step.REGISTER: (1, mark("The register and payroll's slip")),
    Step.PROOF: (2, mark("The proof")),
    Step.PRINT: (3, mark("Printing")),
    Step.DOUBT: (3, mark("The run stopped: what is on the paper?")),
    Step.LOOK: (4, mark("Looking at what came out")),
    Step.HELD: (4, mark("Forms that are missing")),
    Step.NUMBERS: (5, mark("The numbers")),
    Step.REPORTS: (6, mark("The reports")),
    Step.BANK: (7, mark("Telling the bank")),
    Step.SIGN: (8, mark("Signing, and who has the cheques")),
}
LAST = 8
