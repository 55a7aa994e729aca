"""Write docs/commands.md and man/*.1 from the commands' own help, docs/settings.md, docs/files.md and docs/form-keys.md
from what the readers ask for (`keys.py`); a test fails when they differ.

    python docs/reference.py

`pages()` gives every file by its path, as it must be.
"""

import inspect
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import click

from cheque import __version__
from cheque.cli import COMMANDS, cli

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "docs"))
import keys  # noqa: E402


class Entry(NamedTuple):
    """One command: its words, how it is called, what it does, its options and its commands."""

    path: str
    usage: str
    help: str
    options: list[tuple[str, str]]
    inside: "list[Entry]"


def entry(command: click.Command, name: str, parent: click.Context | None = None) -> Entry:
    """A command and all that is inside it."""
    context = click.Context(command, info_name=name, parent=parent, **command.context_settings)
    inside = []
    if isinstance(command, click.Group):
        for word in command.list_commands(context):
            found = command.get_command(context, word)
            if found is not None and not found.hidden:
                inside.append(entry(found, word, context))
    records = [p.get_help_record(context) for p in command.get_params(context) if isinstance(p, click.Option)]
    return Entry(
        context.command_path,
        " ".join([context.command_path, *command.collect_usage_pieces(context)]),
        inspect.cleandoc(command.help or "").replace("\b\n", ""),
        [record for record in records if record],
        inside,
    )


def pages() -> dict[Path, str]:
    """Every generated file."""
    whole = entry(cli, "cheque")
    found = {ROOT / "docs" / "commands.md": "\n".join(_markdown(whole)) + "\n", **keys.pages()}
    for one in [whole, *whole.inside]:
        found[ROOT / "man" / f"{one.path.replace(' ', '-')}.1"] = "\n".join(_man(one)) + "\n"
    return found


def _markdown(whole: Entry) -> Iterator[str]:
    yield "# The commands"
    yield ""
    yield "Made from the commands' own help by `docs/reference.py`: `cheque COMMAND --help` shows the same."
    for one in _each(whole):
        depth = "#" * min(2 + one.path.count(" "), 4)
        yield from ("", f"{depth} {one.path}", "", "```", one.usage, "```")
        if one.help:
            yield from ("", re.sub(r"^(\s*)#", r"\1\\#", one.help, flags=re.M))
        if one.options:
            yield from ("", "| option | what it says |", "| --- | --- |")
            for names, what in one.options:
                yield f"| `{names}` | {_cell(what)} |"


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|").replace("<", "&lt;")


def _each(one: Entry) -> Iterator[Entry]:
    yield one
    for inner in one.inside:
        yield from _each(inner)


def _man(one: Entry) -> Iterator[str]:
    name = one.path.replace(" ", "-")
    yield f'.TH "{name.upper()}" "1" "" "cheque {__version__}" "Commands"'
    yield from (".SH NAME", f"{_roff(name)} \\- {_roff(_short(one))}")
    yield from (".SH SYNOPSIS", f"\\fB{_roff(one.path)}\\fR{_roff(one.usage.removeprefix(one.path))}")
    yield from (".SH DESCRIPTION", *_paragraphs(one.help))
    yield from _options(one, ".SH OPTIONS")
    if one.inside:
        yield ".SH COMMANDS"
        for inner in one.inside:
            if one.path == "cheque":
                what = COMMANDS[inner.path.split()[1]][1]
                yield from (".TP", f"\\fB{_roff(inner.path.replace(' ', '-'))}\\fR(1)", _roff(what))
                continue
            yield from (f".SS {_roff(inner.usage)}", *_paragraphs(inner.help), *_options(inner, ""))
    yield ".SH EXIT STATUS"
    yield from _EXIT
    if one.path != "cheque":
        yield from (".SH SEE ALSO", "\\fBcheque\\fR(1)")


_EXIT = (
    "0: done, and everything agrees. 1: done, and something does not agree. 2: the command is wrong, or an answer is "
    "missing.",
    "3: the input is refused. 4: the run stopped. 5: the book refused.",
)


def _short(one: Entry) -> str:
    if one.path == "cheque":
        return "from a payment register to numbered cheques, every number accounted for"
    return re.sub(r"\.$", "", COMMANDS[one.path.split()[1]][1])


def _options(one: Entry, heading: str) -> Iterator[str]:
    if one.options and heading:
        yield heading
    for names, what in one.options:
        yield from (".TP", f"\\fB{_roff(names)}\\fR", _roff(" ".join(what.split())))


def _paragraphs(text: str) -> Iterator[str]:
    for number, paragraph in enumerate(re.split(r"\n\s*\n", text)):
        if number:
            yield ".PP"
        yield _roff(" ".join(paragraph.split()))


def _roff(text: str) -> str:
    """Text that means nothing to a formatter of manual pages; a hyphen stays one, so that it can be copied."""
    text = text.replace("\\", "\\e").replace("-", "\\-").replace("`", "\\(ga").replace("'", "\\(aq")
    return f"\\&{text}" if text[:1] == "." else text


def main() -> None:
    """Write them all, and remove a page whose command has gone."""
    wanted = pages()
    for path in (ROOT / "man").glob("*.1"):
        if path not in wanted:
            path.unlink()
    for path, text in wanted.items():
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")


if __name__ == "__main__":
    main()
