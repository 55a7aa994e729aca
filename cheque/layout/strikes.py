"""Pages that carry no payment: VOID through the cheque, and the frames and rulers for lining up plain paper."""

from cheque.form.geometry import Area
from cheque.form.model import Field, Form
from cheque.form.places import Place, places
from cheque.form.what import WHAT
from cheque.layout.cells import cells_of, slot_of
from cheque.layout.steps import VOID
from cheque.page import Mark, Page

#: what is struck through on a cheque that must not be paid
_STRUCK = frozenset({"name", "words", "figures", "space"})
#: the rulers count by tens, and number the lines from this column
_EVERY, _NUMBERS_AT = 10, 3


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
    from 1, as the definition does: the bar after a number stands on that column, ' on the fives between; line
    numbers stand down the left side. Nothing of it stands in the cheque's clear band.
    """
    chart = _Chart(form)
    for place in places(form):
        chart.frame(place)
    for line in (1, chart.last_line):
        chart.ruler(line)
    for line in range(1, chart.last_line + 1):
        chart.put(line, _NUMBERS_AT, str(line))
    return Page(tuple(chart.marks))


class _Chart:
    """A page that fills up: what is put later never stands over what was put before."""

    def __init__(self, form: Form) -> None:
        self.form, self.grid = form, form.grid
        self.marks: list[Mark] = []
        self.last_line = _last_line(form)
        used = max((place.area.right for place in places(form)), default=form.paper.width)
        #: the ruler ends at the last column that the form uses, so that any printer can reach it
        self.columns = (used - form.grid.left) // form.grid.pitch

    def frame(self, place: Place) -> None:
        """The corners of one place."""
        area, grid = place.area, self.grid
        top, bottom = area.top - grid.top, area.bottom - grid.spacing - grid.top
        left, right = area.left - grid.left, area.right - place.pitch - grid.left
        if top == bottom:
            self._strike(left, top, place.pitch, "[")
            self._strike(right, top, place.pitch, "]")
            return
        for y in (top, bottom):
            self._strike(left, y, place.pitch, "+")
            self._strike(right, y, place.pitch, "+")

    def ruler(self, line: int) -> None:
        """Columns, by tens and fives."""
        for column in range(_EVERY, self.columns + 1, _EVERY):
            text = f"{column}|"
            self.put(line, column - len(text) + 1, text)
        for column in range(_EVERY // 2, self.columns + 1, _EVERY):
            self.put(line, column, "'")

    def put(self, line: int, column: int, text: str) -> None:
        """A text of a ruler at a line and column of the chart, unless something stands in its way."""
        self._strike((column - 1) * self.grid.pitch, (line - 1) * self.grid.spacing, self.grid.pitch, text)

    def _strike(self, x: int, y: int, pitch: int, text: str) -> None:
        mark = Mark(x, y, pitch, self.form.look.weight, text)
        cells = Area(x + self.grid.left, y + self.grid.top, len(text) * pitch, self.grid.spacing)
        if self.form.cheque and cells.overlaps(self.form.cheque.clear_band):
            return
        if all(old.y != y or _end(old) <= x or _end(mark) <= old.x for old in self.marks):
            self.marks.append(mark)


def _end(mark: Mark) -> int:
    return mark.x + len(mark.text) * mark.pitch


def _last_line(form: Form) -> int:
    """The last line of the chart before the cheque's clear band, or of the paper."""
    grid, band = form.grid, form.cheque.clear_band if form.cheque else None
    end = form.paper.length
    if band and band.bottom == end:
        end = band.top
    return max(1, (end - grid.top) // grid.spacing)
