"""A report as JSON, exact: text as the book has it, amounts as text and as whole minor units, never as floats.

A cell of money `amount` becomes `"amount": "812.40"`, `"amount_minor_units": 81240`, and its row gets a
`"currency"`. What cannot be printed is written as an escape, so that the answer is safe on a terminal and means
the same to a program.
"""

import json
import re
from typing import Any

from cheque.report.page import Cell, Column, Digest, Kind, Money, Report, Row, Table, Total, cell_text, currency_of


def render(report: Report) -> str:
    """The report as JSON text, with an end of line."""
    return escaped(json.dumps(_report(report), ensure_ascii=False, indent=2)) + "\n"


def escaped(text: str) -> str:
    """JSON text in which every character that cannot be printed is an escape."""
    return text if text.replace("\n", "").isprintable() else re.sub(r"[^\n -~]", _escape, text)


def _escape(match: "re.Match[str]") -> str:
    letter = match[0]
    return letter if letter.isprintable() else json.dumps(letter)[1:-1]


def _report(report: Report) -> dict[str, Any]:
    found: dict[str, Any] = {
        "report": report.name,
        "title": report.title,
        "firm": report.firm,
        "as_of": report.as_of,
        "printed": report.printed,
    }
    if report.agrees is not None:
        found["agrees"] = report.agrees
    about: dict[str, Any] = {}
    for fact in report.facts:
        about |= _cell(fact.key, fact.value)
        if isinstance(fact.value, Money):
            about[f"{fact.key}_currency"] = fact.value.currency
    found["about"] = about
    found["tables"] = [_table(table) for table in report.tables]
    found["notes"] = list(report.notes)
    return found


def _table(table: Table) -> dict[str, Any]:
    rows, totals = [], []
    for group in table.groups:
        name = {"group": group.title} if group.title else {}
        rows += [{**name, **_row(table.columns, row)} for row in group.rows]
        totals += [{**name, **_total(table.columns, total)} for total in group.totals]
    totals += [_total(table.columns, total) for total in table.totals]
    return {"table": table.key, "title": table.title, "rows": rows, "totals": totals, "notes": list(table.notes)}


def _row(columns: tuple[Column, ...], row: Row, *, blanks: bool = True) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for column, cell in zip(columns, row, strict=True):
        if column.kind is not Kind.SIGN and (blanks or cell is not None):
            found |= _cell(column.key, cell)
    currency = currency_of(row)
    return {**found, "currency": currency} if currency else found


def _total(columns: tuple[Column, ...], total: Total) -> dict[str, Any]:
    return {"label": total.label, **_row(columns, total.cells, blanks=False)}


def _cell(key: str, cell: Cell) -> dict[str, Any]:
    if isinstance(cell, Money):
        return {key: cell_text(cell), f"{key}_minor_units": cell.minor}
    return {key: cell.hex if isinstance(cell, Digest) else cell}
