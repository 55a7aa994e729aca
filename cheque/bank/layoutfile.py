"""A layout of notices as text: what the bank's own rules say, as a TOML file that the user writes.

The file says how records are laid out (delimited, or fixed-width), and which records a notice has, each a list of
fields. A field holds one value, or a text that is always the same. Every fault of a layout is told at once, with its
line. `docs/notices.md` explains every key; `layouts/` has examples.
"""

from collections.abc import Iterable
from itertools import pairwise
from typing import Any, NamedTuple

from cheque.bank.layoutmodel import ALIGN, KINDS, LINE_ENDS, RECORDS, VALUES, WIDEST, Field, Layout, Record
from cheque.bank.notice import MARKS, REASONS
from cheque.errors import Fault, InputRefused
from cheque.register.dates import DatePattern, date_pattern
from cheque.register.encodings import family, named
from cheque.tomlfile import Checker, Document
from cheque.tongue import counted, tr


def parse_layout(text: str, source: str) -> Layout:
    """A layout from its text. InputRefused with every fault, its key and its line."""
    document = Document(text, source)
    faults: list[Fault] = []
    root = Checker(document, document.data, "", faults)
    layout = _layout(root, source)
    root.finish()
    if not faults:
        faults.extend(_whole(document, layout))
    if faults:
        raise InputRefused(
            tr(
                "{source} has {faults}.",
                source=source,
                faults=counted(len(faults), "fault"),
            ),
            faults,
        )
    return layout


def _encoding(text: str) -> str:
    encoding = named(text)
    if family(encoding) == "wide":
        raise ValueError(tr("{text!r}, of several bytes a character", text=text))
    return encoding


def _character(text: str) -> str:
    if len(text) != 1:
        raise ValueError(f"{text!r}")
    return text


def _within(low: int, high: int) -> Any:
    def convert(value: int) -> int:
        if not low <= value <= high:
            raise ValueError(str(value))
        return value

    return convert


def _layout(root: Checker, source: str) -> Layout:
    meant = "fixed" if "record_length" in root.table else "delimited"  # where it is mistyped
    kind = root.take("kind", str, meant, required=True, choices=KINDS)
    told = root.take("told", str, "", wanted=tr("what bank's rules these are, in words"))
    encoding = root.take("encoding", str, "ascii", convert=_encoding, wanted=tr("an encoding such as ascii or cp1252"))
    ends = root.take("line_end", str, "crlf", choices=tuple(LINE_ENDS))
    last = root.take("last_line_end", bool, True)
    delimiter, quote, length = ",", '"', 0
    if kind == "delimited":
        delimiter = root.take("delimiter", str, ",", convert=_character, wanted=tr("one character"))
        quote = root.take("quote", str, '"', wanted=tr('one character, or "" for none'))
        if len(quote) > 1 or quote == delimiter:
            root.fault("quote", repr(quote), tr('one character that is not the delimiter, or ""'))
        if ends == "none":
            root.fault("line_end", "'none'", tr("ends of lines, because records are not all of one length"))
    else:
        length = root.take(
            "record_length", int, 0, convert=_within(1, WIDEST), wanted=tr("characters, 1 to {most}", most=WIDEST)
        )
    places = root.take("decimal_places", int, None, convert=_within(0, 5), wanted=tr("decimals of amounts, 0 to 5"))
    marks = _words(root, "marks", MARKS)
    reasons = _words(root, "reasons", tuple(REASONS))
    replace = _replace(root)
    accents = root.take("accents", str, "keep", choices=("keep", "drop")) == "keep"
    usual = _usual(root, kind)
    records = tuple(_record(each, kind, usual, places) for each in root.tables_at("record"))
    if not records and "record" not in root.table:
        root.fault("record", tr("nothing"), tr("the records of a file"), tr('add [[record]] with what = "cheque"'))
    return Layout(
        source,
        told,
        kind,
        encoding,
        LINE_ENDS[ends],
        last,
        delimiter,
        quote,
        length,
        places,
        marks,
        reasons,
        replace,
        accents,
        records,
    )


def _words(root: Checker, key: str, known: tuple[str, ...]) -> dict[str, str]:
    table = root.table_at(key)
    found = {word: table.take(word, str, "", wanted=tr("the bank's mark for it, in quotes")) for word in known}
    given = {word: text for word, text in found.items() if word in table.table}
    table.finish()
    return given


def _replace(root: Checker) -> dict[str, str]:
    table = root.table_at("replace")
    found = {}
    for character in list(table.table):
        text = table.take(character, str, "", wanted=tr("what stands for it, in quotes"))
        if len(character) != 1:
            table.fault(character, f"{character!r}", tr("one character to be replaced"))
        found[character] = text
    return found


class Usual(NamedTuple):
    """What holds for every field unless it says otherwise."""

    date: DatePattern
    point: str
    letters: str


def _usual(root: Checker, kind: str) -> Usual:
    dates = root.take(
        "dates", str, date_pattern("YYYY-MM-DD"), convert=_pattern, wanted=tr("a pattern such as YYYYMMDD")
    )
    point = root.take("point", str, ".", choices=(".", ",", ""))
    letters = root.take("letters", str, "as they are", choices=("as they are", "upper"))
    return Usual(dates, point, letters)


def _pattern(text: str) -> DatePattern:
    return date_pattern(text, 2000)


def _record(checker: Checker, kind: str, usual: Usual, places: int | None) -> Record:
    what = checker.take("what", str, "cheque", required=True, choices=RECORDS)
    marks: tuple[str, ...] = MARKS
    if what == "cheque":
        some = checker.take("for", list, list(MARKS), wanted=tr("a list of {marks}", marks=", ".join(MARKS)))
        for mark in some:
            if mark not in MARKS:
                checker.fault("for", repr(mark), tr("a list of {marks}", marks=", ".join(MARKS)))
        marks = tuple(mark for mark in MARKS if mark in some)
    fields, at = [], 1
    for each in checker.tables_at("field"):
        field = _field(each, what, kind, usual, places, at)
        fields.append(field)
        at = field.at + field.width + 1
    if not fields and "field" not in checker.table:
        checker.fault("field", tr("nothing"), tr("the fields of the record"), tr("add [[record.field]]"))
    checker.finish()
    where = checker.document.where(checker.path)
    if kind == "fixed":
        _apart(checker, fields)
    return Record(what, where, tuple(fields), marks)


def _apart(checker: Checker, fields: list[Field]) -> None:
    """Fixed-width fields do not lie on each other."""
    ordered = sorted(enumerate(fields), key=lambda one: one[1].at)
    for (_, before), (index, after) in pairwise(ordered):
        if after.at < before.at + before.width:
            found = tr(
                "{field} at {at}, where {before} goes on to {end}",
                field=after.called,
                at=after.at + 1,
                before=before.called,
                end=before.at + before.width,
            )
            checker.fault(f"field.{index}.at", found, tr("fields that do not lie on each other"))


def _field(checker: Checker, what: str, kind: str, usual: Usual, places: int | None, next_at: int) -> Field:
    value = checker.take("value", str, "", choices=tuple(VALUES[what]))
    text = checker.take("text", str, "", wanted=tr("a text that is always the same"))
    if ("value" in checker.table) == ("text" in checker.table):
        both = "value" in checker.table
        checker.fault(
            "value" if both else "", tr("both value and text") if both else tr("neither"), tr("a value or a text")
        )
    sort = VALUES[what].get(value, "text")
    fixed = kind == "fixed"
    width = checker.take("width", int, 0, convert=_within(1, WIDEST), wanted=tr("characters, 1 to {most}", most=WIDEST))
    at = checker.take("at", int, next_at, convert=_within(1, WIDEST), wanted=tr("a position from 1")) if fixed else 1
    date = checker.take("pattern", str, None, convert=_pattern, wanted=tr("a pattern such as YYYYMMDD"))
    pattern = date or usual.date
    if fixed and not width:
        width = len(text) if not value else pattern.width if sort == "date" else 6 if sort == "time" else 0
        if not width and "width" not in checker.table:
            checker.fault("width", tr("nothing"), tr("how many characters wide it is"), tr("add width = …"))
            width = 1
    align = checker.take("align", str, ALIGN[sort], choices=("left", "right"))
    pad = checker.take("pad", str, "0" if fixed and sort in ("money", "count") else " ", convert=_character,
                       wanted=tr("one character"))  # fmt: skip
    field = Field(
        checker.document.where(checker.path),
        value,
        text,
        sort,
        at - 1,
        width,
        align,
        pad if fixed or "pad" in checker.table else "",
        checker.take("too_long", str, "refuse", choices=("refuse", "cut")) == "cut",
        pattern,
        checker.take("point", str, usual.point, choices=(".", ",", "")),
        checker.take("places", int, places, convert=_within(0, 5), wanted=tr("decimals, 0 to 5")),
        checker.take("leading_zeros", bool, True),
        checker.take("letters", str, usual.letters, choices=("as they are", "upper")),
        checker.take("letters_and_digits_only", bool, False),
        False if fixed else checker.take("always_quoted", bool, False),
    )
    checker.finish()
    _sensible(checker, field)
    return field


_ONLY = {
    "pattern": ("date",),
    "point": ("money",),
    "places": ("money",),
    "letters": ("text",),
    "letters_and_digits_only": ("text",),
}


def _sensible(checker: Checker, field: Field) -> None:
    """Keys that say nothing of the kind of value that a field holds are faults: they were meant for something."""
    for key, sorts in _ONLY.items():
        if key in checker.table and field.sort not in sorts:
            checker.fault(
                key,
                tr("it at {called}", called=field.called),
                tr("it at a value of {sorts} only", sorts=tr(" or ").join(sorts)),
                tr("take it out"),
            )
    if "leading_zeros" in checker.table and field.value not in ("number", "account_number"):
        checker.fault(
            "leading_zeros",
            tr("it at {called}", called=field.called),
            tr("it at number or account_number only"),
            tr("take it out"),
        )
    if field.cut and field.sort != "text":
        checker.fault(
            "too_long",
            tr("'cut' at {called}", called=field.called),
            tr("a text; a figure or a date is never cut"),
            tr("take it out"),
        )
    if field.value in ("number", "account_number", "routing") and field.cut:
        checker.fault(
            "too_long",
            tr("'cut' at {called}", called=field.called),
            tr("it whole: another would be meant"),
            tr("take it out"),
        )
    if field.pad.isdigit() and field.align == "left" and field.sort != "text":
        checker.fault(
            "pad", repr(field.pad), tr("a blank, where a figure stands to the left"), tr("pad it on the left")
        )
    words = field.value and field.sort == "text" and field.value not in ("number", "account_number", "routing")
    if words and field.pad.isdigit():
        checker.fault("pad", repr(field.pad), tr("a character that cannot be read as a part of the text"))
    if field.width and not field.value and len(field.text) > field.width:
        checker.fault(
            "width", str(field.width), tr("at least {count}, for {text!r}", count=len(field.text), text=field.text)
        )
    if field.sort == "date" and field.width and 0 < field.width < field.date.width:
        checker.fault(
            "width",
            str(field.width),
            tr("at least {width}, for the pattern {text}", width=field.date.width, text=field.date.text),
        )


def _whole(document: Document, layout: Layout) -> Iterable[Fault]:
    """What is wrong with a layout whose parts are right."""
    cheques = layout.of("cheque")
    if not cheques:
        yield Fault(layout.source, tr("no record of what = 'cheque'"), tr("one, with at least number and amount"))
    for what in RECORDS:
        if what != "cheque" and len(layout.of(what)) > 1:
            yield Fault(layout.of(what)[1].where, tr("a second {what}", what=what), tr("one record of the kind"))
    for mark in MARKS:
        some = layout.of("cheque", mark)
        if len(some) > 1:
            yield Fault(
                some[1].where,
                tr("a second record for {mark}", mark=mark),
                tr("one record for each mark"),
                tr("give it for = […]"),
            )
        if some and mark in layout.marks and mark != "issue" and not layout.tells(mark):
            yield Fault(
                some[0].where,
                tr("marks.{mark}, but no field that holds the mark", mark=mark),
                tr("a field with value = 'mark'"),
            )
    for record in cheques:
        held = {field.value for field in record.fields}
        if missing := [name for name in ("number", "amount") if name not in held]:
            yield Fault(
                record.where,
                tr("no {missing}", missing=tr(" and no ").join(missing)),
                tr("at least number and amount in it"),
            )
    for record in layout.records:
        yield from _fits(layout, record)
    if layout.marks.get("issue") is not None and len(set(layout.marks.values())) < len(layout.marks):
        yield Fault(document.where("marks"), tr("one mark for two things"), tr("marks that differ"))


def _fits(layout: Layout, record: Record) -> Iterable[Fault]:
    if layout.kind == "fixed" and layout.length:
        for field in record.fields:
            if field.at + field.width > layout.length:
                found = tr("{field} to position {end}", field=field.called, end=field.at + field.width)
                yield Fault(field.where, found, tr("it within the record of {length} characters", length=layout.length))
    for field in record.fields:
        try:
            (field.text + field.pad).encode(layout.encoding)
        except UnicodeEncodeError:
            yield Fault(
                field.where,
                f"{field.text + field.pad!a}",
                tr("characters that {encoding} has", encoding=layout.encoding),
            )
        if layout.kind == "delimited" and not layout.quote and layout.delimiter in field.text:
            yield Fault(
                field.where,
                f"{field.text!r}",
                tr("a text without {delimiter!r}, or a quote character", delimiter=layout.delimiter),
            )
