"""What is wrong with a form as paper: one small function for each thing that must hold, listed in CHECKS.

Each is given the form and returns its faults, none when it holds; `check` gathers those of all. To add a rule
of paper, write one function and add it to the list. Rules of a country (sizes, where the figures stand) are
not here: these hold for any form. Where things are struck is in `checkplaces`, what each part shows in `checkparts`;
here is what a form must have, and have room for.
"""

from collections.abc import Callable

from cheque.errors import Fault
from cheque.form.advise import warnings
from cheque.form.checkparts import (
    hidden_is_hidden,
    promises_are_kept,
    shown_is_shown,
    the_number_on_every_part,
)
from cheque.form.checkplaces import (
    all_on_the_paper,
    clear_band_is_kept,
    frames_hold_their_fields,
    nothing_over_a_perforation,
    nothing_over_another,
    nothing_over_preprint,
    sizes,
)
from cheque.form.checktold import at
from cheque.form.model import OTHER_NUMBERS, Form
from cheque.form.places import places
from cheque.form.what import CLOSED
from cheque.payment import Kind, Role
from cheque.tongue import tr

__all__ = ["CHECKS", "check", "warnings"]


def check(form: Form) -> list[Fault]:
    """Everything wrong with the form; empty when it can be put to use."""
    return [fault for one in CHECKS for fault in one(form)]


def a_cheque_is_whole(form: Form) -> list[Fault]:
    """A form with the role of cheque has a cheque, and on it payee, date, both amounts, number and signature."""
    if Role.CHEQUE not in form.roles:
        return []
    if not form.cheque:
        do = tr('add [cheque] top = "…" height = "…"')
        return [Fault(at(form, "cheque"), tr("nothing"), tr("where on the paper the cheque is"), do)]
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
                    at(form, "cheque"),
                    tr("no {what} on the cheque", what=what),
                    tr("one {what} at least", what=what),
                    do,
                )
            )
    # written several times, the smallest counts (Code monétaire et financier L131-10; Scheckgesetz art. 9)
    faults += [
        Fault(at(form, "cheque"), tr("{what} more than once", what=what), tr("each amount once"))
        for what in ("amount_words", "amount_figures")
        if sum(field.what == what for field in form.fields) > 1
    ]
    return faults


def amounts_and_payee_are_closed(form: Form) -> list[Fault]:
    """Amount and payee on a cheque leave no open column: each has its fill."""
    if not form.cheque:
        return []
    return [
        Fault(at(form, field.name), tr("no fill"), tr("a mark that closes every open column"), tr('say fill = "*"'))
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
                    at(form, field.name),
                    tr("a width of {width}", width=field.width),
                    tr("room for {said}", said=said),
                    tr("make it wider"),
                )
            )
    for table in form.tables:
        for column in table.columns:
            if column.pattern and len(column.pattern) > column.width:
                where = at(form, f"{table.name}.{column.what}")
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
            at(form, field.name),
            tr("{what} on a form whose overflow is {overflow!r}", what=field.what, overflow=form.overflow),
            tr("a form that has it"),
        )
        for field in form.fields
        if field.what in {"sheet", "listed", *OTHER_NUMBERS} - allowed
    ]
    if form.overflow != "refuse" and not form.tables:
        faults.append(
            Fault(at(form, "overflow"), tr("no table of stub lines"), tr("a [[table]]"), tr("take overflow out"))
        )
    told = {place.what for place in places(form) if not place.when.roles}
    if form.overflow == "listing" and "listed" not in told:
        found, wanted = tr("nothing that says so"), tr("a field that says how many lines stand on the listing")
        faults.append(Fault(at(form, "overflow"), found, wanted, tr('add a [[field]] what = "listed"')))
    return faults


def every_line_in_one_table(form: Form) -> list[Fault]:
    """No kind of stub line is listed twice, and a table that shows amounts shows what they are for."""
    faults = []
    for kind in Kind:
        tables = [table.name for table in form.tables if kind in table.shows and not table.when.roles]
        if len(tables) > 1:
            found = tr("{kind} lines in {tables}", kind=kind, tables=tr(" and ").join(tables))
            faults.append(Fault(at(form, tables[-1]), found, tr("each kind of line in one table")))
    faults += [
        Fault(at(form, table.name), tr("no column of text"), tr("what each line is"), tr('add a column what = "text"'))
        for table in form.tables
        if not any(column.what == "text" and not column.kinds for column in table.columns)
    ]
    return faults


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
