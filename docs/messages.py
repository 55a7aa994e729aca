"""Collect every message that a person reads, bring the translations up to date, and compile them.

    python docs/messages.py

writes `tongues/ROOM.pot` (the messages, by the room they stand in), adds new ones to `tongues/LANGUAGE/ROOM.po`
untranslated, takes out those that are gone, and writes `cheque/shipped_tongues/LANGUAGE/LC_MESSAGES/cheque.mo`. A test
fails when they differ from the code. docs/translating.md says how to make a translation.
"""

import ast
import inspect
import io
import re
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple

import click
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from cheque.cli import COMMANDS, cli

ROOT = Path(__file__).resolve().parents[1]
SOURCES = ROOT / "tongues"
COMPILED = ROOT / "cheque" / "shipped_tongues"
#: of a call, which arguments are messages: by place, and by name
CALLS: dict[str, tuple[tuple[int, ...], tuple[str, ...]]] = {
    "tr": ((0,), ()),
    "mark": ((0,), ()),
    "heading": (tuple(range(12)), ()),
    "Column": ((1,), ("title",)),
    "Fact": ((1,), ("label",)),
    "Table": ((1,), ("title", "empty")),
    "Group": ((0,), ("title",)),
    "Total": ((0,), ("label",)),
    "Report": ((1,), ("title",)),
    "Bars": ((0,), ("title",)),
    "Rule": ((1, 2), ("says", "source")),
    "What": ((1,), ("says",)),
}


#: no date in what is compiled: the same sources give the same bytes
_ALWAYS = datetime(2026, 1, 1, tzinfo=UTC)
_PLACE = re.compile(r"\{[^{}]*\}")
#: what stands in a message as it is to be typed: a command, an option, a setting
_TYPED = re.compile(r"`[^`]+`|(?<![\w-])--[a-z][a-z-]*")


class Found(NamedTuple):
    """One message: its room, the file it stands in, its text, and its plural or ""."""

    room: str
    file: str
    text: str
    plural: str = ""


def room_of(path: Path) -> str:
    """The room a file is of; `station` for those that stand where the rooms meet."""
    parts = path.relative_to(ROOT / "cheque").parts
    return parts[0] if len(parts) > 1 else "station"


def messages() -> list[Found]:
    """Every message once, in the room where it is met first."""
    found: dict[str, Found] = {}
    for one in (*_in_code(), *_in_help(), *_of_click()):
        if one.text and (one.text not in found or one.plural):
            found.setdefault(one.text, one)
    return sorted(found.values(), key=lambda one: (one.room, one.file))


def _in_code() -> Iterator[Found]:
    for path in sorted((ROOT / "cheque").rglob("*.py")):
        room, file = room_of(path), str(path.relative_to(ROOT))
        for node in ast.walk(ast.parse(path.read_text())):
            if not isinstance(node, ast.Call):
                continue
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if name == "counted" and len(node.args) > 1:
                for what in _texts(node.args[1]):
                    yield Found(room, file, "{number} " + what, "{number} " + what + "s")
            if name == "counted" and len(node.args) == 1:
                yield Found(room, file, "{number} cheque", "{number} cheques")
            places, names = CALLS.get(name, ((), ()))
            given = [node.args[place] for place in places if place < len(node.args)]
            for argument in (*given, *(word.value for word in node.keywords if word.arg in names)):
                for text in _texts(argument):
                    yield Found(room, file, text)
    yield Found("report", "cheque/report/page.py", "None.")


def _texts(node: ast.expr) -> Iterator[str]:
    """The texts that an argument can be, as far as they stand there."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from (*_texts(node.body), *_texts(node.orelse))


def _in_help() -> Iterator[Found]:
    """What `--help` says, of every command."""
    for what in COMMANDS.values():
        yield Found("help", "cheque/cli/__init__.py", what[1])
    for command, module in _commands(cli, "cheque/cli/__init__.py"):
        if command.help:
            yield Found("help", module, inspect.cleandoc(command.help))
        for param in command.params:
            if isinstance(param, click.Option) and param.help:
                yield Found("help", module, param.help)


def _commands(command: click.Command, module: str) -> Iterator[tuple[click.Command, str]]:
    yield command, module
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            if below is not None:
                inside = f"cheque/cli/{COMMANDS[name][0]}.py" if command is cli else module
                yield from _commands(below, inside)


def _of_click() -> Iterator[Found]:
    """What click itself says of usage: it asks the standard library's gettext, which asks ours."""
    spec = find_spec("click")
    for path in sorted(Path(str(spec and spec.origin)).parent.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("_", "ngettext"):
                texts = [text for argument in node.args for text in _texts(argument)]
                if texts:
                    yield Found("click", "click", texts[0], texts[1] if len(texts) > 1 else "")


def template(room: str, found: list[Found]) -> Catalog:
    """The messages of a room, not translated."""
    made = Catalog(project="cheque", header_comment=f"# What cheque says: {room}.", charset="utf-8")
    for one in found:
        if one.room == room:
            made.add((one.text, one.plural) if one.plural else one.text, locations=[(one.file, None)])  # type: ignore[list-item]
    return made


def sources(language: str) -> dict[str, Catalog]:
    """A language's translations, room by room, as they are on disk."""
    found = {}
    for path in sorted((SOURCES / language).glob("*.po")):
        with path.open("rb") as file:
            found[path.stem] = read_po(file, locale=language)
    return found


def languages() -> list[str]:
    """The languages there are translations for."""
    return sorted(path.name for path in SOURCES.iterdir() if path.is_dir())


def updated(language: str, found: list[Found]) -> dict[str, Catalog]:
    """A language's translations with what is new, and without what is gone. What moved to another room goes there."""
    old = {str(_key(message.id)): message.string for one in sources(language).values() for message in one if message.id}
    rooms = {}
    for room in sorted({one.room for one in found}):
        made = template(room, found)
        made.locale = language  # type: ignore[assignment]
        made.fuzzy = False
        for message in made:
            if message.id:
                message.string = old.get(str(_key(message.id)), message.string)
        rooms[room] = made
    return rooms


def _key(id: object) -> object:
    return id[0] if isinstance(id, (tuple, list)) else id


def written(catalog: Catalog) -> bytes:
    """A catalogue as a .po file, with nothing in it that differs from day to day."""
    out = io.BytesIO()
    write_po(out, catalog, width=100, sort_output=True, include_lineno=False, omit_header=False)
    lines = out.getvalue().decode().split("\n")
    names = ("POT-Creation-Date", "PO-Revision-Date", "Generated-By", "Report-Msgid-Bugs-To", "Last-Translator")
    daily = tuple(f'"{name}:' for name in (*names, "Language-Team"))
    return "\n".join(line for line in lines if not line.startswith(daily)).encode()


def compiled(rooms: dict[str, Catalog], language: str) -> bytes:
    """All rooms in one .mo file."""
    whole = Catalog(
        locale=language, project="cheque", charset="utf-8", fuzzy=False, creation_date=_ALWAYS, revision_date=_ALWAYS
    )
    for room in rooms.values():
        for message in room:
            if message.id:
                whole.add(message.id, message.string)
    out = io.BytesIO()
    write_mo(out, whole)
    return out.getvalue()


def files() -> dict[Path, bytes]:
    """Every generated file, as it must be."""
    found = messages()
    made = {SOURCES / f"{room}.pot": written(template(room, found)) for room in sorted({one.room for one in found})}
    for language in languages():
        rooms = updated(language, found)
        made |= {SOURCES / language / f"{room}.po": written(one) for room, one in rooms.items()}
        made[COMPILED / language / "LC_MESSAGES" / "cheque.mo"] = compiled(rooms, language)
    return made


def faults(rooms: dict[str, Catalog]) -> Iterator[str]:
    """What is wrong with a translation, message by message: not there, or other places, commands, ends or blanks."""
    for room, catalog in rooms.items():
        for message in catalog:
            if not message.id:
                continue
            ids = list(message.id) if isinstance(message.id, (tuple, list)) else [message.id]
            told = list(message.string) if isinstance(message.string, (tuple, list)) else [message.string]
            where = f"{room}: {ids[0]!r}"
            if not all(told):
                yield f"{where}: not translated"
                continue
            for place, text in enumerate(told):
                original = ids[min(place, len(ids) - 1)]
                if sorted(_PLACE.findall(original)) != sorted(_PLACE.findall(text)):
                    yield f"{where}: other places in {text!r}"
                if sorted(_TYPED.findall(original)) != sorted(_TYPED.findall(text)):
                    yield f"{where}: other commands or options in {text!r}"
                if _ends(original) != _ends(text[original[:1] in ":;?!" and text[:1] == " " :]):
                    yield f"{where}: other blanks or line ends around {text!r}"
                if any(not letter.isprintable() and letter not in "\n\t\b" for letter in text):
                    yield f"{where}: a blank or mark that a terminal does not show in {text!r}"


def _ends(text: str) -> tuple[str, str]:
    return text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]


def main() -> None:
    """Write what differs, and say what is wrong with the translations."""
    made = files()
    for path in [*SOURCES.rglob("*.po*"), *COMPILED.rglob("*.mo")]:
        if path not in made:
            path.unlink()
    for path, data in made.items():
        if not path.exists() or path.read_bytes() != data:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
            sys.stdout.write(f"{path.relative_to(ROOT)}\n")
    for language in languages():
        wrong = list(faults(sources(language)))
        sys.stdout.write("".join(f"{language}: {fault}\n" for fault in wrong if not fault.endswith("not translated")))
        left = Counter(fault.partition(":")[0] for fault in wrong if fault.endswith("not translated"))
        sys.stdout.write(f"{language}: {sum(left.values())} not translated {dict(left)}\n")


if __name__ == "__main__":
    main()
