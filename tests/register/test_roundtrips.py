"""Any batch written as CSV, fixed-width, pain.001 or a spreadsheet reads back equal, or is refused by the writer."""

import io
from unicodedata import normalize

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from register.batches import batches, letters_of
from register.november import map_named

from cheque.errors import Fault
from cheque.payment import Kind, Payment, Role, StubLine
from cheque.register import Reading, csvfile, fixedwidth, maps, pain001, read_register, xlsxfile

#: fields wide enough for the strategies; figures of every sign and usage
LAYOUT = """
kind = "fixed-width"
encoding = "{encoding}"
{head}

[[record]]
what = "header"
when = [{{ at = 1, is = "H" }}]
[record.fields]
date = {{ at = 30, pattern = "YYYYMMDD" }}
item_count = {{ at = 4, picture = "9(5)" }}
total = {{ at = 9, picture = "S9(14)V9(4)", sign = "leading" }}

[[record]]
what = "payment"
when = [{{ at = 1, is = "P" }}]
[record.fields]
payee = {{ at = 2, width = 12 }}
amount = {{ at = 14, picture = "S9(14)V9(4)"{usage} }}
date = {{ at = 32, pattern = "YYDDD" }}
reference = {{ at = 37, width = 12 }}
paid_by = {{ at = 49, width = 8 }}
number = {{ at = 57, picture = "Z(8)" }}
employee = {{ at = 65, picture = "9(8)"{usage} }}
identity = {{ at = 73, width = 12 }}
department = {{ at = 85, width = 12 }}
address1 = {{ at = 97, width = 12 }}
address2 = {{ at = 109, width = 12 }}
transfer = {{ at = 121, picture = "9(14)V9(4)" }}

[[record]]
what = "stub"
when = [{{ at = 1, is = "+" }}]
[record.fields]
address3 = {{ at = 2, width = 12 }}
address4 = {{ at = 14, width = 12 }}
period_from = {{ at = 26, pattern = "DD-MMM-YYYY" }}
period_to = {{ at = 37, pattern = "DD-MMM-YYYY" }}
memo = {{ at = 48, width = 12 }}

[[record]]
what = "stub"
when = [{{ at = 1, is = "E" }}]
[record.fields]
earning1 = {{ at = 2, width = 12 }}
earning1_hours = {{ at = 14, picture = "-(4)9.99" }}
earning1_rate = {{ at = 22, picture = "S9(4)V99", sign = "trailing separate" }}
earning1_amount = {{ at = 29, picture = "S9(14)V9(4)" }}
earning1_to_date = {{ at = 47, picture = "S9(14)V9(4)", sign = "leading separate" }}

[[record]]
what = "stub"
when = [{{ at = 1, is = "D" }}]
[record.fields]
deduction1 = {{ at = 2, width = 12 }}
deduction1_amount = {{ at = 14, picture = "Z(13)9.9(4)CR" }}
deduction1_to_date = {{ at = 35, picture = "*(13)9.9(4)-" }}
employer1 = {{ at = 56, width = 12 }}
employer1_amount = {{ at = 68, picture = "S9(14)V9(4)" }}
employer1_to_date = {{ at = 86, picture = "S9(14)V9(4)" }}

[[record]]
what = "stub"
when = [{{ at = 1, is = "I" }}]
[record.fields]
invoice1 = {{ at = 2, width = 12 }}
invoice1_date = {{ at = 14, pattern = "YYYYMMDD" }}
invoice1_gross = {{ at = 22, picture = "+(14)9.9(4)" }}
invoice1_discount = {{ at = 42, picture = "S9(14)V9(4)" }}
invoice1_net = {{ at = 60, picture = "S9(14)V9(4)" }}

[[record]]
what = "stub"
when = [{{ at = 1, is = "G" }}]
[record.fields]
goods1 = {{ at = 2, width = 12 }}
goods1_quantity = {{ at = 14, picture = "S9(5)V99" }}
goods1_price = {{ at = 21, picture = "ZZZZ9.99-" }}
goods1_amount = {{ at = 30, picture = "S9(14)V9(4)" }}

[[record]]
what = "stub"
when = [{{ at = 1, is = "N" }}]
[record.fields]
note1 = {{ at = 2, width = 12 }}

[[record]]
what = "trailer"
when = [{{ at = 1, is = "T" }}]
[record.fields]
item_count = {{ at = 2, picture = "9(5)" }}
record_count = {{ at = 7, picture = "9(5)" }}
total = {{ at = 12, picture = "S9(14)V9(4)" }}
hash_total = {{ at = 30, picture = "9(18)" }}
"""
AMOUNTS = st.integers(-(10**13), 10**13)


def layout(encoding: str, head: str, usage: str = "") -> maps.Map:
    text = LAYOUT.format(encoding=encoding, head=head, usage=usage)
    return maps.load(
        text.replace('"YYDDD" }', '"YYDDD" }').replace("kind =", "first_year = 1970\nkind =", 1), "layout.toml"
    )


LAYOUTS = {
    "lines": layout("cp1252", ""),
    "asa": layout("iso8859-1", 'carriage_control = "asa"\npage_heading_lines = 2'),
    "utf-8": layout("utf-8", ""),
    "cp037": layout("cp037", ""),
    "cp500-packed": layout("cp500", "record_length = 150", ', usage = "packed"'),
    "cp1140": layout("cp1140", 'record_length = 144\ncarriage_control = "asa"'),
}


def without_lines(found: list[Payment | Fault]) -> list[Payment | Fault]:
    return [item._replace(line=0) if isinstance(item, Payment) else item for item in found]


def read(data: bytes, currency: str, kind: str, by: maps.Map | None = None) -> list[Payment | Fault]:
    return without_lines(list(read_register(io.BytesIO(data), Reading("register", currency, kind=kind, map=by))))


@settings(max_examples=60, deadline=None)
@given(data=st.data(), name=st.sampled_from(sorted(LAYOUTS)), currency=st.sampled_from(["USD", "JPY", "KWD", "CLF"]))
def test_a_batch_written_in_records_reads_back_equal(data: st.DataObject, name: str, currency: str) -> None:
    by = LAYOUTS[name]
    letters = letters_of("iso8859-1" if by.encoding == "utf-8" else by.encoding)
    batch = data.draw(batches(letters=letters, amounts=AMOUNTS))
    file = io.BytesIO()
    fixedwidth.write(batch, file, currency, by=by)
    assert read(file.getvalue(), currency, "fixed-width", by) == batch


XML = st.characters(
    exclude_categories=["Cs", "Cc"], exclude_characters="\ufffe\uffff", max_codepoint=0xFFFF
) | st.sampled_from("<>&'\"]")


@settings(max_examples=60, deadline=None)
@given(
    batch=batches(
        letters=XML, amounts=st.integers(0, 10**12), transfers=False, splits=False, kinds=(Kind.INVOICE, Kind.NOTE)
    ),
    currency=st.sampled_from(["USD", "JPY", "KWD", "CLF"]),
    version=st.sampled_from(pain001.VERSIONS),
)
def test_a_batch_written_as_a_message_reads_back_equal(batch: list[Payment], currency: str, version: str) -> None:
    batch = [payment._replace(period_from="", period_to="") for payment in batch]
    file = io.BytesIO()
    pain001.write(batch, file, currency, version=version)
    assert read(file.getvalue(), currency, "pain.001") == batch


@settings(max_examples=40, deadline=None)
@given(
    batch=batches(
        letters=letters_of("iso8859-1"),
        amounts=st.integers(0, 10**8 - 1),
        figures=st.decimals(0, 999, places=2).map(str),
        transfers=False,
        splits=False,
        kinds=tuple(kind for kind in Kind if kind is not Kind.GOODS),
    )
)
def test_pay_goes_into_a_message_by_a_map_of_its_remittance_lines(batch: list[Payment]) -> None:
    by = map_named("payroll-remittance.toml")
    assert by
    file = io.BytesIO()
    try:
        pain001.write(batch, file, "USD", by=by)
    except ValueError as refused:  # a note that would be read as a line of pay
        assert any(any(r.fits(line.text) for r in by.records) for p in batch for line in p.stub), refused  # noqa: PT017
        return
    assert read(file.getvalue(), "USD", "pain.001", by) == batch


@settings(max_examples=60, deadline=None)
@given(batch=batches(), currency=st.sampled_from(["USD", "JPY", "KWD", "CLF"]))
def test_a_batch_written_as_a_spreadsheet_reads_back_equal(batch: list[Payment], currency: str) -> None:
    file = io.BytesIO()
    xlsxfile.write(batch, file, currency)
    assert read(file.getvalue(), currency, "xlsx") == batch


OTHERS = {
    "german": 'locale = "de_DE"\nencoding = "cp1252"\nseparator = ";"\ndate = "DD.MM.YYYY"',
    "swiss": 'locale = "de_CH"\nencoding = "utf-8"\nnegative = "trailing"\ndate = "D.M.YYYY"\nseparator = "|"',
    "french": 'locale = "fr_FR"\nencoding = "utf-16"\nseparator = "tab"\ndate = "DD/MM/YYYY"',
    "host": 'encoding = "cp037"\nthousands_mark = ","\nnegative = "parentheses"\ncurrency_sign = "$"\nskip_lines = 2',
    "bare": 'separator = "~"\nquote = ""\nescape = "\\\\"\nshort_decimals = true',
    "quotes": 'quote = "\'"\nseparator = ","',
}
COLUMNS = """
[columns]
payee = "NAME"
amount = "NETPAY"
earning1 = "Art der Bezüge"
earning1_amount = "GROSS"
"""


@settings(max_examples=120, deadline=None)
@given(data=st.data(), dialect=st.sampled_from(sorted(OTHERS)), currency=st.sampled_from(["USD", "JPY", "KWD"]))
def test_a_batch_in_somebody_elses_csv_reads_back_equal(data: st.DataObject, dialect: str, currency: str) -> None:
    by = maps.load(f'kind = "csv"\n{OTHERS[dialect]}\n{COLUMNS}', "map.toml")
    encoding = by.encoding if by.encoding in ("cp1252", "cp037") else "iso8859-1"
    letters = letters_of(encoding, "\"',;\t =é|~\\$()")
    batch = data.draw(batches(letters=letters, amounts=AMOUNTS))
    file = io.BytesIO()
    csvfile.write(batch, file, currency, by=by)
    assert read(file.getvalue(), currency, "csv", by) == batch


PLAIN = Payment(1, "Ay Li", 100, "2026-11-27", "R1", hash_value=8, employee="8")
CANNOT = [
    {"payee": " Ay Li"},
    {"payee": "Esme\u0301"},
    {"payee": "Ay\u2603Li"},
    {"payee": "Ay Li and twelve more"},
    {"payee": "Ay\nLi"},
    {"date": "27 November"},
    {"date": "1926-11-27"},
    {"amount": 10**18},
    {"role": Role.CHEQUE, "amount": 0},
    {"expected": "A-17"},
    {"hash_value": 7},
    {"stub": (StubLine(Kind.NOTE, "x"), StubLine(Kind.EARNING, "Regular", 100))},
    {"stub": (StubLine(Kind.EARNING, "Regular", 100, None, "37.125"),)},
    {"stub": (StubLine(Kind.DEDUCTION, "Dues", 100, None, "8.00"),)},
    {"stub": (StubLine(Kind.EARNING, "", 100),)},
]


@pytest.mark.parametrize("change", CANNOT)
def test_what_a_record_cannot_carry_is_not_written(change: dict[str, object]) -> None:
    file = io.BytesIO()
    with pytest.raises(ValueError, match="cannot be written"):
        fixedwidth.write([PLAIN._replace(**change)], file, "USD", by=LAYOUTS["lines"])  # type: ignore[arg-type]
    assert not file.getvalue()


MESSAGE_CANNOT = [
    {"payee": " Ay Li"},
    {"payee": "Ay Li " * 30},
    {"payee": "Ay\x07Li"},
    {"reference": "R" * 36},
    {"reference": "NOTPROVIDED"},
    {"memo": "a" * 71},
    {"memo": "a" * 36},
    {"amount": -1},
    {"role": Role.ADVICE},
    {"period_from": "2026-11-16", "period_to": "2026-11-22"},
    {"date": "2026-11-27T10:00:00"},
    {"employee": "E-8"},
    {"stub": (StubLine(Kind.EARNING, "Regular", 100),)},
    {"stub": (StubLine(Kind.INVOICE, "TT-1"),)},
    {"stub": (StubLine(Kind.INVOICE, "TT-1", 100, gross=-100),)},
    {"stub": (StubLine(Kind.NOTE, "n" * 141),)},
]


def test_a_message_has_no_place_for_divided_pay_and_says_so() -> None:
    with pytest.raises(ValueError, match=r"Ay Li.*cannot be written: .*transfer"):
        pain001.write([PLAIN._replace(by_transfer=500)], io.BytesIO(), "USD")


@pytest.mark.parametrize("change", MESSAGE_CANNOT)
def test_what_a_message_cannot_carry_is_not_written(change: dict[str, object]) -> None:
    file = io.BytesIO()
    with pytest.raises(ValueError, match="cannot be written"):
        pain001.write([PLAIN._replace(**change)], file, "USD")  # type: ignore[arg-type]
    assert not file.getvalue()


@pytest.mark.parametrize(
    "change",
    [
        {"payee": " Ay Li"},
        {"payee": "Esme\u0301"},
        {"role": Role.CHEQUE, "amount": 0},
        {"amount": 10**18},
        {"stub": (StubLine(Kind.NOTE, "x"), StubLine(Kind.EARNING, "Regular", 100))},
        {"hash_value": 7},
    ],
)
def test_what_a_spreadsheet_cannot_carry_is_not_written(change: dict[str, object]) -> None:
    file = io.BytesIO()
    with pytest.raises(ValueError, match="cannot be written"):
        xlsxfile.write([PLAIN._replace(**change)], file, "USD")  # type: ignore[arg-type]
    assert not file.getvalue()


def test_form_c_is_what_every_strategy_makes() -> None:
    """The property would be empty if the strategies made only texts that readers change."""
    assert normalize("NFC", "Esme\u0301") == "Esm\u00e9"
