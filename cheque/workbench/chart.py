"""A definition as text: every place on the chart by its name or number, and a list of them all with their slack."""

from cheque.form.matrix import matrix
from cheque.form.model import Form
from cheque.form.places import Place, places
from cheque.form.slack import slack
from cheque.page import Mark
from cheque.picture.text import to_text
from cheque.tongue import tr
from cheque.units import write_about

_SIDES = ("left", "right", "up", "down")


def chart(form: Form, index: int) -> str:
    """One part as text, each place between brackets: its name, or where that is too long its number in the list."""
    marks = [
        Mark(
            place.area.left - form.grid.left,
            place.area.top - form.grid.top + line * form.grid.spacing,
            place.pitch,
            0,
            _between(place, number, line),
        )
        for number, place in enumerate(places(form), 1)
        for line in range(place.area.height // form.grid.spacing)
    ]
    return to_text(form, marks, index)


def _between(place: Place, number: int, line: int) -> str:
    wide = place.area.width // place.pitch
    if wide < 3:
        return "#" * wide
    said = place.name if len(place.name) <= wide - 2 else f"#{number}"
    said = said if not line and len(said) <= wide - 2 else ""
    return f"[{said.ljust(wide - 2, '.')}]"


def listed(form: Form, *, with_slack: bool = False) -> list[list[str]]:
    """A row for every place, a heading first: its number, name, where it stands, and how far it may shift."""
    heading = ["", tr("field"), tr("what it is"), tr("line"), tr("column"), tr("lines"), tr("wide")]
    rows = [heading + ([tr("shift {side}", side=tr(side)) for side in _SIDES] if with_slack else [])]
    for number, (place, row, room) in enumerate(zip(places(form), matrix(form), slack(form), strict=True), 1):
        lines, wide = place.area.height // form.grid.spacing, place.area.width // place.pitch
        cells = [f"#{number}", place.name, row.says, str(place.line), str(place.column), str(lines), str(wide)]
        rows.append(cells + ([write_about(getattr(room, side)) for side in _SIDES] if with_slack else []))
    return rows
