"""Which languages can feed a form's length exactly, and how soon a rounded feed would go astray.

A printer feeds whole steps. By the formula of `cheque.page.feed_steps` the error stays under one step for
ever, so a language that can feed single steps keeps any form straight; one that feeds whole lines only keeps
straight a form of whole lines, and no other.
"""

from collections.abc import Iterable
from typing import NamedTuple

from cheque.form.model import Form
from cheque.units import INCH


class Step(NamedTuple):
    """The smallest feed of a language; `single`: it can be fed one at a time, so errors can be evened out."""

    language: str
    size: int
    single: bool = True


#: the trade's control languages and the steps of their feed commands; some printers' true step is 1/72 in
#: though their commands count 1/216 in (command tables of the languages; a setting of each printer)
STEPS = (
    Step("plain", INCH // 6, single=False),
    Step("escp9", INCH // 216),
    Step("escp9", INCH // 72),
    Step("escp24", INCH // 180),
    Step("escp24", INCH // 360),
    Step("ppds", INCH // 216),
    Step("ppds", INCH // 180),
)


class Feeding(NamedTuple):
    """How one language feeds one form.

    exact: the length is a whole number of steps. error: how far out each form is when its length is rounded to
    steps (units). last_good: after how many forms a rounded feed is still within half a line (None: for ever).
    on_lines: every line of the form falls on a whole step. straight: the form can be used: its lines fall on
    steps, and the feed is exact or can be evened out by single steps, so that it stays under one step.
    """

    language: str
    step: int
    exact: bool
    error: int
    last_good: int | None
    on_lines: bool
    straight: bool


def feeding(form: Form, steps: Iterable[Step] = STEPS) -> tuple[Feeding, ...]:
    """A row for each language and step: whether it can feed the form's length, and how straight."""
    return tuple(_row(form, step) for step in steps)


def _row(form: Form, step: Step) -> Feeding:
    spacing, unit = form.grid.spacing, step.size
    over = form.paper.length % unit
    error = min(over, unit - over)
    last_good = spacing // (2 * error) if error else None
    on_lines = spacing % unit == 0
    straight = on_lines and (step.single or not error)
    return Feeding(step.language, unit, not error, error, last_good, on_lines, straight)
