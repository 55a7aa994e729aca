"""The reference of every key of every file that users write: docs/settings.md, docs/files.md, docs/form-keys.md.

`pages()` gives each by its path; `docs/reference.py` writes them. Keys, kinds, choices and defaults are what the
readers themselves ask for, heard while they read; settings are told as `cheque setup` tells them; the form definition
is its JSON Schema. What else a key means stands in `docs/keys_told.py`.
"""

import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple
from unittest.mock import patch

from cheque import settings
from cheque.bank import layoutfile, layoutmodel, statementmap
from cheque.errors import InputRefused
from cheque.form.schema import schema
from cheque.register import maps
from cheque.register.dates import DatePattern
from cheque.settings_template import template
from cheque.tomlfile import Checker
from cheque.units import INCH

DOCS = Path(__file__).resolve().parent
sys.path.insert(0, str(DOCS))
import keys_told  # noqa: E402

Told = dict[str, dict[str, str]]


class Key(NamedTuple):
    """One key as its reader asks for it; `of`: of which kinds of file."""

    kind: Any
    default: object
    required: bool
    wanted: str
    choices: tuple[object, ...]
    of: list[str]


Tables = dict[str, dict[str, Key]]


@contextmanager
def heard(found: Tables, of: str) -> Iterator[None]:
    """While this holds, every key that any reader of TOML asks for is noted."""
    take = Checker.take

    def listen(self: Checker, key: str, kind: Any, default: Any = None, **how: Any) -> Any:
        path = re.sub(r"\.?\b\d+\b", "", self.path).lstrip(".")
        one = Key(kind, default, how.get("required", False), how.get("wanted", ""), how.get("choices", ()), [])
        known = found.setdefault(path, {}).setdefault(key, one)
        if of not in known.of:
            known.of.append(of)
        return take(self, key, kind, default, **how)

    with patch.object(Checker, "take", listen):
        yield


_SETTINGS = 'book.place = "{}"\n[accounts.NAME]\nlocale = "en_US"\n[printers.NAME]\naddress = "socket://x:1"\n'
_MAPS = {
    "csv": "",
    "xlsx": "",
    "fixed-width": "\n".join(
        f'[[record]]\nwhat = "{what}"\nwhen = [{{ at = 1 }}]\nfields.payee.at = 1\n' for what in ("payment", "trailer")
    ),
    "pain.001": "",
}
_RECORDS = '[[record]]\nwhat = "cheque"\n[[record.field]]\nvalue = "payee"\n'


def _read(found: Tables, of: str, read: Callable[[], object]) -> Tables:
    with heard(found, of), suppress(InputRefused):
        read()
    return found


def settings_keys() -> Tables:
    """Every key of `cheque.toml`."""
    found: Tables = {}
    for place in ("book", "postgresql:///x"):
        _read(found, "", lambda place=place: settings.parse(_SETTINGS.format(place), Path("cheque.toml")))  # type: ignore[misc]
    return found


def register_keys() -> Tables:
    """Every key of a map of a register."""
    found: Tables = {}
    for kind, more in _MAPS.items():
        text = f'kind = "{kind}"\ndate = "YYYY-MM-DD"\n{more}'
        _read(found, kind, lambda text=text: maps.load(text, "map.toml"))  # type: ignore[misc]
    return found


def notice_keys() -> Tables:
    """Every key of a layout of notices."""
    found: Tables = {}
    for kind in layoutmodel.KINDS:
        text = f'kind = "{kind}"\n[replace]\n"ø" = "o"\n{_RECORDS}'
        _read(found, kind, lambda text=text: layoutfile.parse_layout(text, "layout.toml"))  # type: ignore[misc]
    return found


def statement_keys() -> Tables:
    """Every key of a map of a statement."""
    return _read({}, "", lambda: statementmap.load("", "map.toml"))


def written_beside() -> Told:
    """What `cheque setup` writes beside the keys of the settings."""
    text = template(drawer="", address=(), bank="", routing="", number="", currency="USD", locale="en_US")
    told: Told = {}
    table, last = "", ("", "")
    for line in text.splitlines():
        if header := re.fullmatch(r"\[([^\]]+)\]", line):
            table = re.sub(r"^(accounts|printers)\..*", r"\1.NAME", header[1])
        elif found := re.fullmatch(r"(?:# )?([a-z_.]+) = .*?\s# (.*)", line):
            inner, _, key = found[1].rpartition(".")
            last = (f"{table}.{inner}" if inner else table, key)
            told.setdefault(last[0], {})[key] = found[2]
        elif (more := re.fullmatch(r"\s{20,}# (.*)", line)) and last[1]:
            told[last[0]][last[1]] += f" {more[1]}"
    for (inside, key), before in keys_told.BEFORE.items():
        told[inside][key] = f"{before}{told[inside][key]}"
    return {
        table: {key: re.sub(r"docs/([a-z-]+\.md)", _link, what) for key, what in keys.items()}
        for table, keys in told.items()
    }


def _link(found: re.Match[str]) -> str:
    title = re.search(r"^# ([^:\n]+)", (DOCS / found[1]).read_text("utf-8"), re.M)
    return f"[{title[1] if title else found[1]}]({found[1]})"


def _together(beside: Told, more: Told) -> Told:
    twice = [f"{table}.{key}" for table, keys in more.items() for key in keys if key in beside.get(table, {})]
    assert not twice, f"told in keys_told.py and beside the key itself: {twice}"
    return {table: {**beside.get(table, {}), **more.get(table, {})} for table in {**beside, **more}}


def pages() -> dict[Path, str]:
    """Every page, by its path."""
    made = {"settings": _settings(), "files": _files(), "form-keys": _form()}
    return {DOCS / f"{name}.md": "\n".join(lines) + "\n" for name, lines in made.items()}


def _settings() -> Iterator[str]:
    yield from ("# Settings: `cheque.toml`", "")
    yield ("`cheque setup` writes it once, commented; the tool never rewrites it. It is looked for in the working"
           " folder, or where `--settings` says, or as `cheque/cheque.toml` in the user's own folder of settings."
           " Relative paths are from its own folder. No secret is kept in it, and every fault is told with its line."
           " Made from the reader and from what `cheque setup` writes.")  # fmt: skip
    headings = {
        "": "At the top", "book": "`[book]`", "accounts.NAME": "`[accounts.NAME]`",
        "accounts.NAME.notice": "`notice.` of an account", "accounts.NAME.stop": "`stop.` of an account",
        "duties": "`[duties]`", "printers.NAME": "`[printers.NAME]`",
    }  # fmt: skip
    told = _together(written_beside(), keys_told.SETTINGS)
    yield from _tables(settings_keys(), told, headings, "settings")


def _files() -> Iterator[str]:
    yield from ("# The other files you write: every key", "")
    yield ("Each is TOML, held to its shape: an unknown key, a wrong kind or an impossible value is told with its line,"
           " all of them together. Made from the readers themselves. [The settings](settings.md) and"
           " [form definitions](form-keys.md) have pages of their own.")  # fmt: skip
    yield from ("", "## A map of a register", "", "What it is for, and examples: [registers](registers.md).")
    told = keys_told.REGISTER
    fields = "`fields`: one for each column, under its [name](registers.md#the-columns)"
    headings = {"": "At the top", "record": "`[[record]]`", "record.when": "`when`", "record.fields.payee": fields}
    yield from _tables(register_keys(), told, headings, "register maps", "#", tuple(_MAPS))
    yield from ("", "`[columns]` names a file's columns, `[always]` and `[record.always]` say what it lacks: each key"
                " is the name of [a column](registers.md#the-columns). For pain.001, `[[remittance]]` is a `[[record]]`"
                " that only has `when`, `fields` and `always`.")  # fmt: skip
    yield from ("", "## A layout of notices", "", "What it is for, and examples: [telling the bank](notices.md).")
    headings = {"": "At the top", "marks": "`[marks]`", "reasons": "`[reasons]`", "replace": "`[replace]`",
                "record": "`[[record]]`", "record.field": "`[[record.field]]`"}  # fmt: skip
    yield from _tables(notice_keys(), keys_told.NOTICE, headings, "layouts", "#", layoutmodel.KINDS)
    yield from ("", "## A map of a statement", "")
    yield "What it is for, and an example: [the bank's statement](bank-statements.md)."
    headings = {"": "At the top", "columns": "`[columns]`: ours = the bank's title"}
    yield from _tables(statement_keys(), keys_told.STATEMENT, headings, "statement maps", "#")


def _tables(
    found: Tables, told: Told, headings: dict[str, str], what: str, deeper: str = "", kinds: tuple[str, ...] = ()
) -> Iterator[str]:
    plain = {
        table: {key: one for key, one in keys.items() if not _is_table(found, table, key, one)}
        for table, keys in found.items() if not table.startswith("remittance")
    }  # fmt: skip
    asked = {(table, key) for table, keys in plain.items() for key in keys}
    known = {(table, key) for table, keys in told.items() for key in keys}
    wrong = f"{what}, docs/keys_told.py: not told {asked - known}; told, and not asked for {known - asked}"
    assert asked == known, wrong
    for table, heading in headings.items():
        yield from ("", f"##{deeper} {heading}", "")
        yield from ("| key | is | unless given | what it says |", "| --- | --- | --- | --- |")
        for key, one in plain[table].items():
            only = f"{', '.join(one.of)}: " if kinds and len(one.of) < len(_possible(plain[table], kinds)) else ""
            yield f"| `{key}` | {_kind(one)} | {_default(one)} | {_cell(only + told[table][key])} |"


def _possible(keys: dict[str, Key], kinds: tuple[str, ...]) -> list[str]:
    return [kind for kind in kinds if any(kind in one.of for one in keys.values())]


def _is_table(found: Tables, table: str, key: str, one: Key) -> bool:
    inner = f"{table}.{key}" if table else key
    return one.kind is dict or inner in found or (one.kind is list and key in ("when", "record", "remittance", "field"))


_KINDS = {str: "text", int: "a whole number", bool: "`true` or `false`", list: "a list"}


def _kind(one: Key) -> str:
    if one.choices:
        texts = [str(choice) for choice in one.choices]
        return ", ".join(f"`{_cell(text)}`" if text.strip() else f'`"{text}"`' for text in texts)
    if isinstance(one.kind, tuple):
        return " or ".join(_KINDS[kind] for kind in one.kind)
    if one.wanted.startswith(_KINDS[one.kind]):
        return _cell(one.wanted)
    same = one.wanted in ("", "true or false")
    return _KINDS[one.kind] + ("" if same or one.kind is str else f": {_cell(one.wanted)}")


def _default(one: Key) -> str:
    value = one.default
    if one.required:
        return "*needed*"
    if isinstance(value, DatePattern):
        value = value.text
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, int) and value:  # of a text it is a length, in units
        return f"`{value}`" if one.kind is int else f'`"{_inches(value)}"`'
    if not isinstance(value, str) or not value:
        return ""
    return f"`'{value}'`" if '"' in value else f'`"{_cell(value)}"`'


def _inches(length: int) -> str:
    inches = Fraction(length, INCH)
    return f"{inches if inches < 1 else str(float(inches))} in"


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|").replace("<", "&lt;")


def _form() -> Iterator[str]:
    whole = schema()
    defined = whole["definitions"]
    yield from ("# Form definitions: every key", "")
    yield ("Made from the JSON Schema (`cheque form schema`, `docs/form.schema.json`), with which an editor completes"
           " and checks a definition. [Forms](forms.md) says what the keys are for, with a whole example.")  # fmt: skip
    yield from ("", "## At the top", "", *_properties(whole, defined))
    for name in ("paper", "grid", "look", "cheque"):
        yield from ("", f"## `[{name}]`", "", f"{_first(whole['properties'][name]['description'])}.", "")
        yield from _properties(whole["properties"][name], defined)
    for name in ("part", "field", "table", "constant"):
        yield from ("", f"## `[[{name}]]`", "", f"{_first(defined[name]['description'])}.", "")
        yield from _properties(defined[name], defined)
        if name == "table":
            yield from ("", "### `[[table.column]]`", "", f"{_first(defined['column']['description'])}.", "")
            yield from _properties(defined["column"], defined)
    for name, one in defined["preprint"]["properties"].items():
        yield from ("", f"## `[[preprint.{name}]]`", "", f"{_first(one['items']['description'])}.", "")
        yield from _properties(one["items"], defined)
    yield from ("", "## `when`", "", f"{_first(defined['when']['description'])}.", "")
    yield from _properties(defined["when"], defined)
    yield from ("", "## An area", "", *_properties(defined["area"], defined))


def _first(text: str) -> str:
    return text[:1].upper() + text[1:].rstrip(".")


def _properties(node: dict[str, Any], defined: dict[str, Any]) -> Iterator[str]:
    yield from ("| key | is | what it says |", "| --- | --- | --- |")
    needed = node.get("required", [])
    for key, one in node["properties"].items():
        kind, says = _described(one, defined)
        says = says or keys_told.FORM[key]
        yield f"| `{key}`{' *needed*' if key in needed else ''} | {kind} | {_cell(says)} |"


def _described(node: dict[str, Any], defined: dict[str, Any]) -> tuple[str, str]:
    """What kind of thing a key is, and what it says."""
    if "$ref" in node:
        name = node["$ref"].rpartition("/")[2]
        kind, says = _described(defined[name], defined)
        return {"area": "[an area](#an-area)", "when": "[conditions](#when)"}.get(name, kind), says
    says = node.get("description", "")
    if "allOf" in node and "properties" not in node:
        return _described(node["allOf"][0], defined)
    if "enum" in node:
        return ", ".join(f"`{_cell(str(one))}`" for one in node["enum"]), says
    if "oneOf" in node and all("const" in one for one in node["oneOf"]):
        return ", ".join(f"`{one['const']}`" for one in node["oneOf"]), says
    if "oneOf" in node:
        return " or ".join(_described(one, defined)[0] for one in node["oneOf"]), says
    if node.get("type") == "array":
        kind, inner = _described(node["items"], defined)
        return ("tables" if kind == "a table" else f"a list: {kind}"), says or inner
    if node.get("type") == "integer":
        return f"a whole number, {node['minimum']} to {node['maximum']}", says
    return {"string": "text", "boolean": "`true` or `false`", "object": "a table"}[node["type"]], says
