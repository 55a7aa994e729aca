"""`cheque form`: the library of forms; a picture of one; what is wrong with one; one of your own.

Each command is in a file of its own, loaded when it is called.
"""

from importlib import import_module
from pathlib import Path

import click

from cheque import library
from cheque import settings as settings_file
from cheque.cli.desk import answer, answer_json, columns, json_option
from cheque.tongue import mark, tr
from cheque.units import write_length

#: command -> (module, what it does)
COMMANDS = {
    "list": ("form", mark("The forms at hand: those that come with the tool, and your own.")),
    "show": ("form_show", mark("A picture of one: the blank form, its fields, its slack, its parts.")),
    "new": ("form_new", mark("A definition of your own, from a few questions or a ruler.")),
    "try": ("form_try", mark("A shipped form from an empty folder to printed forms, on invented data.")),
    "trace": ("form_trace", mark("A scanned form under the fields, at true scale.")),
    "check": ("form_check", mark("What is wrong with one, and the rules of its country, kept or broken.")),
    "schema": ("form_schema", mark("The JSON Schema of form definitions, for your editor.")),
}


class _Forms(click.Group):
    """A group whose commands are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Commands in the order in which a form is come by."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command of that name, imported now."""
        if name not in COMMANDS:
            return None
        module = import_module(f"cheque.cli.{COMMANDS[name][0]}")
        found: click.Command = getattr(module, f"{name}_form")
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands, without importing them."""
        with formatter.section(tr("Commands")):
            formatter.write_dl([(name, tr(what)) for name, (_, what) in COMMANDS.items()])


@click.command("form", cls=_Forms)
def form_command() -> None:
    """The form library: list, show and check forms; make and trace your own."""


def own_forms() -> Path | None:
    """The firm's own folder of forms, if there are settings and they name one.

    The settings may lack everything else as yet; settings that cannot be read at all are refused, so that a form of
    one's own is never said not to be there when only its folder could not be learnt.
    """
    place = settings_file.any_found(click.get_current_context().find_root().obj["settings"])
    return settings_file.forms_folder(place) if place else None


@click.command("list")
@json_option
def list_form(as_json: bool) -> None:
    """The forms at hand: those that come with the tool, and your own."""
    own = own_forms()
    rows, told = [["form", tr("what it is"), "size", "parts", ""]], []
    for entry in library.entries(own):
        form = library.read(entry.name, own)
        size = f"{write_length(form.paper.width)} x {write_length(form.paper.length)}"
        rows.append([form.name, form.title, size, str(len(form.parts)), "your own" if entry.own else ""])
        told.append({"form": form.name, "title": form.title, "size": size, "parts": len(form.parts), "own": entry.own})
    if as_json:
        answer_json(told)
    else:
        answer(columns(rows))
