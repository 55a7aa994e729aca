"""A form as the TOML of its definition: `cheque.form.load` gives the very same form back.

Lengths stand on the chart where they fall on a half or a third of a line or column, else as people write them.
What has its default is left out. A field's frame is written by the name of the preprinted box that it is.
"""

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from cheque.form.geometry import Area
from cheque.form.model import ALWAYS, CLEAR_BAND, Box, Caption, Column, Field, Form, Grid, Part, Rule, Table, When
from cheque.form.values import WEIGHTS
from cheque.form.what import ADVICE_WORDING, CLOSED, COLUMNS, WHAT
from cheque.payment import Role
from cheque.units import INCH, POINT, write_length

_WEIGHT_NAMES = {weight: name for name, weight in WEIGHTS.items()}
_SEVENTEEN = 7 * INCH // 120
#: parts of a line or column that people read off a chart
_PARTS = (1, 2, 3, 4)

Items = list[tuple[str, Any]]


def to_toml(form: Form, heading: str = "") -> str:
    """The definition, with `heading` as a comment at its top and a comment over each of its sections."""
    write = _Writer(form)
    pieces = [_comment(heading)] if heading else []
    pieces += [_table("", write.head()), _table("[paper]", write.paper()), _table("[grid]", write.grid())]
    if look := write.look():
        pieces.append(_table("[look]", look))
    if form.cheque:
        pieces.append(_table("[cheque]", write.cheque()))
    pieces += [_section("parts, the top one first"), *write.parts()]
    pieces += [_section("what is struck"), *(_table("[[field]]", write.field(f)) for f in form.fields)]
    for table in form.tables:
        pieces += [_table("[[table]]", write.table(table)), *write.columns(table)]
    pieces += [_table("[[constant]]", write.constant(c)) for c in form.constants]
    printed = [
        *(_table("[[preprint.box]]", write.box(box)) for box in form.preprint.boxes),
        *(_table("[[preprint.line]]", write.rule(rule)) for rule in form.preprint.rules),
        *(_table("[[preprint.text]]", write.caption(caption)) for caption in form.preprint.captions),
    ]
    if printed:
        pieces += [_section("what the stock carries"), *printed]
    return "\n\n".join(pieces) + "\n"


def _comment(text: str) -> str:
    return "\n".join(f"# {line}".rstrip() for line in text.splitlines())


def _section(text: str) -> str:
    return f"# {'-' * 64} {text}"


def _table(header: str, items: Items) -> str:
    lines = [f"{key} = {_value(value)}" for key, value in items]
    return "\n".join([header, *lines] if header else lines)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(one)}" for key, one in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_value, value)) + "]"
    return '"' + str(value).replace("\\", "\\\\").replace('"', '\\"') + '"'


def _step(units: int) -> str:
    """A pitch or a spacing."""
    if units == _SEVENTEEN:
        return "17.1 to the inch"
    per = Fraction(INCH, units)
    return f"{per} to the inch" if per.denominator == 1 else write_length(units)


def _mixed(value: Fraction) -> str:
    whole, rest = divmod(value, 1)
    return f"{whole} {rest}" if whole and rest else str(rest or whole)


def across(units: int, grid: Grid) -> str:
    """A place across: on the chart where it can be read off one, else a length.

    >>> across(INCH, Grid(INCH // 10, INCH // 6)), across(INCH * 3 // 32, Grid(INCH // 10, INCH // 6))
    ('column 11', '3/32 in')
    """
    return _place(units, grid.left, grid.pitch, "column")


def down(units: int, grid: Grid) -> str:
    """A place down: on the chart where it can be read off one, else a length."""
    return _place(units, grid.top, grid.spacing, "line")


def _place(units: int, start: int, step: int, name: str) -> str:
    number = Fraction(units - start, step) + 1
    if number > 0 and number.denominator in _PARTS:
        return f"{name} {_mixed(number)}"
    return write_length(units)


class _Writer:
    """The tables of one form."""

    def __init__(self, form: Form) -> None:
        self.form, self.chart = form, form.grid
        self.boxes = {box.area: box.name for box in reversed(form.preprint.boxes) if box.name}

    def head(self) -> Items:
        """What stands before the first table."""
        form = self.form
        items: Items = [("name", form.name)]
        if form.title != form.name:
            items.append(("title", form.title))
        items.append(("country", form.country))
        if form.currency:
            items.append(("currency", form.currency))
        if not form.payable:
            items.append(("payable", False))
        elif form.roles != (Role.CHEQUE,):
            items.append(("roles", form.roles))
        if form.advice and form.advice != ADVICE_WORDING.get(form.country):
            items.append(("advice", form.advice))
        if form.overflow != "refuse":
            items.append(("overflow", form.overflow))
        if form.set_aside:
            items.append(("set_aside", form.set_aside))
        return items

    def paper(self) -> Items:
        """[paper]."""
        paper = self.form.paper
        items: Items = [("width", write_length(paper.width)), ("length", write_length(paper.length))]
        if paper.strip:
            items.append(("strip", write_length(paper.strip)))
        for key in ("perforations", "side_perforations"):
            if places := getattr(paper, key):
                items.append((key, [write_length(place) for place in places]))
        return items

    def grid(self) -> Items:
        """[grid]."""
        items: Items = [("pitch", _step(self.chart.pitch)), ("spacing", _step(self.chart.spacing))]
        return items + [
            (key, write_length(getattr(self.chart, key))) for key in ("left", "top") if getattr(self.chart, key)
        ]

    def look(self) -> Items:
        """[look], where it is not the plain one."""
        look = self.form.look
        items: Items = []
        if look.quality != "draft":
            items.append(("quality", look.quality))
        if look.weight:
            items.append(("weight", _WEIGHT_NAMES[look.weight]))
        return items + ([("one_direction", True)] if look.one_direction else [])

    def cheque(self) -> Items:
        """[cheque]."""
        cheque = self.form.cheque
        assert cheque
        area = cheque.area
        items: Items = [("left", across(area.left, self.chart))] if area.left else []
        items.append(("top", write_length(area.top)))
        if area.width != self.form.paper.width:
            items.append(("width", write_length(area.width)))
        items.append(("height", write_length(area.height)))
        return items + ([] if cheque.clear == CLEAR_BAND else [("clear_band", write_length(cheque.clear))])

    def parts(self) -> Iterable[str]:
        """[[part]] and its blocked areas."""
        for part in self.form.parts:
            yield _table("[[part]]", self._part(part))
            yield from (_table("[[part.blocked]]", list(self.area(area).items())) for area in part.blocked)

    def _part(self, part: Part) -> Items:
        items: Items = [("name", part.name), ("goes_to", part.goes_to)]
        if part.legend:
            items.append(("legend", part.legend))
        items += [(key, write_length(getattr(part, key))) for key in ("left", "width") if getattr(part, key)]
        return items + ([("must_not_show", part.must_not_show)] if part.must_not_show else [])

    def field(self, field: Field) -> Items:
        """[[field]]."""
        kind = WHAT[field.what].kind
        items: Items = [("name", field.name)] if field.name != field.what else []
        items.append(("what", field.what))
        if kind == "date":
            items.append(("form", field.pattern))
        items += [("line", field.line), ("column", field.column), ("width", field.width)]
        if field.lines != 1:
            items.append(("lines", field.lines))
        right = field.what == "amount_figures" or kind == "money"
        if field.align != ("right" if right else "left"):
            items.append(("align", field.align))
        if field.fill != ("*" if field.what in CLOSED else ""):
            items.append(("fill", field.fill or "none"))
        items += [(key, getattr(field, key)) for key in ("prefix", "suffix") if getattr(field, key)]
        if field.case != "as-is":
            items.append(("case", field.case))
        return items + self._common(field)

    def constant(self, constant: Field) -> Items:
        """[[constant]]."""
        items: Items = [("name", constant.name)] if constant.name != constant.text else []
        items += [("text", constant.text), ("line", constant.line), ("column", constant.column)]
        return items + self._common(constant)

    def _common(self, field: Field | Table) -> Items:
        items: Items = []
        if isinstance(field, Field) and field.pitch:
            items.append(("pitch", _step(field.pitch)))
        if field.weight is not None:
            items.append(("weight", _WEIGHT_NAMES[field.weight]))
        if field.when != ALWAYS:
            items.append(("when", self._when(field.when)))
        if field.hidden_from:
            items.append(("hidden_from", field.hidden_from))
        if field.box:
            items.append(("box", self.boxes.get(field.box) or self.area(field.box)))
        return items

    def _when(self, when: When) -> dict[str, Any]:
        keys = ("roles", "over", "up_to", "departments", "since", "until")
        return {key: getattr(when, key) for key in keys if getattr(when, key)}

    def table(self, table: Table) -> Items:
        """[[table]]."""
        items: Items = [("name", table.name), ("shows", table.shows), ("line", table.line), ("lines", table.lines)]
        return items + ([("wrap", True)] if table.wrap else []) + self._common(table)

    def columns(self, table: Table) -> Iterable[str]:
        """[[table.column]]."""
        return (_table("[[table.column]]", self._column(column)) for column in table.columns)

    def _column(self, column: Column) -> Items:
        items: Items = [("what", column.what)]
        if column.what == "date":
            items.append(("form", column.pattern))
        items += [("column", column.column), ("width", column.width)]
        if column.align != COLUMNS[column.what][0]:
            items.append(("align", column.align))
        return items + [(key, getattr(column, key)) for key in ("kinds", "hidden_from") if getattr(column, key)]

    def area(self, area: Area) -> dict[str, str]:
        """left, top, right, bottom of an area: all on the chart, or all as lengths, as they were measured."""
        sides = {"left": area.left, "top": area.top, "right": area.right, "bottom": area.bottom}
        on_chart = {key: (down if key in {"top", "bottom"} else across)(at, self.chart) for key, at in sides.items()}
        if all(text.startswith(("line", "column")) for text in on_chart.values()):
            return on_chart
        return {key: write_length(at) for key, at in sides.items()}

    def box(self, box: Box) -> Items:
        """[[preprint.box]]."""
        items: Items = [("name", box.name)] if box.name else []
        if box.drawn != "outline":
            items.append(("drawn", box.drawn))
        items += list(self.area(box.area).items())
        return items + self._printed(box)

    def rule(self, rule: Rule) -> Items:
        """[[preprint.line]]."""
        items: Items = [("left", across(rule.left, self.chart)), ("top", down(rule.top, self.chart))]
        if rule.width:
            items.append(("right", across(rule.left + rule.width, self.chart)))
        else:
            items.append(("bottom", down(rule.top + rule.height, self.chart)))
        return items + self._printed(rule)

    def _printed(self, one: Box | Rule) -> Items:
        items: Items = [] if one.thickness == POINT // 2 else [("thickness", write_length(one.thickness))]
        return items + ([("parts", one.parts)] if one.parts else [])

    def caption(self, caption: Caption) -> Items:
        """[[preprint.text]]."""
        items: Items = [("what", caption.what)] if caption.what != "text" else []
        if caption.text or caption.what != "legend":
            items.append(("text", caption.text))
        items += [("at", across(caption.x, self.chart)), ("top", down(caption.top, self.chart))]
        if caption.size != 6 * POINT:
            items.append(("size", _points(caption.size)))
        if caption.align != "left":
            items.append(("align", caption.align))
        return (
            items + ([("bold", True)] if caption.bold else []) + ([("parts", caption.parts)] if caption.parts else [])
        )


def _points(units: int) -> str:
    points = Fraction(units, POINT)
    return f"{points} pt" if points.denominator == 1 else write_length(units)
