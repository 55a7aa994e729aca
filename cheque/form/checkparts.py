"""What is wrong with what each part of a set shows: of what must be hidden, of what must be seen, and of the number.

One small function for each thing that must hold; `cheque.form.check` lists them.
"""

from cheque.errors import Fault
from cheque.form.checktold import at, reach
from cheque.form.geometry import left_over
from cheque.form.model import Form
from cheque.form.places import places
from cheque.tongue import tr


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
                        reach=reach(shown[0]),
                    )
                    faults.append(
                        Fault(
                            at(form, place),
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
                faults.append(Fault(at(form, place), found, tr("every part that is to show it shows all of it"), do))
    return faults


def promises_are_kept(form: Form) -> list[Fault]:
    """What a part promises never to show, by its must_not_show, is hidden from it wherever it is struck."""
    return [
        Fault(
            at(form, place),
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
                Fault(at(form, tr("part {name}", name=part.name)), found, wanted, tr('add a [[field]] what = "number"'))
            )
    widths = sorted({field.width for field in form.fields if field.what == "number"})
    if len(widths) > 1:
        found = tr("numbers {widths} wide", widths=tr(" and ").join(map(str, widths)))
        faults.append(Fault(at(form, "number"), found, tr("one width, so that what fits one place fits all")))
    return faults
