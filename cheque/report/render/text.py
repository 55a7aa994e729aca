"""A report as text for an 80-column printer or terminal.

The page's own marks are ASCII, so that any printer can print them. Each page has `page_lines` lines (66: eleven
inches at six to the inch), the last `foot` of them blank for the perforation, and a heading at its top; a page
is filled up with blank lines, or ended by a form feed where one is asked for. With `page_lines` 0 nothing is
divided. No line is longer than `width`; nothing is cut: what is too long wraps in its column.
"""

from collections.abc import Iterator
from typing import NamedTuple

from cheque.report.page import Cell, Column, Digest, Kind, Place, Report, Row, Table, Total, cell_text, shown
from cheque.report.render.columns import allotted, padded, width_of, wrapped
from cheque.tongue import tr

WIDTH = 80
PAGE_LINES = 66
FOOT = 6
_GAP = 2
_INDENT = 4
_LEAST = 10


class Block(NamedTuple):
    """Lines that stay together on a page, and the heading that goes before them at the top of a new one."""

    lines: tuple[str, ...]
    heading: tuple[str, ...] = ()
    new_page: bool = False


def render(
    report: Report, *, width: int = WIDTH, page_lines: int = PAGE_LINES, foot: int = FOOT, form_feed: bool = False
) -> str:
    """The report as text. ValueError for a page too small to hold anything."""
    if page_lines and page_lines - foot < 12:
        raise ValueError(
            tr(
                "a page of {page_lines} lines, {foot} of them blank, is too short for a report",
                page_lines=page_lines,
                foot=foot,
            )
        )
    blocks = list(_blocks(report, width))
    heading = _heading(report, width)
    if not page_lines:
        return _joined(_ended([*_top(heading, "", width), *(line for block in blocks for line in block.lines)]))
    if len(heading) > 6:  # a name that fills lines and lines stands on the first page only
        blocks.insert(0, Block(tuple(heading)))
        heading = [""]
    pages = _paged(blocks, page_lines - foot - len(heading))
    texts = []
    for number, page in enumerate(pages, 1):
        lines = [*_top(heading, tr("Page {number} of {count}", number=number, count=len(pages)), width), *page]
        lines = _ended(lines)
        if number < len(pages) and not form_feed:
            lines += [""] * (page_lines - len(lines))
        texts.append(_joined(lines))
    return ("\f" if form_feed else "").join(texts)


def _ended(lines: list[str]) -> list[str]:
    """The lines up to the last that has something on it."""
    last = max((place for place, line in enumerate(lines) if line), default=-1)
    return lines[: last + 1]


def _joined(lines: list[str]) -> str:
    return "".join(f"{line.rstrip()}\n" for line in lines)


def _paged(blocks: list[Block], room: int) -> list[list[str]]:
    """Blocks on pages of `room` lines; a block longer than a page goes on over the next ones."""
    pages: list[list[str]] = [[]]
    for block in blocks:
        lines = list(block.lines)
        heading = block.heading if len(block.heading) * 2 < room else ()
        if not any(lines) and len(pages[-1]) + len(lines) > room:
            continue  # room between two blocks, at the end of a page
        if block.new_page and any(pages[-1]):
            pages.append([])
        if pages[-1] and len(pages[-1]) + len(lines) > room:
            pages.append(list(heading))
            while lines and not lines[0]:
                del lines[0]
        while len(pages[-1]) + len(lines) > room:
            here = room - len(pages[-1])
            pages[-1] += lines[:here]
            lines = lines[here:]
            pages.append(list(heading))
        pages[-1] += lines
    return pages


def _heading(report: Report, width: int) -> list[str]:
    """What stands at the top of every page: the page's number, whose report, which, how the book stood."""
    when = tr("as of {as_of}", as_of=report.as_of) + (
        tr(", read {printed}", printed=report.printed) if report.printed != report.as_of else ""
    )
    lines = [*wrapped(shown(report.firm), width - 20), *_sides(shown(report.title), when, width)]
    return [*lines, "=" * width, ""]


def _top(heading: list[str], page: str, width: int) -> list[str]:
    return [*_sides(heading[0], page, width), *heading[1:]]


def _sides(left: str, right: str, width: int) -> list[str]:
    """Two texts, one at each side; on lines of their own when they are too long for one."""
    room = width - width_of(left) - width_of(right)
    if room >= _GAP:
        return [left + " " * room + right]
    return [*wrapped(left, width), *(padded(line, width, right=True) for line in wrapped(right, width))]


def _blocks(report: Report, width: int) -> Iterator[Block]:
    if report.facts:
        yield Block((*_facts(report, width), ""))
    for place, table in enumerate(report.tables):
        if table.new_page and place:
            yield Block((), new_page=True)
        yield from _table(table, width)
        yield Block(("",))
    for note in report.notes:
        yield Block(tuple(_hanging(note, width)))
    if report.notes:
        yield Block(("",))
    if report.agrees is not None:
        yield Block((tr("Everything agrees.") if report.agrees else tr("IT DOES NOT ALL AGREE: see above."), ""))
    if report.signatures:
        yield Block(tuple(_signatures(report.signatures, width)))


def _facts(report: Report, width: int) -> Iterator[str]:
    label = min(max(width_of(shown(fact.label)) for fact in report.facts) + _GAP, width // 3)
    for fact in report.facts:
        labels, values = wrapped(shown(fact.label), label - _GAP), _fact(fact.value, width - label)
        for line in range(max(len(labels), len(values))):
            left = labels[line] if line < len(labels) else ""
            yield padded(left, label) + (values[line] if line < len(values) else "")


def _fact(value: Cell, width: int) -> list[str]:
    """A fact's value in lines; a digest in lines of eight groups, to be read back one by one."""
    if isinstance(value, Digest):
        eights = [value.groups[place : place + 8] for place in range(0, len(value.groups), 8)]
        return [line for groups in eights for line in wrapped(" ".join(groups), width)]
    return wrapped(cell_text(value), width)


def _hanging(text: str, width: int, mark: str = "- ") -> list[str]:
    lines = wrapped(shown(text), width - len(mark))
    return [(mark if place == 0 else " " * len(mark)) + line for place, line in enumerate(lines)]


def _signatures(labels: tuple[str, ...], width: int) -> Iterator[str]:
    first = min(max(map(width_of, labels)) + _GAP, width // 2)
    for label in labels:
        lines = wrapped(label, first - 1)
        yield from ("", "", *lines[:-1])
        yield padded(lines[-1], first) + "_" * (width - first - 20) + "  Date " + "_" * 13
    yield ""


class _Laid(NamedTuple):
    """The columns of a table that stand in its rows, their places in a row, and their widths."""

    columns: tuple[Column, ...]
    places: tuple[int, ...]
    widths: tuple[int, ...]
    below: tuple[tuple[int, Column], ...]
    width: int

    def line(self, cells: list[list[str]]) -> list[str]:
        """Cells, each as its lines, side by side."""
        height = max(map(len, cells), default=0)
        return [
            (" " * _GAP).join(
                padded(cell[row] if row < len(cell) else "", width, right=column.right)
                for cell, width, column in zip(cells, self.widths, self.columns, strict=True)
            )
            for row in range(height)
        ]

    def rule(self, mark: str, only: tuple[bool, ...] = ()) -> str:
        """A rule under the columns, or under some of them."""
        drawn = only or (True,) * len(self.columns)
        return (" " * _GAP).join((mark if on else " ") * w for on, w in zip(drawn, self.widths, strict=True))

    def row(self, row: Row) -> list[str]:
        """A row as lines, with what stands below it."""
        cells = []
        for place, column, width in zip(self.places, self.columns, self.widths, strict=True):
            text = "_" * width if column.kind is Kind.SIGN else cell_text(row[place])
            cells.append(wrapped(text, width))
        lines = self.line(cells)
        said = [
            f"{column.title}: {cell_text(row[place])}" for place, column in self.below if row[place] not in (None, "")
        ]
        if said:
            lines += [" " * _INDENT + line for line in wrapped("; ".join(said), self.width - _INDENT)]
        return lines

    def total(self, total: Total, mark: str) -> list[str]:
        """A line of totals under a rule; the label stands in the room before the first figure, or above."""
        cells = [cell_text(total.cells[place]) for place in self.places]
        on = tuple(map(bool, cells))
        if not any(on):
            return wrapped(shown(total.label), self.width)
        figures = self.line([wrapped(cell, width) for cell, width in zip(cells, self.widths, strict=True)])
        first = on.index(True)
        room = sum(self.widths[:first]) + _GAP * (first - 1)
        if room < min(width_of(shown(total.label)), _LEAST):
            return [self.rule(mark, on), *wrapped(shown(total.label), self.width), *figures]
        *above, label = wrapped(shown(total.label), room)
        return [self.rule(mark, on), *above, padded(label, room) + figures[0][room:], *figures[1:]]


class _Sizes(NamedTuple):
    """How wide a column would be, and how narrow it may get: as its longest word where its cells can be broken."""

    longest: int
    title: int
    title_word: int
    least: int


def _sizes(column: Column, texts: list[str]) -> _Sizes:
    longest = max(map(width_of, texts), default=0)
    title_word = max(map(width_of, column.title.split(" ")))
    longest = max(longest, column.width)
    if column.kind is not Kind.TEXT:
        return _Sizes(longest, width_of(column.title), title_word, max(longest, title_word))
    word = longest if longest <= _LEAST else max((width_of(w) for text in texts for w in text.split(" ")), default=0)
    return _Sizes(longest, width_of(column.title), title_word, max(word, title_word))


def _laid(table: Table, width: int) -> _Laid:
    inside = [(place, column) for place, column in enumerate(table.columns) if column.place is Place.ROW]
    lines = [*table.rows, *(t.cells for g in table.groups for t in g.totals), *(t.cells for t in table.totals)]
    room = width - _GAP * (len(inside) - 1)
    sizes = [_sizes(column, [cell_text(line[place]) for line in lines]) for place, column in inside]
    natural = [max(size.longest, size.title) for size in sizes]
    if sum(natural) > room:  # titles are broken before cells are
        natural = [max(size.longest, size.title_word) for size in sizes]
    words = [size.least for size in sizes]
    widths = allotted(natural, words, [min(word, _LEAST) for word in words], room=room)
    signed = [place for place, (_, column) in enumerate(inside) if column.kind is Kind.SIGN]
    if signed and sum(widths) < room:
        widths[signed[0]] += room - sum(widths)
    below = tuple((place, column) for place, column in enumerate(table.columns) if column.place is Place.BELOW)
    columns = tuple(column for _, column in inside)
    return _Laid(columns, tuple(place for place, _ in inside), tuple(widths), below, width)


def _table(table: Table, width: int) -> Iterator[Block]:
    """A table block by block: its title and head stay with its first row, and the head comes again on each page."""
    title = [*wrapped(shown(table.title), width)] if table.title else []
    if not any(group.rows for group in table.groups):
        yield Block((*title, *(wrapped(shown(table.empty), width) if table.empty else ())))
        for note in table.notes:
            yield Block(tuple(_hanging(note, width)))
        return
    laid = _laid(table, width)
    head = _head(laid)
    again = (*(wrapped(shown(tr("{title}, continued", title=table.title)), width) if table.title else ()), *head)
    pending: list[str] = [*title, *head]
    heading: tuple[str, ...] = ()  # the first block has the head in it
    for group in table.groups:
        titled = wrapped(shown(group.title), width) if group.title else []
        pending += titled
        for row in group.rows:
            lines = [*([""] if table.spaced else []), *laid.row(row)]
            yield Block((*pending, *lines), heading)
            pending, heading = [], (*again, *titled)
        for total in group.totals:
            yield Block((*pending, *laid.total(total, "-")), heading)
            pending, heading = [], again
        if group is not table.groups[-1]:
            pending = ["", *pending]
    ends = [line for total in table.totals for line in laid.total(total, "=")]
    if ends or pending:
        yield Block((*pending, *ends), heading)
    for note in table.notes:
        yield Block(tuple(_hanging(note, width)))


def _head(laid: _Laid) -> list[str]:
    titles = [wrapped(column.title, width) for column, width in zip(laid.columns, laid.widths, strict=True)]
    height = max(map(len, titles))
    return [*laid.line([[""] * (height - len(t)) + t for t in titles]), laid.rule("-")]
