"""TOML with line numbers, held to a declared shape, all faults reported together.

`Document` parses; a `Checker` takes keys out of one table, notes a Fault with the key's path and line for
each that is missing, of the wrong type or impossible, and `finish` notes every key that nobody asked for.
Settings, form definitions and column maps are all read this way.
"""

import difflib
import re
import tomllib
from collections.abc import Callable
from typing import Any

from cheque.errors import Fault, InputRefused
from cheque.shown import escaped, shown
from cheque.tongue import mark, tr

_NAME = r"(?:[A-Za-z0-9_-]+|\"[^\"]*\"|'[^']*')"
_PATH = rf"{_NAME}(?:\s*\.\s*{_NAME})*"
_HEADER = re.compile(rf"\s*(?P<open>\[\[?)\s*(?P<path>{_PATH})\s*\]\]?\s*(?:#.*)?")
_KEY = re.compile(rf"\s*(?P<path>{_PATH})\s*=")
_KINDS: dict[type, str] = {
    str: mark("text in quotes"),
    int: mark("a whole number"),
    bool: mark("true or false"),
    list: mark("a list"),
    dict: mark("a table"),
}
#: keys whose values no message shows, however they were written
_NEVER_SHOWN = ("account_number", "routing", "statement_account")
_LONG = 64  # bits of a number that is shown


def told(value: Any, key: str = "") -> str:
    """A value as a message may tell it: a list or table, and what stands at a key that is never shown, by its kind.

    >>> told("yes"), told(4), told([{"account_number": "000417293355"}])
    ("'yes'", '4', 'a list of 1')
    >>> told(417293355, "account_number")
    'a whole number'
    """
    if isinstance(value, list):
        return tr("a list of {count}", count=len(value))
    if isinstance(value, dict):
        return tr("a table")
    if key in _NEVER_SHOWN or (isinstance(value, int) and value.bit_length() > _LONG):
        kinds = {str: tr("text"), bool: tr("true or false"), int: tr("a whole number")}
        return kinds.get(type(value), tr("neither text nor a whole number"))
    return shown(value) if isinstance(value, str) else repr(value)


def _kind(value: Any) -> str:
    """The kind of what stands where a table should: its value may be meant for any of the table's keys."""
    return told(value, _NEVER_SHOWN[0])


class Document:
    """A parsed TOML text, and the line on which each key stands ("printers.payroom.step", "field.3.line")."""

    def __init__(self, text: str, source: str) -> None:
        self.source = source
        try:
            self.data: dict[str, Any] = tomllib.loads(text)
        except (ValueError, RecursionError) as error:  # a number of thousands of digits is no TOMLDecodeError
            found = tr("tables or lists too deep in each other") if isinstance(error, RecursionError) else str(error)
            fault = Fault(source, escaped(found), tr("well-formed TOML"), tr("correct that place"))
            raise InputRefused(tr("{source} is not TOML.", source=source), [fault]) from None
        self._lines = _key_lines(text)

    def where(self, path: str) -> str:
        """File, line and path for a message; the nearest enclosing key's line when the key has none."""
        probe = path
        while probe:
            if probe in self._lines:
                return tr(
                    "{source} line {line}, {path}", source=self.source, line=self._lines[probe], path=escaped(path)
                )
            probe = probe.rpartition(".")[0]
        return f"{self.source}, {escaped(path)}"


class Checker:
    """Takes values out of one table of a document; faults gather in the list given."""

    def __init__(self, document: Document, table: dict[str, Any], path: str, faults: list[Fault]) -> None:
        self.document, self.table, self.path, self.faults = document, table, path, faults
        self._asked: set[str] = set()

    def at(self, key: str) -> str:
        """The full path of a key of this table."""
        return f"{self.path}.{key}" if self.path else key

    def fault(self, key: str, found: str, wanted: str, do: str = "") -> None:
        """Note a fault at a key; what is not printable in its texts is written as an escape."""
        self.faults.append(Fault(self.document.where(self.at(key)), *map(escaped, (found, wanted, do))))

    def take(
        self,
        key: str,
        kind: type,
        default: Any = None,
        *,
        required: bool = False,
        wanted: str = "",
        choices: tuple[Any, ...] = (),
        convert: Callable[[Any], Any] | None = None,
    ) -> Any:
        """The key's value, or the default.

        Notes a fault, and gives the default, when the key is required and missing, is not of the kind, is
        not among the choices, or when `convert` raises ValueError (its text is then what was found).
        """
        self._asked.add(key)
        if key not in self.table:
            if required:
                self.fault(key, tr("nothing"), wanted or tr(_KINDS[kind]), tr("add {key} = …", key=key))
            return default
        value = self.table[key]
        if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
            self.fault(key, _kind(value) if kind is dict else told(value, key), wanted or tr(_KINDS[kind]))
            return default
        if choices and value not in choices:
            near = difflib.get_close_matches(str(value), [str(c) for c in choices], 1)
            self.fault(
                key,
                told(value, key),
                wanted or tr("one of ") + ", ".join(str(c) for c in choices),
                tr("did you mean {near!r}?", near=near[0]) if near else "",
            )
            return default
        if convert is None:
            return value
        try:
            return convert(value)
        except ValueError as error:
            self.fault(key, str(error) or told(value, key), wanted or tr(_KINDS[kind]))
            return default

    def table_at(self, key: str) -> "Checker":
        """The table under a key (an empty one when it is missing or no table, which is a fault)."""
        return Checker(self.document, self.take(key, dict, {}), self.at(key), self.faults)

    def tables_at(self, key: str) -> list["Checker"]:
        """The array of tables under a key: paths are counted from 0."""
        found = []
        for index, table in enumerate(self.take(key, list, [])):
            if isinstance(table, dict):
                found.append(Checker(self.document, table, self.at(f"{key}.{index}"), self.faults))
            else:
                self.fault(f"{key}.{index}", _kind(table), tr("a table"))
        return found

    def named_tables(self) -> list[tuple[str, "Checker"]]:
        """Every sub-table of this table by its own name (accounts, printers)."""
        found = []
        for name, table in self.table.items():
            self._asked.add(name)
            if isinstance(table, dict):
                found.append((name, Checker(self.document, table, self.at(name), self.faults)))
            else:
                self.fault(name, _kind(table), tr("a table"), tr("write [{path}]", path=self.at(name)))
        return found

    def finish(self) -> None:
        """Note every key that was never asked for."""
        for key in self.table:
            if key not in self._asked:
                near = difflib.get_close_matches(key, sorted(self._asked), 1)
                self.fault(
                    key,
                    tr("an unknown key"),
                    tr("a key of the documents"),
                    tr("did you mean {near!r}?", near=near[0]) if near else tr("take it out"),
                )


def _key_lines(text: str) -> dict[str, int]:
    """Key paths to line numbers (from 1), by reading headers and keys; values are left to the parser."""
    lines: dict[str, int] = {}
    counts: dict[str, int] = {}
    prefix, closing = "", ""
    for number, line in enumerate(text.splitlines(), 1):
        if closing:  # inside a multi-line string
            closing = "" if closing in line else closing
            continue
        if header := _HEADER.fullmatch(line):
            prefix = _indexed(_plain(header["path"]), counts, array=header["open"] == "[[")
            lines.setdefault(prefix, number)
        elif key := _KEY.match(line):
            path = _plain(key["path"])
            lines.setdefault(f"{prefix}.{path}" if prefix else path, number)
        for quotes in ('"""', "'''"):
            if line.count(quotes) % 2:
                closing = quotes
    return lines


def _plain(path: str) -> str:
    return ".".join(part.strip().strip("\"'") for part in re.findall(_NAME, path))


def _indexed(path: str, counts: dict[str, int], *, array: bool) -> str:
    """Put the index of the current element after every array of tables in a header's path."""
    done = ""
    parts = path.split(".")
    for position, part in enumerate(parts):
        done = f"{done}.{part}" if done else part
        if array and position == len(parts) - 1:
            counts[done] = counts.get(done, -1) + 1
        if done in counts:
            done = f"{done}.{counts[done]}"
    return done
