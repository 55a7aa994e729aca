"""What goes wrong, as values, and the exit status each kind ends with.

A `Fault` says where, what was found, what was wanted and what to do; a refusal carries all of them together.
Nothing here knows the command line: `cheque.cli` turns these into messages and exit statuses.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from cheque.tongue import tr

FAULTS_SHOWN = 100


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong. `where` names the file and line, the key, the field and payee, or the number."""

    where: str
    found: str
    wanted: str
    do: str = ""

    def __str__(self) -> str:
        said = {"where": self.where, "found": self.found, "wanted": self.wanted}
        if not self.do:
            text = tr("{where}: found {found}; wanted {wanted}", **said)
        elif self.do.endswith("?"):
            text = tr("{where}: found {found}; wanted {wanted}; {question}", **said, question=self.do)
        else:
            text = tr("{where}: found {found}; wanted {wanted}; {do}", **said, do=self.do)
        return text if text.endswith("?") else f"{text}."


class Refusal(Exception):
    """Anything the tool refuses; `status` is the exit status, `faults` what is wrong, all together."""

    status = 2

    def __init__(self, message: str, faults: Iterable[Fault] = (), *, total: int | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.faults = tuple(faults)
        self.total = len(self.faults) if total is None else total

    def __str__(self) -> str:
        lines = [self.message, *(f"  {fault}" for fault in self.faults[:FAULTS_SHOWN])]
        if self.total > FAULTS_SHOWN:
            lines.append(tr("  … and {total} more.", total=self.total - FAULTS_SHOWN))
        return "\n".join(lines)


class UsageRefused(Refusal):
    """The command or its options are wrong, or an answer is missing: exit status 2."""

    status = 2


class InputRefused(Refusal):
    """Register, totals, form, statement or settings refused; nothing changed: exit status 3."""

    status = 3


class RunStopped(Refusal):
    """The run stopped (device, signal); the book knows how far it got: exit status 4."""

    status = 4


class BookRefused(Refusal):
    """The book refused (number used, cheque cleared, proof code does not match): exit status 5."""

    status = 5
