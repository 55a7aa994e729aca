"""`cheque form`: the library of forms; a picture of one; what is wrong with one."""

from pathlib import Path

import click

from cheque import library
from cheque import settings as settings_file
from cheque.cli.desk import answer, answer_json, columns, json_option, say
from cheque.errors import InputRefused
from cheque.form.advise import warnings
from cheque.form.check import check as check_form
from cheque.form.feeding import feeding
from cheque.form.slack import max_shift
from cheque.units import write_length


@click.group("form")
def form_command() -> None:
    """The form library: list, show and check forms."""


def own_forms() -> Path | None:
    """The firm's own folder of forms, if there are settings and they name one."""
    try:
        context = click.get_current_context()
        return settings_file.load(settings_file.find(context.find_root().obj["settings"])).forms
    except InputRefused:
        return None


@form_command.command("list")
@json_option
def list_forms(as_json: bool) -> None:
    """The forms at hand: those that come with the tool, and your own."""
    rows, told = [["form", "what it is", "size", "parts", ""]], []
    for entry in library.entries(own_forms()):
        form = library.read(entry.name, own_forms())
        size = f"{write_length(form.paper.width)} x {write_length(form.paper.length)}"
        rows.append([form.name, form.title, size, str(len(form.parts)), "your own" if entry.own else ""])
        told.append({"form": form.name, "title": form.title, "size": size, "parts": len(form.parts), "own": entry.own})
    if as_json:
        answer_json(told)
    else:
        answer(columns(rows))


@form_command.command("check")
@click.argument("form")
@json_option
@click.pass_context
def check(ctx: click.Context, form: str, as_json: bool) -> None:
    """What is wrong with FORM (a name, or a file), how far its print may shift, and who can feed it."""
    found = library.read(form, own_forms())
    faults = check_form(found)
    advice = warnings(found)
    rows = feeding(found)
    shift = max_shift(found)
    if as_json:
        answer_json(
            {
                "form": found.name,
                "faults": [str(fault) for fault in faults],
                "warnings": advice,
                "shift": {side: write_length(getattr(shift, side)) for side in ("left", "right", "up", "down")},
                "feeding": [
                    {"language": row.language, "step": write_length(row.step), "straight": row.straight} for row in rows
                ],
            }
        )
        ctx.exit(1 if faults else 0)
    answer(f"{found.name}: {found.title}")
    answer(
        f"The print may shift {write_length(shift.left)} left, {write_length(shift.right)} right, "
        f"{write_length(shift.up)} up, {write_length(shift.down)} down."
    )
    answer()
    answer(f"Fed {write_length(found.paper.length)} a form:")
    table = [["language", "step", "length is", "rounded, half a line out after", "can print it"]]
    table += [
        [
            row.language,
            write_length(row.step),
            "exact" if row.exact else f"{write_length(row.error)} off",
            "never" if row.last_good is None else f"{row.last_good + 1} forms",
            "yes" if row.straight else "no",
        ]
        for row in rows
    ]
    answer(columns(table))
    for text in advice:
        say(f"  warning: {text}.")
    for fault in faults:
        answer(f"  fault: {fault}")
    if faults:
        say(f"{found.name} has {len(faults)} fault{'s' if len(faults) > 1 else ''} and cannot be put to use.")
        ctx.exit(1)
    say(f"{found.name} can be put to use.")
