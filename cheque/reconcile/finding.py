"""What reconciling finds, as data: every number and what became of it, the money, the boxes, what is open.

Amounts are minor units of the batch's currency. Sentences are for people; they name numbers as preprinted.
"""

from typing import NamedTuple

from cheque.book.batches import Batch
from cheque.book.stock import Range
from cheque.reconcile.moved import Moved
from cheque.tongue import tr


class Line(NamedTuple):
    """What became of a number, or of a stretch of numbers that share one fate (`last` > `first`).

    `item` is the payment that it bears, or was to bear (0 for none); `expected` the number that payroll gave
    it; `batch` the batch that used it (0 for none). `what` says it all in a few words.
    """

    first: int
    last: int
    text: str
    state: str
    role: str
    batch: int
    item: int
    payee: str
    amount: int | None
    currency: str
    expected: str
    reason: str
    what: str

    @property
    def forms(self) -> int:
        """How many numbers the line speaks of."""
        return self.last - self.first + 1


class Stretch(NamedTuple):
    """The numbers that the runs of a batch took from one box on one printer, from the first to the last."""

    printer: str
    box: Range
    first: int
    last: int
    lines: tuple[Line, ...]


class Step(NamedTuple):
    """One step from the register's total to the good cheques: `items` and `amount` are less than nothing
    when they are taken off. `named` says which payments, when there are any to name."""

    key: str
    label: str
    items: int
    amount: int
    named: tuple[str, ...] = ()


class Identity(NamedTuple):
    """One box: how many forms stand as what, by the numbers themselves, and whether it all adds up.

    received = on hand + reserved + sent + printed + spoiled + voided + missing + destroyed
    """

    box: Range
    states: dict[str, int]
    agrees: bool

    @property
    def received(self) -> int:
        """How many forms the box had."""
        return self.box.last - self.box.first + 1

    @property
    def sentence(self) -> str:
        """The identity as a line of figures."""
        terms = " + ".join(f"{forms} {tr(state)}" for state, forms in self.states.items() if forms)
        sign = "=" if self.agrees else tr("IS NOT")
        return tr(
            "{received} received {sign} {terms}",
            received=self.received,
            sign=sign,
            terms=terms or tr("0 accounted for"),
        )


class Finding(NamedTuple):
    """Everything found about the numbers of a batch. `by_hand` are numbers outside every run; `shifts` how the
    numbers stand against payroll's; `attention` what is explained but wants doing; `unexplained` what is not;
    `moved` the numbers put right after printing."""

    batch: Batch
    stretches: tuple[Stretch, ...]
    by_hand: tuple[Line, ...]
    shifts: tuple[str, ...]
    steps: tuple[Step, ...]
    identities: tuple[Identity, ...]
    attention: tuple[str, ...]
    unexplained: tuple[str, ...]
    moved: tuple[Moved, ...] = ()

    @property
    def agrees(self) -> bool:
        """Whether every number is accounted for and every difference explained."""
        return not self.unexplained
