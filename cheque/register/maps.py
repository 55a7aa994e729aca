"""The map of a register: a short TOML that says how somebody else's file is to be read.

One map, for whichever kind of file: our names of the columns beside the file's, its marks and dates, its encoding,
and for files of records their layout. Everything wrong with a map is reported together, with its lines.
`docs/registers.md` shows each kind of map.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from cheque.errors import Fault, InputRefused
from cheque.register.columns import SINGLE, group_of, known, name_of, sort_of
from cheque.register.dates import DatePattern, date_pattern
from cheque.register.encodings import family, named
from cheque.register.layout import RecordType, take_records
from cheque.register.marks import NEGATIVES, PLAIN, Marks, group_mark, marks_of
from cheque.tomlfile import Checker, Document
from cheque.tongue import tr

#: kinds whose files have named columns, and kinds whose files are laid out in records
OF_COLUMNS = ("csv", "xlsx")
CSV, FIXED, PAIN, XLSX = "csv", "fixed-width", "pain.001", "xlsx"
LONGEST_RECORD = 32_760
MOST_SKIPPED = 1_000


@dataclass(frozen=True, slots=True)
class Map:
    """How a file is to be read. What a map leaves out has the value that fits the tool's own files."""

    source: str = ""
    #: the map as it was written, for the record
    text: str = ""
    kind: str = ""
    encoding: str = ""
    separator: str = ""
    quote: str = '"'
    escape: str = ""
    skip_lines: int = 0
    header: bool = True
    sheet: str = ""
    marks: Marks = PLAIN
    date: DatePattern | None = None
    #: our name of a column -> the file's own, or its place from 1
    columns: Mapping[str, str | int] = field(default_factory=dict)
    #: our name of a column -> what every line says there
    always: Mapping[str, str] = field(default_factory=dict)
    ignore: tuple[str, ...] = ()
    leave_out_zero_lines: bool = False
    record_length: int = 0
    carriage_control: bool = False
    page_heading_lines: int = 0
    records: tuple[RecordType, ...] = ()


NO_MAP = Map()


def load(text: str, source: str) -> Map:
    """A map from its TOML. InputRefused with everything that is wrong with it."""
    document = Document(text, source)
    faults: list[Fault] = []
    checker = Checker(document, document.data, "", faults)
    kind = checker.take("kind", str, "csv", choices=(CSV, FIXED, PAIN, XLSX), required=True)
    marks, date, first_year = _marks(checker), None, 0
    if "first_year" in checker.table or "date" in checker.table:
        first_year = checker.take("first_year", int, 0, wanted=tr("a year such as 1970"))
        date = checker.take(
            "date", str, None, convert=lambda t: date_pattern(t, first_year), wanted=tr("a pattern such as DD.MM.YYYY")
        )
    found: dict[str, Any] = {"source": source, "text": text, "kind": kind, "marks": marks, "date": date}
    if kind in OF_COLUMNS:
        found |= _columns(checker, kind)
    if kind in (CSV, FIXED):
        found["encoding"] = checker.take("encoding", str, "", convert=named, wanted=tr("the name of an encoding"))
    if kind == FIXED:
        found |= _fixed(checker, date, first_year, found["encoding"], marks.point)
    if kind == PAIN:
        found["ignore"] = tuple(str(name) for name in checker.take("ignore", list, []))
        found["records"] = tuple(take_records(checker, "remittance", date, first_year, marks.point))
        _no_packed(checker, found["records"], tr("in text"))
    checker.finish()
    if faults:
        raise InputRefused(tr("{source} is no map that can be used.", source=source), faults)
    return Map(**found)


def _marks(checker: Checker) -> Marks:
    """The marks of a locale, or those named."""
    locale = checker.take("locale", str, PLAIN, convert=marks_of, wanted=tr("a locale such as de_DE"))
    point = checker.take("decimal_mark", str, locale.point, choices=(".", ","))
    group = checker.take("thousands_mark", str, locale.group, convert=group_mark, choices=("", ",", ".", "'", "’", " "))
    negative = checker.take("negative", str, "leading", choices=NEGATIVES)
    sign = checker.take("currency_sign", str, "")
    short = checker.take("short_decimals", bool, False)
    if group == point:
        checker.fault("thousands_mark", repr(group), tr("another mark than before the decimals"))
    return Marks(point, group, negative, sign.strip(), short)


def _columns(checker: Checker, kind: str) -> dict[str, Any]:
    """What a map says of a file with columns."""
    found: dict[str, Any] = {
        "skip_lines": checker.take(
            "skip_lines", int, 0, convert=_skipped, wanted=tr("0 to {most_skipped} lines", most_skipped=MOST_SKIPPED)
        ),
        "header": checker.take("header", bool, True),
        "ignore": tuple(str(name) for name in checker.take("ignore", list, [])),
        "leave_out_zero_lines": checker.take("leave_out_zero_lines", bool, False),
        "always": _always(checker.table_at("always")),
    }
    if kind == CSV:
        found["separator"] = checker.take("separator", str, "", convert=_one_mark, wanted=tr("one character"))
        found["quote"] = checker.take("quote", str, '"', convert=_one_mark, wanted=tr('one character, or ""'))
        found["escape"] = checker.take("escape", str, "", convert=_one_mark, wanted=tr("one character"))
    else:
        found["sheet"] = checker.take("sheet", str, "")
    found["columns"] = _named_columns(checker.table_at("columns"), has_header=found["header"])
    stems = {*found["always"], *found["columns"]}
    for name in found["always"]:
        group = group_of(name)
        if group and not any(other.startswith(f"{name}_") for other in stems):
            checker.fault(
                f"always.{name}", tr("a stub line without figures"), tr("{name}_amount among the columns", name=name)
            )
        if name in found["columns"]:
            checker.fault(f"always.{name}", tr("a column of the file"), tr("either of the two"), tr("take one out"))
    if not found["header"]:
        for name in ("payee", "amount"):
            if name not in found["columns"]:
                checker.fault(
                    "columns", tr("no {name}", name=name), tr("the place of every column, as there is no header")
                )
    return found


def _named_columns(checker: Checker, *, has_header: bool) -> dict[str, str | int]:
    found: dict[str, str | int] = {}
    seen: dict[str | int, str] = {}
    for name in list(checker.table):
        value = checker.take(name, (str, int), wanted=tr("the file's name of the column, or its place"))  # type: ignore[arg-type]
        if value is None:
            continue
        if not known(name):
            checker.fault(
                name, f"{name!r}", tr("a column of a register, our name on the left"), tr("see docs/registers.md")
            )
        elif isinstance(value, str) == (not has_header) or value in ("", 0) or (isinstance(value, int) and value < 0):
            wanted = tr("the file's name of the column") if has_header else tr("the column's place, from 1")
            if not (has_header and isinstance(value, int) and value > 0):
                checker.fault(name, repr(value), wanted)
        key = name_of(value) if isinstance(value, str) else value
        if key in seen:
            checker.fault(name, repr(value), tr("another column than {seen}", seen=seen[key]))
        seen[key] = name
        found[name] = value
    return found


def _always(checker: Checker) -> dict[str, str]:
    found: dict[str, str] = {}
    for name in list(checker.table):
        text = checker.take(name, str, "", wanted=tr("what every line says"))
        group = group_of(name)
        right = name in SINGLE and name not in ("amount", "employee") if group is None else not group[2]
        if not known(name) or not right:
            checker.fault(name, f"{name!r}", tr("a text of a payment, or what a stub line says"))
        elif sort_of(name) == "date":
            try:
                date_pattern("YYYY-MM-DD").read(text)
            except ValueError:
                checker.fault(name, repr(text), tr("a date as YYYY-MM-DD"))
        found[name] = " ".join(text.split())
    return found


def _fixed(checker: Checker, date: DatePattern | None, first_year: int, encoding: str, point: str) -> dict[str, Any]:
    """What a map says of a file of records."""
    found: dict[str, Any] = {
        "record_length": checker.take("record_length", int, 0, convert=_length, wanted=tr("bytes of a record")),
        "carriage_control": checker.take("carriage_control", str, "none", choices=("none", "asa")) == "asa",
        "page_heading_lines": checker.take("page_heading_lines", int, 0, convert=_skipped, wanted=tr("lines")),
        "leave_out_zero_lines": checker.take("leave_out_zero_lines", bool, False),
        "records": tuple(take_records(checker, "record", date, first_year, point)),
    }
    records: tuple[RecordType, ...] = found["records"]
    for at, record in enumerate(records):
        for name in ("payee", "amount") if record.what == "payment" else ():
            if not any(field.column == name for field in record.fields):
                checker.fault(
                    f"record.{at}", tr("a payment without {name}", name=name), tr("a field {name}", name=name)
                )
    if not any(record.what == "payment" for record in records):
        checker.fault("record", tr("none that is a payment"), tr('a [[record]] with what = "payment"'))
    for record in records:
        if found["record_length"] and record.width > found["record_length"]:
            checker.fault(
                "record_length",
                str(found["record_length"]),
                tr("{width} at least, for {where}", width=record.width, where=record.where),
            )
    if not found["record_length"]:
        _no_packed(checker, records, tr("in lines, because a byte of theirs may look like the end of one"))
    if found["record_length"] and not encoding:
        checker.fault(
            "encoding", tr("nothing"), tr("the encoding of the file, for records of one length"), tr("add it")
        )
    if found["record_length"] and encoding and (encoding == "utf-8" or family(encoding) == "wide"):
        checker.fault("encoding", repr(encoding), tr("an encoding of one byte a character, for records of one length"))
    return found


def _no_packed(checker: Checker, records: tuple[RecordType, ...], where: str) -> None:
    if any(field.packed for record in records for field in record.fields):
        checker.fault(
            "record_length", tr("nothing, and packed fields"), tr("no packed fields {where}", where=where), tr("add it")
        )


def _one_mark(text: str) -> str:
    """A separator, quote or escape: one character, but no letter, digit or blank."""
    text = {"tab": "\t"}.get(text, text)
    if len(text) > 1 or text.isalnum() or text in ("\n", "\r", " ", "\0") or not text.isascii():
        raise ValueError(repr(text))
    return text


def _skipped(count: int) -> int:
    if not 0 <= count <= MOST_SKIPPED:
        raise ValueError(str(count))
    return count


def _length(count: int) -> int:
    if not 1 <= count <= LONGEST_RECORD:
        raise ValueError(tr("{count}, not 1 to {longest_record}", count=count, longest_record=LONGEST_RECORD))
    return count


__all__ = ["NO_MAP", "Map", "load"]
