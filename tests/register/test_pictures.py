"""Pictures of numbers, zoned and packed digits, dates, marks and encodings: examples, and each the other's inverse."""

import doctest
import re
from datetime import date
from decimal import Decimal
from types import ModuleType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.money import AmountError
from cheque.register import columns, dates, encodings, marks, picture, xlsxfile, xlsxparts, zoned
from cheque.register.dates import date_pattern
from cheque.register.marks import Marks, marks_of
from cheque.register.picture import parse_picture

MODULES = [columns, dates, encodings, marks, picture, xlsxfile, xlsxparts, zoned]


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_the_examples_are_true(module: ModuleType) -> None:
    assert doctest.testmod(module).failed == 0


#: ISO/IEC 1989, PICTURE clause, editing rules (from memory): value, picture, what is printed
EDITED = [
    ("ZZZ,ZZ9.99", "1234.56", "  1,234.56"),
    ("ZZZ,ZZ9.99", "0.05", "      0.05"),
    ("ZZZ,ZZZ.ZZ", "0", "          "),
    ("ZZZ,ZZZ.ZZ", "0.05", "       .05"),
    ("***,***.**", "0", "*******.**"),
    ("***,**9.99", "12.30", "*****12.30"),
    ("$$$,$$9.99", "1234.56", " $1,234.56"),
    ("$$$,$$9.99", "12.30", "    $12.30"),
    ("$ZZ,ZZ9.99", "12.30", "$    12.30"),
    ("----9.99", "-1.50", "   -1.50"),
    ("----9.99", "1.50", "    1.50"),
    ("++++9.99", "1.50", "   +1.50"),
    ("++++9.99", "-1.50", "   -1.50"),
    ("ZZ9.99-", "-1.50", "  1.50-"),
    ("ZZ9.99+", "1.50", "  1.50+"),
    ("ZZ9.99CR", "-1.50", "  1.50CR"),
    ("ZZ9.99DB", "1.50", "  1.50  "),
    ("-ZZ9.99", "-1.50", "-  1.50"),
    ("9(4)V99", "12.30", "001230"),
    ("ZZ,ZZ9V99", "1234.56", " 1,23456"),
    ("B99.9", "12.3", " 12.3"),
]


@pytest.mark.parametrize(("text", "value", "printed"), EDITED)
def test_a_number_is_edited_and_read_as_its_picture_says(text: str, value: str, printed: str) -> None:
    pic = parse_picture(text)
    number = Decimal(value)
    digits = str(int(abs(number) * 10**pic.places)).rjust(pic.digits, "0")
    if pic.kind == "number":
        assert digits == printed
        return
    assert pic.write(digits, number < 0) == printed
    assert len(printed) == pic.width
    assert pic.read(printed) == (digits, number < 0)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from([text for text, _, _ in EDITED]), st.integers(0, 10**6 - 1), st.booleans())
def test_what_a_picture_writes_it_reads(text: str, number: int, negative: bool) -> None:
    pic = parse_picture(text)
    if pic.kind == "number" or len(str(number)) > pic.digits:
        return
    digits, negative = str(number).rjust(pic.digits, "0"), negative and pic.signed and number > 0
    assert pic.read(pic.write(digits, negative)) == (digits, negative)


@pytest.mark.parametrize(
    "printed", ["  1,234.5", " 1,234.567", "01,234.56", "  1234.56 ", "  1.234,56", "x 1,234.56", "  1,234.56-", ""]
)
def test_what_a_picture_would_not_have_written_is_not_read(printed: str) -> None:
    with pytest.raises(ValueError, match=r"not of the picture|without a sign"):
        parse_picture("ZZZ,ZZ9.99").read(printed)


@pytest.mark.parametrize(
    "text", ["", "9(", "(3)", "Q", "9Q9", "Z*9", "$+9", "9Z", "9.9.9", "9V9V9", "S", "9" * 19, "X9"]
)
def test_what_is_no_picture_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=re.escape(repr(text))):
        parse_picture(text)


PATTERNS = ["YYYY-MM-DD", "DD.MM.YYYY", "MM/DD/YY", "DDMMMYY", "YYDDD", "YYYYDDD", "D/M/YYYY", "M-D-YY", "YYYYMMDD"]


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(PATTERNS), st.dates(min_value=date(1970, 1, 1), max_value=date(2069, 12, 31)))
def test_a_date_written_by_a_pattern_reads_back(text: str, day: date) -> None:
    pattern = date_pattern(text, 1970)
    assert pattern.read(pattern.write(day.isoformat())) == day.isoformat()
    assert pattern.width in (0, len(pattern.write(day.isoformat())))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("YYYY-MM-DD", "2026-02-29"),
        ("YYYYDDD", "2026366"),
        ("YYYYDDD", "2026000"),
        ("DDMMMYY", "27NOW26"),
        ("MM/DD/YY", "27/11/26"),
        ("D.M.YYYY", "٢.11.2026"),
        ("YYYY-MM-DD", "0000-01-01"),
    ],
)
def test_a_day_that_there_is_not_is_refused(text: str, found: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        date_pattern(text, 1970).read(found)


@pytest.mark.parametrize(
    "text", ["", "YYYY", "YYYYMM", "YYY-MM-DD", "YYYYMMDDD", "DMYYYY", "YYYY-MM-DD-DD", "YYYY年MM DD"]
)
def test_a_pattern_that_does_not_give_one_day_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        date_pattern(text, 1970)


LOCALES = ["en_US", "de_DE", "de_CH", "fr_FR", "pt_BR", "pl_PL", "en_IN", "nl_NL"]


@settings(max_examples=200, deadline=None)
@given(
    st.sampled_from(LOCALES),
    st.sampled_from(["leading", "trailing", "parentheses"]),
    st.sampled_from(["", "$", "£"]),
    st.integers(-(10**13), 10**13),
)
def test_an_amount_written_with_any_marks_reads_back(locale: str, negative: str, sign: str, minor: int) -> None:
    how = marks_of(locale)._replace(negative=negative, currency_sign=sign)
    written = how.write_amount(minor, "USD")
    assert how.amount(written, "USD") == f"{Decimal(minor) / 100:.2f}"
    if sign:
        assert how.amount(f"{sign}{written}", "USD") == how.amount(f"{written} {sign}", "USD") if minor >= 0 else True


@pytest.mark.parametrize(
    ("locale", "text"),
    [("de_DE", "1.234,56"), ("de_CH", "1’234.56"), ("fr_FR", "1\u202f234,56"), ("en_IN", "1,23,456.00")],
)
def test_the_marks_of_a_locale_are_those_of_cldr(locale: str, text: str) -> None:
    assert marks_of(locale).amount(text, "USD") in ("1234.56", "123456.00")


@pytest.mark.parametrize(
    ("how", "text"),
    [
        (Marks(), "1,234.56"),
        (Marks(group=","), "12,34.56"),
        (Marks(point=",", group="."), "1234.56"),
        (Marks(), "86.00-"),
        (Marks(), "(86.00)"),
        (Marks(negative="trailing"), "-86.00-"),
        (Marks(negative="parentheses"), "(-86.00)"),
        (Marks(currency_sign="$"), "£1.00"),
        (Marks(), "812.4"),
        (Marks(short=True), "812.405"),
    ],
)
def test_marks_that_the_file_does_not_use_are_refused(how: Marks, text: str) -> None:
    with pytest.raises(AmountError):
        how.amount(text, "USD")


def test_short_decimals_are_taken_where_the_map_says_so() -> None:
    assert Marks(short=True).amount("812.4", "USD") == "812.40"


@pytest.mark.parametrize(
    "name", ["utf-7", "rot13", "base64", "idna", "punycode", "unicode_escape", "iso2022_jp", "hz", "x", ""]
)
def test_what_is_no_encoding_of_files_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match="no encoding of text files"):
        encodings.named(name)
