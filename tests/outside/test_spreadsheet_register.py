"""Spreadsheet registers against the `openpyxl` package, both ways.

What we write it opens, with the same numbers, dates and texts; what it writes, with typed cells, formats, shared texts
and formulas, we read. Days are counted by `openpyxl`, and the shortest decimal of a number by Python's `repr`, which is
what the standard's text of a number (17 significant digits at most) comes back to.
"""

import io
import zipfile
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.utils.datetime import CALENDAR_MAC_1904, to_excel
from register.november import payments_of

from cheque.errors import Fault
from cheque.payment import Payment
from cheque.register import Reading, read_register, xlsxcells, xlsxfile

HEADER = ("payee", "amount", "date", "employee", "earning1", "earning1_hours", "earning1_amount")


def saved(rows: list[tuple[Any, ...]], formats: dict[str, str] | None = None, book: Any = None) -> bytes:
    """A spreadsheet as openpyxl saves it."""
    book = book or openpyxl.Workbook()
    sheet = book.active
    for row in rows:
        sheet.append(row)
    for reference, code in (formats or {}).items():
        sheet[reference].number_format = code
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def read(data: bytes, **how: Any) -> list[Payment | Fault]:
    return list(read_register(io.BytesIO(data), Reading("payday.xlsx", "USD", **how)))


def one(data: bytes, **how: Any) -> Payment:
    (found,) = read(data, **how)
    assert isinstance(found, Payment), str(found)
    return found


@pytest.mark.parametrize("register", ["payday-2026-11-27", "suppliers-2026-11"])
def test_what_we_write_openpyxl_opens_and_what_it_saves_we_read(register: str) -> None:
    hashed = "reference" if register.startswith("suppliers") else "employee"
    payments, file = payments_of(register), io.BytesIO()
    xlsxfile.write(payments, file, "USD", hash_column=hashed)
    book = openpyxl.load_workbook(io.BytesIO(file.getvalue()))
    names, *rows = book["Register"].iter_rows(values_only=True)
    for payment, row in zip(payments, rows, strict=True):
        cells = dict(zip(names, row, strict=True))
        assert cells["payee"] == payment.payee
        assert Decimal(str(cells["amount"])) == Decimal(payment.amount) / 100
        assert cells["date"].date().isoformat() == payment.date
    again = io.BytesIO()
    book.save(again)
    found = read(again.getvalue(), hash_column=hashed)
    assert [item._replace(line=0) for item in found if isinstance(item, Payment)] == [
        payment._replace(line=0) for payment in payments
    ]


def test_typed_cells_are_read_by_their_type_and_format() -> None:
    row = ("Ay Li", 1234.5, date(2026, 11, 27), 2112, "Regular", 40, 1300.25)
    formats = {"C2": "DD.MM.YYYY", "D2": "000000", "F2": "0.00", "G2": "#,##0.00"}
    payment = one(saved([HEADER, row], formats))
    assert (payment.payee, payment.amount, payment.date) == ("Ay Li", 123450, "2026-11-27")
    assert (payment.employee, payment.hash_value) == ("002112", 2112)
    assert (payment.stub[0].hours, payment.stub[0].amount) == ("40.00", 130025)


@settings(max_examples=200, deadline=None)
@given(st.integers(-(10**13), 10**13))
def test_any_amount_of_cents_that_a_spreadsheet_can_keep_is_read_exactly(cents: int) -> None:
    """openpyxl writes the repr of a float; a spreadsheet program may write 17 digits. Both are the same number."""
    number = float(Decimal(cents) / 100)
    for text in (repr(number), f"{number:.17g}"):
        cell = xlsxcells.Cell("number", text)
        assert xlsxcells.amount_of(cell, 2, "USD") == f"{Decimal(cents) / 100:.2f}"


@pytest.mark.parametrize(
    ("number", "named"),
    [
        (812.405, "found 812.405; wanted an exact USD amount, with 2 decimals"),
        (True, "found the truth value TRUE; wanted an exact USD amount"),
        (date(2026, 11, 27), "found a date; wanted an exact USD amount"),
        ("#N/A", "found the error '#N/A'; wanted an exact USD amount"),
    ],
)
def test_a_cell_that_is_no_exact_amount_is_refused_with_its_place(number: Any, named: str) -> None:
    (found,) = read(saved([HEADER[:3], ("Ay Li", number, date(2026, 11, 27))]))
    assert str(found).startswith("payday.xlsx row 2, amount (column B): ")
    assert named in str(found)


@pytest.mark.parametrize("stored", ["0.30000000000000004", "1000000000000000.25", "1e300", "123456789012345678"])
def test_a_number_of_more_digits_than_a_spreadsheet_keeps_is_refused(stored: str) -> None:
    data = saved([HEADER[:3], ("Ay Li", 0.25, date(2026, 11, 27))])
    changed = with_part(data, "xl/worksheets/sheet1.xml", b"<v>0.25</v>", f"<v>{stored}</v>".encode(), b"<v>0.25</v>")
    (found,) = read(changed)
    assert f"found the number {stored}; wanted at most 15 digits, all that a spreadsheet keeps" in str(found)


@settings(max_examples=100, deadline=None)
@given(st.dates(min_value=date(1904, 1, 2), max_value=date(9999, 12, 31)), st.booleans())
def test_a_day_is_counted_as_openpyxl_counts_it(day: date, from_1904: bool) -> None:
    serial = to_excel(day, CALENDAR_MAC_1904) if from_1904 else to_excel(day)
    cell = xlsxcells.Cell("date", str(serial))
    assert xlsxcells.day_of(cell, from_1904=from_1904) == day.isoformat()


def test_the_day_that_1900_did_not_have_is_refused() -> None:
    """ECMA-376 counts 29 February 1900 as day 60; there was none."""
    assert xlsxcells.day_of(xlsxcells.Cell("date", "59"), from_1904=False) == "1900-02-28"
    assert xlsxcells.day_of(xlsxcells.Cell("date", "61"), from_1904=False) == "1900-03-01"
    (found,) = read(saved([HEADER[:3], ("Ay Li", 1, 60)], {"C2": "yyyy-mm-dd"}))
    assert "the day 60" in str(found)


def test_a_book_whose_days_count_from_1904_is_read() -> None:
    book = openpyxl.Workbook()
    book.epoch = CALENDAR_MAC_1904
    data = saved([HEADER[:3], ("Ay Li", 1, date(2026, 11, 27))], book=book)
    assert b'date1904="1"' in zipfile.ZipFile(io.BytesIO(data)).read("xl/workbook.xml")
    assert one(data).date == "2026-11-27"


def test_a_date_with_a_time_is_refused() -> None:
    (found,) = read(saved([HEADER[:3], ("Ay Li", 1, datetime(2026, 11, 27, 9, 30))]))
    assert "a real date, without a time" in str(found)


def test_a_number_where_a_date_belongs_is_refused() -> None:
    (found,) = read(saved([HEADER[:3], ("Ay Li", 1, 46353)]))
    assert "found the number 46353; wanted a date" in str(found)


def test_a_formula_without_a_stored_value_is_refused_and_one_with_it_is_said() -> None:
    """openpyxl stores no value beside a formula: the file was never opened in a program that computes."""
    rows = [HEADER[:3], ("Ay Li", "=10*81.24", date(2026, 11, 27))]
    (found,) = read(saved(rows))
    assert "a formula with no value stored beside it" in str(found)
    said: list[str] = []
    data = with_part(saved(rows), "xl/worksheets/sheet1.xml", b"<v />", b"<v>812.4</v>", b"<v></v>")
    assert one(data, state=said.append).amount == 81240
    assert said[-1] == "payday.xlsx: 1 cell is a formula, read by the value stored when the file was last saved."


def with_part(data: bytes, name: str, *changes: bytes) -> bytes:
    """A spreadsheet with one part changed: the first of the texts that is there becomes the second."""
    old, new, other = changes
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as had, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for info in had.infolist():
            part = had.read(info)
            if info.filename == name:
                assert old in part or other in part
                part = part.replace(old, new).replace(other, new)
            made.writestr(info.filename, part)
    return out.getvalue()


def test_text_in_several_styles_is_one_text() -> None:
    rich = CellRichText(TextBlock(InlineFont(b=True), "Ay "), TextBlock(InlineFont(i=True), "Li"))
    assert one(saved([HEADER[:3], (rich, 1, date(2026, 11, 27))])).payee == "Ay Li"


def test_the_first_sheet_is_read_or_the_one_named() -> None:
    book = openpyxl.Workbook()
    book.active.title = "Week 48"
    for row in (HEADER[:3], ("Ay Li", 1, date(2026, 11, 27))):
        book.active.append(row)
    second = book.create_sheet("Week 49")
    for row in (HEADER[:3], ("Esmé Larkwater", 2, date(2026, 12, 4))):
        second.append(row)
    out = io.BytesIO()
    book.save(out)
    said: list[str] = []
    assert one(out.getvalue(), state=said.append).payee == "Ay Li"
    assert said == ["payday.xlsx: the sheet 'Week 48' of 2 is read."]
    assert one(out.getvalue(), sheet="Week 49").payee == "Esmé Larkwater"
    (missing,) = read(out.getvalue(), sheet="Week 50")
    assert "found sheets 'Week 48', 'Week 49'; wanted a sheet 'Week 50'" in str(missing)


def test_hidden_rows_are_read_and_said() -> None:
    book = openpyxl.Workbook()
    book.active.row_dimensions[3].hidden = True
    day = date(2026, 11, 27)
    data = saved([HEADER[:3], ("Ay Li", 1, day), ("Esmé Larkwater", 2, day)], book=book)
    said: list[str] = []
    assert len(read(data, state=said.append)) == 2
    assert said[-1] == "payday.xlsx: 1 row is hidden in the spreadsheet, and read all the same."
