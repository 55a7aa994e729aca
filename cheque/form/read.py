"""A form definition from its TOML, every fault with the key's path and line, all together.

`load` says only what is wrong with the text as written: unknown keys, wrong types, impossible values, names
that lead nowhere. What is wrong with the form itself, as paper, is `cheque.form.check`'s to say.
"""

import re
from collections.abc import Iterable
from typing import Any

from cheque.errors import Fault, InputRefused
from cheque.form import lengths
from cheque.form.fields import Within, read_constant, read_field, read_table
from cheque.form.geometry import Area
from cheque.form.model import (
    CLEAR_BAND,
    Box,
    Caption,
    Cheque,
    Form,
    Grid,
    Look,
    Paper,
    Part,
    Preprint,
    Rule,
)
from cheque.form.values import WEIGHTS, printable, take_list
from cheque.form.what import ADVICE_WORDING, COLUMNS, WHAT
from cheque.payment import Role
from cheque.tomlfile import Checker, Document
from cheque.tongue import mark, tr
from cheque.units import INCH, POINT

_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]*[a-z0-9])?")
_NAME_WANTED = mark("a name of small letters, digits and hyphens")
#: what may become of stub lines that do not fit
OVERFLOWS = ("refuse", "continue", "listing")
_SHOWN_WANTED = mark("a list of what a field or a column can show, as the documents list it")
_PLAIN_GRID = Grid(INCH // 10, INCH // 6)


def load(text: str, source: str) -> Form:
    """The form that a TOML text defines; `source` is the file's name for messages.

    Raises InputRefused with every fault of the text, each at its line.
    """
    document = Document(text, source)
    faults: list[Fault] = []
    top = Checker(document, document.data, "", faults)
    form = _read(top, faults)
    if faults:
        raise InputRefused(tr("{source} is not a form definition.", source=source), faults)
    return form


def name_of(text: str) -> str:
    """A name as forms, parts, fields and boxes bear it. ValueError for anything else."""
    if not _NAME.fullmatch(text):
        raise ValueError(repr(text))
    return text


def _read(top: Checker, faults: list[Fault]) -> Form:
    heading = _heading(top)
    grid = _grid(top.table_at("grid")) if _has(top, "grid") else _PLAIN_GRID
    paper = _paper(top.table_at("paper"), grid) if _has(top, "paper") else Paper(1, 1)
    parts = tuple(_part(table, grid) for table in top.tables_at("part"))
    if not parts:
        top.fault("part", tr("nothing"), tr("at least one part"), tr("add a [[part]] for each sheet of the set"))
    part_names = tuple(part.name for part in parts)
    preprint = _preprint(top, grid, part_names)
    boxes = {box.name: box.area for box in preprint.boxes if box.name}
    within = Within(grid, part_names, boxes, _borne(heading))
    form = Form(
        **heading,
        paper=paper,
        grid=grid,
        parts=parts,
        look=_look(top.table_at("look")),
        cheque=_cheque(top, grid, paper),
        fields=tuple(read_field(table, within) for table in top.tables_at("field")),
        tables=tuple(read_table(table, within) for table in top.tables_at("table")),
        constants=tuple(read_constant(table, within) for table in top.tables_at("constant")),
        preprint=preprint,
    )
    _unlike(top, "part", part_names, faults)
    _unlike(top, "field", [field.name for field in form.fields], faults)
    _unlike(top, "table", [table.name for table in form.tables], faults)
    _unlike(top, "constant", [constant.name for constant in form.constants], faults)
    _unlike(top, "preprint.box", [box.name for box in preprint.boxes], faults)
    top.finish()
    return form


def _heading(top: Checker) -> dict[str, Any]:
    """What the form is called, where and for what it is used."""
    name = top.take("name", str, "", required=True, wanted=tr(_NAME_WANTED), convert=name_of)
    country = top.take(
        "country", str, "", required=True, wanted=tr("a country's two letters, as in US"), convert=_country
    )
    payable: bool = top.take("payable", bool, True)
    roles = take_list(top, "roles", [Role.CHEQUE, Role.ADVICE], Role, (Role.CHEQUE if payable else Role.ADVICE,))
    if not payable and Role.CHEQUE in roles:
        top.fault(
            "roles",
            tr("a cheque that is not payable"),
            tr('roles = ["advice"], or none'),
            tr("take payable or the role out"),
        )
    wanted = tr('"refuse", "continue" (on the next forms, struck VOID) or "listing" (on plain paper)')
    return {
        "name": name,
        "title": top.take("title", str, name, convert=printable),
        "country": country,
        "currency": top.take("currency", str, "", wanted=tr("an ISO 4217 code, as in USD"), convert=_currency),
        "roles": roles,
        "overflow": top.take("overflow", str, "refuse", choices=OVERFLOWS, wanted=wanted),
        "advice": _advice(top, country, roles if payable else ()),
        "payable": payable,
        "set_aside": take_list(top, "set_aside", None, name_of, (), tr("a list of the country's rules, by name")),
    }


def _borne(heading: dict[str, Any]) -> tuple[Role, ...]:
    """The roles that a condition may name: those the form is used for, and that of the forms on which it goes on."""
    roles: tuple[Role, ...] = heading["roles"]
    return (*roles, Role.CONTINUATION) if heading["overflow"] == "continue" else roles


def _has(top: Checker, key: str) -> bool:
    """Whether the table is there; a missing one is one fault, not one for each of its keys."""
    top.take(key, dict)
    if key in top.table:
        return True
    top.fault(key, tr("nothing"), tr("a table [{key}]", key=key), tr("add [{key}]", key=key))
    return False


def _unlike(top: Checker, key: str, names: Iterable[str], faults: list[Fault]) -> None:
    """Note every name that was used before."""
    seen: set[str] = set()
    for index, name in enumerate(names):
        if name and name in seen:
            where = top.document.where(f"{key}.{index}.name")
            faults.append(
                Fault(
                    where, tr("a second {name!r}", name=name), tr("a name of its own"), tr('give it another name = "…"')
                )
            )
        seen.add(name)


def _country(text: str) -> str:
    if not re.fullmatch(r"[A-Z]{2}", text):
        raise ValueError(repr(text))
    return text


def _currency(text: str) -> str:
    from cheque.money import digits

    try:
        digits(text)
    except KeyError:
        raise ValueError(repr(text)) from None
    return text


def _advice(top: Checker, country: str, roles: tuple[Role, ...]) -> str:
    """The advice's wording: the form's own, or its country's; none is a fault when the form takes advices."""
    own: str = top.take("advice", str, "", convert=printable)
    if Role.ADVICE not in roles:
        if own:
            top.fault(
                "advice", tr("a wording for advices"), tr('roles that name "advice"'), tr("add the role or take it out")
            )
        return ""
    wording = own or ADVICE_WORDING.get(country, "")
    if not wording and country:
        top.fault(
            "advice",
            tr("nothing"),
            tr("what an advice of {country} says in place of the amount", country=country),
            tr('add advice = "…", in the words of that country'),
        )
    return wording


def _grid(table: Checker) -> Grid:
    pitch = table.take(
        "pitch", str, _PLAIN_GRID.pitch, required=True, wanted=tr(lengths.PITCH_WANTED), convert=lengths.step
    )
    spacing = table.take(
        "spacing", str, _PLAIN_GRID.spacing, required=True, wanted=tr(lengths.SPACING_WANTED), convert=lengths.step
    )
    chart = Grid(pitch, spacing)
    left = lengths.take_size(table, "left", chart)
    top = lengths.take_size(table, "top", chart)
    table.finish()
    return Grid(pitch, spacing, left, top)


def _paper(table: Checker, grid: Grid) -> Paper:
    def lines_across(key: str) -> tuple[int, ...]:
        return take_list(table, key, None, lambda text: lengths.place(text, grid), (), tr(lengths.PLACE_WANTED))

    paper = Paper(
        width=table.take("width", str, 1, required=True, wanted=tr(lengths.SIZE_WANTED), convert=lengths.length),
        length=table.take("length", str, 1, required=True, wanted=tr(lengths.SIZE_WANTED), convert=lengths.length),
        strip=lengths.take_size(table, "strip", grid),
        perforations=lines_across("perforations"),
        side_perforations=lines_across("side_perforations"),
    )
    table.finish()
    return paper


def _look(table: Checker) -> Look:
    weight = table.take("weight", str, "normal", choices=tuple(WEIGHTS))
    look = Look(
        quality=table.take("quality", str, "draft", choices=("draft", "letter")),
        weight=WEIGHTS[weight],
        one_direction=table.take("one_direction", bool, False),
    )
    table.finish()
    return look


def _part(table: Checker, grid: Grid) -> Part:
    part = Part(
        name=table.take("name", str, "", required=True, wanted=tr(_NAME_WANTED), convert=name_of),
        goes_to=table.take("goes_to", str, "", required=True, wanted=tr("whom the part goes to"), convert=printable),
        legend=table.take("legend", str, "", convert=printable),
        left=lengths.take_size(table, "left", grid),
        width=lengths.take_size(table, "width", grid),
        blocked=tuple(_blocked(area, grid) for area in table.tables_at("blocked")),
        must_not_show=take_list(table, "must_not_show", sorted({*WHAT, *COLUMNS}), str, (), tr(_SHOWN_WANTED)),
    )
    table.finish()
    return part


def _blocked(table: Checker, grid: Grid) -> Area:
    area = lengths.take_area(table, grid)
    table.finish()
    return area


def _cheque(top: Checker, grid: Grid, paper: Paper) -> Cheque | None:
    if top.take("cheque", dict) is None:
        return None
    table = top.table_at("cheque")
    area = Area(
        lengths.take_place(table, "left", grid, required=False),
        lengths.take_place(table, "top", grid),
        lengths.take_size(table, "width", grid, paper.width),
        lengths.take_size(table, "height", grid, 0, required=True),
    )
    clear = lengths.take_size(table, "clear_band", grid, CLEAR_BAND)
    table.finish()
    return Cheque(area, clear)


def _preprint(top: Checker, grid: Grid, parts: tuple[str, ...]) -> Preprint:
    table = top.table_at("preprint")
    found = Preprint(
        captions=tuple(_caption(one, grid, parts) for one in table.tables_at("text")),
        rules=tuple(_rule(one, grid, parts) for one in table.tables_at("line")),
        boxes=tuple(_box(one, grid, parts) for one in table.tables_at("box")),
    )
    table.finish()
    return found


def _caption(table: Checker, grid: Grid, parts: tuple[str, ...]) -> Caption:
    what = table.take("what", str, "text", choices=("text", "legend", "number"))
    caption = Caption(
        x=lengths.take_place(table, "at", grid),
        top=lengths.take_place(table, "top", grid),
        size=table.take("size", str, 6 * POINT, wanted=tr(lengths.SIZE_WANTED), convert=lengths.length),
        text=table.take("text", str, "", required=what != "legend", convert=printable),
        what=what,
        align=table.take("align", str, "left", choices=("left", "centre", "right")),
        bold=table.take("bold", bool, False),
        parts=take_list(table, "parts", list(parts), str, ()),
    )
    table.finish()
    return caption


def _rule(table: Checker, grid: Grid, parts: tuple[str, ...]) -> Rule:
    left, top = lengths.take_place(table, "left", grid), lengths.take_place(table, "top", grid)
    sizes: dict[str, Any] = {}
    for by_size, by_place, start in (("width", "right", left), ("height", "bottom", top)):
        if isinstance(table.take(by_place, str), str):
            end = lengths.take_place(table, by_place, grid, start)
            if end <= start:
                table.fault(by_place, repr(table.table[by_place]), tr("a place after the start"))
            sizes[by_size] = max(0, end - start)
        else:
            sizes[by_size] = lengths.take_size(table, by_size, grid)
    if bool(sizes["width"]) == bool(sizes["height"]):
        table.fault(
            "left", tr("a line that runs neither across nor down"), tr("a width (or right) or a height (or bottom)")
        )
    rule = Rule(left, top, **sizes, thickness=_thickness(table), parts=take_list(table, "parts", list(parts), str, ()))
    table.finish()
    return rule


def _box(table: Checker, grid: Grid, parts: tuple[str, ...]) -> Box:
    box = Box(
        name=table.take("name", str, "", wanted=tr(_NAME_WANTED), convert=name_of),
        area=lengths.take_area(table, grid),
        drawn=table.take("drawn", str, "outline", choices=("outline", "shade", "none")),
        thickness=_thickness(table),
        parts=take_list(table, "parts", list(parts), str, ()),
    )
    table.finish()
    return box


def _thickness(table: Checker) -> int:
    units: int = table.take("thickness", str, POINT // 2, wanted=tr(lengths.SIZE_WANTED), convert=lengths.length)
    return units
