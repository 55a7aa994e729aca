"""The layout of a file of records, by a map in TOML: which record is which, and where its fields stand.

A record is told by its `when`: conditions on what stands where, all of which hold; the first record of the map that
fits is it. A field has a place (`at`, from 1), a width, and for numbers a picture; the names of fields are the
names of columns (`cheque.register.columns`), so that a fixed-width report says the same as a CSV register does.
`what` a record is:

- payment: begins a payment; stub: goes on with it (stub lines, more of its address, its memo);
- header, trailer: values for all the payments between, and totals that are checked against them;
- skip: passed over.
"""

from collections.abc import Callable
from typing import NamedTuple

from cheque.register.columns import SINGLE, group_of, known, sort_of
from cheque.register.dates import DatePattern, date_pattern
from cheque.register.picture import WIDEST, Picture, parse_picture
from cheque.tomlfile import Checker
from cheque.tongue import tr

WHATS = ("payment", "stub", "header", "trailer", "skip")
SIGNS = ("trailing", "leading", "trailing separate", "leading separate")
#: totals that a header or a trailer may carry
TOTALS = ("item_count", "total", "hash_total", "record_count")
#: columns that a header may give for all its payments
FOR_ALL = ("date", "memo", "department", "period_from", "period_to")
#: columns that may stand in a record that goes on with a payment
GOING_ON = (
    *("reference", "number", "identity", "department", "memo", "period_from", "period_to", "date"),
    *("address1", "address2", "address3", "address4"),
)


class Condition(NamedTuple):
    """What stands at a place of a record (from 0) or anywhere in it, for the record to be of its kind."""

    at: int
    width: int
    test: str
    texts: tuple[str, ...] = ()

    def holds(self, text: str) -> bool:
        """Whether a record's text fulfils it. Beyond the end of a record there are blanks."""
        if self.test == "contains":
            return self.texts[0] in text
        found = text[self.at : self.at + self.width].ljust(self.width)
        if self.test == "is":
            return found in self.texts
        if self.test == "digits":
            return found.isdigit() and found.isascii()
        return (not found.strip()) == (self.test == "blank")


class Field(NamedTuple):
    """One field of a record: its column, its place from 0 and its width (in bytes, or characters of UTF-8)."""

    column: str
    at: int
    width: int
    picture: Picture | None = None
    packed: bool = False
    sign: str = ""
    blank_when_zero: bool = False
    date: DatePattern | None = None


class RecordType(NamedTuple):
    """One kind of record. `where` is its place in the map, for messages."""

    what: str
    where: str
    when: tuple[Condition, ...]
    fields: tuple[Field, ...] = ()
    always: tuple[tuple[str, str], ...] = ()
    #: of a trailer: all payments of the file, not only those since the last header
    whole_file: bool = False
    #: of a header or trailer: there must be one
    required: bool = True

    def fits(self, text: str) -> bool:
        """Whether a record is of this kind."""
        return all(condition.holds(text) for condition in self.when)

    @property
    def width(self) -> int:
        """The least width of a record with all its fields and conditions."""
        ends = [field.at + field.width for field in self.fields]
        return max([*ends, *(c.at + c.width for c in self.when if c.test != "contains")], default=0)


_COMMA_IS_POINT = str.maketrans(",.", ".,")


class Ways(NamedTuple):
    """What a map says of all its fields: the usual date, what makes a pattern of a text, and a picture; ValueError."""

    date: DatePattern | None
    date_of: Callable[[str], DatePattern]
    picture_of: Callable[[str], Picture]


def take_records(
    checker: Checker, key: str, date: DatePattern | None, first_year: int, point: str = "."
) -> list[RecordType]:
    """The records of a map, in order; what is wrong with them is noted in the checker."""

    def date_of(text: str) -> DatePattern:
        return date_pattern(text, first_year)

    def picture_of(text: str) -> Picture:
        """With a comma before the decimals, comma and point stand for each other in pictures (ISO/IEC 1989)."""
        return (
            parse_picture(text.translate(_COMMA_IS_POINT))._replace(text=text) if point == "," else parse_picture(text)
        )

    ways = Ways(date, date_of, picture_of)
    return [_record(each, key, ways) for each in checker.tables_at(key)]


def _record(checker: Checker, key: str, ways: Ways) -> RecordType:
    remittance = key == "remittance"
    what = "stub" if remittance else checker.take("what", str, "payment", required=True, choices=WHATS)
    conditions = [_condition(each) for each in checker.tables_at("when")]
    if what == "skip" and not conditions and "when" not in checker.table:
        checker.fault("when", tr("nothing"), tr("what tells these records"), tr("add when = [{ … }]"))
    fields = _fields(checker.table_at("fields"), what, ways)
    always = checker.take("always", dict, {}, wanted=tr("a table of texts"))
    pairs = tuple((name, text) for name, text in always.items() if isinstance(text, str))
    for name, text in always.items():
        group = group_of(name)
        fits = name in SINGLE if group is None else group[2] == ""
        if not isinstance(text, str) or not fits or sort_of(name) != "text":
            checker.fault("always", f"{name} = {text!r}", tr("texts of a payment or of a stub line"), tr("take it out"))
    whole = checker.take("covers", str, "batch", choices=("batch", "file")) == "file" if what == "trailer" else False
    required = checker.take("required", bool, True) if what in ("header", "trailer") else True
    checker.finish()
    _groups_are_whole(checker, fields, pairs)
    found = RecordType(what, checker.document.where(checker.path), tuple(conditions), tuple(fields), pairs)
    return found._replace(whole_file=whole, required=required)


def _condition(checker: Checker) -> Condition:
    """{ at = 1, is = "P" }, { at = 1, is = ["P", "Q"] }, { at = 1, width = 5, has = "blank" } or { contains = … }."""
    contains = checker.take("contains", str, "")
    if contains:
        checker.finish()
        return Condition(0, 0, "contains", (contains,))
    at = checker.take("at", int, 1, required=True, wanted=tr("a position from 1"))
    texts = checker.take("is", (str, list), "", wanted=tr("a text, or a list of texts"))  # type: ignore[arg-type]
    listed = (texts,) if isinstance(texts, str) else tuple(texts)
    has = checker.take("has", str, "", choices=("digits", "blank", "something"))
    widths = {len(text) for text in listed if isinstance(text, str)}
    width = checker.take("width", int, max(widths, default=1), wanted=tr("a width from 1"))
    if not 1 <= at <= WIDEST or not 1 <= max(width, 1) <= WIDEST:
        checker.fault(
            "at", tr("{at}, {width} wide", at=at, width=width), tr("a place within {widest} characters", widest=WIDEST)
        )
        at, width = 1, 1
    if has == "" and (not all(isinstance(text, str) and text for text in listed) or len(widths) != 1):
        checker.fault("is", repr(texts), tr("a text, or texts of one length, that stand there"))
    checker.finish()
    if has:
        return Condition(at - 1, width, has)
    return Condition(at - 1, max(widths, default=1), "is", tuple(str(text) for text in listed))


def _fields(checker: Checker, what: str, ways: Ways) -> list[Field]:
    found = []
    for name, each in checker.named_tables():
        if not _may_hold(what, name):
            wanted = {
                "payment": tr("a column of a register"),
                "stub": tr("a column of stub lines, or one of ") + ", ".join(GOING_ON),
                "header": tr("one of ") + ", ".join((*FOR_ALL, *TOTALS)),
                "trailer": tr("one of ") + ", ".join(TOTALS),
            }.get(what, tr("no fields in what is passed over"))
            checker.fault(name, tr("a field of that name"), wanted, tr("take it out"))
        found.append(_field(each, name, ways))
    return found


def _may_hold(what: str, name: str) -> bool:
    if what == "payment":
        return known(name)
    if what == "stub":
        return name in GOING_ON or (known(name) and group_of(name) is not None)
    if what == "header":
        return name in FOR_ALL or name in TOTALS
    return what == "trailer" and name in TOTALS


def holds(name: str) -> str:
    """What a field of this name holds: "money", "decimal", "date", "count" or "text"."""
    if name == "total":
        return "money"
    return "count" if name in TOTALS else sort_of(name)


def _field(checker: Checker, name: str, ways: Ways) -> Field:
    sort = holds(name)
    at = checker.take("at", int, 1, required=True, wanted=tr("a position from 1"))
    picture = checker.take(
        "picture", str, None, convert=ways.picture_of, wanted=tr("a picture such as S9(7)V99 or X(30)")
    )
    packed = checker.take("usage", str, "display", choices=("display", "packed")) == "packed"
    sign = checker.take("sign", str, "", choices=SIGNS)
    blank = checker.take("blank_when_zero", bool, False)
    date = (
        checker.take("pattern", str, None, convert=ways.date_of, wanted=tr("a pattern such as YYYYMMDD")) or ways.date
    )
    if sort != "date":
        date = None
    elif date is None and "pattern" not in checker.table:
        date = date_pattern("YYYY-MM-DD")
    width = checker.take("width", int, 0, wanted=tr("a width from 1")) or _width(picture, packed, sign, date)
    checker.finish()
    field = Field(name, at - 1, width, picture, packed, sign, blank, date)
    if picture or "picture" not in checker.table:
        _field_makes_sense(checker, field, sort)
    return field


def _width(picture: Picture | None, packed: bool, sign: str, date: DatePattern | None) -> int:
    if picture is None:
        return date.width if date else 0
    if packed:
        return picture.digits // 2 + 1
    return picture.width + ("separate" in sign)


def _field_makes_sense(checker: Checker, field: Field, sort: str) -> None:
    picture, name = field.picture, checker.path.rpartition(".")[2]
    if not 0 <= field.at < WIDEST or not 1 <= field.width <= WIDEST:
        found = (
            tr("position {at}, {width} wide", at=field.at + 1, width=field.width)
            if field.width
            else tr("position {at}, with no width", at=field.at + 1)
        )
        checker.fault(
            "at", found, tr("a place and a width within {widest} characters", widest=WIDEST), tr("add width = …")
        )
        return
    wanted = _width(picture, field.packed, field.sign, field.date)
    if (picture or field.date) and wanted and field.width != wanted:
        checker.fault(
            "width",
            str(field.width),
            tr("{wanted}, the width of its picture or pattern", wanted=wanted),
            tr("take it out"),
        )
    if picture is None:
        if field.packed or field.sign:
            checker.fault("picture", tr("nothing"), tr("the picture of its digits"), tr('add picture = "…"'))
        return
    if picture.kind == "text" and (sort not in ("text", "date") or field.packed or field.sign):
        checker.fault("picture", repr(picture.text), tr("a picture of a number, for {name}", name=name))
    if picture.kind != "number" and (field.packed or field.sign):
        checker.fault("picture", repr(picture.text), tr("a picture of plain digits, such as S9(7)V99"))
    if picture.kind == "number" and field.sign and not picture.signed:
        checker.fault("sign", repr(field.sign), tr("no sign, because the picture has no S"), tr("write S before it"))
    if picture.kind != "text" and sort in ("text", "count", "date") and picture.places:
        checker.fault("picture", repr(picture.text), tr("a whole number, for {name}", name=name))
    if sort == "date" and picture.kind == "edited":
        checker.fault("picture", repr(picture.text), tr("digits, for a date"))
    if sort == "date" and field.date and picture.kind == "number":
        digits = field.date.width if field.date.text.isalpha() and "MMM" not in field.date.text else 0
        if picture.signed or not 0 <= picture.digits - digits <= 1 or not digits:
            found = tr("{picture!r} with the pattern {pattern!r}", picture=picture.text, pattern=field.date.text)
            checker.fault("picture", found, tr("as many digits, without a sign, as the pattern has"))


def _groups_are_whole(checker: Checker, fields: list[Field], always: tuple[tuple[str, str], ...]) -> None:
    """A stub line's figures need what the line says, in a field or always; a text needs a figure."""
    names = {field.column for field in fields} | {name for name, _ in always}
    for name in sorted(names):
        group = group_of(name) if known(name) else None
        if group and group[2] and f"{group[0]}{group[1]}" not in names:
            stem = f"{group[0]}{group[1]}"
            checker.fault(
                f"fields.{name}",
                tr("no field {stem!r}", stem=stem),
                tr("what the line says"),
                tr("add it, or always.{stem}", stem=stem),
            )
