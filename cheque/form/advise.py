"""What a person should know about a form that is right: not faults, but what will be felt at the printer."""

from cheque.form.feeding import feeding
from cheque.form.model import Form
from cheque.form.places import places
from cheque.form.slack import slack
from cheque.page import Weight
from cheque.tongue import counted, mark, tr
from cheque.units import INCH, write_about, write_length

#: original and three copies is what printers are usually rated for (common practice)
USUAL_PARTS = 4
#: the line of the narrow carriage: 80 characters at 10 to the inch
NARROW_CARRIAGE = 8 * INCH
#: the sides, as a slack names them
_SIDES = (mark("left"), mark("right"), mark("up"), mark("down"))
_NAMED = 5


def warnings(form: Form) -> list[str]:
    """A sentence or two for each thing worth knowing; empty when there is none."""
    return [*_slack(form), *_feed(form), *_parts(form), *_width(form), *_number(form)]


def _slack(form: Form) -> list[str]:
    half_column, half_line = form.grid.pitch // 2, form.grid.spacing // 2
    told = []
    unframed = [place.name for place in places(form) if place.box is None]
    if unframed:
        told.append(
            tr(
                "{names}: no box is named, so there is no slack, and the print may not shift at all",
                names=_list(unframed),
            )
        )
    tight = [
        (one.name, side, getattr(one, side))
        for one in slack(form)
        for side, least in (("left", half_column), ("right", half_column), ("up", half_line), ("down", half_line))
        if one.name not in unframed and getattr(one, side) < least
    ]
    tight.sort(key=lambda found: found[2])
    told += [
        tr(
            mark(
                "{name}: the print may shift only {distance} {side} before it touches something "
                "(half a column is usual)"
            )
            if side in {"left", "right"}
            else mark(
                "{name}: the print may shift only {distance} {side} before it touches something (half a line is usual)"
            ),
            name=name,
            distance=write_about(by),
            side=tr(side),
        )
        for name, side, by in tight[:_NAMED]
    ]
    if len(tight) > _NAMED:
        more = len(tight) - _NAMED
        told.append(
            tr("1 more place has less slack than half a line or half a column")
            if more == 1
            else tr("{count} more places have less slack than half a line or half a column", count=more)
        )
    return told


def _feed(form: Form) -> list[str]:
    told = []
    for row in feeding(form):
        step = tr("{language} in steps of {write_length}", language=row.language, write_length=write_length(row.step))
        if not row.on_lines:
            told.append(
                tr(
                    "not to be printed by {step}: lines {write_length} apart are no whole steps",
                    step=step,
                    write_length=write_length(form.grid.spacing),
                )
            )
        elif not row.straight:
            forms = counted(row.last_good or 0, "form")
            told.append(
                tr(
                    "not to be printed by {step}: {write_length} is no whole number of lines, and after {forms} "
                    "the print would be half a line out",
                    step=step,
                    write_length=write_length(form.paper.length),
                    forms=forms,
                )
            )
    return told


def _parts(form: Form) -> list[str]:
    told = []
    if len(form.parts) > USUAL_PARTS:
        told.append(tr("{count} parts: many printers are rated for original and three", count=len(form.parts)))
    struck_twice = form.look.weight & Weight.DOUBLE
    if len(form.parts) >= USUAL_PARTS and not struck_twice:
        told.append(tr('the last of so many parts may be faint: weight = "double" strikes each line twice'))
    if struck_twice and form.look.quality == "letter":
        told.append(
            tr("on 9-pin printers letter quality overrides double strike: draft shows better on the later parts")
        )
    return told


def _width(form: Form) -> list[str]:
    reach = max((place.area.right for place in places(form)), default=0) - form.grid.left
    if reach <= NARROW_CARRIAGE:
        return []
    return [
        tr(
            "the print is {write_length} wide: a printer of 80 columns (8 in) does not reach its right end",
            write_length=write_length(reach),
        )
    ]


def _number(form: Form) -> list[str]:
    if any(caption.what == "number" for caption in form.preprint.captions):
        return []
    return [tr("the definition does not say where the stock's own number is preprinted, so no picture can show it")]


def _list(names: list[str]) -> str:
    shown = ", ".join(names[:_NAMED])
    return shown if len(names) <= _NAMED else tr("{shown} and {count} more", shown=shown, count=len(names) - _NAMED)
