"""The tables of a book in PostgreSQL's words, made from the one description in `cheque.book.schema`.

The description is written in SQLite's words, of which only few are used:

    CREATE TABLE name (…) STRICT[, WITHOUT ROWID]      whole numbers, text and bytes; nothing is NULL
    CREATE [UNIQUE] INDEX name ON table (…) [WHERE …]
    CREATE TRIGGER name BEFORE INSERT|UPDATE [OF …]|DELETE ON table [WHEN …] BEGIN SELECT RAISE(ABORT, '…'); END

A table's columns get PostgreSQL's types: every whole number is a `bigint`, every text compares byte by byte
(`COLLATE "C"`), as it does in SQLite. A guard becomes a function and a trigger; what it raises has the class of a
broken law. A statement of any other form is a ValueError: then the description says something that this does not
know how to say.
"""

import re
from collections.abc import Iterable
from functools import lru_cache

#: the SQLSTATE of a broken law: check_violation
BROKEN = "23514"

_TABLE = re.compile(r"CREATE TABLE (?P<name>\w+) (?P<columns>\(.*\)) STRICT(, WITHOUT ROWID)?", re.DOTALL)
_INDEX = re.compile(r"CREATE (UNIQUE )?INDEX \w+ ON (?P<table>\w+) \(.*", re.DOTALL)
_TRIGGER = re.compile(
    r"CREATE TRIGGER (?P<name>\w+) BEFORE (?P<verb>INSERT|UPDATE(?: OF\s+[\w, \n]+?)?|DELETE) ON (?P<table>\w+)"
    r"(?:\s+WHEN (?P<when>.*?))?\s+BEGIN SELECT RAISE\(ABORT, (?P<told>'[^']*')\); END",
    re.DOTALL,
)
_TYPES = {"INTEGER": "BIGINT", "TEXT": 'TEXT COLLATE "C"', "BLOB": "BYTEA"}
_PIECES = re.compile(r"('(?:[^']|'')*')|(\?(?=\w))|(\?)|(%)")


@lru_cache(maxsize=1024)
def places(sql: str) -> str:
    """A statement with `?` for each place as the driver wants it: `%s`, and every per cent sign doubled.

    >>> places("SELECT '?' FROM t WHERE a = ? AND b LIKE '%x'")
    "SELECT '?' FROM t WHERE a = %s AND b LIKE '%%x'"
    """
    said = ("", "", "%s ", "%s", "%%")  # SQLite reads `?AND` as two words, PostgreSQL does not
    return _PIECES.sub(lambda found: found[1].replace("%", "%%") if found[1] else said[found.lastindex or 0], sql)


def translated(statements: Iterable[str]) -> list[str]:
    """The statements that make the same tables, indexes and guards in PostgreSQL, in order.

    `{schema}` stands in them for the quoted name of the schema that the book has to itself.
    """
    return [made for statement in statements for made in _one(statement)]


def _one(statement: str) -> list[str]:
    if found := _TABLE.fullmatch(statement):
        columns = re.sub(r"\b(INTEGER|TEXT|BLOB)\b", lambda kind: _TYPES[kind[1]], found["columns"])
        return [f"CREATE TABLE {{schema}}.{found['name']} {columns}"]
    if found := _INDEX.fullmatch(statement):
        head, tail = statement.split(" ON ", 1)
        return [f"{head} ON {{schema}}.{tail}"]
    if found := _TRIGGER.fullmatch(statement):
        return _guard(found)
    raise ValueError(f"this is neither a table, an index nor a guard of a known form: {statement}")


def _guard(found: re.Match[str]) -> list[str]:
    when = (found["when"] or "").replace(" IS NOT ", " IS DISTINCT FROM ")
    refuse = f"RAISE EXCEPTION USING MESSAGE = {found['told']}, ERRCODE = '{BROKEN}';"
    body = f"IF {when} THEN {refuse} END IF;" if when else refuse
    gives = "OLD" if found["verb"] == "DELETE" else "NEW"
    name = found["name"]
    return [
        f"CREATE FUNCTION {{schema}}.{name}() RETURNS trigger LANGUAGE plpgsql SET search_path = {{schema}}, pg_temp "
        f"AS $guard$BEGIN {body} RETURN {gives}; END$guard$",
        f"CREATE TRIGGER {name} BEFORE {found['verb']} ON {{schema}}.{found['table']} "
        f"FOR EACH ROW EXECUTE FUNCTION {{schema}}.{name}()",
    ]


def table_of(statement: str) -> str:
    """The name of the table that a statement of the description makes, or ""."""
    found = _TABLE.fullmatch(statement)
    return found["name"] if found else ""
