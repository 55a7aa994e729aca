"""What the rules of every country look for in words, signs and dates. Each function makes a test for a rule."""

import re
from collections.abc import Iterator, Mapping
from itertools import pairwise

from cheque.form.geometry import Area
from cheque.form.model import Caption, Form
from cheque.form.places import field_area
from cheque.form.rules.measure import cheque_of, dates_on, on_cheque
from cheque.form.rules.rule import Finding, Test
from cheque.tongue import mark, tr
from cheque.units import INCH, write_length

#: how far from a place what belongs to it may stand
_NEAR = INCH // 2
_ABSENT = Finding(None, mark("the form has none on its cheque"))


def preprinted_on_cheque(form: Form) -> Iterator[tuple[Caption, str, Area]]:
    """Every preprinted wording on the cheque: legends of the parts are not the cheque's."""
    cheque = cheque_of(form)
    for caption in form.preprint.captions:
        if caption.what == "text" and caption.area().overlaps(cheque):
            yield caption, caption.text, caption.area()


def says(*wordings: str) -> Test:
    """The cheque says one of these, preprinted or struck as a constant; capitals make no difference.

    Wording that stands in several pieces is read in the order of the definition, or column by column.
    """

    def test(form: Form) -> Finding:
        pieces = [((at.left, at.top), text) for _, text, at in preprinted_on_cheque(form)]
        cheque = cheque_of(form)
        pieces += [
            ((area.left, area.top), constant.text)
            for constant in form.constants
            if not constant.when.by_payment and cheque.holds(area := field_area(form, constant))
        ]
        orders = ([text for _, text in pieces], [text for _, text in sorted(pieces)])
        whole = " / ".join(" ".join(" ".join(texts).split()) for texts in orders).casefold()
        found = [text for text in wordings if text.casefold() in whole]
        return Finding(
            bool(found),
            tr("it says {found!r}", found=found[0])
            if found
            else tr("nowhere {wordings}", wordings=tr(" or ").join(map(repr, wordings))),
        )

    return test


def sign_at_figures(*signs: str) -> Test:
    """The currency's sign or name stands at the figures: in their own place, or preprinted beside or above them."""

    def test(form: Form) -> Finding:
        found = on_cheque(form, "amount_figures")
        if not found:
            return _ABSENT
        dress = "".join(f.prefix + f.suffix for f in form.fields if f.what == "amount_figures")
        area = found[0].area
        round_it = Area(area.left - _NEAR, area.top - _NEAR, area.width + 2 * _NEAR, area.height + 2 * _NEAR)
        near = " ".join(text for _, text, at in preprinted_on_cheque(form) if at.overlaps(round_it))
        there = [sign for sign in signs if sign.casefold() in f"{dress} {near}".casefold()]
        return Finding(
            bool(there),
            tr("{there} at the figures", there=there[0])
            if there
            else tr("no {signs} at the figures", signs=tr(" or ").join(signs)),
        )

    return test


def beneath(what: str, *wordings: str) -> Test:
    """One of these wordings is preprinted right under a place, where a line may part the two."""

    def test(form: Form) -> Finding:
        found = on_cheque(form, what)
        if not found:
            return _ABSENT
        said = [text for place in found for text in _under(form, place.area)]
        there = [text for text in said if any(wording.casefold() in text.casefold() for wording in wordings)]
        return Finding(
            bool(there),
            tr("{there!r} beneath", there=there[0])
            if there
            else tr("no {wordings} beneath", wordings=tr(" or ").join(map(repr, wordings))),
        )

    return test


def _under(form: Form, area: Area) -> list[str]:
    """What is preprinted under an area, from left to right."""
    below = Area(area.left, area.bottom, area.width, _NEAR)
    found = [
        (at.left, text) for _, text, at in preprinted_on_cheque(form) if at.overlaps(below) and at.top >= area.bottom
    ]
    return [text for _, text in sorted(found)]


def date_pattern(*patterns: str) -> Test:
    """The date of the cheque is written by one of these patterns; blanks between digits make no difference."""

    def test(form: Form) -> Finding:
        found = [pattern for _, pattern in dates_on(form)]
        if not found:
            return _ABSENT
        strange = [pattern for pattern in found if pattern not in patterns]
        return Finding(not strange, tr("the date is {patterns}", patterns=", ".join(strange or found)))

    return test


def field_indicators(letters: Mapping[str, tuple[str, ...]]) -> Test:
    """Under the date's digits stand their letters: for each pattern, the rows of letters that may stand there."""

    def test(form: Form) -> Finding:
        found = list(dates_on(form))
        if not found:
            return _ABSENT
        for place, pattern in found:
            said = "".join("".join(_under(form, place.area)).split())
            if said not in letters.get(pattern, ()):
                wanted = tr(" or ").join(letters.get(pattern, (tr("letters of a pattern that is allowed"),)))
                return Finding(
                    False,
                    tr("beneath the date {said!r}, not {wanted}", said=said, wanted=wanted)
                    if said
                    else tr("no {wanted} beneath", wanted=wanted),
                )
        return Finding(True, tr("{said} beneath the date", said=said))

    return test


def date_in_boxes(count: int) -> Test:
    """Each digit of the date has a preprinted box of its own, so many in all."""

    def test(form: Form) -> Finding:
        found = [place for place, _ in dates_on(form)]
        if not found:
            return _ABSENT
        outlines = [box.area for box in form.preprint.boxes if box.drawn == "outline"]
        boxed = [cell for cell in found[0].struck if _alone_in_a_box(cell, found[0].struck, outlines)]
        single = [cell for cell in boxed if cell.width == found[0].pitch]
        return Finding(len(single) == count, tr("{count} digits in boxes of their own", count=len(single)))

    return test


def _alone_in_a_box(cell: Area, cells: tuple[Area, ...], boxes: list[Area]) -> bool:
    return any(box.holds(cell) and sum(box.overlaps(other) for other in cells) == 1 for box in boxes)


def place_of_issue(form: Form) -> Finding:
    """The cheque states where it was issued: struck from the account, or preprinted as in "Fait à Quillmere"."""
    if on_cheque(form, "place"):
        return Finding(True, tr("struck from the account's setting"))
    for _, text, _ in preprinted_on_cheque(form):
        if re.search(r"(?:fait à|ausgestellt in|issued at)\s+\w+", text, re.IGNORECASE):
            return Finding(True, tr("preprinted: {text!r}", text=text))
    return Finding(False, tr("nowhere stated"))


def advice_is_not(*wordings: str) -> Test:
    """An advice does not say what on a cheque that can be paid is a crossing."""

    def test(form: Form) -> Finding:
        if not form.advice:
            return Finding(None, tr("the form takes no advices"))
        said = [wording for wording in wordings if wording.casefold() in form.advice.casefold()]
        return Finding(not said, tr("an advice says {advice!r}", advice=form.advice))

    return test


def crossed(form: Form) -> Finding:
    """Two parallel lines run down across the face of the cheque, no more than an inch apart."""
    cheque = cheque_of(form)
    boxes = {edge for box in form.preprint.boxes for edge in (box.area.left, box.area.right)}
    upright = sorted(
        (rule.left, rule.top, rule.height)
        for rule in form.preprint.rules
        if rule.height and rule.left not in boxes and Area(rule.left, rule.top, 0, rule.height).overlaps(cheque)
    )
    for one, other in pairwise(upright):
        if one[1:] == other[1:] and 0 < other[0] - one[0] <= INCH:
            return Finding(True, tr("two lines {length} apart", length=write_length(other[0] - one[0])))
    return Finding(False, tr("no two parallel lines across its face"))
