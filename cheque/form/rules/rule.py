"""What a rule of a country is, what comes of holding a form against it, and where rules come from."""

from collections.abc import Callable
from enum import StrEnum
from typing import NamedTuple

from cheque.form.model import Form
from cheque.tongue import mark, tr


class Basis(StrEnum):
    """Where a rule comes from, and so what it is worth. Only what is published, and was at hand, is judged."""

    PUBLISHED = mark("published")
    MEMORY = mark("from memory")
    PRACTICE = mark("common practice")
    UNSEEN = mark("source not at hand")
    LAW = mark("the law decides")
    BANK = mark("the bank decides")


class Outcome(StrEnum):
    """What came of holding a form against a rule."""

    KEPT = "kept"
    BROKEN = "broken"
    #: not kept, but the rule is not certain enough to refuse a form for it
    DOUBTFUL = "doubtful"
    #: broken, and the form says that the bank agreed to do without
    SET_ASIDE = "set aside"
    #: the form has nothing that the rule speaks of
    NOTHING = "not on it"
    #: nothing that a form definition can show: somebody has to ask
    ASK = "ask"

    def said(self, count: int | str = "") -> str:
        """The outcome in the person's language, after how many rules it came of, if that is given."""
        return tr(_SAID[self], count=count).strip()


_SAID = {
    Outcome.KEPT: mark("{count} kept"),
    Outcome.BROKEN: mark("{count} broken"),
    Outcome.DOUBTFUL: mark("{count} doubtful"),
    Outcome.SET_ASIDE: mark("{count} set aside"),
    Outcome.NOTHING: mark("{count} not on it"),
    Outcome.ASK: mark("{count} ask"),
}


class Finding(NamedTuple):
    """What a test found: whether the rule is kept (None: nothing to judge), in words, and by how much not (units)."""

    kept: bool | None
    found: str
    off: int = 0


Test = Callable[[Form], Finding]


class Rule(NamedTuple):
    """One rule: its name, what it says, where that is written, what the source is worth, and the test (None: ask)."""

    name: str
    says: str
    source: str
    basis: Basis
    test: Test | None = None

    def sourced(self) -> str:
        """Where it is written and what that is worth, for a person."""
        source = tr(self.source)
        return source if str(self.basis) in self.source else f"{source} ({tr(self.basis)})"
