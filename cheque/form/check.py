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
from cheque.units import write_length

__all__ = ["CHECKS", "check", "warnings"]


def check(form: Form) -> list[Fault]:
    """Everything wrong with the form; empty when it can be put to use."""
    return [fault for one in CHECKS for fault in one(form)]


def _at(form: Form, name: object) -> str:
    return f"form {form.name}, {name}"


def sizes(form: Form) -> list[Fault]:
    """Parts, blocked areas, perforations and the cheque lie on the paper."""
    faults: list[Fault] = []
    for part in form.parts:
        sheet = form.part_area(part)
        if sheet.width <= 0 or not form.sheet.holds(sheet):
            found = f"a sheet from {write_length(sheet.left)} to {write_length(sheet.right)}"
            faults.append(Fault(_at(form, f"part {part.name}"), found, f"a sheet within {_paper(form)}"))
        for area in part.blocked:
            if not area.width or not area.height or not form.sheet.holds(area):
                wanted = f"an area that has a size, within {_paper(form)}"
                faults.append(Fault(_at(form, f"part {part.name}"), f"a blocked area {_reach(area)}", wanted))
    for tear in perforations(form):
        if not (0 < tear.left < form.paper.width or 0 < tear.top < form.paper.length):
            at = write_length(tear.left or tear.top)
            faults.append(Fault(_at(form, "paper"), f"a perforation at {at}", f"one within {_paper(form)}"))
    if form.cheque and (not form.cheque.area.height or not form.sheet.holds(form.cheque.area)):
        found = f"a cheque {_reach(form.cheque.area)}"
        faults.append(Fault(_at(form, "cheque"), found, f"a cheque within {_paper(form)}"))
    return faults


def clear_band_is_kept(form: Form) -> list[Fault]:
    """The bottom 5/8 in of the cheque is clear, its whole length (ANSI X9.100-160-1): nothing is struck there."""
    if not form.cheque:
        return []
    faults = []
    if form.cheque.clear < CLEAR_BAND:
        found = f"a clear band of {write_length(form.cheque.clear)}"
        faults.append(
            Fault(_at(form, "cheque"), found, f"at least {write_length(CLEAR_BAND)}, kept for magnetic print")
        )
    band = form.cheque.clear_band
    wanted = f"nothing below {write_length(band.top)}, where the cheque's clear band begins"
    faults += [
        Fault(_at(form, place), f"print down to {write_length(place.area.bottom)}", wanted, "move it up")
        for place in places(form)
        if place.area.overlaps(band)
    ]
    return faults


def all_on_the_paper(form: Form) -> list[Fault]:
    """Nothing is struck beside the paper."""
    return [
        Fault(_at(form, place), f"print {_reach(place.area)}", f"all of it within {_paper(form)}")
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
        faults.append(Fault(_at(form, other), f"the same cells as {one}", "a place of its own", "move one of the two"))
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
                found = f"the preprinted {said!r} under it" if said else "a preprinted line under it"
                faults.append(Fault(_at(form, place), found, "print on clear paper", "move the one or the other"))
                break
    return faults


def nothing_over_a_perforation(form: Form) -> list[Fault]:
    """Nothing is struck across a tear line."""
    return [
        Fault(
            _at(form, place),
            f"print across the perforation at {write_length(tear.left or tear.top)}",
            "print beside it",
        )
        for place in places(form)
        for tear in perforations(form)
        if place.area.overlaps(tear)
    ]


def frames_hold_their_fields(form: Form) -> list[Fault]:
    """A place lies inside the frame that its `box` names."""
    return [
        Fault(_at(form, place), f"print {_reach(place.area)}", f"print inside its box, {_reach(place.box)}")
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
                    found = f"part {part.name}, which goes to {part.goes_to}, would show it {_reach(shown[0])}"
                    faults.append(
                        Fault(_at(form, place), found, "a blocked area over all of it", "block it, or move the field")
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
                found = f"part {part.name} takes no image there, or not of all of it"
                do = f'say hidden_from = ["{part.name}"], or move it'
                faults.append(Fault(_at(form, place), found, "every part that is to show it shows all of it", do))
    return faults


def promises_are_kept(form: Form) -> list[Fault]:
    """What a part promises never to show, by its must_not_show, is hidden from it wherever it is struck."""
    return [
        Fault(
            _at(form, place),
            f"part {part.name}, which goes to {part.goes_to}, shows it",
            f"no {place.what} on that part, as its must_not_show says",
            f'block it there and say hidden_from = ["{part.name}"], or take the field out',
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
            found = "no number struck on it"
            wanted = "the expected number beside the preprinted one, so that a skipped form shows"
            faults.append(Fault(_at(form, f"part {part.name}"), found, wanted, 'add a [[field]] what = "number"'))
    widths = sorted({field.width for field in form.fields if field.what == "number"})
    if len(widths) > 1:
        found = "numbers " + " and ".join(map(str, widths)) + " wide"
        faults.append(Fault(_at(form, "number"), found, "one width, so that what fits one place fits all"))
    return faults


def a_cheque_is_whole(form: Form) -> list[Fault]:
    """A form with the role of cheque has a cheque, and on it payee, date, both amounts, number and signature."""
    if Role.CHEQUE not in form.roles:
        return []
    if not form.cheque:
        do = 'add [cheque] top = "…" height = "…"'
        return [Fault(_at(form, "cheque"), "nothing", "where on the paper the cheque is", do)]
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
            do = f'add a [[field]] what = "{what}"'
            faults.append(Fault(_at(form, "cheque"), f"no {what} on the cheque", f"one {what} at least", do))
    # written several times, the smallest counts (Code monétaire et financier L131-10; Scheckgesetz art. 9)
    faults += [
        Fault(_at(form, "cheque"), f"{what} more than once", "each amount once")
        for what in ("amount_words", "amount_figures")
        if sum(field.what == what for field in form.fields) > 1
    ]
    return faults


def amounts_and_payee_are_closed(form: Form) -> list[Fault]:
    """Amount and payee on a cheque leave no open column: each has its fill."""
    if not form.cheque:
        return []
    return [
        Fault(_at(form, field.name), "no fill", "a mark that closes every open column", 'say fill = "*"')
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
            said = "3 characters"
        elif field.what in OTHER_NUMBERS:
            own = min((f.width for f in form.fields if f.what == "number"), default=1)
            needed = len(field.prefix) + own
            said = "a number as wide as the form's own"
        if needed > field.width:
            beside = " and what stands beside it" if field.prefix or field.suffix else ""
            said = f"{said}{beside}" if said else f"the {needed} characters of {(field.pattern or form.advice)!r}"
            faults.append(
                Fault(_at(form, field.name), f"a width of {field.width}", f"room for {said}", "make it wider")
            )
    for table in form.tables:
        for column in table.columns:
            if column.pattern and len(column.pattern) > column.width:
                where = _at(form, f"{table.name}.{column.what}")
                faults.append(
                    Fault(where, f"a width of {column.width}", f"room for {column.pattern!r}", "make it wider")
                )
    return faults


def overflow_is_told(form: Form) -> list[Fault]:
    """Stub lines that go on elsewhere: the stub says where, and has nothing about another way."""
    allowed = {"continue": {"sheet", *OTHER_NUMBERS}, "listing": {"listed"}}.get(form.overflow, set())
    faults = [
        Fault(
            _at(form, field.name), f"{field.what} on a form whose overflow is {form.overflow!r}", "a form that has it"
        )
        for field in form.fields
        if field.what in {"sheet", "listed", *OTHER_NUMBERS} - allowed
    ]
    if form.overflow != "refuse" and not form.tables:
        faults.append(Fault(_at(form, "overflow"), "no table of stub lines", "a [[table]]", "take overflow out"))
    told = {place.what for place in places(form) if not place.when.roles}
    if form.overflow == "listing" and "listed" not in told:
        found, wanted = "nothing that says so", "a field that says how many lines stand on the listing"
        faults.append(Fault(_at(form, "overflow"), found, wanted, 'add a [[field]] what = "listed"'))
    return faults


def every_line_in_one_table(form: Form) -> list[Fault]:
    """No kind of stub line is listed twice, and a table that shows amounts shows what they are for."""
    faults = []
    for kind in Kind:
        tables = [table.name for table in form.tables if kind in table.shows and not table.when.roles]
        if len(tables) > 1:
            found = f"{kind} lines in {' and '.join(tables)}"
            faults.append(Fault(_at(form, tables[-1]), found, "each kind of line in one table"))
    faults += [
        Fault(_at(form, table.name), "no column of text", "what each line is", 'add a column what = "text"')
        for table in form.tables
        if not any(column.what == "text" and not column.kinds for column in table.columns)
    ]
    return faults


def _paper(form: Form) -> str:
    return f"{write_length(form.paper.width)} by {write_length(form.paper.length)}"


def _reach(area: Area) -> str:
    left, right = write_length(area.left), write_length(area.right)
    return f"from {left} to {right} across, {write_length(area.top)} to {write_length(area.bottom)} down"


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
