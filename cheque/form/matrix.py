"""Who receives each part of a form, and what of everything struck each part shows.

Worked out from the paper alone (blocked areas, narrower sheets), and not from what the definition says of itself: so
it can be held against `hidden_from` and `must_not_show`, which is what `cheque.form.check` does.
"""

from enum import StrEnum
from typing import NamedTuple

from cheque.form.geometry import left_over
from cheque.form.model import Form, Part
from cheque.form.places import Place, places
from cheque.form.what import COLUMNS, WHAT
from cheque.tongue import mark, tr


class Seen(StrEnum):
    """What a part shows of one place."""

    SHOWN = mark("shown")
    HIDDEN = mark("hidden")
    #: a fault: a piece of it is blocked and a piece is not
    IN_PART = mark("in part")


class Row(NamedTuple):
    """One place of the form: its name, what it shows, what that is, and what each part shows of it, in order.

    `kept`: for each part whether it is as the definition promises (`hidden_from`, `must_not_show`).
    """

    name: str
    what: str
    says: str
    seen: tuple[Seen, ...]
    kept: tuple[bool, ...]


def matrix(form: Form) -> tuple[Row, ...]:
    """A row for every place of the form, in the order of the definition."""
    rows = []
    for place in places(form):
        seen = tuple(_seen(form, part, place) for part in form.parts)
        kept = tuple(_kept(part, place, one) for part, one in zip(form.parts, seen, strict=True))
        rows.append(Row(place.name, place.what, _says(place), seen, kept))
    return tuple(rows)


def _seen(form: Form, part: Part, place: Place) -> Seen:
    empty = form.takes_no_image(part)
    if not any(area.overlaps(cell) for area in empty for cell in place.struck):
        return Seen.SHOWN
    if any(left_over(cell, empty) for cell in place.struck):
        return Seen.IN_PART
    return Seen.HIDDEN


def _kept(part: Part, place: Place, seen: Seen) -> bool:
    hide = part.name in place.hidden_from
    promised = place.what in part.must_not_show
    return seen is (Seen.HIDDEN if hide else Seen.SHOWN) and not (promised and seen is not Seen.HIDDEN)


def _says(place: Place) -> str:
    what = place.what
    if place.in_table:
        return tr(COLUMNS[what][1])
    return tr(WHAT[what].says) if what in WHAT else tr("wording struck as it stands")
