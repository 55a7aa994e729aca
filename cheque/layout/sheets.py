"""A stub that goes on: what the following forms bear of the first, and how the forms of one payment name each other.

A form that only continues another can be paid by nobody: where it is a cheque, VOID is struck through payee, both
amounts and every place for a signature, and nothing else stands there but its own number. The sums stand on the first
form only, so that no form of a payment says a total twice.
"""

from cheque.form.model import Field, Form
from cheque.form.places import field_area
from cheque.form.what import WHAT
from cheque.layout.cells import cell_of
from cheque.layout.shapes import Misfit, too_long
from cheque.layout.values import dress
from cheque.page import Mark, Slot
from cheque.payment import Role

#: kinds of place that only a payment on several forms, or with a listing, fills
OF_SHEETS = frozenset({"sheet", "other"})
_STRUCK = frozenset({"name", "words", "figures", "space"})
_NUMBERED = frozenset({"slot", *OF_SHEETS})
_ONCE = frozenset({"money", "words", "figures", "space"})


def on_cheque(form: Form, field: Field) -> bool:
    """Whether a field or a constant stands on the cheque and not on the stub."""
    return form.cheque is not None and field_area(form, field).overlaps(form.cheque.area)


def struck_void(form: Form, field: Field) -> bool:
    """Whether VOID is struck through a field on a form that continues another."""
    return on_cheque(form, field) and field.what in WHAT and WHAT[field.what].kind in _STRUCK


def goes_on(form: Form, field: Field) -> bool:
    """Whether a field or a constant is struck (be it with VOID) on a form that continues another."""
    roles = field.when.roles
    if Role.CONTINUATION in roles:
        return True
    kind = WHAT[field.what].kind if field.what in WHAT else "constant"
    if struck_void(form, field):
        return not roles or Role.CHEQUE in roles
    if kind in _NUMBERED:
        return not roles
    return not roles and kind not in _ONCE and not on_cheque(form, field)


def sheets_step(
    form: Form, fields: tuple[Field, ...], *, sheet: int = 1, sheets: int = 1, listed: int = 0
) -> tuple[tuple[Mark, ...], tuple[Slot, ...], list[Misfit]]:
    """What one of a payment's forms says of the others: marks, places of other numbers, and what does not fit.

    `sheet` counts from 1; `listed` is how many stub lines stand on a listing instead.
    """
    marks: list[Mark] = []
    slots: list[Slot] = []
    amiss: list[Misfit] = []
    said = {"sheet": f"{sheet}/{sheets}" if sheets > 1 else "", "listed": str(listed) if listed else ""}
    ahead = {"next_number": int(sheet < sheets), "first_number": 1 - sheet}
    for field in fields:
        cell = cell_of(form, field)
        if field.what in said:
            text = dress(said[field.what], field)
            if len(text) > cell.width:
                amiss.append(too_long(field.name, text, cell.width))
            elif text:
                marks.append(cell.mark(text))
        elif ahead[field.what]:
            prefix = field.prefix.upper() if field.case == "upper" else field.prefix
            if prefix.strip():
                marks.append(Mark(cell.x, cell.y, cell.pitch, cell.weight, prefix.rstrip()))
            at = cell.x + len(prefix) * cell.pitch
            slots.append(Slot(at, cell.y, cell.pitch, cell.weight, field.width - len(prefix), ahead[field.what]))
    return tuple(marks), tuple(slots), amiss
