"""A notice by a layout: every value whole, in its place, and readable by somebody who has only the layout's rules.

The readers here are not the package's: the delimited one is Python's `csv` module, the fixed-width one cuts by the
positions that the test itself chose.
"""

import csv
import io
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.bank.layoutfile import parse_layout
from cheque.bank.layoutmodel import Layout
from cheque.bank.notice import Account, Line, Notice
from cheque.bank.textlayout import Writer, ruler
from cheque.errors import InputRefused

EXAMPLES = Path(__file__).resolve().parents[2] / "layouts"
MAIN = Account("main", "00417293", "123456780", "Tidewrack Savings Bank", "Quillmere Boatyard Company", "US")
PETTY = Account("petty", "00417301", "123456780", "Tidewrack Savings Bank", "Quillmere Boatyard Company", "US")
ONE = Line("issue", "main", "100501", "2026-11-27", 81240, "USD", "Bryn Marlow", "PR-0001")


def notice(*lines: Line, accounts: Sequence[Account] = (MAIN,)) -> Notice:
    return Notice("QB-000001", datetime(2026, 11, 27, 9, 30, 5), {a.name: a for a in accounts}, lambda: lines)


def layout(text: str) -> Layout:
    return parse_layout(text, "bank.toml")


def faults(text: str) -> str:
    with pytest.raises(InputRefused) as refused:
        layout(text)
    return str(refused.value)


def written(rules: Layout, told: Notice) -> bytes:
    writer = Writer(rules, told)
    found = writer.look()
    assert found.faults == []
    return b"".join(writer.records(found))


def refusals(rules: Layout, told: Notice) -> str:
    return "\n".join(map(str, Writer(rules, told).look().faults))


def delimited(*fields: str, head: str = "", marks: str = 'issue = "I"\nvoid = "V"\nstop = "S"') -> Layout:
    inside = "\n".join(f"[[record.field]]\n{field}" for field in fields)
    marks = marks if MARK in fields else ""
    return layout(f'kind = "delimited"\n{head}\n[marks]\n{marks}\n[[record]]\nwhat = "cheque"\n{inside}\n')


NUMBER, AMOUNT, MARK = 'value = "number"', 'value = "amount"', 'value = "mark"'


# --- what a layout must be


def test_every_fault_of_a_layout_is_told_with_its_line() -> None:
    said = faults(
        'kind = "fixed"\nencoding = "klingon"\nline_end = "crfl"\n[[record]]\nwhat = "cheque"\n'
        '[[record.field]]\nvalue = "nmber"\nwidth = 10\n[[record.field]]\nvalue = "amount"\nwidth = 0\n'
        '[[record.field]]\nvalue = "date"\npattern = "YYYY"\n[[record]]\nwhat = "trailer"\ntypo = 1\n'
    )
    for part in (
        "line 2, encoding: found 'klingon'",
        "line 3, line_end: found 'crfl'",
        "did you mean 'crlf'?",
        "line 7, record.0.field.0.value: found 'nmber'",
        "did you mean 'number'?",
        "line 11, record.0.field.1.width: found 0",
        "line 14, record.0.field.2.pattern: found 'YYYY'",
        "line 16, record.1.what: found 'trailer'",
        "record.1.field: found nothing",
        "line 17, record.1.typo: found an unknown key",
    ):
        assert part in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "kind: found nothing"),
        ('kind = "delimited"', "record: found nothing"),
        ('kind = "delimited"\nline_end = "none"', "ends of lines"),
        ('kind = "delimited"\ndelimiter = ";;"', "found ';;'"),
        ('kind = "delimited"\nquote = ","', "one character that is not the delimiter"),
        ('kind = "delimited"\nencoding = "utf-16"', "of several bytes a character"),
        ('kind = "delimited"\n[replace]\n"ss" = "s"', "one character to be replaced"),
        ('kind = "delimited"\n[marks]\nissued = "I"', "did you mean 'issue'?"),
        ('kind = "fixed"\nrecord_length = 0', "characters, 1 to"),
    ],
)
def test_what_a_layout_must_say(text: str, said: str) -> None:
    assert said in faults(text)


@pytest.mark.parametrize(
    ("field", "said"),
    [
        ('value = "amount"\ntext = "x"', "both value and text"),
        ("width = 3", "found neither; wanted a value or a text"),
        ('value = "payee"\npoint = ","', "a value of money only"),
        ('value = "amount"\npattern = "YYYYMMDD"', "a value of date only"),
        ('value = "amount"\ntoo_long = "cut"', "a figure or a date is never cut"),
        ('value = "number"\ntoo_long = "cut"', "another would be meant"),
        ('value = "payee"\nleading_zeros = false', "number or account_number only"),
        ('value = "date"\nwidth = 7', "at least 10"),
        ('text = "HEADER"\nwidth = 3', "at least 6"),
        ('text = "é"', "characters that ascii has"),
        ('value = "payee"\npad = "0"\nwidth = 30', "cannot be read as a part of the text"),
        ('value = "item_count"', "found 'item_count'"),
    ],
)
def test_a_field_that_makes_no_sense_is_refused(field: str, said: str) -> None:
    body = f'kind = "delimited"\n[[record]]\nwhat = "cheque"\n[[record.field]]\n{NUMBER}\n[[record.field]]\n{AMOUNT}\n'
    assert said in faults(f"{body}[[record.field]]\n{field}\n")


def test_fixed_fields_that_lie_on_each_other_or_past_the_end_are_refused() -> None:
    head = 'kind = "fixed"\nrecord_length = 20\n[[record]]\nwhat = "cheque"\n[[record.field]]\nvalue = "number"\n'
    head += "width = 10\n"
    assert "number goes on to 10" in faults(f'{head}[[record.field]]\nvalue = "amount"\nat = 8\nwidth = 6\n')
    assert "amount to position 22" in faults(f'{head}[[record.field]]\nvalue = "amount"\nwidth = 12\n')


def test_a_cheque_record_has_at_least_number_and_amount() -> None:
    assert "no number and no amount" in faults(
        'kind = "delimited"\n[[record]]\nwhat = "cheque"\n[[record.field]]\ntext = "x"'
    )
    assert "no record of what = 'cheque'" in faults(
        'kind = "delimited"\n[[record]]\nwhat = "file header"\n[[record.field]]\ntext = "H"'
    )


def test_a_stop_is_never_written_so_that_it_could_be_taken_for_an_issue() -> None:
    rules = delimited(NUMBER, AMOUNT)  # nothing in it says which of the two
    assert [rules.tells(mark) for mark in ("issue", "void", "stop")] == [True, False, False]
    assert "no mark for stop" in refusals(rules, notice(ONE._replace(mark="stop")))
    assert "no field that holds the mark" in faults(
        'kind = "delimited"\n[marks]\nstop = "S"\n[[record]]\nwhat = "cheque"\nfield = [{ value = "number" }, '
        '{ value = "amount" }]\n'
    )


def test_one_mark_is_never_two_things() -> None:
    with pytest.raises(InputRefused, match="one mark for two things"):
        delimited(NUMBER, AMOUNT, MARK, marks='issue = "I"\nvoid = "I"')


# --- what is written


def test_amounts_stand_as_the_bank_wants_them() -> None:
    cases: list[tuple[str, int, str, str]] = [
        ("", 81240, "USD", "812.40"),
        ('point = ","', 81240, "USD", "812,40"),
        ('point = ""', 81240, "USD", "81240"),
        ('point = ""', 5, "USD", "005"),
        ('point = ""\nwidth = 10\npad = "0"', 81240, "USD", "0000081240"),
        ("places = 3", 81240, "USD", "812.400"),
        ("", 81240, "JPY", "81240"),
        ("", 81240, "KWD", "81.240"),
        ("places = 0", 81200, "USD", "812"),
    ]
    for more, amount, currency, text in cases:
        rules = delimited(NUMBER, f"{AMOUNT}\n{more}")
        data = written(rules, notice(ONE._replace(amount=amount, currency=currency)))
        assert data == (f'100501,"{text}"\r\n' if "," in text else f"100501,{text}\r\n").encode()


def test_an_amount_is_never_rounded_to_the_banks_decimals() -> None:
    rules = delimited(NUMBER, f"{AMOUNT}\nplaces = 0")
    assert "found 812.40; wanted no more than 0 decimals" in refusals(rules, notice(ONE))


def test_dates_stand_by_their_pattern() -> None:
    rules = delimited(
        NUMBER, AMOUNT, 'value = "date"\npattern = "YYDDD"', 'value = "made_at"', head='dates = "DD.MM.YYYY"'
    )
    assert written(rules, notice(ONE)) == b"100501,812.40,26331,093005\r\n"


def test_a_value_too_long_is_refused_by_name_or_cut_and_told() -> None:
    rules = delimited(NUMBER, AMOUNT, 'value = "payee"\nwidth = 6')
    said = refusals(rules, notice(ONE))
    assert said == "number main:100501, payee: found 'Bryn Marlow', 11 characters; wanted at most 6."
    rules = delimited(NUMBER, AMOUNT, 'value = "payee"\nwidth = 6\ntoo_long = "cut"')
    found = Writer(rules, notice(ONE)).look()
    assert found.cuts == ["number main:100501, payee: cut to 'Bryn M', as the layout says"]


def test_a_letter_that_the_bank_lacks_is_refused_replaced_or_bared_and_never_dropped() -> None:
    told = notice(ONE._replace(payee="Åsa Søndergård"))
    fields = (NUMBER, AMOUNT, 'value = "payee"')
    assert "found Åøå in it; wanted characters that ascii has" in refusals(delimited(*fields), told)
    rules = delimited(*fields, head='accents = "drop"')
    assert "found ø in it" in refusals(rules, told)
    rules = layout(
        'kind = "delimited"\naccents = "drop"\n[replace]\n"ø" = "oe"\n[[record]]\nwhat = "cheque"\nfield = '
        "[{ value = 'number' }, { value = 'amount' }, { value = 'payee' }]"
    )
    assert b"Asa Soendergard" in written(rules, told)
    assert "Åsa".encode("cp1252") in written(delimited(*fields, head='encoding = "cp1252"'), told)


def test_a_comma_in_a_name_is_quoted_or_refused_where_there_is_no_quoting() -> None:
    told = notice(ONE._replace(payee='Thwaite, "Ada" & Sons'))
    fields = (NUMBER, AMOUNT, 'value = "payee"')
    assert written(delimited(*fields), told).endswith(b',"Thwaite, ""Ada"" & Sons"\r\n')
    assert "this layout has no quote character" in refusals(delimited(*fields, head='quote = ""'), told)


def test_a_mark_that_the_layout_lacks_refuses_the_notice() -> None:
    rules = delimited(NUMBER, AMOUNT, MARK, marks='issue = "I"')
    assert "no mark for void" in refusals(rules, notice(ONE._replace(mark="void")))
    assert written(rules, notice(ONE)) == b"100501,812.40,I\r\n"


def test_a_reason_that_the_layout_lacks_refuses_the_stop() -> None:
    rules = delimited(NUMBER, AMOUNT, MARK, 'value = "reason"')
    said = refusals(rules, notice(ONE._replace(mark="stop", reason="lost")))
    assert "the bank's code for it: reasons.lost in the layout" in said


def test_marks_may_have_records_of_their_own() -> None:
    rules = layout(
        'kind = "delimited"\nquote = ""\n[[record]]\nwhat = "cheque"\nfor = ["issue"]\nfield = [{ text = "+" }, '
        '{ value = "number" }, { value = "amount" }]\n[[record]]\nwhat = "cheque"\nfor = ["void", "stop"]\n'
        'field = [{ text = "-" }, { value = "number" }, { value = "amount" }]\n'
    )
    told = notice(ONE, ONE._replace(number="100502", mark="stop"))
    assert written(rules, told) == b"+,100501,812.40\r\n-,100502,812.40\r\n"


def test_a_file_of_several_accounts_needs_a_layout_that_tells_them_apart() -> None:
    told = notice(ONE, ONE._replace(account="petty"), accounts=(MAIN, PETTY))
    assert "2 accounts in one file" in refusals(delimited(NUMBER, AMOUNT), told)
    rules = delimited(NUMBER, AMOUNT, 'value = "account_number"')
    assert written(rules, told) == b"100501,812.40,00417293\r\n100501,812.40,00417301\r\n"


def test_each_account_has_its_header_and_trailer_and_the_file_its_own() -> None:
    rules = layout((EXAMPLES / "several-accounts.toml").read_text("utf-8"))
    told = notice(
        ONE, ONE._replace(number="100502"), ONE._replace(account="petty", number="7", amount=99), accounts=(MAIN, PETTY)
    )
    rows = list(csv.reader(io.StringIO(written(rules, told).decode("cp1252")), delimiter=";"))
    assert [row[0] for row in rows] == [
        "FILE", "ACCOUNT", "CHEQUE", "CHEQUE", "END", "ACCOUNT", "CHEQUE", "END", "END OF FILE",
    ]  # fmt: skip
    assert rows[0][4] == "2"
    assert rows[4] == ["END", "2", "1624,80", "201003"]
    assert rows[7] == ["END", "1", "0,99", "7"]
    assert rows[8] == ["END OF FILE", "9", "3"]


def test_totals_of_two_currencies_are_never_added_up() -> None:
    rules = layout((EXAMPLES / "fixed.toml").read_text("utf-8"))
    said = refusals(rules, notice(ONE, ONE._replace(number="100502", currency="GBP")))
    assert "found GBP after USD; wanted one currency" in said


def test_a_header_carries_the_totals_of_what_follows() -> None:
    rules = layout(
        'kind = "delimited"\n[[record]]\nwhat = "file header"\n'
        'field = [{ value = "item_count" }, { value = "total" }]\n'
        '[[record]]\nwhat = "cheque"\nfield = [{ value = "number" }, { value = "amount" }]\n'
    )
    told = notice(ONE, ONE._replace(number="100502", amount=1))
    assert written(rules, told).splitlines()[0] == b"2,812.41"


def test_the_last_line_end_may_be_left_out_and_records_may_have_none() -> None:
    rules = delimited(NUMBER, AMOUNT, head="last_line_end = false")
    assert written(rules, notice(ONE)) == b"100501,812.40"
    text = (EXAMPLES / "fixed.toml").read_text("utf-8").replace('line_end = "crlf"', 'line_end = "none"')
    assert len(written(layout(text), notice(ONE))) == 240


def test_fixed_records_in_ebcdic() -> None:
    text = (EXAMPLES / "fixed.toml").read_text("utf-8").replace('encoding = "ascii"', 'encoding = "cp037"')
    assert b"\xc2\xd9\xe8\xd5" in written(layout(text), notice(ONE))  # BRYN


def test_the_account_number_is_in_no_message() -> None:
    rules = delimited(NUMBER, AMOUNT, 'value = "account_number"\nwidth = 3')
    said = refusals(rules, notice(ONE))
    assert "found 8 characters; wanted at most 3" in said
    assert "417293" not in said


def test_the_ruler_counts_positions() -> None:
    tens, units = ruler(23)
    assert tens == "         1         2   "
    assert units == "12345678901234567890123"


# --- read back


TEXTS = st.text(st.characters(codec="cp1252", exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=40)
TEXTS = TEXTS.filter(str.isprintable)
NUMBERS = st.integers(1, 999_999).map("{:06d}".format)
LINES = st.lists(
    st.builds(
        lambda mark, account, number, day, amount, payee: Line(
            mark, account, number, day.isoformat(), amount, "USD", payee
        ),
        st.sampled_from(["issue", "void", "stop"]),
        st.sampled_from(["main", "petty"]),
        NUMBERS,
        st.dates(datetime(1990, 1, 1).date()),
        st.integers(1, 10**11),
        TEXTS,
    ),
    min_size=1,
    max_size=12,
).map(lambda some: sorted(some, key=lambda line: line.account))


@settings(deadline=None, max_examples=60)
@given(
    lines=LINES,
    delimiter=st.sampled_from([",", ";", "|", "\t"]),
    ends=st.sampled_from(["crlf", "lf", "cr"]),
    always=st.booleans(),
)
def test_a_delimited_notice_reads_back_the_same(lines: list[Line], delimiter: str, ends: str, always: bool) -> None:
    rules = delimited(
        MARK, NUMBER, 'value = "date"', AMOUNT, f'value = "payee"\nalways_quoted = {str(always).lower()}',
        'value = "account"', head=f'encoding = "cp1252"\ndelimiter = "{delimiter}"\nline_end = "{ends}"',
    )  # fmt: skip
    data = written(rules, notice(*lines, accounts=(MAIN, PETTY))).decode("cp1252")
    end = {"crlf": "\r\n", "lf": "\n", "cr": "\r"}[ends]
    rows = list(csv.reader(data.split(end)[:-1], delimiter=delimiter))
    assert [
        (line.mark[0].upper(), line.number, line.date, line.amount, line.payee, line.account) for line in lines
    ] == [(m, n, d, int(a.replace(".", "")), p, o) for m, n, d, a, p, o in rows]


@st.composite
def places(draw: Any) -> dict[str, tuple[int, int]]:
    """Fields of a fixed record in any order, with gaps between."""
    widths = {"mark": 1, "number": 8, "date": 8, "amount": 15, "payee": 44, "account": 6}
    at, found = 1, {}
    for name in draw(st.permutations(list(widths))):
        at += draw(st.integers(0, 3))
        found[name] = (at, widths[name])
        at += widths[name]
    return found


@settings(deadline=None, max_examples=60)
@given(lines=LINES, where=places(), filler=st.sampled_from([" ", "*", "0"]), right=st.booleans())
def test_a_fixed_notice_reads_back_the_same(
    lines: list[Line], where: dict[str, tuple[int, int]], filler: str, right: bool
) -> None:
    lines = [line._replace(payee=" ".join(line.payee.split()) or "x") for line in lines]
    more = {"number": f'align = "right"\npad = "{filler}"', "payee": f'align = "{"right" if right else "left"}"',
            "amount": 'point = ""', "date": 'pattern = "YYYYMMDD"'}  # fmt: skip
    fields = "\n".join(
        f'[[record.field]]\nvalue = "{name}"\nat = {at}\nwidth = {width}\n{more.get(name, "")}'
        for name, (at, width) in where.items()
    )
    text = 'kind = "fixed"\nencoding = "cp1252"\nline_end = "none"\n[marks]\nissue = "I"\nvoid = "V"\nstop = "S"\n'
    data = written(layout(f'{text}[[record]]\nwhat = "cheque"\n{fields}\n'), notice(*lines, accounts=(MAIN, PETTY)))
    length = max(at + width for at, width in where.values()) - 1
    assert len(data) == length * len(lines)
    for place, line in enumerate(lines):
        record = data[place * length :][:length].decode("cp1252")
        found = {name: record[at - 1 : at - 1 + width] for name, (at, width) in where.items()}
        assert found["mark"] == line.mark[0].upper()
        assert found["number"] == line.number.rjust(8, filler)
        assert found["date"] == line.date.replace("-", "")
        assert int(found["amount"]) == line.amount
        assert found["payee"].strip(" ") == line.payee.strip(" ")
        assert found["account"].rstrip() == line.account


def test_a_kind_mistyped_is_one_fault_and_does_not_make_its_keys_unknown() -> None:
    text = 'kind = "fixd"\nrecord_length = 20\n[[record]]\nwhat = "cheque"\n[[record.field]]\nvalue = "number"\n'
    with pytest.raises(InputRefused) as refused:
        parse_layout(text + "width = 10\nat = 3\n", "bank.toml")
    assert [fault.found for fault in refused.value.faults] == ["'fixd'"]
