"""Fields, tables and constants of a form definition, out of their TOML tables."""

import re
from datetime import date
from typing import Any, NamedTuple

from cheque.fill import NOT_A_FILL
from cheque.form import dates, lengths
from cheque.form.geometry import Area
from cheque.form.model import ALWAYS, Column, Field, Grid, Table, When
from cheque.form.values import WEIGHTS, printable, take_list
from cheque.form.what import CLOSED, COLUMNS, WHAT
from cheque.payment import Kind, Role
from cheque.tomlfile import Checker
from cheque.tongue import mark, tr

#: more lines and columns than any paper has; beyond it a number is a slip of the hand
MOST = 400
#: the account's own limit, in `over` and `up_to`
TWO_SIGNATURES = "two signatures"
#: in a constant: after how many days the account's cheques are stale; the room for it is four digits
DAYS, _MOST_DAYS = "{days}", "0000"
_BLANK = re.compile(r"\{\w*\}")
ALIGNS = ("left", "right", "centre")
#: what stands to the right by itself
_RIGHT = frozenset({"amount_figures"}) | {name for name, what in WHAT.items() if what.kind == "money"}


class Within(NamedTuple):
    """What a field may refer to: the grid, the parts' names, the preprinted boxes, the form's roles."""

    grid: Grid
    parts: tuple[str, ...]
    boxes: dict[str, Area]
    roles: tuple[Role, ...]


def read_field(table: Checker, within: Within) -> Field:
    """One [[field]]."""
    what = table.take("what", str, "", required=True, wanted=tr("what the field shows"), choices=tuple(WHAT))
    kind = WHAT[what].kind if what else ""
    common = _common(table, within, what)
    field = Field(
        what=what,
        width=_count(table, "width", required=True),
        lines=_count(table, "lines") if kind in {"block", "words", "name", "space"} else 1,
        align=table.take("align", str, "right" if what in _RIGHT else "left", choices=ALIGNS),
        fill=_fill(table, what),
        case=table.take("case", str, "as-is", choices=("as-is", "upper")),
        pattern=_pattern(table, required=True) if kind == "date" else "",
        prefix=table.take("prefix", str, "", convert=printable),
        suffix=table.take("suffix", str, "", convert=printable),
        **common,
    )
    if kind == "slot" and field.when.by_payment:
        table.fault(
            "when", tr("a number on some forms only"), tr("the number on every form"), tr("take the condition out")
        )
    if kind in {"words", "figures"} and any(mark.isdigit() or mark in ".," for mark in field.prefix + field.suffix):
        table.fault(
            "what",
            tr("a digit, point or comma beside {what}", what=what),
            tr("no part of an amount"),
            tr("take it out"),
        )
    if kind in {"words", "name"} and field.lines > 2:
        table.fault("lines", str(field.lines), tr("1 or 2 lines for {says}", says=tr(WHAT[what].says)))
    if kind == "other" and (field.suffix or field.align != "left" or field.when.by_payment):
        do = tr("let the number end the place, at the left behind its prefix")
        table.fault("what", tr("a suffix, condition or align at {what}", what=what), tr("none of them"), do)
    if kind in {"slot", "space"} and (field.prefix or field.suffix or field.fill):
        table.fault(
            "what",
            tr("a prefix, suffix or fill at {what}", what=what),
            tr("none of them"),
            tr("write them as a [[constant]]"),
        )
    table.finish()
    return field


def read_constant(table: Checker, within: Within) -> Field:
    """One [[constant]]: wording struck as it stands."""
    text = table.take("text", str, "", required=True, wanted=tr("the wording"), convert=wording)
    if text.strip() == "" and "text" in table.table and isinstance(table.table["text"], str):
        table.fault("text", tr("nothing to print"), tr("the wording"))
    common = _common(table, within, text)
    table.finish()
    return Field(what="constant", text=text, width=max(1, len(text.replace(DAYS, _MOST_DAYS))), **common)


def wording(text: str) -> str:
    """What a constant says. ValueError for a blank to be filled in that nobody knows."""
    for blank in _BLANK.findall(printable(text)):
        if blank != DAYS:
            raise ValueError(
                tr("{blank} in {text!r}, which stands for nothing: there is {days}", blank=blank, text=text, days=DAYS)
            )
    return text


def read_table(table: Checker, within: Within) -> Table:
    """One [[table]] and its columns."""
    shows = take_list(table, "shows", list(Kind), Kind, ())
    if "shows" not in table.table:
        table.fault("shows", tr("nothing"), tr("the kinds of stub line it shows"), tr('as in shows = ["earning"]'))
    found = Table(
        name=table.take("name", str, "", required=True, wanted=tr("the table's name")),
        shows=shows,
        line=_count(table, "line", required=True),
        lines=_count(table, "lines", required=True),
        columns=tuple(_column(one, within, shows) for one in table.tables_at("column")),
        wrap=table.take("wrap", bool, False),
        weight=_weight(table),
        when=_when(table, within, roles_only=True),
        hidden_from=take_list(table, "hidden_from", list(within.parts), str, ()),
        box=_frame(table, within),
    )
    if not found.columns:
        table.fault("column", tr("nothing"), tr("at least one column"), tr("add a [[table.column]]"))
    if found.wrap and [column.what for column in found.columns] != ["text"]:
        table.fault("wrap", tr("more columns than one of text"), tr("a table of one text column"), tr("take wrap out"))
    table.finish()
    return found


def _column(table: Checker, within: Within, shows: tuple[Kind, ...]) -> Column:
    what = table.take("what", str, "", required=True, wanted=tr("what the column shows"), choices=tuple(COLUMNS))
    column = Column(
        what=what,
        column=_count(table, "column", required=True),
        width=_count(table, "width", required=True),
        align=table.take("align", str, COLUMNS[what][0] if what else "left", choices=ALIGNS),
        pattern=_pattern(table, required=True) if what == "date" else "",
        kinds=take_list(table, "kinds", list(shows), Kind, ()),
        hidden_from=take_list(table, "hidden_from", list(within.parts), str, ()),
    )
    table.finish()
    return column


def _common(table: Checker, within: Within, name: str) -> dict[str, Any]:
    """The keys that fields and constants share; unless it says otherwise, a field is named for what it shows."""
    return {
        "name": table.take("name", str, name),
        "line": _count(table, "line", required=True),
        "column": _count(table, "column", required=True),
        "pitch": table.take("pitch", str, 0, wanted=tr(lengths.PITCH_WANTED), convert=lengths.step),
        "weight": _weight(table),
        "when": _when(table, within),
        "hidden_from": take_list(table, "hidden_from", list(within.parts), str, ()),
        "box": _frame(table, within),
    }


def _count(table: Checker, key: str, *, required: bool = False) -> int:
    """A line, a column or a number of them: at least 1."""
    value: int = table.take(
        key, int, 1, required=required, wanted=tr("a whole number from 1 to {most}", most=MOST), convert=_counted
    )
    return value


def _counted(value: int) -> int:
    if not 1 <= value <= MOST:
        raise ValueError(str(value))
    return value


def _weight(table: Checker) -> int | None:
    name = table.take("weight", str, None, choices=tuple(WEIGHTS))
    return None if name is None else WEIGHTS[name]


def _fill(table: Checker, what: str) -> str:
    """One mark, or "" for "none"; what must be closed on a cheque is closed with * unless the form says otherwise."""
    fill: str = table.take(
        "fill", str, "*" if what in CLOSED else "", wanted=tr('one mark such as "*", or "none"'), convert=_one_character
    )
    return fill


def _one_character(text: str) -> str:
    if text == "none":
        return ""
    if len(text) != 1 or text.isspace() or text.isalnum() or text in NOT_A_FILL:
        raise ValueError(tr("{text!r}, which is not one mark that no amount or name could hold", text=text))
    return printable(text)


def _pattern(table: Checker, *, required: bool) -> str:
    pattern: str = table.take(
        "form",
        str,
        dates.ISO,
        required=required,
        wanted=tr("a date pattern such as 'MM/DD/YYYY'"),
        convert=lambda text: dates.check(printable(text)),
    )
    return pattern


def _when(table: Checker, within: Within, *, roles_only: bool = False) -> When:
    if table.take("when", dict) is None:
        return ALWAYS
    inner = table.table_at("when")
    roles = take_list(inner, "roles", list(within.roles), Role, ())
    if roles_only:
        when = When(roles)
    else:
        when = When(
            roles,
            over=inner.take("over", str, "", wanted=tr(_LIMIT_WANTED), convert=_limit),
            up_to=inner.take("up_to", str, "", wanted=tr(_LIMIT_WANTED), convert=_limit),
            departments=take_list(inner, "departments", None, printable, (), tr("a list of departments")),
            since=inner.take("since", str, "", wanted=tr(_DAY_WANTED), convert=_day),
            until=inner.take("until", str, "", wanted=tr(_DAY_WANTED), convert=_day),
        )
        if when.since and when.until and when.until < when.since:
            inner.fault("until", repr(when.until), tr("a day that is not before since"), tr("exchange the two"))
    if not inner.table:
        inner.fault("roles", tr("no condition"), tr(_CONDITIONS), tr("take `when` out, or state one"))
    inner.finish()
    return when


_CONDITIONS = mark("roles, over, up_to, departments, since or until")
_DAY_WANTED = mark('a day such as "2026-12-24"')


def _day(text: str) -> str:
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
        raise ValueError(repr(text))
    date.fromisoformat(text)
    return text


_LIMIT_WANTED = mark('"two signatures", or an amount such as "5000.00"')


def _limit(text: str) -> str:
    if text == TWO_SIGNATURES:
        return text
    whole, point, part = text.partition(".")
    if not (whole.isascii() and whole.isdigit() and (not point or (part.isascii() and part.isdigit()))):
        raise ValueError(repr(text))
    return text


def _frame(table: Checker, within: Within) -> Area | None:
    """`box`: the name of a preprinted box, or a table with its own left, top, width and height."""
    value = table.table.get("box")
    if value is None:
        table.take("box", str)
        return None
    if isinstance(value, str):
        name = table.take("box", str, "", choices=tuple(within.boxes) or (tr("(no box is named)"),))
        return within.boxes.get(name)
    inner = table.table_at("box")
    if not isinstance(value, dict):
        return None
    area = lengths.take_area(inner, within.grid)
    inner.finish()
    return area
