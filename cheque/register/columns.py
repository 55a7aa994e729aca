"""The columns of a register: their names, and what can be wrong with a header. For readers that have columns.

A stub line is a group of columns with a number, from 1 to 99: `earning1` is what the line says, and
`earning1_hours`, `earning1_rate`, `earning1_amount`, `earning1_to_date` its figures. `GROUPS` lists what each
kind of line can have. A group with nothing in it is passed over. Names are taken in small or capital
letters, with blanks or hyphens for the underscore.
"""

import difflib
import re
from collections.abc import Sequence
from unicodedata import normalize

from cheque.errors import Fault
from cheque.payment import Kind
from cheque.register import Reading
from cheque.register.characters import shown
from cheque.tongue import tr

ADDRESS = ("address1", "address2", "address3", "address4")
SINGLE = (
    *("payee", "amount", "date", "reference", "number", "paid_by"),
    *("employee", "identity", "department"),
    *ADDRESS,
    *("period_from", "period_to", "memo"),
    *("transfer", "total_net"),
)
REQUIRED = ("payee", "amount")
#: more than all the columns there can be
MOST_COLUMNS = 2_000
GROUPS: dict[Kind, tuple[str, ...]] = {
    Kind.EARNING: ("hours", "rate", "amount", "to_date"),
    Kind.DEDUCTION: ("amount", "to_date"),
    Kind.EMPLOYER: ("amount", "to_date"),
    Kind.INVOICE: ("date", "gross", "discount", "net"),
    Kind.GOODS: ("quantity", "price", "amount"),
    Kind.NOTE: (),
}
#: other names that files give these columns, only for the suggestion
_OTHER_NAMES = {
    **dict.fromkeys(("net", "net_pay", "netpay", "net_amount"), "amount"),
    **dict.fromkeys(("name", "employee_name", "vendor_name", "pay_to", "to"), "payee"),
    **dict.fromkeys(("pay_date", "cheque_date", "check_date"), "date"),
    **dict.fromkeys(("cheque_number", "check_number", "cheque_no", "check_no", "form"), "number"),
    **dict.fromkeys(("employee_number", "employee_id", "employee_no", "payroll_number"), "employee"),
    **dict.fromkeys(("ssn", "social_security_number", "national_insurance"), "identity"),
    **dict.fromkeys(("dept", "cost_centre", "cost_center"), "department"),
    **dict.fromkeys(("method", "payment_method", "pay_method"), "paid_by"),
}
_GROUP = re.compile(rf"({'|'.join(GROUPS)})([1-9][0-9]?)(?:_([a-z_]+))?")


def name_of(text: str) -> str:
    """A header's text as the name of a column.

    >>> name_of(" Period-From ")
    'period_from'
    """
    return re.sub(r"[ -]+", "_", normalize("NFC", text).strip().casefold())


def known(name: str) -> bool:
    """Whether a register may have a column of this name."""
    if name in SINGLE:
        return True
    match = _GROUP.fullmatch(name)
    return match is not None and (match[3] is None or match[3] in GROUPS[Kind(match[1])])


def sort_of(name: str) -> str:
    """What a column holds: "money", "decimal", "date" or "text".

    >>> sort_of("amount"), sort_of("earning2_rate"), sort_of("invoice1_date"), sort_of("earning1")
    ('money', 'decimal', 'date', 'text')
    """
    if name in ("date", "period_from", "period_to"):
        return "date"
    if name in ("amount", "transfer", "total_net"):
        return "money"
    match = _GROUP.fullmatch(name)
    part = match[3] if match else None
    if part is None:
        return "text"
    if part in ("hours", "rate", "quantity", "price"):
        return "decimal"
    return "date" if part == "date" else "money"


def group_of(name: str) -> tuple[Kind, int, str] | None:
    """Kind, number and part ("" for the text) of a stub line's column; None for a column of the payment.

    >>> group_of("earning2_rate"), group_of("memo")
    ((<Kind.EARNING: 'earning'>, 2, 'rate'), None)
    """
    match = _GROUP.fullmatch(name)
    if match is None or name in SINGLE:
        return None
    return Kind(match[1]), int(match[2]), match[3] or ""


def _suggestion(name: str) -> str:
    """What an unknown column may have meant, or ""."""
    if name in _OTHER_NAMES:
        return _OTHER_NAMES[name]
    number = re.search(r"[1-9][0-9]?", name)
    names = list(SINGLE)
    for kind, parts in GROUPS.items():
        stem = f"{kind}{number[0] if number else 1}"
        names += [stem, *(f"{stem}_{part}" for part in parts)]
    return next(iter(difflib.get_close_matches(name, names, 1)), "")


def header_faults(names: Sequence[str], reading: Reading, where: str, and_also: Sequence[str] = ()) -> list[Fault]:
    """Everything wrong with the columns of a register, given their names as `name_of` makes them.

    and_also: columns that the register does not have but a map speaks of; they are not asked for again.
    """
    if len(names) > MOST_COLUMNS:
        return [
            Fault(
                tr("{where}, header", where=where),
                tr("{count} columns", count=len(names)),
                tr("at most {most_columns}", most_columns=MOST_COLUMNS),
                tr("take some out"),
            )
        ]
    wanted = {name_of(reading.hash_column), *map(name_of, reading.ignore)} - {""}
    found = [fault for place in range(len(names)) for fault in _column_faults(place, names, wanted, where, and_also)]
    names = [*names, *and_also]
    found += [
        Fault(
            tr("{where}, header", where=where),
            tr("no column {name!r}", name=name),
            tr("one"),
            tr("name the column {name}, or say in a --map which it is", name=name),
        )
        for name in REQUIRED
        if name not in names
    ]
    if not reading.date and "date" not in names:
        found.append(
            Fault(
                tr("{where}, header", where=where),
                tr("no column 'date'"),
                tr("one, or one date for all"),
                tr("add either"),
            )
        )
    hashed = name_of(reading.hash_column)
    if hashed and hashed != "employee" and hashed not in names:
        found.append(
            Fault(
                tr("{where}, header", where=where),
                tr("no column {name!r}", name=hashed),
                tr("the column of the hash total"),
                tr("name another"),
            )
        )
    return found


def _column_faults(
    place: int, names: Sequence[str], wanted: set[str], where: str, and_also: Sequence[str]
) -> list[Fault]:
    """What is wrong with one column's name."""
    name = names[place]
    at = tr("{where}, column {place}", where=where, place=place + 1)
    if not name:
        return [Fault(at, tr("no name"), tr("a name for every column"), tr("name it, or take the column out"))]
    first = names.index(name)
    if first != place:
        return [
            Fault(
                at,
                tr("{name!r} again", name=name),
                tr("each name once"),
                tr("column {first} has it already; take one out", first=first + 1),
            )
        ]
    if name in wanted:
        return []
    if not known(name):
        near = _suggestion(name)
        hint = tr("did you mean {near!r}? If not, take it out", near=near) if near else tr("take it out")
        return [
            Fault(
                f"{at}, {shown(name)}",
                tr("an unknown column"),
                tr("one of the columns of a register"),
                tr("{hint}, leave it be with --ignore, or say in a --map what it is", hint=hint),
            )
        ]
    match = _GROUP.fullmatch(name)
    if match and match[3] and f"{match[1]}{match[2]}" not in (*names, *and_also):
        text = f"{match[1]}{match[2]}"
        return [
            Fault(
                f"{at}, {name!r}", tr("no column {name!r}", name=text), tr("one, for what the line says"), tr("add it")
            )
        ]
    return []
