"""The guided payday itself: facts from the book, the step they ask for, the step taken, and again."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, Protocol

from cheque import duties
from cheque.book import batches
from cheque.book.batches import Batch
from cheque.book.book import Book
from cheque.errors import InputRefused, Refusal
from cheque.guide.facts import Attention, Since, before_handover, facts_of, unfinished
from cheque.guide.step import APART, LAST, TITLES, WANTED, Step, next_step
from cheque.guide.talk import Back, Left, Talk, whole
from cheque.run import Setting
from cheque.settings import Settings
from cheque.tongue import counted, tr

#: faults of a register shown at once, so that what is asked next is still on the screen
FAULTS = 8


class Files(Protocol):
    """What a payday leaves beside it. Whoever runs it says how; every file is its owner's only.

    `kinds`: the endings of names that a proof can be drawn under.
    """

    @property
    def kinds(self) -> tuple[str, ...]:
        """See above."""

    def proof(self, path: Path, batch: Batch, setting: Setting, code: str) -> None:
        """Draw a proof into a new file, in the kind that its name ends in."""

    def save(self, path: Path, data: bytes) -> None:
        """Write a new file."""

    def show(self, path: Path) -> str:
        """Have a file opened by the desktop; gives why it cannot be, or ""."""

    def print(self, path: Path, queue: str) -> str:
        """Have a file printed on ordinary paper by the spooler; gives why it cannot be, or ""."""


class Payday:
    """A payday under way. `batch` is the one in hand, 0 for none; `agreed` whether everything agreed so far."""

    def __init__(self, settings: Settings, book: Book, talk: Talk, files: Files) -> None:
        self.settings, self.book, self.talk, self.files = settings, book, talk, files
        self.batch = 0
        self.since = Since()
        self.agreed = True
        self.first_seen = ""  # the number that was read off a first form, so that it is not asked for twice
        self._then: list[int] = []

    def get(self) -> Batch:
        """The batch in hand, as the book has it now."""
        return batches.get(self.book, self.batch)

    def take(self, batch: int) -> None:
        """Go on with another batch."""
        self.batch, self.since, self.first_seen = batch, Since(), ""

    def first(self, batch: int) -> None:
        """See to another batch first, then come back to this one."""
        self._then.append(self.batch)
        self.take(batch)

    def done(self, **what: bool) -> None:
        """Note what was done since this guided run began."""
        changes: dict[str, Any] = dict(what)
        self.since = self.since._replace(**changes)

    def run(self) -> None:
        """Step after step, until everything is done. Left when the person leaves."""
        self.talk.say(
            tr(
                "Payday: one question at a time. Type the answer and press Enter. ? explains, back goes a "
                "question back, q leaves. Nothing is lost by leaving: cheque payday takes it up again where it "
                "stands."
            )
        )
        self._begin()
        said = Step.DONE
        while True:
            step = next_step(facts_of(self.book, self.batch, self.since))
            if step is Step.DONE:
                if not self._then:
                    break
                self.take(self._then.pop())
                self.talk.say(tr("\nBack to batch {batch}.", batch=self.batch))
                continue
            if step is not said:
                place, title = TITLES[step]
                which = tr(", batch {batch}", batch=self.batch) if self.batch else ""
                self.talk.title(
                    tr("Step {place} of {last}{which}: {title}", place=place, last=LAST, which=which, title=tr(title))
                )
            said = step
            self._take(step)
        self._end()

    def _take(self, step: Step) -> None:
        """One step. What is refused is said, and asked again when it has been put right.

        What the database would not let this person do is not begun: it is another's, who does it at a station of
        their own.
        """
        kind, doing = WANTED.get(step, ("", ""))
        if kind and (why := duties.lacking(self.book, kind, tr(doing))):
            self.talk.say(tr("{why} Whoever has it goes on here with cheque payday.", why=why))
            if step not in APART:
                raise Left("quit")
            self.done(**{APART[step]: True})
            return
        try:
            steps()[step](self)
        except Refusal as refusal:
            self.talk.fresh()
            self.talk.say(refused(refusal))
            self.talk.ask(
                tr("Press Enter to try again once it is put right, or type q to leave."),
                lambda text: None,
                tr("Nothing was done beyond what was said above. Put right what was refused, then press Enter."),
            )
        except Back:
            pass

    def _begin(self) -> None:
        """What is unfinished, what is to be seen to, and which batch is taken up."""
        open_ones, attention = unfinished(self.book), self._attention()
        if open_ones:
            self.talk.say(tr("\nUnfinished:"))
            for one in open_ones:
                self.talk.say(f"  {one.sentence}")
                to_print = one.batch.proof and batches.left(self.book, one.batch.id)
                if to_print and (lacking := duties.missing(self.settings, self.book, one.batch)):
                    self.talk.say(f"    {lacking}.")
        if attention:
            self.talk.say(tr("\nBefore any cheque is handed over:"))
            for thing in attention:
                self.talk.say(f"  {thing.sentence}")
        choices = {one.batch.id for one in open_ones} | {thing.batch for thing in attention if thing.batch}
        if not choices:
            return
        named = ", ".join(map(str, sorted(choices)))

        def convert(text: str) -> int:
            if text.lower() == "new":
                return 0
            if not text.isdigit() or (which := whole(text)) not in choices:
                raise ValueError(tr("Type {named}, or new.", named=named))
            return which

        self.take(
            self.talk.ask(
                tr(
                    "\nWhich batch do you go on with? Type its number ({named}), or new for another register.",
                    named=named,
                ),
                convert,
                tr("A batch is a register that was accepted. Taken up, it goes on where it stands in the book."),
            )
        )

    def _attention(self) -> list[Attention]:
        """What is to be seen to before cheques are handed over."""
        told = {name for name, account in self.settings.accounts.items() if account.notice.wanted}
        return before_handover(self.book, told)

    def _end(self) -> None:
        self.talk.say(tr("\nBatch {batch} is done.", batch=self.batch))
        left = self._attention()
        for thing in left:
            self.talk.say(tr("  Still to be seen to: {sentence}", sentence=thing.sentence))
        if others := [one for one in unfinished(self.book) if one.batch.id != self.batch]:
            self.talk.say(
                tr(
                    "  Unfinished: {other_batchs}: cheque payday takes them up.",
                    other_batchs=counted(len(others), "other batch"),
                )
            )


def refused(refusal: Refusal) -> str:
    """A refusal as it is said in a conversation: its first faults, so that the question stays on the screen."""
    if not isinstance(refusal, InputRefused) or refusal.total <= FAULTS:
        return tr("Refused: {refusal}", refusal=refusal)
    lines = [tr("Refused: {message}", message=refusal.message), *(f"  {fault}" for fault in refusal.faults[:FAULTS])]
    return "\n".join(
        [*lines, tr("  ... and {total} more: `cheque register check` lists them.", total=refusal.total - FAULTS)]
    )


def steps() -> dict[Step, Callable[[Payday], None]]:
    """What takes each step; loaded when it is first wanted."""
    from cheque.guide import approve, close, intake, paper, printing

    return {
        Step.REGISTER: intake.register,
        Step.PROOF: approve.proof,
        Step.PRINT: printing.printing,
        Step.DOUBT: paper.doubt_step,
        Step.LOOK: paper.look,
        Step.HELD: close.held,
        Step.NUMBERS: close.numbers,
        Step.REPORTS: close.reports,
        Step.BANK: close.bank,
        Step.SIGN: close.sign,
    }
