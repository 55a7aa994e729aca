"""What is wrong with where a form strikes: off the paper, over something else, across a tear, out of its frame.

One small function for each thing that must hold; `cheque.form.check` lists them.
"""

from itertools import combinations

from cheque.errors import Fault
from cheque.form import preprint
from cheque.form.checktold import at, paper, reach
from cheque.form.model import CLEAR_BAND, Form
from cheque.form.places import places
from cheque.form.slack import perforations, preprinted
from cheque.tongue import tr
from cheque.units import write_length


def sizes(form: Form) -> list[Fault]:
    """Parts, blocked areas, perforations and the cheque lie on the paper."""
    faults: list[Fault] = []
    for part in form.parts:
        sheet = form.part_area(part)
        if sheet.width <= 0 or not form.sheet.holds(sheet):
            found = tr(
                "a sheet from {left} to {right}",
                left=write_length(sheet.left),
                right=write_length(sheet.right),
            )
            faults.append(
                Fault(
                    at(form, tr("part {name}", name=part.name)),
                    found,
                    tr("a sheet within {paper}", paper=paper(form)),
                )
            )
        for area in part.blocked:
            if not area.width or not area.height or not form.sheet.holds(area):
                wanted = tr("an area that has a size, within {paper}", paper=paper(form))
                faults.append(
                    Fault(
                        at(form, tr("part {name}", name=part.name)),
                        tr("a blocked area {reach}", reach=reach(area)),
                        wanted,
                    )
                )
    for tear in perforations(form):
        if not (0 < tear.left < form.paper.width or 0 < tear.top < form.paper.length):
            torn = write_length(tear.left or tear.top)
            faults.append(
                Fault(
                    at(form, "paper"), tr("a perforation at {at}", at=torn), tr("one within {paper}", paper=paper(form))
                )
            )
    if form.cheque and (not form.cheque.area.height or not form.sheet.holds(form.cheque.area)):
        found = tr("a cheque {reach}", reach=reach(form.cheque.area))
        faults.append(Fault(at(form, "cheque"), found, tr("a cheque within {paper}", paper=paper(form))))
    return faults


def clear_band_is_kept(form: Form) -> list[Fault]:
    """The bottom 5/8 in of the cheque is clear, its whole length (ANSI X9.100-160-1): nothing is struck there."""
    if not form.cheque:
        return []
    faults = []
    if form.cheque.clear < CLEAR_BAND:
        found = tr("a clear band of {write_length}", write_length=write_length(form.cheque.clear))
        faults.append(
            Fault(
                at(form, "cheque"),
                found,
                tr("at least {write_length}, kept for magnetic print", write_length=write_length(CLEAR_BAND)),
            )
        )
    band = form.cheque.clear_band
    wanted = tr(
        "nothing below {write_length}, where the cheque's clear band begins", write_length=write_length(band.top)
    )
    faults += [
        Fault(
            at(form, place),
            tr("print down to {write_length}", write_length=write_length(place.area.bottom)),
            wanted,
            tr("move it up"),
        )
        for place in places(form)
        if place.area.overlaps(band)
    ]
    return faults


def all_on_the_paper(form: Form) -> list[Fault]:
    """Nothing is struck beside the paper."""
    return [
        Fault(
            at(form, place),
            tr("print {reach}", reach=reach(place.area)),
            tr("all of it within {paper}", paper=paper(form)),
        )
        for place in places(form)
        if not form.sheet.holds(place.area)
    ]


def nothing_over_another(form: Form) -> list[Fault]:
    """No two places share a cell, unless they can never be printed on one form."""
    kinds = {
        f"{table.name}.{number}": (set(column.kinds or table.shows), table.name)
        for table in form.tables
        for number, column in enumerate(table.columns)
    }
    listed = list(zip(places(form), _tables_of(form), strict=True))
    faults = []
    for (one, own), (other, others) in combinations(listed, 2):
        if not one.area.overlaps(other.area) or one.when.excludes(other.when):
            continue
        if own and others and kinds[own][1] == kinds[others][1] and not kinds[own][0] & kinds[others][0]:
            continue  # columns of one table that no line fills both of
        faults.append(
            Fault(
                at(form, other),
                tr("the same cells as {one}", one=one),
                tr("a place of its own"),
                tr("move one of the two"),
            )
        )
    return faults


def _tables_of(form: Form) -> list[str]:
    """For each place, "table.index" when it is a table's column, else ""."""
    columns = [f"{table.name}.{number}" for table in form.tables for number in range(len(table.columns))]
    return [""] * len(form.fields) + columns + [""] * len(form.constants)


def nothing_over_preprint(form: Form) -> list[Fault]:
    """No preprinted rule, frame or wording runs under what is struck, on any part that shows it."""
    faults = []
    for place in places(form):
        for part in form.parts:
            if part.name in place.hidden_from:
                continue
            if any(cell.overlaps(mark) for mark in preprinted(form, part) for cell in place.struck):
                under = (w.text for w in preprint.wordings(form, part) if any(c.overlaps(w.area) for c in place.struck))
                said = next(under, "")
                found = tr("the preprinted {said!r} under it", said=said) if said else tr("a preprinted line under it")
                faults.append(
                    Fault(at(form, place), found, tr("print on clear paper"), tr("move the one or the other"))
                )
                break
    return faults


def nothing_over_a_perforation(form: Form) -> list[Fault]:
    """Nothing is struck across a tear line."""
    return [
        Fault(
            at(form, place),
            tr("print across the perforation at {write_length}", write_length=write_length(tear.left or tear.top)),
            tr("print beside it"),
        )
        for place in places(form)
        for tear in perforations(form)
        if place.area.overlaps(tear)
    ]


def frames_hold_their_fields(form: Form) -> list[Fault]:
    """A place lies inside the frame that its `box` names."""
    return [
        Fault(
            at(form, place),
            tr("print {reach}", reach=reach(place.area)),
            tr("print inside its box, {reach}", reach=reach(place.box)),
        )
        for place in places(form)
        if place.box and not place.box.holds(place.area)
    ]
