"""What the rules of every country measure: sizes, bands, places, distances. Each function makes a test for a rule.

All is measured on the cheque, not on the form: from its own bottom and right edge. A test tells what it found, and by
how much it is out, in units.
"""

from collections.abc import Iterator
from itertools import combinations

from cheque.form.geometry import Area
from cheque.form.model import Form
from cheque.form.places import Place, places
from cheque.form.rules.rule import Finding, Test
from cheque.tongue import mark, tr
from cheque.units import write_length

_ABSENT = Finding(None, mark("the form has none on its cheque"))


def cheque_of(form: Form) -> Area:
    """The cheque of a form that has one."""
    if form.cheque is None:
        raise ValueError(tr("form {name} has no cheque", name=form.name))
    return form.cheque.area


def on_cheque(form: Form, *what: str) -> list[Place]:
    """Every place of these things on the cheque that is struck on a cheque without conditions."""
    area = cheque_of(form)
    return [
        place for place in places(form) if place.what in what and area.holds(place.area) and not place.when.by_payment
    ]


def length(low: int, high: int = 0) -> Test:
    """The cheque is at least so long, and at most so, if that is given."""
    return lambda form: _size(cheque_of(form).width, low, high, mark("the cheque is {length} long"))


def height(low: int, high: int = 0) -> Test:
    """The cheque is at least so high, and at most so, if that is given."""
    return lambda form: _size(cheque_of(form).height, low, high, mark("the cheque is {length} high"))


def _size(found: int, low: int, high: int, said: str) -> Finding:
    off = max(low - found, found - high if high else 0, 0)
    return Finding(not off, tr(said, length=write_length(found)), off)


def clear_band(least: int) -> Test:
    """The bottom of the cheque is kept clear of all that is struck, at least so high, its whole length."""

    def test(form: Form) -> Finding:
        cheque = cheque_of(form)
        stated = form.cheque.clear if form.cheque else 0
        lowest = max((p.area.bottom for p in places(form) if p.area.overlaps(cheque)), default=cheque.top)
        free = min(stated, cheque.bottom - lowest)
        off = max(0, least - free)
        return Finding(not off, tr("{length} is kept clear", length=write_length(max(0, free))), off)

    return test


def nothing_drawn_in_band(form: Form) -> Finding:
    """No preprinted line or frame stands in the clear band, or touches it from above."""
    cheque, drawn = form.cheque, _drawn(form)
    if cheque is None:
        return _ABSENT
    deepest = max((min(edge.bottom, cheque.area.bottom) for edge in drawn if edge.overlaps(cheque.area)), default=0)
    off = max(0, deepest - cheque.clear_band.top)
    return Finding(
        not off,
        tr("a line or frame {length} into the clear band", length=write_length(off)) if off else tr("none there"),
        off,
    )


def _drawn(form: Form) -> list[Area]:
    """Every preprinted line and frame."""
    lines = [Area(rule.left, rule.top, rule.width, rule.height) for rule in form.preprint.rules]
    return lines + [box.area for box in form.preprint.boxes if box.drawn != "none"]


def stands(what: str, *, above_bottom: tuple[int, int], from_right: tuple[int, int]) -> Test:
    """A place lies so far above the cheque's bottom and so far from its right edge: each the least and the most."""

    def test(form: Form) -> Finding:
        found = on_cheque(form, what)
        if not found:
            return _ABSENT
        cheque = cheque_of(form)
        low, high = cheque.bottom - found[0].area.bottom, cheque.bottom - found[0].area.top
        near, far = cheque.right - found[0].area.right, cheque.right - found[0].area.left
        off = max(above_bottom[0] - low, high - above_bottom[1], from_right[0] - near, far - from_right[1], 0)
        said = tr(
            "{low} to {high} above the bottom, {near} to {far} from the right",
            low=write_length(low),
            high=write_length(high),
            near=write_length(near),
            far=write_length(far),
        )
        return Finding(not off, said, off)

    return test


def in_half(what: str, *, right: bool | None = None, lower: bool | None = None) -> Test:
    """The middle of a place lies in the right or left half of the cheque, in its lower or upper half."""

    def test(form: Form) -> Finding:
        found = on_cheque(form, what)
        if not found:
            return _ABSENT
        cheque, area = cheque_of(form), found[-1].area
        across = 2 * area.left + area.width - 2 * cheque.left - cheque.width
        down = 2 * area.top + area.height - 2 * cheque.top - cheque.height
        off = 0
        if right is not None:
            off = max(off, -across if right else across)
        if lower is not None:
            off = max(off, -down if lower else down)
        said = tr(
            mark("in the lower right")
            if down > 0 and across > 0
            else mark("in the lower left")
            if down > 0
            else mark("in the upper right")
            if across > 0
            else mark("in the upper left")
        )
        return Finding(off <= 0, said, max(0, off) // 2)

    return test


def apart(least: int, *what: str) -> Test:
    """So much is clear between each two of these places, across or down."""

    def test(form: Form) -> Finding:
        found = on_cheque(form, *what)
        pairs = [(_gap(one.area, other.area), one, other) for one, other in combinations(found, 2)]
        pairs = [pair for pair in pairs if pair[1].what != pair[2].what]
        if not pairs:
            return _ABSENT
        gap, one, other = min(pairs, key=lambda pair: pair[0])
        off = max(0, least - gap)
        return Finding(
            not off,
            tr(
                "{length} between {name} and {name2}",
                length=write_length(max(0, gap)),
                name=one.name,
                name2=other.name,
            ),
            off,
        )

    return test


def _gap(one: Area, other: Area) -> int:
    """How far apart two areas are, across or down, whichever is more."""
    across = max(one.left, other.left) - min(one.right, other.right)
    down = max(one.top, other.top) - min(one.bottom, other.bottom)
    return max(across, down)


def unboxed(what: str) -> Test:
    """No preprinted frame or tint stands round a place."""

    def test(form: Form) -> Finding:
        found = on_cheque(form, what)
        if not found:
            return _ABSENT
        inside = cheque_of(form)
        round_it = [
            box
            for box in form.preprint.boxes
            if box.drawn != "none" and box.area.holds(found[0].area) and inside.holds(box.area)
        ]
        return Finding(not round_it, tr("a frame round it") if round_it else tr("no frame round it"))

    return test


def shows(*what: str) -> Test:
    """The cheque shows each of these things."""

    def test(form: Form) -> Finding:
        missing = [one for one in what if not on_cheque(form, one)]
        return Finding(
            not missing,
            tr("no {missing} on the cheque", missing=tr(" and no ").join(missing)) if missing else tr("it is there"),
        )

    return test


def once(*what: str) -> Test:
    """Each of these stands on the form no more than once."""

    def test(form: Form) -> Finding:
        again = [one for one in what if sum(field.what == one for field in form.fields) > 1]
        return Finding(
            not again, tr("{again} more than once", again=tr(" and ").join(again)) if again else tr("each once")
        )

    return test


def shown_somewhere(*what: str) -> Test:
    """A form that lists wages shows each of these things, on the cheque or on its stub."""

    def test(form: Form) -> Finding:
        if not any("earning" in table.shows for table in form.tables):
            return Finding(None, tr("the form lists no wages"))
        there = {place.what for place in places(form)}
        missing = [one for one in what if one not in there]
        return Finding(
            not missing, tr("no {missing}", missing=tr(" and no ").join(missing)) if missing else tr("all are there")
        )

    return test


def dates_on(form: Form) -> Iterator[tuple[Place, str]]:
    """Every date on the cheque with its pattern, blanks left out."""
    patterns = {field.name: field.pattern for field in form.fields}
    for place in on_cheque(form, "date"):
        yield place, patterns[place.name].replace(" ", "")
