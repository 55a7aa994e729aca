"""Where a text of a form stands, worked out once: its cell on the chart, in units."""

from collections.abc import Callable
from typing import NamedTuple

from cheque.form.model import Field, Form
from cheque.layout.shapes import Misfit
from cheque.page import Mark, Slot
from cheque.payment import Payment

_SHARE = {"left": 0, "centre": 1, "right": 2}

Put = Callable[[Mark], None]
#: puts the marks of one payment's field, and notes what does not fit
Step = Callable[[Payment, Put, list[Misfit]], None]


class Cell(NamedTuple):
    """The place of one printed line of a field, from column 1 and line 1 of the chart.

    `width` is in characters; `share` is how many halves of the spare columns stand before the text.
    """

    x: int
    y: int
    pitch: int
    weight: int
    width: int
    share: int
    name: str

    def mark(self, text: str) -> Mark:
        """The text in its place; it must fit."""
        before = (self.width - len(text)) * self.share // 2
        return Mark(self.x + before * self.pitch, self.y, self.pitch, self.weight, text)


def cell_of(form: Form, field: Field, line: int = 0) -> Cell:
    """The cell of a field's line, counted from 0."""
    grid = form.grid
    return Cell(
        (field.column - 1) * grid.pitch,
        (field.line - 1 + line) * grid.spacing,
        field.pitch or grid.pitch,
        form.look.weight if field.weight is None else field.weight,
        field.width,
        _SHARE[field.align],
        field.name,
    )


def cells_of(form: Form, field: Field) -> tuple[Cell, ...]:
    """The cells of all lines of a field, the upper first."""
    return tuple(cell_of(form, field, line) for line in range(field.lines))


def slot_of(form: Form, field: Field) -> Slot:
    """The place kept for the form's own number."""
    cell = cell_of(form, field)
    return Slot(cell.x, cell.y, cell.pitch, cell.weight, cell.width)
