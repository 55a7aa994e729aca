"""What is wrong with a form as paper: one small function for each thing that must hold, listed in CHECKS.

Each is given the form and returns its faults, none when it holds; `check` gathers those of all. To add a rule
of paper, write one function and add it to the list. Rules of a country (sizes, where the figures stand) are
not here: these hold for any form.
"""

from collections.abc import Callable
from itertools import combinations

from cheque.errors import Fault
from cheque.form import preprint
from cheque.form.advise import warnings
from cheque.form.geometry import Area, left_over
from cheque.form.model import CLEAR_BAND, OTHER_NUMBERS, Form
from cheque.form.places import places
from cheque.form.slack import perforations, preprinted
from cheque.form.what import CLOSED
from cheque.payment import Kind, Role
from cheque.tongue import tr
from cheque.units import write_length

__all__ = ["CHECKS", "check", "warnings"]


def check(form: Form) -> list[Fault]:
    """Everything wrong with the form; empty when it can be put to use."""
    return [fault for one in CHECKS for fault in one(form)]


def _at(form: Form, name: object) -> str:
    return tr("form {name}, {name2}", name=form.name, name2=name)


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
                    _at(form, tr("part {name}", name=part.name)),
                    found,
                    tr("a sheet within {paper}", paper=_paper(form)),
                )
            )
        for area in part.blocked:
            if not area.width or not area.height or not form.sheet.holds(area):
                wanted = tr("an area that has a size, within {paper}", paper=_paper(form))
                faults.append(
                    Fault(
                        _at(form, tr("part {name}", name=part.name)),
                        tr("a blocked area {reach}", reach=_reach(area)),
                        wanted,
                    )
                )
    for tear in perforations(form):
        if not (0 < tear.left < form.paper.width or 0 < tear.top < form.paper.length):
            at = write_length(tear.left or tear.top)
            faults.append(
                Fault(
                    _at(form, "paper"), tr("a perforation at {at}", at=at), tr("one within {paper}", paper=_paper(form))
                )
            )
    if form.cheque and (not form.cheque.area.height or not form.sheet.holds(form.cheque.area)):
        found = tr("a cheque {reach}", reach=_reach(form.cheque.area))
        faults.append(Fault(_at(form, "cheque"), found, tr("a cheque within {paper}", paper=_paper(form))))
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
                _at(form, "cheque"),
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
            _at(form, place),
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
            _at(form, place),
            tr("print {reach}", reach=_reach(place.area)),
            tr("all of it within {paper}", paper=_paper(form)),
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
                _at(form, other),
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
                    Fault(_at(form, place), found, tr("print on clear paper"), tr("move the one or the other"))
                )
                break
    return faults


def nothing_over_a_perforation(form: Form) -> list[Fault]:
    """Nothing is struck across a tear line."""
    return [
        Fault(
            _at(form, place),
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
            _at(form, place),
            tr("print {reach}", reach=_reach(place.area)),
            tr("print inside its box, {reach}", reach=_reach(place.box)),
        )
        for place in places(form)
        if place.box and not place.box.holds(place.area)
    ]


def hidden_is_hidden(form: Form) -> list[Fault]:
    """What a part must not show falls wholly where that part takes no image."""
    faults = []
    for place in places(form):
        for part in form.parts:
            if part.name in place.hidden_from:
                shown = left_over(place.area, form.takes_no_image(part))
                if shown:
                    found = tr(
                        "part {name}, which goes to {goes_to}, would show it {reach}",
                        name=part.name,
                        goes_to=part.goes_to,
                        reach=_reach(shown[0]),
                    )
                    faults.append(
                        Fault(
                            _at(form, place),
                            found,
                            tr("a blocked area over all of it"),
                            tr("block it, or move the field"),
                        )
                    )
    return faults


def shown_is_shown(form: Form) -> list[Fault]:
    """What is not hidden from a part is not lost on it: no blocked area takes a piece of it."""
    faults = []
    for place in places(form):
        for part in form.parts:
            if part.name not in place.hidden_from and any(
                area.overlaps(place.area) for area in form.takes_no_image(part)
            ):
                found = tr("part {name} takes no image there, or not of all of it", name=part.name)
                do = tr('say hidden_from = ["{name}"], or move it', name=part.name)
                faults.append(Fault(_at(form, place), found, tr("every part that is to show it shows all of it"), do))
    return faults


def promises_are_kept(form: Form) -> list[Fault]:
    """What a part promises never to show, by its must_not_show, is hidden from it wherever it is struck."""
    return [
        Fault(
            _at(form, place),
            tr("part {name}, which goes to {goes_to}, shows it", name=part.name, goes_to=part.goes_to),
            tr("no {what} on that part, as its must_not_show says", what=place.what),
            tr('block it there and say hidden_from = ["{name}"], or take the field out', name=part.name),
        )
        for part in form.parts
        for place in places(form)
        if place.what in part.must_not_show and part.name not in place.hidden_from
    ]


def the_number_on_every_part(form: Form) -> list[Fault]:
    """The expected number is struck on every part, and every place for it is as wide as the others."""
    numbers = [place for place in places(form) if place.what == "number"]
    faults = []
    for part in form.parts:
        if not any(part.name not in place.hidden_from and not place.when.roles for place in numbers):
            found = tr("no number struck on it")
            wanted = tr("the expected number beside the preprinted one, so that a skipped form shows")
            faults.append(
                Fault(
                    _at(form, tr("part {name}", name=part.name)), found, wanted, tr('add a [[field]] what = "number"')
                )
            )
    widths = sorted({field.width for field in form.fields if field.what == "number"})
    if len(widths) > 1:
        found = tr("numbers {widths} wide", widths=tr(" and ").join(map(str, widths)))
        faults.append(Fault(_at(form, "number"), found, tr("one width, so that what fits one place fits all")))
    return faults


def a_cheque_is_whole(form: Form) -> list[Fault]:
    """A form with the role of cheque has a cheque, and on it payee, date, both amounts, number and signature."""
    if Role.CHEQUE not in form.roles:
        return []
    if not form.cheque:
        do = tr('add [cheque] top = "…" height = "…"')
        return [Fault(_at(form, "cheque"), tr("nothing"), tr("where on the paper the cheque is"), do)]
    # only what stands on every cheque counts: not what depends on the payment, nor what only an advice shows
    on_it = {
        p.what
        for p in places(form)
        if form.cheque.area.holds(p.area)
        and not p.when.by_payment
        and (not p.when.roles or Role.CHEQUE in p.when.roles)
    }
    faults = []
    for what in ("payee", "date", "amount_words", "amount_figures", "number", "signature"):
        if what not in on_it:
            do = tr('add a [[field]] what = "{what}"', what=what)
            faults.append(
                Fault(
                    _at(form, "cheque"),
                    tr("no {what} on the cheque", what=what),
                    tr("one {what} at least", what=what),
                    do,
                )
            )
    # written several times, the smallest counts (Code monétaire et financier L131-10; Scheckgesetz art. 9)
    faults += [
        Fault(_at(form, "cheque"), tr("{what} more than once", what=what), tr("each amount once"))
        for what in ("amount_words", "amount_figures")
        if sum(field.what == what for field in form.fields) > 1
    ]
    return faults


def amounts_and_payee_are_closed(form: Form) -> list[Fault]:
    """Amount and payee on a cheque leave no open column: each has its fill."""
    if not form.cheque:
        return []
    return [
        Fault(_at(form, field.name), tr("no fill"), tr("a mark that closes every open column"), tr('say fill = "*"'))
        for field, place in zip(form.fields, places(form), strict=False)
        if field.what in CLOSED and not field.fill and place.area.overlaps(form.cheque.area)
    ]


def wide_enough(form: Form) -> list[Fault]:
    """Dates fit their places, and the wording of an advice its."""
    faults = []
    for field in form.fields:
        needed, said = 0, ""
        if field.pattern:
            needed = len(field.pattern) * (2 if field.what == "period" else 1) + (3 if field.what == "period" else 0)
            needed += len(field.prefix) + len(field.suffix)
        elif field.what == "amount_words":
            needed = len(form.advice)
        elif field.what == "amount_figures":
            needed = len(field.prefix) + len(field.suffix) + 1
        elif field.what in {"sheet", "listed"}:
            needed = len(field.prefix) + len(field.suffix) + 3
            said = tr("3 characters")
        elif field.what in OTHER_NUMBERS:
            own = min((f.width for f in form.fields if f.what == "number"), default=1)
            needed = len(field.prefix) + own
            said = tr("a number as wide as the form's own")
        if needed > field.width:
            beside = tr(" and what stands beside it") if field.prefix or field.suffix else ""
            said = (
                f"{said}{beside}"
                if said
                else tr("the {needed} characters of {pattern!r}", needed=needed, pattern=field.pattern or form.advice)
            )
            faults.append(
                Fault(
                    _at(form, field.name),
                    tr("a width of {width}", width=field.width),
                    tr("room for {said}", said=said),
                    tr("make it wider"),
                )
            )
    for table in form.tables:
        for column in table.columns:
            if column.pattern and len(column.pattern) > column.width:
                where = _at(form, f"{table.name}.{column.what}")
                faults.append(
                    Fault(
                        where,
                        tr("a width of {width}", width=column.width),
                        tr("room for {pattern!r}", pattern=column.pattern),
                        tr("make it wider"),
                    )
                )
    return faults


def overflow_is_told(form: Form) -> list[Fault]:
    """Stub lines that go on elsewhere: the stub says where, and has nothing about another way."""
    allowed = {"continue": {"sheet", *OTHER_NUMBERS}, "listing": {"listed"}}.get(form.overflow, set())
    faults = [
        Fault(
            _at(form, field.name),
            tr("{what} on a form whose overflow is {overflow!r}", what=field.what, overflow=form.overflow),
            tr("a form that has it"),
        )
        for field in form.fields
        if field.what in {"sheet", "listed", *OTHER_NUMBERS} - allowed
    ]
    if form.overflow != "refuse" and not form.tables:
        faults.append(
            Fault(_at(form, "overflow"), tr("no table of stub lines"), tr("a [[table]]"), tr("take overflow out"))
        )
    told = {place.what for place in places(form) if not place.when.roles}
    if form.overflow == "listing" and "listed" not in told:
        found, wanted = tr("nothing that says so"), tr("a field that says how many lines stand on the listing")
        faults.append(Fault(_at(form, "overflow"), found, wanted, tr('add a [[field]] what = "listed"')))
    return faults


def every_line_in_one_table(form: Form) -> list[Fault]:
    """No kind of stub line is listed twice, and a table that shows amounts shows what they are for."""
    faults = []
    for kind in Kind:
        tables = [table.name for table in form.tables if kind in table.shows and not table.when.roles]
        if len(tables) > 1:
            found = tr("{kind} lines in {tables}", kind=kind, tables=tr(" and ").join(tables))
            faults.append(Fault(_at(form, tables[-1]), found, tr("each kind of line in one table")))
    faults += [
        Fault(_at(form, table.name), tr("no column of text"), tr("what each line is"), tr('add a column what = "text"'))
        for table in form.tables
        if not any(column.what == "text" and not column.kinds for column in table.columns)
    ]
    return faults


def _paper(form: Form) -> str:
    return tr(
        "{width} by {height}",
        width=write_length(form.paper.width),
        height=write_length(form.paper.length),
    )


def _reach(area: Area) -> str:
    left, right = write_length(area.left), write_length(area.right)
    return tr(
        "from {left} to {right} across, {top} to {bottom} down",
        left=left,
        right=right,
        top=write_length(area.top),
        bottom=write_length(area.bottom),
    )


#: every check of a form, in the order in which its faults are told
CHECKS: tuple[Callable[[Form], list[Fault]], ...] = (
    sizes,
    all_on_the_paper,
    clear_band_is_kept,
    nothing_over_another,
    nothing_over_preprint,
    nothing_over_a_perforation,
    frames_hold_their_fields,
    hidden_is_hidden,
    shown_is_shown,
    promises_are_kept,
    the_number_on_every_part,
    a_cheque_is_whole,
    amounts_and_payee_are_closed,
    wide_enough,
    every_line_in_one_table,
    overflow_is_told,
)
