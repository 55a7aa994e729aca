"""The stub: each line in its table, each amount in its column, and the sums, in one pass over the lines.

A printed line of a table is one mark: its columns, padded to their places, with blanks between. That strikes
the same characters in the same cells as a mark for each column would.
"""

from collections.abc import Callable, Iterable, Sequence
from operator import itemgetter
from typing import Any, NamedTuple

from cheque.form import dates
from cheque.form.model import Column, Form, Table
from cheque.form.what import COLUMNS
from cheque.layout.shapes import Misfit, too_long
from cheque.layout.values import Money
from cheque.page import Mark
from cheque.payment import Kind, Payment, Role, StubLine
from cheque.tongue import tr

Totals = tuple[int | None, ...]
#: a column's name -> the place of its value in a StubLine; of goods, quantity and price stand in hours and rate
_PLACE = {name: StubLine._fields.index({"quantity": "hours", "price": "rate"}.get(name, name)) for name in COLUMNS}
_MONEY = frozenset({"amount", "to_date", "gross", "discount"})
_new = tuple.__new__
_EARNING, _DEDUCTION, _INVOICE = Kind.EARNING, Kind.DEDUCTION, Kind.INVOICE
_amount, _to_date, _gross, _discount = (itemgetter(_PLACE[w]) for w in ("amount", "to_date", "gross", "discount"))


class Row(NamedTuple):
    """How a table prints lines of one kind.

    template: the whole printed line, with a place for each value that `values` takes out of a StubLine, in the
    order of the columns. money, dated, centred: which of them are amounts; dates, by which pattern; centred, and
    how wide.
    """

    table: int
    template: str
    width: int
    values: Callable[[StubLine], tuple[Any, ...]]
    money: tuple[int, ...]
    dated: tuple[tuple[int, str], ...]
    centred: tuple[tuple[int, int], ...]
    columns: tuple[Column, ...]


class Place(NamedTuple):
    """Where a table stands, in units from the first line and column of the grid."""

    name: str
    x: int
    y: int
    pitch: int
    spacing: int
    weight: int
    lines: int
    wrap: int


class Stub(NamedTuple):
    """All tables of a form, for one role. A stub of at most `surely` lines fits, whatever its lines are."""

    rows: dict[Kind, Row]
    places: tuple[Place, ...]
    figures: Money
    surely: int = 0


def prepare(form: Form, tables: Sequence[Table], figures: Money) -> Stub:
    """The tables made ready. A kind that no table shows has no row."""
    rows: dict[Kind, Row] = {}
    places = []
    for number, table in enumerate(tables):
        first = min(column.column for column in table.columns)
        weight = form.look.weight if table.weight is None else table.weight
        grid = form.grid
        places.append(
            Place(
                table.name,
                (first - 1) * grid.pitch,
                (table.line - 1) * grid.spacing,
                grid.pitch,
                grid.spacing,
                weight,
                table.lines,
                table.columns[0].width if table.wrap else 0,
            )
        )
        for kind in table.shows:
            rows[kind] = _row(number, table, kind, first)
    surely = 0 if any(place.wrap for place in places) else min((place.lines for place in places), default=0)
    return Stub(rows, tuple(places), figures, surely)


def _row(number: int, table: Table, kind: Kind, first: int) -> Row:
    columns = sorted((c for c in table.columns if not c.kinds or kind in c.kinds), key=lambda c: c.column)
    template, at = "", first
    for column in columns:
        template += " " * (column.column - at) + f"%{'-' * (column.align == 'left')}{column.width}s"
        at = column.column + column.width
    places = [_PLACE[column.what] for column in columns]
    return Row(
        number,
        template,
        at - first,
        itemgetter(*places) if len(places) > 1 else lambda line: tuple(line[place] for place in places),
        tuple(blank for blank, column in enumerate(columns) if column.what in _MONEY),
        tuple((blank, column.pattern) for blank, column in enumerate(columns) if column.what == "date"),
        tuple((blank, column.width) for blank, column in enumerate(columns) if column.align == "centre"),
        tuple(columns),
    )


def lay_out_stub(stub: Stub, lines: Iterable[StubLine], put: Callable[[Mark], None], amiss: list[Misfit]) -> None:
    """Put a mark for every line of the stub, in the order of the register; what does not fit goes to `amiss`."""
    rows, places, figures, _ = stub
    used = [0] * len(places)
    for line in lines:
        row = rows.get(line[0])
        if row is None:
            amiss.append(_no_table(line))
            continue
        number, template, width, take, amounts, dated, centred, _ = row
        values = [*take(line)]
        for blank in amounts:
            amount = values[blank]
            values[blank] = "" if amount is None else figures(amount)
        for blank, pattern in dated:
            values[blank] = dates.write(pattern, values[blank])
        for blank, room in centred:
            values[blank] = values[blank].center(room)
        text = template % (*values,)
        place, at = places[number], used[number]
        if len(text) != width:
            if place.wrap:
                used[number] = _wrap(place, at, values[0], put, amiss)
                continue
            _too_wide(place, row, values, amiss)
        elif at < place[6]:
            put(_new(Mark, (place[1], place[2] + at * place[4], place[3], place[5], text.rstrip())))
        used[number] = at + 1
    for place, count in zip(places, used, strict=True):
        if count > place[6]:
            found, wanted = tr("{count} lines", count=count), tr("at most {count}", count=place.lines)
            do = tr("use a form with a longer stub: no line is ever left out")
            amiss.append(Misfit(place.name, found, wanted, do))


def divided(stub: Stub, lines: Sequence[StubLine]) -> list[list[StubLine]]:
    """The lines as they go on from form to form: each table filled in order, no line torn in two.

    What stands in no table, and a line longer than a whole table, stays where it is, to be refused there.
    """
    sheets: list[list[StubLine]] = [[]]
    used = [0] * len(stub.places)
    at = [0] * len(stub.places)
    for line in lines:
        row = stub.rows.get(line.kind)
        if row is None:
            sheets[0].append(line)
            continue
        table = row.table
        place = stub.places[table]
        takes = len(_broken(line.text, place.wrap)) if place.wrap else 1
        if used[table] and used[table] + takes > place.lines:
            at[table] += 1
            used[table] = 0
        used[table] += takes
        if at[table] == len(sheets):
            sheets.append([])
        sheets[at[table]].append(line)
    return sheets


def _no_table(line: StubLine) -> Misfit:
    found = tr("{kind} line {text!r}", kind=line.kind, text=line.text)
    return Misfit("stub", found, tr("lines of the kinds that the form has a table for"), tr("use another form"))


def _wrap(place: Place, at: int, text: str, put: Callable[[Mark], None], amiss: list[Misfit]) -> int:
    """A long text over as many lines as it needs, broken at blanks; gives the line after its last."""
    for piece in _broken(text, place.wrap):
        if len(piece) > place.wrap:
            amiss.append(too_long(place.name, piece, place.wrap))
        elif at < place.lines:
            put(Mark(place.x, place.y + at * place.spacing, place.pitch, place.weight, piece))
        at += 1
    return at


def _broken(text: str, width: int) -> list[str]:
    """A text as the lines that it takes."""
    if len(text) <= width:
        return [text]
    broken = [""]
    for word in text.split(" "):
        joined = f"{broken[-1]} {word}" if broken[-1] else word
        if len(joined) <= width:
            broken[-1] = joined
        else:
            broken.append(word)
    return [piece for piece in broken if piece]


def _too_wide(place: Place, row: Row, values: list[Any], amiss: list[Misfit]) -> None:
    for column, value in zip(row.columns, values, strict=True):
        if len(value) > column.width:
            what = values[0] if row.columns[0].what == "text" else ""
            found = (
                tr("{value!r} of {line!r}, {count} characters", value=value, line=what, count=len(value))
                if what and column.what != "text"
                else tr("{text!r}, {count} characters", text=value, count=len(value))
            )
            amiss.append(
                Misfit(
                    f"{place.name}.{column.what}",
                    found,
                    tr("at most {width} characters", width=column.width),
                    tr("shorten it at the source, or use another form"),
                )
            )


def totals(payment: Payment) -> Totals:
    """The sums in the order of TOTALS; None where there is nothing to sum, or a line lacks what is summed.

    A sum to date is given only when every line of its kind has one: a sum of some would say too little.
    """
    earned: list[StubLine] = []
    taken: list[StubLine] = []
    invoiced: list[StubLine] = []
    for line in payment.stub:
        kind = line[0]
        if kind is _EARNING:
            earned.append(line)
        elif kind is _DEDUCTION:
            taken.append(line)
        elif kind is _INVOICE:
            invoiced.append(line)
    gross, gross_to_date = _sum(earned, _amount), _sum(earned, _to_date)
    less, less_to_date = _sum(taken, _amount), _sum(taken, _to_date)
    if not taken:  # nothing deducted is 0.00 where there was something to deduct it from
        less = None if gross is None else 0
        less_to_date = None if gross_to_date is None else 0
    net_to_date = None if gross_to_date is None or less_to_date is None else gross_to_date - less_to_date
    invoices, discounts = (_sum(invoiced, _gross), _sum(invoiced, _discount)) if invoiced else (None, None)
    by_transfer: int | None = payment.by_transfer or None
    by_cheque = payment.amount
    if payment.role is Role.ADVICE and payment.amount:  # all of it goes by transfer
        by_transfer, by_cheque = payment.amount + payment.by_transfer, 0
    net = payment.amount + payment.by_transfer
    return gross, gross_to_date, less, less_to_date, net, net_to_date, invoices, discounts, by_cheque, by_transfer


def _sum(lines: list[StubLine], take: Callable[[StubLine], int | None]) -> int | None:
    if not lines:
        return None
    try:
        return sum(map(take, lines))  # type: ignore[arg-type]  # None ends it
    except TypeError:
        return None
