"""Payments to a spreadsheet, exactly as `cheque.register.xlsxfile` reads them back.

Amounts are numbers with the currency's decimals, dates are dates, hours and rates are numbers formatted with the
decimals they have; everything else is text, and so is a number of more digits than a spreadsheet keeps. The same
payments always give the same bytes.
"""

import io
import re
import zipfile
from collections.abc import Iterable, Iterator
from datetime import date
from typing import BinaryIO
from xml.sax.saxutils import escape, quoteattr

from cheque.money import digits
from cheque.payment import Payment
from cheque.register import Reading
from cheque.register.columns import name_of, sort_of
from cheque.register.csvwrite import cells_of, columns_needed
from cheque.register.mapped import titles_of, written
from cheque.register.maps import NO_MAP, Map
from cheque.tongue import tr

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_WHEN = (1980, 1, 1, 0, 0, 0)
#: characters that XML cannot hold or would change, and what only looks like one that is written with its number
_UNWRITTEN = re.compile(r"[\x00-\x1f\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
_MOST_PLACES, _KEPT = 6, 15
#: styles: 0 general, 1 date, 2 header, then one for each number of decimals
_DATE, _HEADER, _FIRST = 1, 2, 3


def write(
    payments: Iterable[Payment],
    stream: BinaryIO,
    currency: str,
    *,
    hash_column: str = "employee",
    sheet: str = "Register",
    by: Map = NO_MAP,
) -> None:
    """Write a spreadsheet of one sheet, and read it back. Holds all payments in memory.

    Raises ValueError, naming the payee, for a payment that would not read back the same.
    """
    from cheque.register.xlsxfile import read

    payments = list(payments)
    names = columns_needed(payments, currency, name_of(hash_column), by)
    rows = [cells_of(payment, currency, name_of(hash_column)) for payment in payments]
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as file:
        sheet_of(file, by.sheet or sheet, names, rows, currency, by)
    back = read(io.BytesIO(made.getvalue()), Reading(tr("the register"), currency, hash_column, map=by))
    for item, payment in enumerate(payments, 1):
        found = next(back, None)
        same = isinstance(found, Payment) and found._replace(line=0) == payment._replace(item=item, line=0)
        if not same:
            lost = found is None or isinstance(found, Payment)
            why = tr("it would not read back the same") if lost else str(found)
            raise ValueError(tr("the payment to {payee!r} cannot be written: {why}", payee=payment.payee, why=why))
    stream.write(made.getvalue())


def sheet_of(
    file: zipfile.ZipFile, sheet: str, names: list[str], rows: list[dict[str, str]], currency: str, by: Map
) -> None:
    """Put a whole workbook of one sheet into a new zip: a column for each name, by what it holds."""
    for name, text in _parts(sheet):
        _add(file, name, text)
    _add(file, "xl/worksheets/sheet1.xml", "".join(_sheet(names, rows, currency, by)))


def _add(file: zipfile.ZipFile, name: str, text: str) -> None:
    """One part, dated so that the same text is the same bytes."""
    info = zipfile.ZipInfo(name, _WHEN)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = 0o600 << 16
    file.writestr(info, text.encode(errors="replace"))


def _parts(sheet: str) -> Iterator[tuple[str, str]]:
    """Everything but the sheet."""
    head = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    types = "".join(
        f'<Override PartName="/{part}" ContentType="{_TYPE}.{kind}+xml"/>'
        for part, kind in (
            ("xl/workbook.xml", "sheet.main"),
            ("xl/worksheets/sheet1.xml", "worksheet"),
            ("xl/styles.xml", "styles"),
        )
    )
    relations = '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    yield "[Content_Types].xml", f'{head}<Types xmlns="{_PACKAGE}/content-types">{relations}{types}</Types>'
    yield "_rels/.rels", head + _relations([("officeDocument", "xl/workbook.xml")])
    sheets = f'<sheets><sheet name={quoteattr(sheet[:31])} sheetId="1" r:id="rId1"/></sheets>'
    yield "xl/workbook.xml", f'{head}<workbook xmlns="{_MAIN}" xmlns:r="{_OFFICE}">{sheets}</workbook>'
    related = [("worksheet", "worksheets/sheet1.xml"), ("styles", "styles.xml")]
    yield "xl/_rels/workbook.xml.rels", head + _relations(related)
    yield "xl/styles.xml", head + _styles()


def _relations(related: list[tuple[str, str]]) -> str:
    each = "".join(
        f'<Relationship Id="rId{number}" Type="{_OFFICE}/{kind}" Target="{target}"/>'
        for number, (kind, target) in enumerate(related, 1)
    )
    return f'<Relationships xmlns="{_PACKAGE}/relationships">{each}</Relationships>'


def _styles() -> str:
    """Formats: a date as year, month, day; numbers with nought to six decimals."""
    codes = ["yyyy-mm-dd", *("0" + "." * (places > 0) + "0" * places for places in range(_MOST_PLACES + 1))]
    formats = "".join(f'<numFmt numFmtId="{164 + at}" formatCode="{code}"/>' for at, code in enumerate(codes))
    numbers = [0, 164, 0, *range(165, 166 + _MOST_PLACES)]
    cells = "".join(
        f'<xf numFmtId="{number}" fontId="{int(at == _HEADER)}" fillId="0" borderId="0" xfId="0"/>'
        for at, number in enumerate(numbers)
    )
    fills = "".join(f'<fill><patternFill patternType="{kind}"/></fill>' for kind in ("none", "gray125"))
    return (
        f'<styleSheet xmlns="{_MAIN}"><numFmts count="{len(codes)}">{formats}</numFmts>'
        '<fonts count="2"><font><sz val="11"/></font><font><b/><sz val="11"/></font></fonts>'
        f'<fills count="2">{fills}</fills>'
        '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
        '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
        f'<cellXfs count="{len(numbers)}">{cells}</cellXfs>'
        '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
    )


def _sheet(names: list[str], rows: list[dict[str, str]], currency: str, by: Map) -> Iterator[str]:
    """The sheet, a row at a time."""
    from cheque.register.xlsxcells import column_letters

    letters = [column_letters(place) for place in range(len(names))]
    yield f'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<worksheet xmlns="{_MAIN}"><sheetData>\n'
    number = by.skip_lines
    if by.header:
        number += 1
        titles = titles_of(names, by.columns)
        cells = (_text(f"{at}{number}", title, _HEADER) for at, title in zip(letters, titles, strict=True))
        yield f'<row r="{number}">{"".join(cells)}</row>\n'
    for cells_by_name in rows:
        number += 1
        made = (
            _cell(f"{at}{number}", name, cells_by_name.get(name, ""), currency, by)
            for at, name in zip(letters, names, strict=True)
        )
        yield f'<row r="{number}">{"".join(made)}</row>\n'
    yield "</sheetData></worksheet>\n"


def _cell(at: str, name: str, text: str, currency: str, by: Map) -> str:
    """A cell by the sort of its column; nothing where there is nothing."""
    if not text:
        return ""
    sort = sort_of(name)
    if sort == "date" and (serial := _serial(text)):
        return f'<c r="{at}" s="{_DATE}"><v>{serial}</v></c>'
    if sort in ("money", "decimal") and _fits(text):
        places = len(text.partition(".")[2])
        style = _FIRST + (digits(currency) if sort == "money" else places)
        return f'<c r="{at}" s="{style}"><v>{text}</v></c>'
    try:
        return _text(at, written(name, text, by, currency))
    except ValueError:
        return _text(at, text)


def _fits(text: str) -> bool:
    """Whether a spreadsheet keeps a plain number as it is written."""
    match = re.fullmatch(r"-?(0|[1-9][0-9]*)(?:\.([0-9]{1,6}))?", text, re.ASCII)
    if not match or len(match[1] + (match[2] or "")) > _KEPT:
        return False
    return not (text.startswith("-") and not text.strip("-0."))


def _serial(iso: str) -> int:
    """The day's number of a date, or 0 when it is none, or before the spreadsheet's count is right."""
    try:
        days = (date.fromisoformat(iso) - date(1899, 12, 30)).days if len(iso) == 10 else 0
    except ValueError:
        return 0
    return days if days > 60 else 0


def _text(at: str, text: str, style: int = 0) -> str:
    written = _UNWRITTEN.sub(lambda match: f"_x{ord(match[0]):04X}_", text)
    shown = f' s="{style}"' if style else ""
    return f'<c r="{at}"{shown} t="inlineStr"><is><t xml:space="preserve">{escape(written)}</t></is></c>'
