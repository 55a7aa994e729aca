"""Somebody else's CSV: its names, marks, dates and encoding by a map, and what is found out and said."""

import pytest
from register.registers import faults, items, payments

from cheque.payment import Kind, Payment, StubLine
from cheque.register import maps


def by(text: str) -> maps.Map:
    return maps.load(f'kind = "csv"\n{text}', "map.toml")


GERMAN = """
encoding = "cp1252"
locale = "de_DE"
separator = ";"
date = "DD.MM.YYYY"
skip_lines = 2
ignore = ["Bankleitzahl"]
[columns]
payee = "Empfänger"
amount = "NETPAY"
date = "Datum"
deduction1_amount = "Steuer"
deduction2 = "Abzug"
deduction2_amount = "Betrag"
earning1_hours = "Std."
earning1_amount = "Brutto"
[always]
earning1 = "Lohn"
deduction1 = "Lohnsteuer"
department = "Werft"
"""
TITLES = "Werft Quillmere\r\n\r\n"
HEADER = "Empfänger;NETPAY;Datum;Bankleitzahl;Steuer;Abzug;Betrag;Std.;Brutto\r\n"
ROW = "Jürgen Bootsholm;1.234,50;27.11.2026;999;12,00;Beitrag;1,00;37,50;1.247,50\r\n"


def test_a_file_with_its_own_names_marks_and_dates_is_read_by_its_map() -> None:
    (payment,) = payments((TITLES + HEADER + ROW).encode("cp1252"), map=by(GERMAN))
    assert payment == Payment(
        *(1, "Jürgen Bootsholm", 123450, "2026-11-27", ""),
        department="Werft",
        stub=(
            StubLine(Kind.EARNING, "Lohn", 124750, hours="37.50"),
            StubLine(Kind.DEDUCTION, "Lohnsteuer", 1200),
            StubLine(Kind.DEDUCTION, "Beitrag", 100),
        ),
        line=4,
    )


def test_a_stub_line_that_every_line_names_is_there_only_with_figures() -> None:
    row = "Ay Li;1,00;27.11.2026;;;;;;\r\n"
    (payment,) = payments((TITLES + HEADER + row).encode("cp1252"), map=by(GERMAN))
    assert payment.stub == ()


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (
            "Ay Li;1,234.50;27.11.2026;;;;;;",
            "payday.csv line 4, 'NETPAY' (amount): found '1,234.50'; wanted an exact USD amount such as 1.234,56; "
            "correct it, or the marks in the map.",
        ),
        (
            "Ay Li;1,00;11/27/2026;;;;;;",
            "payday.csv line 4, 'Datum' (date): found '11/27/2026'; wanted a real date as DD.MM.YYYY, such as "
            "27.11.2026; correct it, or the pattern in the map.",
        ),
        (
            "Ay Li;1,00;27.11.2026;;;;;8h;1,00",
            "payday.csv line 4, 'Std.' (earning1_hours): found '8h'; wanted a number such as 37,50; correct it, or the "
            "marks in the map.",
        ),
        (
            "Ay Li;1,00;27.11.2026;;;;1,00;;",
            "payday.csv line 4, deduction2: found nothing, but 'Betrag' (deduction2_amount) filled; wanted what the "
            "line is for; name it.",
        ),
    ],
)
def test_a_cell_that_is_not_as_the_map_says_is_one_fault_under_the_files_own_name(row: str, message: str) -> None:
    assert faults((TITLES + HEADER + row).encode("cp1252"), map=by(GERMAN)) == [message]


def test_a_column_of_the_map_that_the_file_lacks_is_told_beside_the_one_nobody_knows() -> None:
    other = HEADER.replace("NETPAY", "NETTO")
    assert faults((TITLES + other + ROW).encode("cp1252"), map=by(GERMAN)) == [
        "payday.csv line 3, header: found no column 'NETPAY'; wanted the one that map.toml maps to amount; correct "
        "either.",
        "payday.csv line 3, column 2, 'netto': found an unknown column; wanted one of the columns of a register; take "
        "it out, leave it be with --ignore, or say in a --map what it is.",
    ]


def test_two_columns_cannot_both_be_the_amount() -> None:
    text = "payee,amount,NETPAY,date\nAy Li,1.00,2.00,2026-11-27\n"
    assert faults(text, map=by('[columns]\namount = "NETPAY"')) == [
        "payday.csv line 1, column 3: found 'amount' again; wanted each name once; column 2 has it already; take "
        "one out."
    ]


def test_a_file_without_a_header_has_its_columns_by_place() -> None:
    using = by("header = false\n[columns]\npayee = 2\namount = 1\ndate = 3\nnote1 = 4")
    found = payments("1.00,Ay Li,2026-11-27,a\n2.00,Esmé,2026-11-27,\n", map=using)
    assert [(p.payee, p.amount, p.line) for p in found] == [("Ay Li", 100, 1), ("Esmé", 200, 2)]
    assert faults("1.00,Ay Li,2026-11-27\n", map=using)[0].startswith(
        "payday.csv line 1, header: found 3 columns; wanted the one that map.toml maps to note1"
    )


def test_stub_lines_of_nothing_are_left_out_where_the_map_says_so() -> None:
    text = "payee,amount,date,deduction1,deduction1_amount,earning1,earning1_hours,earning1_amount\n"
    text += "Ay Li,1.00,2026-11-27,Dues,0.00,Unpaid,8.00,0.00\n"
    (kept,) = payments(text)
    (left,) = payments(text, map=by("leave_out_zero_lines = true"))
    assert [line.text for line in kept.stub] == ["Unpaid", "Dues"]
    assert [line.text for line in left.stub] == ["Unpaid"]


def test_quotes_can_be_others_or_none_and_escapes_marked() -> None:
    head = "payee~amount~date~memo\n"
    (payment,) = payments(
        head + 'Ay \\~ Li~1.00~2026-11-27~"x\n', map=by('separator = "~"\nquote = ""\nescape = "\\\\"')
    )
    assert (payment.payee, payment.memo) == ("Ay ~ Li", '"x')
    (payment,) = payments(head + "'Ay ''~'' Li'~1.00~2026-11-27~\n", map=by('separator = "~"\nquote = "\'"'))
    assert payment.payee == "Ay '~' Li"


PLAIN = "payee|amount|date\nZoë|1.00|2026-11-27\n"


@pytest.mark.parametrize(
    ("data", "known", "said"),
    [
        (PLAIN.encode(), {}, "UTF-8, bars between fields, lines end in LF."),
        (PLAIN.encode("cp1252"), {"encoding": "cp1252"}, "cp1252 (as named), bars between fields, lines end in LF."),
        (PLAIN.encode("utf-16"), {}, "UTF-16 (by its first bytes), bars between fields, lines end in LF."),
        (PLAIN.encode("utf-16-be"), {}, "UTF-16-BE (by its NUL bytes), bars between fields, lines end in LF."),
        (PLAIN.replace("\n", "\r").encode(), {}, "UTF-8, bars between fields, lines end in CR."),
        (PLAIN.encode("cp037"), {"encoding": "cp037"}, "cp037 (as named), bars between fields, lines end in LF."),
        (
            PLAIN.replace("\n", "\x85").encode("cp500"),
            {"encoding": "cp500"},
            "cp500 (as named), bars between fields, lines end in LF.",
        ),
    ],
)
def test_the_encoding_is_named_or_detected_and_said(data: bytes, known: dict[str, str], said: str) -> None:
    stated: list[str] = []
    (payment,) = payments(data, state=stated.append, **known)
    assert payment.payee == "Zoë"
    assert stated == [f"payday.csv: {said}"]


def test_a_byte_that_the_encoding_does_not_have_is_refused_with_its_place() -> None:
    data = PLAIN.encode("cp1252").replace(b"Zo", b"Z\x81")
    assert faults(data, encoding="cp1252") == [
        "payday.csv line 2: found byte 81 hex at byte 20 of the file; wanted cp1252; save the register as UTF-8, or "
        "name its encoding: --encoding NAME."
    ]


def test_a_file_of_one_cr_line_without_end_takes_no_memory() -> None:
    found = items(b"payee,amount,date\r" + b"x" * 200_000)
    assert "a record of more than 65536 bytes" in str(found[-1])
