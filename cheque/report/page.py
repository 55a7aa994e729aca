"""A report as data: what people will read, before it is text, CSV, JSON or HTML.

A report has facts (what it is about), tables, notes, and lines to sign. A table has columns and groups of rows;
groups and tables have totals. A cell is text, a whole number, `Money`, a `Digest`, or nothing; what a cell *is* decides
how it is written, so that every rendering shows the same figures. Amounts are minor units of an ISO 4217
currency.

>>> cell_text(Money(81240, "USD"))
'812.40'
>>> cell_text("Ink\\x1b[2J"), cell_text(None)
('Ink\\\\x1b[2J', '')
"""

import re
from collections.abc import Iterator
from enum import StrEnum
from typing import NamedTuple

from cheque.money import plain
from cheque.tongue import speaks, tr
from cheque.vocabulary import WORDS


class Kind(StrEnum):
    """What a column holds. `COUNT` is a whole number, `NUMBER` a form's number as preprinted, leading zeros and
    all; `DATE` is ISO 8601; `SIGN` is a line for people to write on."""

    TEXT = "text"
    MONEY = "money"
    COUNT = "count"
    NUMBER = "number"
    DATE = "date"
    SIGN = "sign"


class Place(StrEnum):
    """Where a column stands: in the row; under it, where a page is too narrow for it; or in data files only."""

    ROW = "row"
    BELOW = "below"
    DATA = "data"


class Money(NamedTuple):
    """An amount in minor units of a currency."""

    minor: int
    currency: str


class Digest(NamedTuple):
    """A SHA-256 digest as 64 hexadecimal digits; people read it in groups of four."""

    hex: str

    @property
    def groups(self) -> list[str]:
        """Its groups of four."""
        return [self.hex[place : place + 4] for place in range(0, len(self.hex), 4)]


Cell = str | int | Money | Digest | None
Row = tuple[Cell, ...]


class Column(NamedTuple):
    """One column. `width`: how many characters a line to sign has at least. `title` is not needed for DATA."""

    key: str
    title: str = ""
    kind: Kind = Kind.TEXT
    place: Place = Place.ROW
    width: int = 0
    to_right: bool = False

    @property
    def right(self) -> bool:
        """Whether it stands to the right: amounts and counts do."""
        return self.to_right or self.kind in (Kind.MONEY, Kind.COUNT)


class Total(NamedTuple):
    """A line of totals: its label, and a cell for every column (mostly None)."""

    label: str
    cells: Row


class Group(NamedTuple):
    """Rows that belong together, with a title (or "") and subtotals."""

    title: str
    rows: tuple[Row, ...]
    totals: tuple[Total, ...] = ()


class Bar(NamedTuple):
    """One bar of a picture: what it is of, how many, and what stands at its end; `grave` sets it apart."""

    label: str
    value: int
    text: str
    grave: bool = False


class Bars(NamedTuple):
    """A picture of a table's figures, for renderings that can show one: a bar for each, longest the greatest."""

    title: str
    bars: tuple[Bar, ...]


class Table(NamedTuple):
    """One table. `empty` is what is said when there are no rows; `spaced` leaves room between the rows;
    with `new_page` it begins a page of its own, to be torn off."""

    key: str
    title: str
    columns: tuple[Column, ...]
    groups: tuple[Group, ...]
    totals: tuple[Total, ...] = ()
    notes: tuple[str, ...] = ()
    empty: str = "None."
    spaced: bool = False
    new_page: bool = False
    picture: Bars | None = None

    @property
    def rows(self) -> Iterator[Row]:
        """Every row, group by group."""
        return (row for group in self.groups for row in group.rows)


class Fact(NamedTuple):
    """One thing that a report is about. `key` names it in data files."""

    key: str
    label: str
    value: Cell


class Report(NamedTuple):
    """A whole report. `firm` is who draws the cheques; `as_of` how the book stood, `printed` when it was read,
    both local time; `agrees` is None for a report that judges nothing."""

    name: str
    title: str
    firm: str
    as_of: str
    printed: str
    facts: tuple[Fact, ...] = ()
    tables: tuple[Table, ...] = ()
    notes: tuple[str, ...] = ()
    signatures: tuple[str, ...] = ()
    agrees: bool | None = None


def spoken(report: Report) -> Report:
    """The report with its titles, labels and notes in the language spoken: for people, not for data files.

    What was put together when it was built is so already; what stands in the code as it is, is looked up here.
    """
    if not speaks():
        return report
    return report._replace(
        title=tr(report.title),
        facts=tuple(fact._replace(label=tr(fact.label)) for fact in report.facts),
        tables=tuple(_spoken_table(table) for table in report.tables),
        notes=tuple(map(tr, report.notes)),
        signatures=tuple(map(tr, report.signatures)),
    )


def _spoken_table(table: Table) -> Table:
    return table._replace(
        title=tr(table.title),
        columns=tuple(column._replace(title=tr(column.title)) for column in table.columns),
        groups=tuple(
            group._replace(
                title=tr(group.title), rows=_spoken_rows(table.columns, group.rows), totals=_spoken_totals(group.totals)
            )
            for group in table.groups
        ),
        totals=_spoken_totals(table.totals),
        notes=tuple(map(tr, table.notes)),
        empty=tr(table.empty),
        picture=table.picture._replace(title=tr(table.picture.title)) if table.picture else None,
    )


#: columns whose texts are other people's: nothing in them is a word of ours, whatever it says
_THEIRS = frozenset({"payee", "reference", "reason", "source", "to", "address", "department", "by", "account", "form"})


def _spoken_rows(columns: tuple[Column, ...], rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Rows with the book's own words as people read them."""
    ours = [column.kind is Kind.TEXT and column.key not in _THEIRS for column in columns]
    return tuple(
        tuple(
            tr(cell) if own and isinstance(cell, str) and cell in WORDS else cell
            for own, cell in zip(ours, row, strict=True)
        )
        for row in rows
    )


def _spoken_totals(totals: tuple[Total, ...]) -> tuple[Total, ...]:
    return tuple(total._replace(label=tr(total.label)) for total in totals)


def shown(text: str) -> str:
    """Text that is safe on a terminal, a printer or a page: what cannot be printed is written as its escape.

    Control characters, bidirectional marks and blanks other than the space never pass; nothing is dropped.
    """
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)


def cell_text(cell: Cell) -> str:
    """A cell as every rendering writes it: money in plain digits with the currency's decimals, no grouping."""
    if cell is None:
        return ""
    if isinstance(cell, Money):
        return plain(cell.minor, cell.currency)
    if isinstance(cell, Digest):
        return " ".join(cell.groups)
    return shown(cell) if isinstance(cell, str) else str(cell)


_FIGURE = {
    Kind.DATE: re.compile(r"\d{4}-\d\d-\d\d", re.ASCII),
    Kind.NUMBER: re.compile(r"\d+(?:-\d+)?", re.ASCII),
}


def is_figure(cell: Cell, kind: Kind) -> bool:
    """Whether a cell is digits through and through (an amount, a count, a date, a number), and no free text."""
    if not isinstance(cell, str):
        return cell is not None
    pattern = _FIGURE.get(kind)
    return bool(pattern and pattern.fullmatch(cell))


def currency_of(row: Row) -> str:
    """The currency of a row's amounts; "" when it has none. ValueError when it has two."""
    found = {cell.currency for cell in row if isinstance(cell, Money)}
    if len(found) > 1:
        raise ValueError(tr("one row has amounts of {list}", list=tr(" and of ").join(sorted(found))))
    return found.pop() if found else ""


def line_of(columns: tuple[Column, ...], cells: dict[str, Cell]) -> Row:
    """A row or a line of totals from its cells by the key of their column. KeyError for a key that is none."""
    places = {column.key: place for place, column in enumerate(columns)}
    line: list[Cell] = [None] * len(columns)
    for key, cell in cells.items():
        line[places[key]] = cell
    return tuple(line)
