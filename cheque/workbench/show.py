"""Pictures of a definition: each part's blank sheet with everything that can be struck on it, and its slack.

A place that the part shows has a frame and its name; one that is hidden from it is pale; one of which a piece is
blocked, which is a fault, is red. The cheque's clear band is tinted.
"""

from collections.abc import Iterable
from itertools import pairwise

from cheque.form.geometry import Area
from cheque.form.matrix import Row, Seen, matrix
from cheque.form.model import Form
from cheque.form.places import Place, places
from cheque.form.slack import Slack, slack
from cheque.picture.drawing import draw_form
from cheque.picture.shapes import (
    CAPTION,
    EDGE,
    FRAME,
    HATCH,
    OFF_PAPER,
    PAPER,
    QUIET,
    SHADE,
    Box,
    Drawing,
    Line,
    Shape,
    Words,
    width_of,
)
from cheque.tongue import tr
from cheque.units import INCH, POINT

#: how far a place may shift: a dashed frame round its own
ROOM = "#c98a1b"
#: what is hidden from a part
_PALE = "#a9a491"
_BAND = "#e8edf2"
_NAME = 6 * POINT
_DASH = 2 * POINT


def draw_part(form: Form, index: int, *, with_slack: bool = False) -> Drawing:
    """One part of the blank form with every place on it. IndexError for a part that the form has not."""
    blank = draw_form(form, (), part_index=index)
    shapes: list[Shape] = [blank.shapes[0], blank.shapes[1]]
    if form.cheque:
        band = form.cheque.clear_band
        shapes.append(Box(band.left, band.top, band.width, band.height, _BAND))
        shapes.append(Words(band.left + POINT * 3, band.top + POINT, 5 * POINT, tr("clear band"), QUIET))
    shapes += blank.shapes[2:]
    shapes += overlay(form, index, with_slack=with_slack)
    return blank._replace(shapes=tuple(shapes))


def overlay(form: Form, index: int, *, with_slack: bool = False) -> list[Shape]:
    """Every place as one part shows it, measured from the paper's upper left corner."""
    shapes: list[Shape] = []
    for place, row, room in _with(form, slack(form) if with_slack else ()):
        shapes += _placed(place, row.seen[index], room)
    return shapes


def _with(form: Form, rooms: tuple[Slack, ...]) -> Iterable[tuple[Place, Row, Slack | None]]:
    given = rooms or (None,) * len(places(form))
    return zip(places(form), matrix(form), given, strict=True)


def _placed(place: Place, seen: Seen, room: Slack | None) -> list[Shape]:
    """One place: its frame and name, and how far it may shift."""
    colour = {Seen.SHOWN: FRAME, Seen.HIDDEN: _PALE, Seen.IN_PART: OFF_PAPER}[seen]
    area = place.area
    shapes: list[Shape] = []
    if room and seen is Seen.SHOWN:
        left, top, right, bottom = (
            area.left - room.left,
            area.top - room.up,
            area.right + room.right,
            area.bottom + room.down,
        )
        corners = ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
        shapes += [Line(*start, *end, ROOM, POINT // 3, _DASH) for start, end in pairwise(corners)]
    shapes += [Box(cell.left, cell.top, cell.width, cell.height, "", colour, POINT // 3) for cell in place.struck]
    size = min(_NAME, area.height * 3 // 5)
    middle = area.top + (min(area.height, INCH // 6) - size) // 2
    room_for_it = max(POINT, area.width - 2 * POINT)
    shapes.append(Words(area.left + POINT, middle, size, place.name, colour, False, room_for_it))
    return shapes


# ---------------------------------------------------------------- who sees what

_ROW = 13 * POINT
_TYPE = 8 * POINT
_TINTS = {Seen.SHOWN: "#dfeeea", Seen.HIDDEN: PAPER, Seen.IN_PART: "#f4d9d5"}


def draw_matrix(form: Form) -> Drawing:
    """Whom each part goes to, and for every place what each part shows of it."""
    rows = matrix(form)
    name_room = max(width_of(row.name, _TYPE) for row in rows) + 12 * POINT if rows else INCH
    says_room = max(width_of(row.says, _TYPE) for row in rows) + 12 * POINT if rows else INCH
    cell = max(width_of(part.name, _TYPE) for part in form.parts) + 16 * POINT
    edge = 14 * POINT
    shapes: list[Shape] = [Words(edge, edge, 11 * POINT, tr("Who sees what: {title}", title=form.title), CAPTION, True)]
    y = edge + 20 * POINT
    for part in form.parts:
        never = (
            tr("; must not show {must_not_show}", must_not_show=", ".join(part.must_not_show))
            if part.must_not_show
            else ""
        )
        shapes.append(
            Words(
                edge,
                y,
                _TYPE,
                tr("{name} goes to {goes_to}{never}", name=part.name, goes_to=part.goes_to, never=never),
                QUIET,
            )
        )
        y += _ROW
    y += 6 * POINT
    first = edge + name_room + says_room
    for index, part in enumerate(form.parts):
        shapes.append(Words(first + index * cell + 4 * POINT, y, _TYPE, part.name, CAPTION, True))
    y += _ROW
    for row in rows:
        shapes.append(Words(edge, y, _TYPE, row.name, CAPTION))
        shapes.append(Words(edge + name_room, y, _TYPE, row.says, QUIET))
        for index, (seen, kept) in enumerate(zip(row.seen, row.kept, strict=True)):
            shapes += _cell(Area(first + index * cell, y - 2 * POINT, cell, _ROW), seen, kept=kept)
        y += _ROW
    widest = max(
        first + len(form.parts) * cell, edge + max(width_of(s.text, s.size) for s in shapes if isinstance(s, Words))
    )
    return Drawing(0, 0, widest + edge, y + edge, tuple(shapes), tr("Who sees what of {name}", name=form.name), PAPER)


def _cell(area: Area, seen: Seen, *, kept: bool) -> list[Shape]:
    tint = _TINTS[seen] if kept else _TINTS[Seen.IN_PART]
    text = tr(seen) if kept else tr("{seen}: broken", seen=tr(seen))
    colour = FRAME if seen is Seen.SHOWN else QUIET
    if not kept:
        colour = OFF_PAPER
    inside = area.width - 6 * POINT
    return [
        Box(area.left, area.top, area.width, area.height, tint or SHADE, EDGE or HATCH, POINT // 3),
        Words(area.left + 4 * POINT, area.top + 2 * POINT, _TYPE, text, colour, False, inside),
    ]
