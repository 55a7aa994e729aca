"""The columns of somebody else's file under our names, by its map: for every reader that has a header."""

from collections.abc import Mapping, Sequence
from typing import Any

from cheque.errors import Fault
from cheque.money import AmountError
from cheque.register import Reading, unsaid
from cheque.register.characters import shown
from cheque.register.columns import header_faults, name_of, sort_of
from cheque.register.dates import DatePattern
from cheque.register.maps import NO_MAP, Map
from cheque.register.marks import PLAIN, Marks
from cheque.register.rows import Convert, Plan, Unread
from cheque.tongue import tr

#: what stands in a row where a text could not be read
_INSTEAD = {"money": "0", "decimal": "", "date": "1970-01-01"}


def map_of(reading: Reading) -> Map:
    """The map of a reading, or the one of the tool's own files."""
    return reading.map or NO_MAP


def plan_for(titles: Sequence[str], reading: Reading, where: str, *, convert: bool = True) -> Plan | list[Fault]:
    """How to read the rows of a file with these columns, or everything wrong with them.

    convert: whether the cells are texts as the file writes them; not so where cells have types.
    """
    by = map_of(reading)
    names, missing = _names(titles, by, where)
    known = [name for name in names if name]
    reading = reading._replace(ignore=(*reading.ignore, *by.ignore))
    extra = [name for name in (*by.columns, *by.always) if name not in known]
    faults = missing + header_faults(names, reading, where, and_also=extra)
    if faults:
        return faults
    own = [
        f"{title.strip()!r} ({name})" if name_of(title) != name else name
        for title, name in zip(titles, names, strict=True)
    ]
    return Plan(
        names,
        reading,
        always=by.always,
        titles=own if by.columns else (),
        convert=conversions(names, by, reading.currency) if convert else (),
        leave_out_zeros=by.leave_out_zero_lines,
    )


class Columns:
    """What the rows of a file with these columns are read by.

    A plan holds functions, so it is made anew in every process that this goes to, and kept there for the next rows.
    """

    def __init__(self, titles: Sequence[str], reading: Reading, where: str) -> None:
        self.titles = titles
        self._key = (titles, reading._replace(state=unsaid), where)

    def __reduce__(self) -> tuple[object, ...]:
        return Columns, self._key

    @property
    def plan(self) -> Plan | list[Fault]:
        """How to read them, or everything wrong with the columns."""
        if not (_latest and (_latest[0] is self or _latest[0]._key == self._key)):
            _latest[:] = [self, plan_for(*self._key)]
        plan: Plan | list[Fault] = _latest[1]
        return plan


_latest: list[Any] = []


def _names(titles: Sequence[str], by: Map, where: str) -> tuple[list[str], list[Fault]]:
    """Our name of each column, and a fault for each column of the map that the file lacks."""
    names = [name_of(title) for title in titles]
    missing: list[Fault] = []
    at_first = list(names)
    for ours, theirs in by.columns.items():
        place = theirs - 1 if isinstance(theirs, int) else _place(at_first, name_of(theirs))
        if 0 <= place < len(names):
            names[place] = ours
        else:
            found = (
                tr("{count} columns", count=len(names))
                if isinstance(theirs, int)
                else tr("no column {name!r}", name=theirs)
            )
            missing.append(
                Fault(
                    tr("{where}, header", where=where),
                    found,
                    tr("the one that {source} maps to {ours}", source=by.source, ours=ours),
                    tr("correct either"),
                )
            )
    return names, missing


def _place(names: Sequence[str], name: str) -> int:
    return names.index(name) if name in names else -1


def conversions(names: Sequence[str], by: Map, currency: str) -> list[tuple[int, Convert, str]]:
    """What turns the file's texts into plain ones, for each column that needs it."""
    found = []
    for place, name in enumerate(names):
        sort = sort_of(name)
        if sort == "money" and by.marks != PLAIN:
            found.append((place, amount_text(by.marks, currency), _INSTEAD[sort]))
        elif sort == "decimal" and by.marks != PLAIN:
            found.append((place, decimal_text(by.marks), _INSTEAD[sort]))
        elif sort == "date" and by.date:
            found.append((place, date_text(by.date), instead_of(name, "")))
    return found


def amount_text(marks: Marks, currency: str) -> Convert:
    """A function from an amount as a file writes it to plain text."""

    def convert(text: str) -> str:
        try:
            return marks.amount(text, currency)
        except AmountError:
            wanted = tr(
                "an exact {currency} amount such as {example}", currency=currency, example=marks.example(currency)
            )
            raise Unread(shown(text), wanted, tr("correct it, or the marks in the map")) from None

    return convert


def decimal_text(marks: Marks) -> Convert:
    """A function from hours or a rate as a file writes them to plain text."""

    def convert(text: str) -> str:
        try:
            return marks.decimal(text)
        except ValueError:
            wanted = tr("a number such as {write_decimal}", write_decimal=marks.write_decimal("37.50"))
            raise Unread(shown(text), wanted, tr("correct it, or the marks in the map")) from None

    return convert


def date_text(pattern: DatePattern) -> Convert:
    """A function from a date of a pattern to ISO 8601."""
    example = pattern.write("2026-11-27") if not pattern.first_year or "YY" not in pattern.runs else ""

    def convert(text: str) -> str:
        try:
            return pattern.read(text)
        except ValueError:
            wanted = tr("a real date as {text}", text=pattern.text) + (
                tr(", such as {example}", example=example) if example else ""
            )
            raise Unread(shown(text), wanted, tr("correct it, or the pattern in the map")) from None

    return convert


def instead_of(name: str, hash_column: str) -> str:
    """What stands for a cell of this column that could not be read, so that nothing else is said of it."""
    if name == name_of(hash_column):
        return "0"
    return "9999-12-31" if name == "period_to" else _INSTEAD.get(sort_of(name), "")


def written(name: str, text: str, by: Map, currency: str) -> str:
    """A plain cell as a file of this map has it; the inverse of `conversions`. ValueError where there is none."""
    sort = sort_of(name)
    if not text:
        return text
    if sort == "money" and by.marks != PLAIN:
        from cheque.money import parse

        return by.marks.write_amount(parse(text, currency), currency)
    if sort == "decimal" and by.marks != PLAIN:
        return by.marks.write_decimal(text)
    return by.date.write(text) if sort == "date" and by.date else text


def titles_of(names: Sequence[str], columns: Mapping[str, str | int]) -> list[str]:
    """The file's own name of each column."""
    return [str(columns.get(name, name)) for name in names]
