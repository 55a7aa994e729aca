"""The rows of a report's first table, and nothing else, as CSV: what programs that write letters read.

A heading of column names and one record for each row. Cells are guarded as in `csvfile`: none begins a formula.
"""

import csv
import io

from cheque.report.page import Kind, Report, cell_text, currency_of, is_figure
from cheque.report.render.csvfile import guarded


def render(report: Report) -> str:
    """The rows as CSV text; a heading alone when there are none."""
    table = report.tables[0]
    columns = [column for column in table.columns if column.kind is not Kind.SIGN]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([*(column.key for column in columns), "currency"])
    for row in table.rows:
        cells = [cell for cell, column in zip(row, table.columns, strict=True) if column.kind is not Kind.SIGN]
        written = [
            cell_text(cell) if is_figure(cell, column.kind) else guarded(cell_text(cell))
            for cell, column in zip(cells, columns, strict=True)
        ]
        writer.writerow([*written, currency_of(row)])
    return out.getvalue()
