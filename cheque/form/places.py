"""Everything a form can strike, as rectangles on its paper: fields, columns of tables, and constants alike."""

import re
from typing import NamedTuple

from cheque.form.geometry import Area
from cheque.form.model import Column, Field, Form, Table, When
from cheque.tongue import tr


class Place(NamedTuple):
    """One place: `name` ("payee", "stub.hours"), `what` it shows, its cells, and the frame it must stay in.

    `area` is the character cells from its first to its last, `pitch` the width of one, and `struck` what of them it
    may strike: of a date whose digits stand apart, each digit by itself, so that each may have a frame of its own.
    `box` is None when no frame was stated. `in_table`: whether it is a column of a list.
    """

    name: str
    what: str
    line: int
    column: int
    area: Area
    when: When
    hidden_from: tuple[str, ...]
    box: Area | None
    pitch: int
    struck: tuple[Area, ...]
    in_table: bool = False

    def __str__(self) -> str:
        return tr("{name} (line {line}, column {column})", name=self.name, line=self.line, column=self.column)


def cells(form: Form, line: int, column: int, lines: int, width: int, pitch: int = 0) -> Area:
    """The character cells from a line and column of the grid, as an area on the paper."""
    grid = form.grid
    return Area(
        grid.left + (column - 1) * grid.pitch,
        grid.top + (line - 1) * grid.spacing,
        width * (pitch or grid.pitch),
        lines * grid.spacing,
    )


def field_area(form: Form, field: Field) -> Area:
    """The cells of one field or constant."""
    return cells(form, field.line, field.column, field.lines, field.width, field.pitch)


def column_area(form: Form, table: Table, column: Column) -> Area:
    """The cells of one column of a table, over all its lines."""
    return cells(form, table.line, column.column, table.lines, column.width)


def places(form: Form) -> tuple[Place, ...]:
    """Every place of the form, in the order of the definition: fields, tables' columns, constants."""
    found = [_of_field(form, field) for field in form.fields]
    for table in form.tables:
        for number, column in enumerate(table.columns):
            same = [c.what for c in table.columns[:number]].count(column.what)
            name = f"{table.name}.{column.what}" + (f".{same + 1}" if same else "")
            area = column_area(form, table, column)
            hidden = table.hidden_from + column.hidden_from
            found.append(
                Place(
                    name,
                    column.what,
                    table.line,
                    column.column,
                    area,
                    table.when,
                    hidden,
                    table.box,
                    form.grid.pitch,
                    (area,),
                    in_table=True,
                )
            )
    found += [_of_field(form, constant) for constant in form.constants]
    return tuple(found)


def _of_field(form: Form, field: Field) -> Place:
    area = field_area(form, field)
    return Place(
        field.name,
        field.what,
        field.line,
        field.column,
        area,
        field.when,
        field.hidden_from,
        field.box,
        field.pitch or form.grid.pitch,
        _struck(field, area),
    )


def _struck(field: Field, area: Area) -> tuple[Area, ...]:
    """The cells that a field may strike: all, or of a date that fills its place those without a blank."""
    pattern = field.prefix + field.pattern + field.suffix
    if " " not in field.pattern or field.what == "period" or len(pattern) != field.width:
        return (area,)
    pitch = area.width // field.width
    return tuple(
        Area(area.left + run.start() * pitch, area.top, (run.end() - run.start()) * pitch, area.height)
        for run in re.finditer("[^ ]+", pattern)
    )
