"""How far the print may shift: for every place, to each side, before it touches anything it must not touch.

A field may shift inside the frame that its `box` names, up to the nearest preprinted rule, drawn frame or
wording in it. A field without a box has its own cells and no more, so its slack is nothing. Whatever the box,
print stays on the paper and on its side of every perforation, out of the clear band, inside the blocked areas
that hide it and outside those that do not.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from cheque.form import preprint
from cheque.form.geometry import Area
from cheque.form.model import Form, Part
from cheque.form.places import Place, places
from cheque.page import Shift


@dataclass(frozen=True, slots=True)
class Slack:
    """How far one place (`name`) may shift to each side, in units; never less than nothing."""

    name: str
    left: int
    right: int
    up: int
    down: int

    def allows(self, shift: Shift) -> bool:
        """Whether the print may be moved so."""
        return -self.left <= shift.right <= self.right and -self.up <= shift.down <= self.down


def slack(form: Form) -> tuple[Slack, ...]:
    """The slack of every place, in the order of the definition.

    Up and down is found first, then left and right over all that height: any shift within all four is safe,
    slantwise too.
    """
    return tuple(_slack(form, place) for place in places(form))


def max_shift(form: Form) -> Slack:
    """The slack of the whole form: to each side the least of any place. A form with no place has none."""
    each = slack(form)
    return Slack(
        form.name,
        *(min((getattr(one, side) for one in each), default=0) for side in ("left", "right", "up", "down")),
    )


def _slack(form: Form, place: Place) -> Slack:
    each = [_room(form, place, cell) for cell in place.struck]
    return Slack(place.name, *(min(ends) for ends in zip(*each, strict=True)))


def _room(form: Form, place: Place, area: Area) -> tuple[int, int, int, int]:
    """How far some cells of a place may shift left, right, up and down."""
    room = place.box or place.area
    if not room.holds(place.area):  # a fault of its own: see cheque.form.check
        room = place.area
    obstacles = [other for other in _obstacles(form, place) if not other.overlaps(area)]
    for bound in _bounds(form, place):
        room = _meet(room, bound)
    above = [other.bottom for other in obstacles if other.abreast(area) and other.bottom <= area.top]
    below = [other.top for other in obstacles if other.abreast(area) and other.top >= area.bottom]
    top, bottom = max([room.top, *above]), min([room.bottom, *below])
    tall = Area(area.left, top, area.width, bottom - top)
    before = [other.right for other in obstacles if other.beside(tall) and other.right <= area.left]
    after = [other.left for other in obstacles if other.beside(tall) and other.left >= area.right]
    left, right = max([room.left, *before]), min([room.right, *after])
    ends = (area.left - left, right - area.right, area.top - top, bottom - area.bottom)
    return max(0, ends[0]), max(0, ends[1]), max(0, ends[2]), max(0, ends[3])


def _meet(one: Area, other: Area) -> Area:
    left, top = max(one.left, other.left), max(one.top, other.top)
    right, bottom = min(one.right, other.right), min(one.bottom, other.bottom)
    return Area(left, top, max(0, right - left), max(0, bottom - top))


def _bounds(form: Form, place: Place) -> Iterator[Area]:
    """What the place must stay inside of: the paper, and what hides it from each part that must not show it."""
    yield form.sheet
    for part in form.parts:
        if part.name not in place.hidden_from:
            continue
        hiding = [area for area in form.takes_no_image(part) if area.holds(place.area)]
        yield from hiding
        if not hiding:  # hidden by several areas side by side: no shift is proven safe, so none is allowed
            yield place.area


def _obstacles(form: Form, place: Place) -> Iterator[Area]:
    """What the place must not touch."""
    for part in form.parts:
        yield from preprinted(form, part)
        if part.name not in place.hidden_from:
            yield from form.takes_no_image(part)
    if form.cheque:
        yield form.cheque.clear_band
    yield from perforations(form)


def preprinted(form: Form, part: Part) -> Iterator[Area]:
    """Everything of one part's preprint that print must not touch: rules, the edges of frames, wording."""
    for rule in preprint.rules(form, part):
        yield Area(rule.left, rule.top, rule.width, rule.height)
    for box in preprint.boxes(form, part):
        area = box.area
        yield Area(area.left, area.top, area.width, 0)
        yield Area(area.left, area.bottom, area.width, 0)
        yield Area(area.left, area.top, 0, area.height)
        yield Area(area.right, area.top, 0, area.height)
    for wording in preprint.wordings(form, part):
        yield wording.area


def perforations(form: Form) -> Iterator[Area]:
    """The tear lines, as areas without height or width."""
    for y in form.paper.perforations:
        yield Area(0, y, form.paper.width, 0)
    for x in form.paper.side_perforations:
        yield Area(x, 0, 0, form.paper.length)
