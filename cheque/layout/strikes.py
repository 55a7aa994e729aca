"""Pages that carry no payment: VOID through the cheque, and the frames and rulers for lining up plain paper."""

from cheque.form.geometry import Area
from cheque.form.model import Field, Form
from cheque.form.places import places
from cheque.form.what import WHAT
from cheque.layout.cells import cells_of, slot_of
from cheque.layout.steps import VOID
from cheque.page import Mark, Page

#: what is struck through on a cheque that must not be paid
_STRUCK = frozenset({"name", "words", "figures", "space"})
_EVERY = 10


def void_of(form: Form, field: Field) -> tuple[Mark, ...]:
    """VOID through every line of one field, its ends closed, so that the whole field can be seen."""
    return tuple(
        Mark(cell.x, cell.y, cell.pitch, cell.weight, _through(cell.width, field.fill or "*"))
        for cell in cells_of(form, field)
    )


def _through(width: int, fill: str) -> str:
    """VOID as often as it fits, with one mark between: VOID*VOID*VOID, the rest closed on both sides."""
    times = (width + 1) // (len(VOID) + 1)
    if not times:
        return "X" * width
    return fill.join([VOID] * times).center(width, fill)


def void_page(form: Form) -> Page:
    """VOID through payee, amount and signature of the cheque, and the slots for the form's number.

    For lining up on stock: the numbers so struck are accounted for as spoiled. A form without a cheque has
    nothing but its slots.
    """
    cheque = form.cheque
    marks: list[Mark] = []
    for field, place in zip(form.fields, places(form), strict=False):
        if cheque and WHAT[field.what].kind in _STRUCK and place.area.overlaps(cheque.area):
            marks += void_of(form, field)
    return Page(tuple(marks), tuple(slot_of(form, field) for field in form.fields if field.what == "number"))


def alignment_page(form: Form) -> Page:
    """For plain paper: the corners of every place, and rulers of columns and lines where no corner stands.

    A place of one line is [   ], of several lines + at its four corners. The rulers count columns and lines
    from 1, as the definition does: | every ten columns with its number, line numbers down the left side.
    """
    taken: set[tuple[int, int]] = set()
    marks: list[Mark] = []
    for place in places(form):
        _frame(form, place.area, marks, taken)
    last = _last_line(form)
    for line in (1, last):
        _ruler_across(form, line, marks, taken)
    for line in range(1, last + 1):
        _number_down(form, line, marks, taken)
    return Page(tuple(marks))


def _frame(form: Form, area: Area, marks: list[Mark], taken: set[tuple[int, int]]) -> None:
    grid, weight = form.grid, form.look.weight
    top, bottom = area.top - grid.top, area.bottom - grid.spacing - grid.top
    left, right = area.left - grid.left, area.right - grid.pitch - grid.left
    corners = [(left, top, "["), (right, top, "]")]
    if bottom > top:
        corners = [(x, y, "+") for y in (top, bottom) for x in (left, right)]
    for x, y, corner in corners:
        if (x, y) not in taken:
            taken.add((x, y))
            marks.append(Mark(x, y, grid.pitch, weight, corner))


def _last_line(form: Form) -> int:
    """The last line of the chart that is on the paper and not in the cheque's clear band."""
    grid = form.grid
    lines = (form.paper.length - grid.top) // grid.spacing
    band = form.cheque.clear_band if form.cheque else None
    while (
        lines > 1
        and band
        and band.top < grid.top + lines * grid.spacing
        and band.bottom > grid.top + (lines - 1) * grid.spacing
    ):
        lines -= 1
    return lines


def _columns(form: Form) -> int:
    """Columns of the chart up to the last that is used; the ruler ends there, so that any printer can reach it."""
    used = max((place.area.right for place in places(form)), default=form.paper.width)
    return (used - form.grid.left) // form.grid.pitch


def _ruler_across(form: Form, line: int, marks: list[Mark], taken: set[tuple[int, int]]) -> None:
    for column in range(_EVERY, _columns(form) + 1, _EVERY):
        text = f"{column}|"
        _put(form, line, column - len(text) + 1, text, marks, taken)
    for column in range(_EVERY // 2, _columns(form) + 1, _EVERY):
        _put(form, line, column, "'", marks, taken)


def _number_down(form: Form, line: int, marks: list[Mark], taken: set[tuple[int, int]]) -> None:
    text = str(line)
    _put(form, line, 3, text, marks, taken)


def _put(form: Form, line: int, column: int, text: str, marks: list[Mark], taken: set[tuple[int, int]]) -> None:
    """Strike a text of the ruler unless something stands in its way: a ruler never hides a corner."""
    grid = form.grid
    y = (line - 1) * grid.spacing
    cells = [((column - 1 + offset) * grid.pitch, y) for offset in range(len(text))]
    if column >= 1 and not taken.intersection(cells):
        taken.update(cells)
        marks.append(Mark(cells[0][0], y, grid.pitch, form.look.weight, text))
