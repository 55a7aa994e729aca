"""What a comma-separated register may look like, and every way in which one is refused by the reader."""

import io
import tracemalloc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from register.registers import HEADER, LINE, faults, items, payments, reading

from cheque.errors import Fault
from cheque.payment import Kind, Payment, Role, StubLine
from cheque.register import LineFault
from cheque.register.columns import SINGLE
from cheque.register.csvfile import RECORD_LIMIT, looks_like, read
from cheque.register.judge import Judge

PAYMENT = Payment(1, "Niamh O'Dunmarrow", 81240, "2026-11-27", "W48-2101", line=2)


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_register_may_be_of_any_of_the_usual_dialects(mark: bytes, line_end: str, separator: str) -> None:
    text = (HEADER + LINE).replace(",", separator).replace("\n", line_end)
    assert payments(mark + text.encode()) == [PAYMENT]


def test_the_reader_states_what_it_found_out_by_itself() -> None:
    said: list[str] = []
    items((HEADER + LINE).replace(",", ";").replace("\n", "\r\n"), state=said.append)
    assert said == ["payday.csv: UTF-8, semicolons between fields, lines end in CR LF."]


def test_the_last_line_needs_no_line_end() -> None:
    assert payments((HEADER + LINE).rstrip("\n")) == [PAYMENT]


def test_column_names_may_have_capitals_blanks_and_hyphens() -> None:
    text = "PAYEE,Amount,date,Period-From,Period To\nAy Li,1.00,2026-11-27,2026-11-16,2026-11-22\n"
    (payment,) = payments(text)
    assert (payment.period_from, payment.period_to) == ("2026-11-16", "2026-11-22")


def test_blanks_at_the_ends_of_a_field_are_dropped_and_texts_brought_to_form_c() -> None:
    (payment,) = payments(HEADER + '" Esme\u0301 Larkwater ", 5.00 ,2026-11-27, X1\n')
    assert (payment.payee, payment.amount, payment.reference) == ("Esm\u00e9 Larkwater", 500, "X1")


def test_a_greek_question_mark_does_not_become_a_separator() -> None:
    """U+037E is U+003B, the semicolon, in form C (Unicode Character Database)."""
    (payment,) = payments((HEADER + LINE).replace(",", ";").replace("W48", "W\u037e48"))
    assert payment.reference == "W;48-2101"


def test_empty_lines_and_lines_of_separators_alone_are_passed_over() -> None:
    text = HEADER + "\n" + LINE + ",,,\n" + " , ,, \n" + LINE
    assert [(p.item, p.line) for p in payments(text)] == [(1, 3), (2, 6)]


def test_a_quoted_line_end_counts_as_a_line() -> None:
    text = HEADER + '"Ay\nLi",1.00,2026-11-27,"a\r\n\r\nb"\n' + LINE
    assert [(p.payee, p.reference, p.line) for p in payments(text)] == [
        ("Ay\nLi", "a\r\n\r\nb", 2),
        ("Niamh O'Dunmarrow", "W48-2101", 6),
    ]


def test_every_column_reaches_its_place_in_the_payment() -> None:
    names = (
        "payee,amount,date,reference,number,employee,identity,department,address1,address2,address3,address4,"
        "period_from,period_to,memo,"
        "note1,invoice1,invoice1_date,invoice1_gross,invoice1_discount,invoice1_net,"
        "employer1,employer1_amount,employer1_to_date,deduction1,deduction1_amount,deduction1_to_date,"
        "earning2,earning2_amount,earning1,earning1_hours,earning1_rate,earning1_amount,earning1_to_date\n"
    )
    cells = (
        "Ay Li,90.00,2026-11-27,R1,100501,02112,8551,Office,7 Tar Street,,Quillmere,QM 00428,"
        "2026-11-16,2026-11-22,wages,"
        "Closed on Monday,TT-4471,2026-10-28,482.10,9.64,472.46,"
        "Pension,4.00,40.00,Tool fund,10.00,100.00,"
        "Overtime,,Regular,37.5,-2.10,100,4700.00\n"
    )
    stub = (
        StubLine(Kind.EARNING, "Regular", 10000, 470000, "37.5", "-2.10"),
        StubLine(Kind.DEDUCTION, "Tool fund", 1000, 10000),
        StubLine(Kind.EMPLOYER, "Pension", 400, 4000),
        StubLine(Kind.INVOICE, "TT-4471", 47246, None, "", "", "2026-10-28", 48210, 964),
        StubLine(Kind.NOTE, "Closed on Monday"),
    )
    (payment,) = payments(names + cells.replace("Overtime,", ","))
    assert payment == Payment(
        *(1, "Ay Li", 9000, "2026-11-27", "R1", Role.CHEQUE, "100501", 2112),
        *(("7 Tar Street", "Quillmere", "QM 00428"), "02112", "8551", "Office"),
        *("2026-11-16", "2026-11-22", "wages", stub, 2),
    )


def test_a_line_may_carry_the_year_alone() -> None:
    (payment,) = payments(
        "payee,amount,date,earning1,earning1_amount,earning1_to_date\nAy Li,1.00,2026-11-27,Holiday,,80.00\n"
    )
    assert payment.stub == (StubLine(Kind.EARNING, "Holiday", None, 8000),)


@pytest.mark.parametrize(
    ("amount", "paid_by", "role"),
    [
        ("5.00", "", Role.CHEQUE),
        ("5.00", "cheque", Role.CHEQUE),
        ("5.00", "Check", Role.CHEQUE),
        ("5.00", "TRANSFER", Role.ADVICE),
        ("0.00", "", Role.ADVICE),
        ("0", "cheque", Role.ADVICE),
    ],
)
def test_a_zero_and_a_transfer_make_an_advice(amount: str, paid_by: str, role: Role) -> None:
    (payment,) = payments(f"payee,amount,date,paid_by\nAy Li,{amount},2026-11-27,{paid_by}\n")
    assert payment.role is role


def test_one_date_can_be_given_for_all() -> None:
    (payment,) = payments("payee,amount\nAy Li,1.00\n", date="2026-11-27")
    assert payment.date == "2026-11-27"


def test_columns_can_be_declared_as_not_wanted() -> None:
    text = "payee,amount,date,Bank Branch,memo\nAy Li,1.00,2026-11-27,x,y\n"
    (payment,) = payments(text, ignore=("bank branch", "memo"))
    assert payment.memo == ""


def test_any_column_can_be_summed_for_the_hash_total() -> None:
    text = "payee,amount,date,vendor,employee\nAy Li,1.00,2026-11-27,0040117,E-12\n"
    (payment,) = payments(text, hash_column="Vendor")
    assert (payment.hash_value, payment.employee) == (40117, "E-12")
    (payment,) = payments(text.replace("vendor", "memo"), hash_column="")
    assert (payment.hash_value, payment.employee) == (None, "E-12")


@pytest.mark.parametrize(
    ("currency", "text", "minor"),
    [("JPY", "1234", 1234), ("KWD", "1.005", 1005), ("USD", "1234", 123400), ("CLF", "0.0001", 1)],
)
def test_amounts_have_the_minor_units_of_their_currency(currency: str, text: str, minor: int) -> None:
    """ISO 4217: none for JPY, three for KWD, four for CLF."""
    (payment,) = payments(f"payee,amount,date\nAy Li,{text},2026-11-27\n", currency=currency)
    assert payment.amount == minor


@pytest.mark.parametrize(
    ("amount", "message"),
    [
        ("", "found nothing; wanted an amount; write what is paid."),
        *(
            (
                text,
                f"found '{text}'; wanted an exact USD amount such as 1234.56; write digits, with all decimals or none.",
            )
            for text in ("12.345", "12.3", "1O0.00", "5.", ".50", "+5.00", "$5.00", "1e3", "١٢.٠٠", "5.0²")
        ),
        (
            '"1,234.56"',
            "found '1,234.56'; wanted an exact USD amount such as 1234.56; leave out marks between thousands, and "
            "write a point before the decimals.",
        ),
        (
            "12345678901234567.89",
            "found '12345678901234567.89'; wanted an exact USD amount such as 1234.56; "
            "an amount has at most 18 digits.",
        ),
        (
            "1234567890123456789.00",
            "found '1234567890123456789.00'; wanted an exact USD amount such as 1234.56; "
            "an amount has at most 18 digits.",
        ),
    ],
)
def test_an_amount_is_exact_or_refused(amount: str, message: str) -> None:
    assert faults(f"payee,amount,date\nAy Li,{amount},2026-11-27\n") == [f"payday.csv line 2, amount: {message}"]


def test_all_the_faults_of_a_line_are_told_and_the_next_line_is_read() -> None:
    text = (
        "payee,amount,date,employee,paid_by,earning1,earning1_hours,earning1_amount,deduction1,deduction1_amount\n"
        "Ay Li,x,2026-11-27,E7,cash,Regular,8h,1.0,,5.00\n"
        "Ay Li,1.00,2026-11-27,7,,Regular,8,1.00,,\n"
    )
    found = items(text)
    assert [str(f) for f in found[:-1]] == [
        "payday.csv line 2, amount: found 'x'; wanted an exact USD amount such as 1234.56; write digits, with all "
        "decimals or none.",
        "payday.csv line 2, paid_by: found 'cash'; wanted cheque or transfer; write either.",
        "payday.csv line 2, employee: found 'E7'; wanted a whole number of at most 18 digits, because this column is "
        "summed; correct it, or sum another column.",
        "payday.csv line 2, earning1_amount: found '1.0'; wanted an exact USD amount such as 1234.56; write digits, "
        "with all decimals or none.",
        "payday.csv line 2, earning1_hours: found '8h'; wanted a number such as 37.50; write digits and a point.",
        "payday.csv line 2, deduction1: found nothing, but deduction1_amount filled; wanted what the line is for; "
        "name it.",
    ]
    last = found[-2]
    assert isinstance(last, LineFault)
    assert last.rest is not None
    assert last.rest.payee == "Ay Li"
    assert isinstance(found[-1], Payment)


def test_a_stub_line_needs_an_amount() -> None:
    text = "payee,amount,date,earning1,invoice1,invoice1_net\nAy Li,1.00,2026-11-27,Regular,TT-1,\n"
    assert faults(text) == [
        "payday.csv line 2, earning1_amount: found nothing; wanted an amount for the line; write it.",
        "payday.csv line 2, invoice1_net: found nothing; wanted an amount for the line; write it.",
    ]


def test_a_blank_in_a_summed_column_is_refused() -> None:
    assert faults("payee,amount,date,employee\nAy Li,1.00,2026-11-27,\n") == [
        "payday.csv line 2, employee: found nothing; wanted a whole number of at most 18 digits, because this column "
        "is summed; correct it, or sum another column."
    ]


@pytest.mark.parametrize(
    ("header", "messages"),
    [
        (
            "amount,date",
            [
                "payday.csv line 1, header: found no column 'payee'; wanted one; name the column payee, or say "
                "in a --map which it is."
            ],
        ),
        (
            "payee,date",
            [
                "payday.csv line 1, header: found no column 'amount'; wanted one; name the column amount, or say "
                "in a --map which it is."
            ],
        ),
        (
            "payee,amount",
            ["payday.csv line 1, header: found no column 'date'; wanted one, or one date for all; add either."],
        ),
        (
            "payee,amount,date,amount",
            [
                "payday.csv line 1, column 4: found 'amount' again; wanted each name once; column 2 has it already; "
                "take one out."
            ],
        ),
        (
            "payee,amount,date,",
            [
                "payday.csv line 1, column 4: found no name; wanted a name for every column; "
                "name it, or take the column out."
            ],
        ),
        (
            "payee,amount,date,Departmnt",
            [
                "payday.csv line 1, column 4, 'departmnt': found an unknown column; wanted one of the columns of a "
                "register; did you mean 'department'? If not, take it out, leave it be with --ignore, or say in a "
                "--map what it is."
            ],
        ),
        (
            "payee,NETPAY,date",
            [
                "payday.csv line 1, column 2, 'netpay': found an unknown column; wanted one of the columns of a "
                "register; did you mean 'amount'? If not, take it out, leave it be with --ignore, or say in a "
                "--map what it is.",
                "payday.csv line 1, header: found no column 'amount'; wanted one; name the column amount, or say "
                "in a --map which it is.",
            ],
        ),
        (
            "payee,amount,date,deduction3,deduction3_hour",
            [
                "payday.csv line 1, column 5, 'deduction3_hour': found an unknown column; wanted one of the columns "
                "of a register; did you mean 'deduction3_amount'? If not, take it out, leave it be with --ignore, "
                "or say in a --map what it is."
            ],
        ),
        (
            "payee,amount,date,zzz\x1b[2J",
            [
                "payday.csv line 1, column 4, 'zzz\\x1b[2j': found an unknown column; wanted one of the columns of a "
                "register; take it out, leave it be with --ignore, or say in a --map what it is."
            ],
        ),
        (
            "payee,amount,date,earning2_amount",
            [
                "payday.csv line 1, column 4, 'earning2_amount': found no column 'earning2'; wanted one, for what "
                "the line says; add it."
            ],
        ),
        (
            ",".join(["payee,amount,date", *(f"x{n}" for n in range(1998))]),
            ["payday.csv line 1, header: found 2001 columns; wanted at most 2000; take some out."],
        ),
    ],
)
def test_a_header_that_cannot_be_understood_is_refused_by_name(header: str, messages: list[str]) -> None:
    assert faults(header + "\n" + LINE) == messages


def test_a_hash_column_that_is_not_there_is_refused() -> None:
    assert faults(HEADER + LINE, hash_column="vendor") == [
        "payday.csv line 1, header: found no column 'vendor'; wanted the column of the hash total; name another."
    ]


@pytest.mark.parametrize("line", ["Ay Li,1.00,2026-11-27", "Ay Li,1.00,2026-11-27,R1,extra"])
def test_a_ragged_line_is_refused(line: str) -> None:
    count = line.count(",") + 1
    assert faults(HEADER + line + "\n" + LINE) == [
        f"payday.csv line 2: found {count} fields; wanted 4, as in the header; look for a missing or a stray one of "
        "the commas between fields."
    ]


def test_bytes_that_are_not_utf8_are_refused_with_their_place() -> None:
    text = HEADER.encode() + "Zoë,1.00,2026-11-27,R1\n".encode("latin-1") + LINE.encode()
    assert faults(text) == [
        "payday.csv line 2: found byte EB hex at byte 31 of the file; wanted UTF-8; save the register as UTF-8, or "
        "name its encoding: --encoding NAME."
    ]
    assert text[30] == 0xEB
    assert [p.item for p in items(text) if isinstance(p, Payment)] == [2]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_utf16_is_known_by_its_first_bytes_and_said(encoding: str) -> None:
    said: list[str] = []
    (payment,) = items(("\ufeff" * (encoding == "utf-16-le") + HEADER + LINE).encode(encoding), state=said.append)
    assert payment == PAYMENT
    assert said[0].startswith("payday.csv: UTF-")
    assert "bytes), commas between fields" in said[0]


def test_utf16_that_is_damaged_is_refused() -> None:
    damaged = (HEADER + LINE).encode("utf-16") + b"\x00\xd8\n\0"
    assert faults(damaged) == [
        "payday.csv line 3: found bytes that do not belong there; wanted UTF-16 (by its first bytes); "
        "save the register as UTF-8, or name its encoding: --encoding NAME."
    ]


def test_a_nul_byte_is_refused_with_its_place() -> None:
    text = b"\xef\xbb\xbf" + HEADER.encode() + b"Ay\0Li,1.00,2026-11-27,R1\n"
    assert faults(text) == [
        "payday.csv line 2: found a NUL byte at byte 34 of the file; wanted text; export the register again, as UTF-8 "
        "text."
    ]
    assert text[33] == 0


@pytest.mark.parametrize(
    ("records", "message"),
    [
        (
            '"Ay Li,1.00,2026-11-27,R1\n' + LINE,
            "payday.csv line 2 to 3: found a quoted field that is never closed; wanted a closing quote; add it.",
        ),
        (
            '"Ay "Li",1.00,2026-11-27,R1\n' + LINE,
            "payday.csv line 2: found text after a closing quote; wanted a separator there; "
            "double every quote within a field.",
        ),
        (
            "Ay\rLi,1.00,2026-11-27,R1\n" + LINE,
            "payday.csv line 2: found a carriage return inside a line; wanted lines ended by LF or CR LF; "
            "save the file so.",
        ),
        (
            "x" * RECORD_LIMIT + LINE,
            "payday.csv line 2: found a record of more than 65536 bytes; wanted a shorter one; "
            "look for a quote that is never closed; nothing after it was read.",
        ),
        (
            '"' + "x\n" * (RECORD_LIMIT // 2) + LINE,
            "payday.csv line 2 to 32769: found a record of more than 65536 bytes; wanted a shorter one; "
            "look for a quote that is never closed; nothing after it was read.",
        ),
    ],
)
def test_a_record_that_cannot_be_made_out_is_refused(records: str, message: str) -> None:
    assert faults(HEADER + records) == [message]


def test_a_header_without_an_end_is_refused() -> None:
    (message,) = faults("x" * (RECORD_LIMIT + 1))
    assert message.startswith("payday.csv line 1: found a record of more than 65536 bytes")


@pytest.mark.parametrize("text", ["", "\n\n", "\ufeff", "\ufeff\n"])
def test_a_file_with_nothing_in_it_is_refused(text: str) -> None:
    assert faults(text) == ["payday.csv: found nothing; wanted a header line and payments."]


def test_a_file_of_one_endless_line_takes_no_memory() -> None:
    class Endless(io.RawIOBase):
        def readable(self) -> bool:
            return True

        def readinto(self, buffer: bytearray) -> int:  # type: ignore[override]
            buffer[:] = b"x" * len(buffer)
            return len(buffer)

    tracemalloc.start()
    found = list(read(io.BufferedReader(Endless()), reading()))  # type: ignore[arg-type]
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert isinstance(found[0], Fault)
    assert peak < 1_000_000


@pytest.mark.parametrize(
    ("head", "wanted"),
    [
        (b"payee,amount\n", True),
        (b"\xef\xbb\xbfpayee;amount\r\n", True),
        (b"payee\tamount", True),
        (b"PK\x03\x04,,", False),
        (b"<?xml version='1.0'?>,", False),
        (b"%PDF-1.7,", False),
        (b"pay\0ee,amount", False),
        (b"nothing here\n1,2\n", False),
    ],
)
def test_a_register_is_known_by_its_beginning(head: bytes, wanted: bool) -> None:
    assert looks_like(head) is wanted


MARKS = [b",", b";", b"\t", b'"', b"\n", b"\r\n", b"\r", b"\0", b"\xff", b"\xc3", b"\xef\xbb\xbf", b"-", b".", b"0"]
WORDS = [*(name.encode() for name in (*SINGLE, "earning1", "earning1_amount", "note1", "invoice1_net")), b"1.00"]


@settings(max_examples=300, deadline=None)
@given(st.lists(st.sampled_from(MARKS + WORDS) | st.binary(max_size=4), max_size=40), st.booleans())
def test_whatever_the_bytes_there_are_only_payments_and_faults(pieces: list[bytes], with_header: bool) -> None:
    data = (HEADER.encode() if with_header else b"") + b"".join(pieces)
    judge = Judge(reading())
    good = list(judge.payments(items(data)))
    verdict = judge.verdict()
    assert verdict.fault_count or len(good) == verdict.totals.item_count > 0
    assert all(str(fault).startswith("payday.csv") and str(fault).isprintable() for fault in verdict.faults)
