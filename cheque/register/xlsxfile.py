"""Spreadsheets (.xlsx): one payment a row, under a header row of the same columns as a comma-separated register.

Cells have types, and are read exactly. A number is its shortest decimal (the text with the fewest digits that is the
same number to a spreadsheet), and an amount with more decimals than the currency, or more than the fifteen digits that
a spreadsheet keeps, is refused. Hours and numbers among texts have the decimals and leading zeros that their format
shows. A date is a cell formatted as one. A formula counts by the value stored beside it, and the reader says so; it
computes nothing. The first sheet is read, or the one named.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import closing
from typing import BinaryIO

from cheque.errors import Fault
from cheque.money import digits
from cheque.payment import Payment
from cheque.register import LineFault, Reading
from cheque.register.characters import shown
from cheque.register.columns import MOST_COLUMNS, name_of, sort_of
from cheque.register.mapped import conversions, instead_of, map_of, plan_for
from cheque.register.rows import Plan, Unread
from cheque.register.xlsxcells import (
    NOTHING,
    Cell,
    amount_of,
    column_letters,
    column_place,
    day_of,
    decimal_of,
    text_cell,
    unread,
)
from cheque.register.xlsxparts import Format, NotXlsx, Shared, Workbook, rich_text, unescaped
from cheque.register.xlsxwrite import write
from cheque.register.xmlread import Node, XmlRefused, events
from cheque.tongue import tr

__all__ = ["looks_like", "read", "suffixes", "write"]

suffixes = (".xlsx",)
LAST_ROW = 1_048_576
_NUMBER = re.compile(r"[+-]?(?:\d{1,340}(?:\.\d{0,340})?|\.\d{1,340})(?:[eE][+-]?\d{1,3})?", re.ASCII)
_REFERENCE = re.compile(r"([A-Z]{1,3})([0-9]{1,7})", re.ASCII)


def looks_like(head: bytes) -> bool:
    """Whether a file begins as a zip does."""
    return head.startswith(b"PK\x03\x04")


def read(stream: BinaryIO, reading: Reading) -> Iterator[Payment | Fault]:
    """The payments and faults of a spreadsheet, one by one, in its order."""
    try:
        with closing(Workbook(stream)) as book:
            sheet = _chosen(book, reading)
            if isinstance(sheet, Fault):
                yield sheet
                return
            yield from _Rows(book, reading).read(sheet)
    except NotXlsx as not_one:
        yield Fault(reading.source, not_one.found, not_one.wanted, not_one.do)


def _chosen(book: Workbook, reading: Reading) -> str | Fault:
    """The part of the sheet named, or of the first."""
    wanted = reading.sheet or map_of(reading).sheet
    names = [sheet.name for sheet in book.sheets]
    if wanted and wanted not in names:
        found = tr("sheets {sheets}", sheets=", ".join(map(shown, names[:10])))
        return Fault(reading.source, found, tr("a sheet {sheet}", sheet=shown(wanted)), tr("name one that is there"))
    if not names:
        return Fault(reading.source, tr("no sheet"), tr("one at least"))
    place = names.index(wanted) if wanted else 0
    others = "" if len(names) == 1 else tr(" of {count}", count=len(names))
    reading.state(
        tr(
            "{source}: the sheet {sheet}{others} is read.",
            source=reading.source,
            sheet=shown(names[place]),
            others=others,
        )
    )
    return book.sheets[place].part


class _Rows:
    """Reads the rows of one sheet."""

    def __init__(self, book: Workbook, reading: Reading) -> None:
        self._book, self._reading, self._by = book, reading, map_of(reading)
        self._shared: Shared = book.shared()
        self._formats = book.formats()
        self._plan: Plan | None = None
        self._readers: list[Callable[[Cell], str]] = []
        self._names: list[str] = []
        self._item = self._formulas = self._hidden = 0
        self._bad = False

    def read(self, part: str) -> Iterator[Payment | Fault]:
        """Every row, and at the end what there is to say."""
        containers = frozenset({("worksheet",), ("worksheet", "sheetData")})
        last = 0
        try:
            for event in events(self._book.part(part), containers):
                node = event.node
                if node is None or event.inside != "sheetData" or node.name != "row":
                    continue
                number = self._row_number(node, last)
                if not last < number <= LAST_ROW:
                    at = tr(
                        "{source} row {number}",
                        source=self._reading.source,
                        number=number or shown(node.attributes.get("r", "")),
                    )
                    yield Fault(
                        at,
                        tr("a row after row {last}", last=last),
                        tr("rows in their order"),
                        tr("save the file again"),
                    )
                    return
                last = number
                yield from self._row(node, number)
                if self._bad:
                    return
        except XmlRefused as refused:
            at = tr("{source} row {last}", source=self._reading.source, last=last + 1)
            yield Fault(at, refused.found, refused.wanted, tr("save the file again"))
            return
        if self._plan is None:
            yield Fault(self._reading.source, tr("nothing"), tr("a header row and payments"))
        self._tell()

    @staticmethod
    def _row_number(node: Node, last: int) -> int:
        text = node.attributes.get("r", str(last + 1))
        return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0

    def _tell(self) -> None:
        if self._formulas:
            self._reading.state(
                tr(
                    "{source}: 1 cell is a formula, read by the value stored when the file was last saved.",
                    source=self._reading.source,
                )
                if self._formulas == 1
                else tr(
                    "{source}: {count} cells are formulas, read by the value stored when the file was last saved.",
                    source=self._reading.source,
                    count=self._formulas,
                )
            )
        if self._hidden:
            self._reading.state(
                tr(
                    "{source}: 1 row is hidden in the spreadsheet, and read all the same.",
                    source=self._reading.source,
                )
                if self._hidden == 1
                else tr(
                    "{source}: {count} rows are hidden in the spreadsheet, and read all the same.",
                    source=self._reading.source,
                    count=self._hidden,
                )
            )

    def _row(self, node: Node, number: int) -> Iterator[Payment | Fault]:
        if number <= self._by.skip_lines:
            return
        at = tr("{source} row {number}", source=self._reading.source, number=number)
        cells = self._cells(node)
        if isinstance(cells, str):
            yield Fault(at, cells, tr("cells in their places"), tr("save the file again"))
            return
        if all(cell.type == "nothing" for cell in cells):
            return
        if self._plan is None:
            faults = self._header(cells, at)
            self._bad = bool(faults)
            yield from faults
            if self._bad or self._by.header:
                return
        self._hidden += node.attributes.get("hidden", "0") in ("1", "true")
        yield from self._payment(cells, number, at)

    def _cells(self, node: Node) -> list[Cell] | str:
        """The cells of a row in their places, or what is wrong with them."""
        found: list[Cell] = []
        for child in node.children:
            if child.name != "c":
                continue
            place = len(found)
            if reference := child.attributes.get("r"):
                match = _REFERENCE.fullmatch(reference)
                place = column_place(match[1]) if match else -1
            if place < len(found):
                return tr("a cell {reference} out of order", reference=shown((reference or "")[:20]))
            cell = self._cell(child)
            if cell.type == "nothing":
                continue
            if place >= MOST_COLUMNS:
                return tr(
                    "a cell {reference} beyond column {most_columns}",
                    reference=shown((reference or "")[:20]),
                    most_columns=MOST_COLUMNS,
                )
            found += [NOTHING] * (place - len(found))
            found.append(cell)
        return found

    def _cell(self, node: Node) -> Cell:
        kind, value = node.attributes.get("t", "n"), node.value("v")
        formula = node.first("f") is not None
        if kind == "inlineStr":
            inline = node.first("is")
            return text_cell(rich_text(inline) if inline else "", formula=formula)
        if kind == "s":
            number = int(value) if value.isascii() and value.isdigit() and len(value) < 10 else -1
            text = self._shared.get(number)
            return text_cell(text) if text is not None else Cell("error", tr("a text that is not in the file"))
        if kind == "str":
            stored = node.first("v")
            return text_cell(unescaped(stored.text), formula=formula) if stored else self._no_value(formula=formula)
        if not value:
            return self._no_value(formula=formula)
        if kind == "b":
            return Cell("truth", "TRUE" if value == "1" else "FALSE", formula=formula)
        if kind == "d":
            return Cell("iso", value, formula=formula)
        if kind != "n" or not _NUMBER.fullmatch(value):
            return Cell("error", tr("the error {value}", value=shown(value)), formula=formula)
        style = node.attributes.get("s", "0")
        number = int(style) if style.isascii() and style.isdigit() and len(style) < 10 else 0
        format_ = self._formats[number] if number < len(self._formats) else Format()
        return Cell("date" if format_.date else "number", value, format_, formula)

    @staticmethod
    def _no_value(*, formula: bool) -> Cell:
        if formula:
            return Cell("error", tr("a formula with no value stored beside it"), formula=True)
        return NOTHING

    def _header(self, cells: list[Cell], at: str) -> list[Fault]:
        """The plan of the columns, or what is wrong with them."""
        if self._by.header:
            titles = [decimal_of(cell) if cell.type == "number" else cell.text for cell in cells]
        else:
            titles = [str(place) for place in range(1, len(cells) + 1)]
        plan = plan_for(titles, self._reading, at, convert=False)
        if isinstance(plan, list):
            return plan
        self._plan, self._names = plan, plan.names
        ignored = {name_of(name) for name in (*self._reading.ignore, *self._by.ignore)}
        ignored.discard(name_of(self._reading.hash_column))
        converts = {place: convert for place, convert, _ in conversions(plan.names, self._by, self._reading.currency)}
        for place, name in enumerate(plan.names):
            convert = converts.get(place, str)
            wanted = "nothing" if name in ignored else sort_of(name)
            self._readers.append(self._reader(wanted, convert))
        return []

    def _reader(self, sort: str, convert: Callable[[str], str]) -> Callable[[Cell], str]:
        """What turns a cell of a column into plain text; raises Unread."""
        currency = self._reading.currency
        places = digits(currency)

        def money(cell: Cell) -> str:
            if cell.type == "text":
                return convert(cell.text)
            if cell.type != "number":
                raise unread(cell, tr("an exact {currency} amount", currency=currency))
            return amount_of(cell, places, currency)

        def decimal(cell: Cell) -> str:
            if cell.type == "text":
                return convert(cell.text)
            if cell.type != "number":
                raise unread(cell, tr("a number such as 37.50"))
            return decimal_of(cell)

        def day(cell: Cell) -> str:
            if cell.type == "text":
                return convert(cell.text)
            return day_of(cell, from_1904=self._book.from_1904)

        def text(cell: Cell) -> str:
            if cell.type == "text":
                return cell.text
            if cell.type != "number":
                raise unread(cell, tr("text"))
            return decimal_of(cell)

        return {"money": money, "decimal": decimal, "date": day, "text": text}.get(sort, lambda cell: "")

    def _payment(self, cells: list[Cell], number: int, at: str) -> Iterator[Payment | Fault]:
        plan = self._plan
        assert plan
        self._item += 1
        if len(cells) > plan.width:
            found = tr("something in column {letters}", letters=column_letters(len(cells) - 1))
            yield Fault(
                at,
                found,
                tr("{width} columns, as in the header", width=plan.width),
                tr("name the column, or empty the cell"),
            )
            return
        faults: list[Fault] = []
        texts = [""] * plan.width
        for place, cell in enumerate(cells):
            if cell.type == "nothing":
                continue
            try:
                texts[place] = self._readers[place](cell)
            except Unread as not_read:
                where = tr(
                    "{at}, {column} (column {letters})",
                    at=at,
                    column=self._names[place],
                    letters=column_letters(place),
                )
                faults.append(Fault(where, not_read.found, not_read.wanted, not_read.do))
                texts[place] = instead_of(self._names[place], self._reading.hash_column)
            self._formulas += cell.formula
        payment, more = plan.payment(texts, self._item, number)
        faults += more
        if not faults:
            yield payment
            return
        yield from faults[:-1]
        last = faults[-1]
        yield LineFault(last.where, last.found, last.wanted, last.do, payment)
