"""A report as CSV (RFC 4180: commas, double quotes, CR LF), UTF-8 without a byte-order mark.

One rectangle, whatever the report: every record has the same columns.

    table    which table of the report it belongs to; "about" for what the report is about
    line     row, subtotal, total, fact, note or sign (only rows are to be summed)
    group    the group of rows, where the table has groups
    …        the columns of the tables
    currency the currency of the record's amounts
    label, value   what a total, fact, note or line to sign says

No cell begins a formula, nor does a part of one: where a spreadsheet's own separator is `;`, a tab or `|`, it
splits a text there, whatever the quotes. So free text is taken in parts, the first at its beginning, the others
each after a `;`, a `|`, a tab or a line end. A part whose first character, blanks, apostrophes and double quotes
aside, is one of `= + - @` (or the full-width form of one), a tab, a CR or a LF gets an apostrophe before it;
taking that one apostrophe away from each such part gives the text back. Amounts, counts, dates and form numbers
are digits through and through, and stay what they are: a negative amount is a number, not a formula. The rule is
that of published guidance on formulas in CSV files (OWASP, "CSV Injection", from memory), which also says why no
rule is safe in every spreadsheet.

>>> guarded("=SUM(A1:A9)"), guarded("O'Dunmarrow"), guarded(" -2+3")
("'=SUM(A1:A9)", "O'Dunmarrow", "' -2+3")
>>> guarded("Slipway; =1+1")
"Slipway;' =1+1"
>>> unguarded("'=SUM(A1:A9)"), unguarded("Slipway;' =1+1")
('=SUM(A1:A9)', 'Slipway; =1+1')
"""

import csv
import io
import re
from collections.abc import Iterator

from cheque.report.page import Cell, Column, Kind, Report, Row, Table, Total, cell_text, currency_of, is_figure, shown
from cheque.tongue import tr

TRIGGERS = "=+-@\t\r\n＝＋－＠"
#: where a part of a text begins; and what makes one a formula, whatever blanks and quotes come first
_BEGINS, _FORMULA = r"(?:\A|(?<=[;|\t\r\n]))", rf"(?=(?:['\"]|[^\S\t\r\n])*[{re.escape(TRIGGERS)}])"
_UNGUARDED, _GUARDED = re.compile(_BEGINS + _FORMULA), re.compile(f"{_BEGINS}'{_FORMULA}")
_LEAD = ("table", "line", "group")
_TAIL = ("currency", "label", "value")


def guarded(text: str) -> str:
    """Text that no spreadsheet takes for a formula, wherever it splits it."""
    return _UNGUARDED.sub("'", text)


def unguarded(text: str) -> str:
    """The text that `guarded` was given."""
    return _GUARDED.sub("", text)


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
        ("as_of", tr("As of"), report.as_of),
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
