"""A report as CSV (RFC 4180: commas, double quotes, CR LF), UTF-8 without a byte-order mark.

One rectangle, whatever the report: every record has the same columns.

    table    which table of the report it belongs to; "about" for what the report is about
    line     row, subtotal, total, fact, note or sign (only rows are to be summed)
    group    the group of rows, where the table has groups
    …        the columns of the tables
    currency the currency of the record's amounts
    label, value   what a total, fact, note or line to sign says

No cell begins a formula. Free text whose first character, blanks and apostrophes aside, is one of `= + - @`
(or the full-width form of one), a tab, a CR or a LF gets an apostrophe before it; taking that one apostrophe
away gives the text back. Amounts, counts, dates and form numbers are digits through and through, and stay what
they are: a negative amount is a number, not a formula. The rule is that of published guidance on formulas in
CSV files (OWASP, "CSV Injection", from memory), which also says why no rule is safe in every spreadsheet.

>>> guarded("=SUM(A1:A9)"), guarded("O'Dunmarrow"), guarded(" -2+3")
("'=SUM(A1:A9)", "O'Dunmarrow", "' -2+3")
>>> unguarded("'=SUM(A1:A9)")
'=SUM(A1:A9)'
"""

import csv
import io
from collections.abc import Iterator

from cheque.report.page import Cell, Column, Kind, Report, Row, Table, Total, cell_text, currency_of, is_figure, shown

TRIGGERS = "=+-@\t\r\n＝＋－＠"
_LEAD = ("table", "line", "group")
_TAIL = ("currency", "label", "value")


def guarded(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    return f"'{text}" if _triggers(text) else text


def unguarded(text: str) -> str:
    """The text that `guarded` was given."""
    return text[1:] if text.startswith("'") and _triggers(text) else text


def _triggers(text: str) -> bool:
    place = 0
    while place < len(text) and text[place] not in TRIGGERS and (text[place].isspace() or text[place] == "'"):
        place += 1
    return place < len(text) and text[place] in TRIGGERS


def render(report: Report) -> str:
    """The report as CSV text."""
    keys = list(dict.fromkeys(column.key for table in report.tables for column in table.columns if _kept(column)))
    out = io.StringIO()
    writer = csv.DictWriter(out, [*_LEAD, *keys, *_TAIL], restval="", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(_records(report))
    return out.getvalue()


def _kept(column: Column) -> bool:
    return column.kind is not Kind.SIGN


def _records(report: Report) -> Iterator[dict[str, str]]:
    lead = [
        ("report", "Report", report.name),
        ("title", "Title", report.title),
        ("firm", "Firm", report.firm),
        ("as_of", "As of", report.as_of),
        ("printed", "Printed", report.printed),
    ]
    facts: list[tuple[str, str, Cell]] = [*lead, *report.facts]
    if report.agrees is not None:
        facts.append(("agrees", "Agrees", "yes" if report.agrees else "no"))
    for _, label, value in facts:
        yield _said("about", "fact", label, value)
    for table in report.tables:
        yield from _table(table)
    for note in report.notes:
        yield _said("about", "note", note)
    for line in report.signatures:
        yield _said("about", "sign", line)


def _table(table: Table) -> Iterator[dict[str, str]]:
    for group in table.groups:
        where = {"table": table.key, "group": guarded(shown(group.title))}
        for row in group.rows:
            yield {**where, "line": "row", **_cells(table.columns, row)}
        for total in group.totals:
            yield {**where, "line": "subtotal", **_total(table.columns, total)}
    for total in table.totals:
        yield {"table": table.key, "line": "total", **_total(table.columns, total)}
    for note in table.notes:
        yield _said(table.key, "note", note)


def _total(columns: tuple[Column, ...], total: Total) -> dict[str, str]:
    return {**_cells(columns, total.cells), "label": guarded(shown(total.label))}


def _cells(columns: tuple[Column, ...], row: Row) -> dict[str, str]:
    record = {
        column.key: _written(cell, column.kind) for column, cell in zip(columns, row, strict=True) if _kept(column)
    }
    record["currency"] = currency_of(row)
    return record


def _written(cell: Cell, kind: Kind = Kind.TEXT) -> str:
    text = cell_text(cell)
    return text if is_figure(cell, kind) else guarded(text)


def _said(table: str, line: str, label: str, value: Cell = None) -> dict[str, str]:
    return {
        "table": table,
        "line": line,
        "label": guarded(shown(label)),
        "value": _written(value),
        "currency": currency_of((value,)),
    }
