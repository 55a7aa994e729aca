"""A person who goes through a guided payday: answers each question by what it asks, whatever the order."""

import re
from collections.abc import Callable, Mapping

from journeys.firm import REGISTER, Firm
from journeys.terminal import Terminal

PROMPTS = ("> ", "Answer: ")
#: a part of the question -> the answer; a list is answered one by one, the last of it for ever
Answer = str | list[str] | Callable[[str], str]

USUAL: dict[str, Answer] = {
    "Which batch do you go on with?": "1",
    "Which register did payroll hand over?": REGISTER,
    "What is the control total on payroll's slip": "18214.77",
    "What is the item count on the slip": "24",
    "What is the hash total on the slip": "51877",
    "How will you look at the proof": "text",
    "Type open to have it shown": "",
    "Is the paper loaded": "yes",
    "Which number is preprinted on the form at the head": "100501",
    "Which number is preprinted on the form that was just printed": "100501",
    "Is it right: everything in its place": "yes",
    "Which number is preprinted on the last form that was printed": "100524",
    "How many good forms do you count": "24",
    "Is that right?": "yes",
    "Is any good cheque to be cancelled": "",
    "The reports: save them": "save",
    "Was the bank told": "told",
    "Where are they now": "held",
    "Who has them": "S. Mooring",
    "Is that done?": "yes",
}


class Operator:
    """Somebody at a terminal of 80 by 24 with the guided payday of a firm before them."""

    def __init__(
        self,
        firm: Firm,
        *options: str,
        answers: Mapping[str, Answer] | None = None,
        environment: Mapping[str, str] | None = None,
        columns: int = 80,
        person: str = "",
    ) -> None:
        self.firm = firm
        self._usual: dict[str, Answer] = {**USUAL, "Key in the code": lambda _: self.code()}
        self.told: dict[str, Answer] = dict(answers or {})
        self.terminal = Terminal(
            firm.folder,
            *(("--as", person) if person else ()),
            "payday",
            *options,
            columns=columns,
            lines=24,
            environment={"TERM": "xterm", **(environment or {})},
        )
        self.asked: list[str] = []

    def unused_to_anything(self) -> None:
        """Know no answers but those that were told for this once."""
        self._usual.clear()

    def code(self) -> str:
        """The code, read off the top of the latest proof."""
        proofs = sorted(self.firm.folder.glob("proof-batch-*.txt"), key=lambda path: path.stat().st_mtime_ns)
        found = re.search(r"(?:Proof code|Code d'épreuve ?): (\S+)", proofs[-1].read_text())
        assert found
        return found[1]

    def question(self) -> str | None:
        """The next question, as one line; None when the payday has ended."""
        shown = self.terminal.question(*PROMPTS)
        if shown is None:
            return None
        text = re.sub(r"\s+", " ", re.sub(r"\x1b\[[0-9;]*m", "", shown))
        self.asked.append(text)
        assert len(self.asked) < 200, self.terminal.text
        return text

    @staticmethod
    def _last(question: str, answers: Mapping[str, Answer]) -> str:
        """The part of a question that is known and comes last in what was shown; "" when none is."""
        return max((part for part in answers if part in question), key=question.rfind, default="")

    def answer_to(self, question: str) -> str:
        """What they answer to it: as this one was told, else as usual."""
        usual, told = (self._last(question, answers) for answers in (self._usual, self.told))
        assert usual or told, f"nobody knows an answer to: {question}\n{self.terminal.text}"
        if told and (not usual or question.rfind(told) + len(told) > question.rfind(usual)):
            answer = self.told[told]
        else:
            answer = self._usual[usual]
        if isinstance(answer, list):
            return answer.pop(0) if len(answer) > 1 else answer[0]
        return answer if isinstance(answer, str) else answer(question)

    def until(self, part: str) -> str:
        """Go on until a question has this in it, which is not answered; gives all of it."""
        while (question := self.question()) is not None:
            if part in question:
                return question
            self.terminal.type(self.answer_to(question))
        raise AssertionError(f"it ended without {part!r}:\n{self.terminal.text}")

    def type(self, text: str) -> None:
        """Type an answer."""
        self.terminal.type(text)

    def to_the_end(self) -> int:
        """Answer everything; the exit status."""
        while (question := self.question()) is not None:
            self.terminal.type(self.answer_to(question))
        return self.terminal.ended()

    @property
    def shown(self) -> str:
        """Everything shown, as one line."""
        return self.terminal.shown


Attend = Callable[..., Operator]
