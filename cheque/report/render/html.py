"""A report as one HTML page: no scripts, nothing fetched, readable in any browser, printable on A4 and letter.

Whatever a payee's name contains is text: everything is escaped, what cannot be printed is written as its
escape, and each cell's direction is its own (`bdi`), so that a name cannot turn its neighbours round. The page
forbids itself scripts and every fetch by its content security policy.
"""

from collections.abc import Iterator
from html import escape

from cheque.report.page import Cell, Column, Digest, Kind, Place, Report, Row, Table, Total, cell_text, shown
from cheque.report.render.bars import to_svg
from cheque.tongue import language, tr

_STYLE = """
:root { color-scheme: light; }
body { font: 15px/1.45 "Liberation Sans", Arial, sans-serif; color: #1c1b19; background: #fff;
  max-width: 62rem; margin: 2.5rem auto; padding: 0 1.5rem; }
header { border-bottom: 2px solid #1c1b19; padding-bottom: .6rem; margin-bottom: 1.2rem; }
header p { margin: 0; display: flex; justify-content: space-between; gap: 2rem; color: #55524c; }
h1 { font-size: 1.5rem; font-weight: 600; margin: .1rem 0 .2rem; }
h2 { font-size: 1.02rem; font-weight: 600; margin: 2rem 0 .3rem; break-after: avoid; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .15rem 1.5rem; margin: 0 0 1rem; }
dt { color: #55524c; }
dd { margin: 0; overflow-wrap: anywhere; }
table { border-collapse: collapse; width: 100%; }
th { text-align: left; font-weight: 600; font-size: .82rem; color: #55524c; vertical-align: bottom; }
thead th { border-bottom: 1px solid #1c1b19; padding: .2rem .7rem .25rem 0; }
td, tbody th, tfoot th { padding: .22rem .7rem .22rem 0; vertical-align: top; border-bottom: 1px solid #e4e1da; }
.figure { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; width: 1%; padding-left: .7rem; }
.date, .word { white-space: nowrap; }
.long { overflow-wrap: anywhere; }
thead { display: table-header-group; }
tr, .sign, .keep { break-inside: avoid; }
th.group { padding-top: 1rem; font-size: .9rem; color: #1c1b19; border-bottom: 0; }
.total { break-before: avoid; }
.total th, .total td { border-bottom: 0; border-top: 1px solid #1c1b19; font-weight: 600; font-size: 1em;
  color: #1c1b19; }
tfoot { display: table-row-group; }
tfoot .total th, tfoot .total td { border-top: 3px double #1c1b19; }
.wide { overflow-x: auto; }
.wide:focus-visible { outline: 2px solid #1d4f7a; outline-offset: 3px; }
.spaced tbody td { padding-top: 1.5rem; }
td.sign { min-width: 7rem; border-bottom: 0; }
td.sign i { display: block; height: 1.4em; border-bottom: 1px solid #1c1b19; }
code { font: .95em/1.6 "Liberation Mono", monospace; }
figure { margin: .6rem 0 1rem; }
figure svg { display: block; max-width: 100%; height: auto; }
ul { padding-left: 1.1rem; margin: .6rem 0; }
li, .empty { max-width: 46rem; }
.verdict { border: 1px solid #1c1b19; display: inline-block; padding: .3rem .8rem; font-weight: 600; }
section.sign p { display: grid; grid-template-columns: 18rem 1fr 3rem 9rem; gap: .7rem; margin: 2.3rem 0 0; }
section.sign i { border-bottom: 1px solid #1c1b19; }
footer { margin-top: 2rem; color: #55524c; font-size: .85rem; }
h2.page { break-before: page; }
@page { margin: 16mm 15mm; }
@media screen and (max-width: 40rem) {
  section.sign p { grid-template-columns: 1fr; gap: .3rem; }
  section.sign i { height: 1.4em; }
}
@media print { .wide { overflow: visible; } body { margin: 0; padding: 0; max-width: none; font-size: 10pt; } }
"""
_LONG = 24
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"


def render(report: Report) -> str:
    """The report as one HTML page."""
    return "\n".join(_page(report)) + "\n"


def _page(report: Report) -> Iterator[str]:
    yield from (
        "<!doctype html>",
        f'<html lang="{language()}">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{_escaped(report.title)}</title>",
        f"<style>{_STYLE}</style>",
        "</head>",
        "<body>",
        "<header>",
        f"<p><span>{_own(report.firm)}</span><span>{_escaped(tr('as of {as_of}', as_of=report.as_of))}</span></p>",
        f"<h1>{_own(report.title)}</h1>",
        "</header>",
        "<main>",
    )
    if report.facts:
        yield "<dl>"
        yield from (f"<dt>{_escaped(fact.label)}</dt><dd>{_value(fact.value)}</dd>" for fact in report.facts)
        yield "</dl>"
    if report.agrees is not None:
        yield f'<p class="verdict">{_escaped(_verdict(report.agrees))}</p>'
    for number, table in enumerate(report.tables):
        yield from _table(table, f"table-{number}")
    yield from _notes(report.notes)
    if report.signatures:
        yield f'<section class="sign" aria-label="{_escaped(tr("To be signed"))}">'
        yield from (
            f"<p><span>{_escaped(line)}</span><i></i><span>{_escaped(tr('Date'))}</span><i></i></p>"
            for line in report.signatures
        )
        yield "</section>"
    yield from (
        "</main>",
        f"<footer>{_escaped(tr('Read from the book {printed}', printed=report.printed))}</footer>",
        "</body>",
        "</html>",
    )


def _verdict(agrees: bool) -> str:
    return tr("Everything agrees.") if agrees else tr("It does not all agree.")


def _escaped(text: str) -> str:
    return escape(shown(text))


def _own(text: str) -> str:
    """Free text, its direction its own."""
    return f"<bdi>{_escaped(text)}</bdi>"


def _value(cell: Cell) -> str:
    if isinstance(cell, Digest):
        eights = (cell.groups[place : place + 8] for place in range(0, len(cell.groups), 8))
        return f"<code>{'<br>'.join(escape(' '.join(groups)) for groups in eights)}</code>"
    return _own(cell) if isinstance(cell, str) else escape(cell_text(cell))


def _notes(notes: tuple[str, ...]) -> Iterator[str]:
    if notes:
        yield "<ul>"
        yield from (f"<li>{_own(note)}</li>" for note in notes)
        yield "</ul>"


def _table(table: Table, name: str) -> Iterator[str]:
    if table.title:
        page = ' class="page"' if table.new_page and name != "table-0" else ""
        yield f'<h2 id="{name}"{page}>{_own(table.title)}</h2>'
    if table.picture:
        yield f'<figure class="keep">{to_svg(table.picture)}</figure>'
    if any(group.rows for group in table.groups):
        places = _on_page(table)
        columns = [table.columns[place] for place in places]
        labelled = f' aria-labelledby="{name}"' if table.title else ""
        spaced = ' class="spaced"' if table.spaced else ""
        region = labelled or f' aria-label="{_escaped(tr("Table"))}"'
        yield f'<div class="wide" role="region" tabindex="0"{region}>'
        yield f"<table{labelled}{spaced}>"
        yield "<thead><tr>"
        yield from (f'<th scope="col"{_class(column)}>{_escaped(column.title)}</th>' for column in columns)
        yield "</tr></thead>"
        for group in table.groups:
            yield "<tbody>"
            if group.title:
                yield f'<tr><th class="group" scope="rowgroup" colspan="{len(columns)}">{_own(group.title)}</th></tr>'
            yield from (_row(table, places, row) for row in group.rows)
            yield from (_total(table, places, total) for total in group.totals)
            yield "</tbody>"
        if table.totals:
            yield "<tfoot>"
            yield from (_total(table, places, total) for total in table.totals)
            yield "</tfoot>"
        yield "</table></div>"
    elif table.empty:
        yield f'<p class="empty">{_own(table.empty)}</p>'
    yield from _notes(table.notes)


def _class(column: Column, text: str = "") -> str:
    """How a cell stands: figures to the right, one short word unbroken, a word as long as a line broken anywhere."""
    if column.right:
        return ' class="figure"'
    if column.kind in (Kind.DATE, Kind.SIGN):
        return f' class="{column.kind.value}"'
    longest = max(map(len, text.split(" ")))
    if longest > _LONG:
        return ' class="long"'
    together = longest == len(text) or (len(text) <= _LONG and not any(map(str.isalpha, text)))
    return ' class="word"' if text and together else ""


def _on_page(table: Table) -> tuple[int, ...]:
    """The places of the columns that stand on the page: not those for data files, nor details that no row has."""
    return tuple(
        place
        for place, column in enumerate(table.columns)
        if column.place is Place.ROW
        or (column.place is Place.BELOW and any(row[place] not in (None, "") for row in table.rows))
    )


def _cell(column: Column, cell: Cell) -> str:
    text = cell_text(cell)
    return f"<td{_class(column, text)}>{_own(text) if isinstance(cell, str) else escape(text)}</td>"


def _row(table: Table, places: tuple[int, ...], row: Row) -> str:
    cells = (
        '<td class="sign"><i></i></td>' if table.columns[p].kind is Kind.SIGN else _cell(table.columns[p], row[p])
        for p in places
    )
    return f"<tr>{''.join(cells)}</tr>"


def _total(table: Table, places: tuple[int, ...], total: Total) -> str:
    """A line of totals: the label spans the columns before the first figure, or has a line of its own."""
    cells = [(table.columns[place], total.cells[place]) for place in places]
    first = next((place for place, (_, cell) in enumerate(cells) if cell is not None), len(cells))
    label = f'<th scope="row" colspan="{first or len(cells)}">{_own(total.label)}</th>'
    figures = "".join(_cell(column, cell) for column, cell in cells[first:])
    if first == 0:
        return f'<tr class="total">{label}</tr><tr class="total">{figures}</tr>'
    return f'<tr class="total">{label}{figures}</tr>'
