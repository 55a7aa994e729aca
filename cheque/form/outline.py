"""A definition made from what was measured on stock at hand: sizes, parts, and a frame for each thing it shows.

Each frame becomes a box of the definition and the print is seated in it, so that its slack is known from the first.
What the stock carries besides (captions, lines) is left for a person to add, with a scan under the fields.
"""

from dataclasses import replace
from typing import NamedTuple

from cheque.errors import Fault, InputRefused
from cheque.form.geometry import Area, left_over
from cheque.form.model import (
    CELL_OF_SIZE,
    CLEAR_BAND,
    Box,
    Caption,
    Cheque,
    Column,
    Field,
    Form,
    Grid,
    Paper,
    Part,
    Preprint,
    Table,
)
from cheque.form.places import column_area, field_area
from cheque.form.rulers import Seat, best_grid, seat
from cheque.form.what import ADVICE_WORDING, CLOSED, COLUMNS, WHAT
from cheque.payment import Kind, Role
from cheque.tongue import tr
from cheque.units import INCH, POINT, write_length

#: how a country writes dates (common practice; Canada and India by rule); any other as ISO 8601 does
DATES = {
    "US": "MM/DD/YYYY",
    "CA": "YYYYMMDD",
    "IN": "DDMMYYYY",
    "DE": "DD.MM.YYYY",
    **dict.fromkeys(("GB", "IE", "FR"), "DD/MM/YYYY"),
}
#: what a stub lists, by the name of its kind of business
STUBS = {
    "wages": (Kind.EARNING, Kind.DEDUCTION, Kind.EMPLOYER),
    "invoices": (Kind.INVOICE,),
    "goods": (Kind.GOODS,),
}
#: columns of a stub by the names of their frames -> what they show, and of which kinds of line
_OF_KINDS = {"earned": (Kind.EARNING,), "deducted": (Kind.DEDUCTION,), "employer": (Kind.EMPLOYER,)}
#: where the stock's own number is preprinted
STOCK_NUMBER = "stock_number"
#: what a cheque must show, in the order in which it is asked for
WANTED = ("payee", "amount_words", "amount_figures", "date", "number", "signature", STOCK_NUMBER)
_LINES = {"block": 4, "words": 2}


class Measured(NamedTuple):
    """What is known of stock. `cheque` None: it is a paper that pays nothing. Lengths in units.

    frames: name -> frame. A name is what a field shows ("payee"), or NAME:WHAT where two show the same
    ("stub-date:date"), or stub.COLUMN for a column of the stub ("stub.text", "stub.earned").
    blocked: part -> areas that take no image.
    """

    name: str
    title: str
    country: str
    currency: str
    width: int
    length: int
    strip: int
    cheque: Area | None
    parts: tuple[tuple[str, str], ...]
    blocked: dict[str, tuple[Area, ...]]
    frames: dict[str, Area]
    date: str = ""
    sign: str = ""
    stub: str = "wages"


def what_of(name: str) -> str:
    """What the field of a frame shows. ValueError for a name that says nothing known."""
    what = name.rpartition(":")[2]
    if name.startswith("stub."):
        column = name.removeprefix("stub.")
        if column in COLUMNS or column in _OF_KINDS:
            return column
        raise ValueError(
            tr("{column!r}, which no stub has: {list}", column=column, list=", ".join([*COLUMNS, *_OF_KINDS]))
        )
    if what != STOCK_NUMBER and what not in WHAT:
        raise ValueError(tr("{what!r}, which no form shows: {list}", what=what, list=", ".join([*WHAT, STOCK_NUMBER])))
    return what


def outlined(measured: Measured) -> Form:
    """The form. InputRefused with every frame in which nothing can be printed. It may still have faults of paper."""
    grid = best_grid([area for name, area in measured.frames.items() if name != STOCK_NUMBER], INCH // 10, INCH // 6)
    faults: list[Fault] = []
    fields: list[Field] = []
    columns: list[tuple[str, Seat]] = []
    for name, frame in measured.frames.items():
        if name == STOCK_NUMBER:
            continue
        sat = _seated(name, frame, grid, measured, faults)
        if sat and name.startswith("stub."):
            columns.append((what_of(name), sat))
        elif sat:
            fields.append(_field(name, frame, sat, measured))
    kinds = {kind for name, _ in columns for kind in _OF_KINDS.get(name, ())}
    if strange := sorted(kinds - set(STUBS[measured.stub])):
        wanted = tr(
            "columns of {kinds} lines, as its stub is of {stub}",
            kinds=", ".join(STUBS[measured.stub]),
            stub=measured.stub,
        )
        faults.append(
            Fault(
                tr("{name}, stub", name=measured.name),
                tr("a column of {strange} lines", strange=", ".join(strange)),
                wanted,
            )
        )
    if faults:
        raise InputRefused(tr("{name} cannot be laid out as measured.", name=measured.name), faults)
    form = Form(
        name=measured.name,
        title=measured.title,
        country=measured.country,
        roles=_roles(measured),
        paper=_paper(measured),
        grid=grid,
        parts=tuple(Part(n, who, blocked=measured.blocked.get(n, ())) for n, who in measured.parts),
        currency=measured.currency,
        advice=ADVICE_WORDING.get(measured.country, "") if measured.cheque else "",
        cheque=Cheque(measured.cheque, CLEAR_BAND) if measured.cheque else None,
        fields=tuple(fields),
        preprint=_preprint(measured),
        payable=measured.cheque is not None,
    )
    if columns:
        form = _with_stub(form, columns, measured)
    return _hidden(form)


def _roles(measured: Measured) -> tuple[Role, ...]:
    if measured.cheque is None:
        return (Role.ADVICE,)
    return (Role.CHEQUE, Role.ADVICE) if measured.country in ADVICE_WORDING else (Role.CHEQUE,)


def _paper(measured: Measured) -> Paper:
    """The cheque is torn off where it ends and the paper does not."""
    level: tuple[int, ...] = ()
    upright: tuple[int, ...] = ()
    if area := measured.cheque:
        level = tuple(y for y in (area.top, area.bottom) if 0 < y < measured.length)
        upright = tuple(x for x in (area.left, area.right) if 0 < x < measured.width)
    return Paper(measured.width, measured.length, measured.strip, level, upright)


def _seated(name: str, frame: Area, grid: Grid, measured: Measured, faults: list[Fault]) -> Seat | None:
    what = what_of(name)
    kind = WHAT[what].kind if what in WHAT else ""
    lines = 999 if name.startswith("stub.") else _LINES.get(kind, 1)
    need = len(_pattern(measured)) if kind == "date" or what == "date" else 1
    sat = seat(frame, grid, lines=lines, need=need, low=kind == "space")
    if sat is None:
        size = tr("{width} by {height}", width=write_length(frame.width), height=write_length(frame.height))
        wanted = tr(
            "room for a character of {width} by {height} on the chart",
            width=write_length(grid.pitch),
            height=write_length(grid.spacing),
        )
        faults.append(
            Fault(tr("{name}, frame {name2}", name=measured.name, name2=name), size, wanted, tr("measure it again"))
        )
    return sat


def _pattern(measured: Measured) -> str:
    return measured.date or DATES.get(measured.country, "YYYY-MM-DD")


def _field(name: str, frame: Area, sat: Seat, measured: Measured) -> Field:
    what = what_of(name)
    kind = WHAT[what].kind
    on_cheque = measured.cheque is None or measured.cheque.holds(frame)
    return Field(
        name=name.partition(":")[0],
        what=what,
        line=sat.line,
        column=sat.column,
        width=sat.width,
        lines=sat.lines if kind in {"block", "words"} else 1,
        align="right" if what == "amount_figures" or kind == "money" else "left",
        fill="*" if what in CLOSED and on_cheque else "",
        pattern=_pattern(measured) if kind == "date" else "",
        prefix=measured.sign if what == "amount_figures" else "",
        box=frame,
    )


def _preprint(measured: Measured) -> Preprint:
    """A box for every frame, so that slack is known and pictures can be drawn; the stock's number in its own."""
    boxes = []
    captions: tuple[Caption, ...] = ()
    for name, frame in measured.frames.items():
        if name == STOCK_NUMBER:
            captions = (_number(frame),)
            continue
        drawn = "outline" if name.startswith("stub.") else "none"
        boxes.append(Box(box_name(name), frame, drawn))
    return Preprint(captions, (), tuple(boxes))


def box_name(name: str) -> str:
    """What the box of a frame is called: small letters, digits and hyphens."""
    return "frame-" + name.partition(":")[0].replace("_", "-").replace(".", "-").lower()


def _number(frame: Area) -> Caption:
    """As many digits as the frame holds, in type as high as it is, in whole points."""
    size = max(POINT, frame.height // POINT * POINT)
    digit = size * CELL_OF_SIZE[0] // CELL_OF_SIZE[1]
    return Caption(frame.left, frame.top, size, "0" * max(1, frame.width // digit), "number")


def _with_stub(form: Form, columns: list[tuple[str, Seat]], measured: Measured) -> Form:
    """The stub's columns as one table, on the lines that all of them have."""
    first = max(sat.line for _, sat in columns)
    last = min(sat.line + sat.lines for _, sat in columns)
    frames = [area for name, area in measured.frames.items() if name.startswith("stub.")]
    left, top = min(f.left for f in frames), min(f.top for f in frames)
    box = Area(left, top, max(f.right for f in frames) - left, max(f.bottom for f in frames) - top)
    kinds = STUBS[measured.stub]
    found = [
        Column(
            what="amount" if name in _OF_KINDS else name,
            column=sat.column,
            width=sat.width,
            align=COLUMNS["amount" if name in _OF_KINDS else name][0],
            pattern=_pattern(measured) if name == "date" else "",
            kinds=_OF_KINDS.get(name, ()),
        )
        for name, sat in columns
    ]
    table = Table("stub", kinds, first, max(1, last - first), tuple(found), box=box)
    return replace(form, tables=(table,))


def _hidden(form: Form) -> Form:
    """What falls wholly where a part takes no image says that it is hidden from it."""

    def parts(area: Area) -> tuple[str, ...]:
        return tuple(part.name for part in form.parts if not left_over(area, form.takes_no_image(part)))

    fields = tuple(replace(field, hidden_from=parts(field_area(form, field))) for field in form.fields)
    tables = tuple(
        replace(
            table,
            columns=tuple(replace(c, hidden_from=parts(column_area(form, table, c))) for c in table.columns),
        )
        for table in form.tables
    )
    return replace(form, fields=fields, tables=tables)
