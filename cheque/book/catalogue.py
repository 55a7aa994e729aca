"""What a schema of PostgreSQL holds, told line by line, so that two can be compared: tables with their columns and
laws, indexes, guards and the functions they call. The schema's own name is left out."""

from collections.abc import Callable, Sequence
from typing import Any

_TABLES = """SELECT 'TABLE ' || c.relname || ' (' || string_agg(a.attname || ' ' || format_type(a.atttypid, a.atttypmod)
        || coalesce(' ' || l.collname, '') || CASE WHEN a.attnotnull THEN ' NOT NULL' ELSE '' END
        || CASE WHEN a.atthasdef THEN ' DEFAULT' ELSE '' END, ', ' ORDER BY a.attnum) || ')'
        || CASE WHEN c.relrowsecurity THEN ' ROW SECURITY' ELSE '' END
    FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped
    LEFT JOIN pg_collation l ON l.oid = a.attcollation
    WHERE c.relnamespace = ?::regnamespace AND c.relkind NOT IN ('i', 'I', 't') GROUP BY c.oid"""
_LAWS = """SELECT 'LAW ' || conrelid::regclass::text || ' ' || conname || ' ' || pg_get_constraintdef(oid)
    FROM pg_constraint WHERE connamespace = ?::regnamespace"""
_INDEXES = """SELECT 'INDEX ' || pg_get_indexdef(i.indexrelid) || CASE WHEN i.indisvalid THEN '' ELSE ' INVALID' END
    FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid WHERE c.relnamespace = ?::regnamespace"""
_GUARDS = """SELECT 'GUARD ' || t.tgname || ' ' || t.tgenabled::text || ' ' || pg_get_triggerdef(t.oid)
    FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
    WHERE c.relnamespace = ?::regnamespace AND NOT t.tgisinternal"""
_FUNCTIONS = """SELECT 'FUNCTION ' || proname || ' ' || prosecdef::text || ' ' || provolatile::text || ' '
        || coalesce(array_to_string(proconfig, ' '), '') || ' ' || prosrc
    FROM pg_proc WHERE pronamespace = ?::regnamespace"""
_RULES = """SELECT 'RULE ' || r.rulename || ' ' || c.relname FROM pg_rewrite r JOIN pg_class c ON c.oid = r.ev_class
    WHERE c.relnamespace = ?::regnamespace"""


def described(ask: Callable[[str, Sequence[Any]], Any], schema: str) -> set[str]:
    """Every table, law, index, guard, function and rule of a schema, each in one line.

    `ask` runs a query with `?` places and gives a cursor.
    """
    found = set()
    for query in (_TABLES, _LAWS, _INDEXES, _GUARDS, _FUNCTIONS, _RULES):
        for (line,) in ask(query, (f'"{schema}"',)).fetchall():
            plain = line.replace(f'"{schema}"', "").replace(f"{schema}.", "").replace(f"={schema}, ", "=, ")
            found.add(" ".join(plain.replace("pg_temp.", "").replace("pg_temp", "").split()))
    return found
