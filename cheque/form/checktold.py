"""How the checks of a form say where a fault is, how large the paper is and how far an area reaches."""

from cheque.form.geometry import Area
from cheque.form.model import Form
from cheque.tongue import tr
from cheque.units import write_length


def at(form: Form, name: object) -> str:
    """Where a fault of the form is: the form, and the part, place or table of it."""
    return tr("form {name}, {name2}", name=form.name, name2=name)


def paper(form: Form) -> str:
    """The size of the form's paper."""
    return tr(
        "{width} by {height}",
        width=write_length(form.paper.width),
        height=write_length(form.paper.length),
    )


def reach(area: Area) -> str:
    """How far an area reaches, across and down."""
    left, right = write_length(area.left), write_length(area.right)
    return tr(
        "from {left} to {right} across, {top} to {bottom} down",
        left=left,
        right=right,
        top=write_length(area.top),
        bottom=write_length(area.bottom),
    )
