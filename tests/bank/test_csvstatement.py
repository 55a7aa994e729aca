"""Statements in CSV by a map of their columns: what each key means, and what is refused."""

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.bank import csvstatement, statementmap
from cheque.bank.statement import Foot, Head, Piece, StatementEntry, Wanted, place_of
from cheque.errors import Fault, InputRefused

WANTED = Wanted("statement.csv", "EUR")
COLUMNS = '[columns]\nbooked = "Day"\namount = "Amount"\ncheque = "Cheque"\n'
PLAIN = b"Day,Amount,Cheque\n2026-12-03,-812.40,000501\n2026-12-31,-15.00,\n"


def read(text: bytes, by: str, wanted: Wanted = WANTED) -> list[Piece]:
    return list(csvstatement.read(io.BytesIO(text), wanted, statementmap.load(by, "bank.toml")))


def entries(text: bytes, by: str, wanted: Wanted = WANTED) -> list[StatementEntry]:
    found = read(text, by, wanted)
    assert not [piece for piece in found if isinstance(piece, Fault)]
    return [piece for piece in found if isinstance(piece, StatementEntry)]


def faults(text: bytes, by: str) -> str:
    return "\n".join(str(piece) for piece in read(text, by) if isinstance(piece, Fault))


def test_a_plain_statement_is_read_with_three_columns() -> None:
    found = read(PLAIN, COLUMNS)
    assert found[0] == Head("", "", "", where="statement.csv line 2")
    assert found[1:3] == [
        StatementEntry("2026-12-03", -81_240, "000501", where="statement.csv line 2"),
        StatementEntry("2026-12-31", -1500, where="statement.csv line 3"),
    ]
    assert found[3] == Foot(None, 2, "statement.csv line 3")


def test_a_banks_own_way_of_writing_is_read_by_the_map() -> None:
    by = """
separator = ";"
encoding = "cp1252"
skip_lines = 2
date = "DD.MM.YYYY"
decimal_mark = ","
thousands_mark = "."
debit = ["S"]
credit = ["H"]
pending = ["vorgemerkt"]
reversed = ["Storno"]
[columns]
booked = "Buchung"
valued = "Wert"
amount = "Betrag"
direction = "S/H"
cheque = "Scheck"
payee = "An"
about = "Text"
reference = "Ref"
status = "Stand"
reversal = "Art"
balance = "Saldo"
account = "Konto"
currency = "W"
"""
    text = (
        "Auszug\r\n\r\nBuchung;Wert;Betrag;S/H;Scheck;An;Text;Ref;Stand;Art;Saldo;Konto;W\r\n"
        "03.12.2026;04.12.2026;1.812,40;S;501;Zoë;x;R1;gebucht;;8.187,60;DE1;EUR\r\n"
        "04.12.2026;;12,00;H;501;;;R2;gebucht;Storno;8.199,60;DE1;EUR\r\n"
        "31.12.2026;;9,00;S;502;;;R3;vorgemerkt;;;DE1;EUR\r\n"
    ).encode("cp1252")
    found = read(text, by)
    assert found[0] == Head("", "DE1", "EUR", opening=1_000_000, where="statement.csv line 4")
    first, second, third = (piece for piece in found if isinstance(piece, StatementEntry))
    assert first[:7] == ("2026-12-03", -181_240, "501", "2026-12-04", "R1", "Zoë", "x")
    assert (second.amount, second.reversal, second.number) == (1200, True, 501)
    assert third.booked == ""


def test_money_out_and_in_may_have_a_column_each_and_no_header() -> None:
    by = "header = false\n[columns]\nbooked = 1\npaid_out = 2\npaid_in = 3\nabout = 4\n"
    assert [e.amount for e in entries(b"2026-12-03,5.00,,a\n2026-12-04,,7.00,b\n", by)] == [-500, 700]
    assert "both an amount paid out and one paid in, or neither" in faults(b"2026-12-03,5.00,7.00,a\n", by)


def test_what_is_paid_out_may_be_written_without_a_sign() -> None:
    by = 'paid_out_is = "positive"\n' + COLUMNS
    assert [e.amount for e in entries(b"Day,Amount,Cheque\n2026-12-03,812.40,501\n2026-12-03,-1.00,\n", by)] == [
        -81_240,
        100,
    ]


def test_a_cheque_number_may_stand_in_the_text() -> None:
    by = COLUMNS.replace('cheque = "Cheque"', 'about = "Cheque"')
    wanted = WANTED._replace(places=(place_of("about: CHQ ([0-9]+)"),))
    assert entries(b"Day,Amount,Cheque\n2026-12-03,-1.00,PAID CHQ 501\n", by, wanted)[0].number == 501


BALANCED = COLUMNS + 'balance = "Balance"\n'


def test_a_running_balance_is_followed_line_by_line_either_way() -> None:
    text = b"Day,Amount,Cheque,Balance\n2026-12-03,-1.00,,9.00\n2026-12-04,-2.00,,7.00\n2026-12-05,-3.00,,4.00\n"
    found = read(text, BALANCED)
    assert isinstance(found[0], Head)
    assert isinstance(found[-1], Foot)
    assert (found[0].opening, found[-1].closing) == (1000, 400)
    lines = text.splitlines(keepends=True)
    lost = b"".join([*lines[:2], *lines[3:]])
    assert "a balance that does not follow" in faults(lost, BALANCED)
    turned = b"".join([lines[0], *reversed(lines[1:])])
    assert "see newest_first in the map" in faults(turned, BALANCED)
    newest = read(turned, "newest_first = true\n" + BALANCED)
    assert isinstance(newest[-1], Foot)
    assert newest[-1].closing == 400


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"Day,Amount\n", "'Cheque' nowhere among the titles; wanted each once; see to bank.toml"),
        (b"Day,Amount,Cheque,Day\n", "'Day' twice"),
        (PLAIN + b"2026-12-03\n", "1 columns where the map names number 3"),
        (PLAIN + b"03.12.2026,1.00,\n", "line 4: found '03.12.2026', which is no day as YYYY-MM-DD"),
        (PLAIN + b"2026-12-03,1.005,\n", "has 3 decimals, but EUR has 2"),
        (PLAIN + b'2026-12-03,"1.00\n', "line 4: found a line that is not comma-separated text"),
        (PLAIN + b"2026-12-03,\xff,\n", "bytes that are no text"),
        (PLAIN + b"2026-12-03,\0,\n", "a NUL character"),
        (PLAIN + b"x" * 70_000, "a line of 65536 characters"),
        (PLAIN + b'"' + b"x\n" * 100_000, "line 4"),
    ],
)
def test_a_line_with_a_fault_refuses_the_file_and_says_which(text: bytes, words: str) -> None:
    assert words in faults(text, COLUMNS)


def test_two_accounts_in_one_file_are_refused() -> None:
    by = COLUMNS + 'account = "Account"\n'
    text = b"Day,Amount,Cheque,Account\n2026-12-03,1.00,,A\n2026-12-03,1.00,,B\n"
    assert "another account or currency than on the line before" in faults(text, by)


@pytest.mark.parametrize(
    ("by", "words"),
    [
        ("", "no booked"),
        ('[columns]\nbooked = "a"', "neither amount nor paid_out, or both"),
        ('[columns]\nbooked = "a"\namount = "b"\npaid_in = "c"', "neither amount nor paid_out, or both"),
        ('[columns]\nbooked = "a"\namount = "b"\ndirection = "c"', "debit = […] and credit = […]"),
        ('pending = ["P"]\n[columns]\nbooked = "a"\namount = "b"', "pending without status"),
        ('[columns]\nbooked = "a"\namount = "b"\nreversal = "c"', "reversal without reversed"),
        ('[columns]\nbooked = 1\namount = "b"', "the file's title of the column"),
        ('[columns]\nbooked = "a"\namount = "b"\nchecque = "c"', "did you mean 'cheque'?"),
        ('separator = "xx"\n[columns]\nbooked = "a"\namount = "b"', "one character"),
        ('date = "DD.MM."\n[columns]\nbooked = "a"\namount = "b"', "does not give year, month and day"),
        ('decimal_mark = ","\nthousands_mark = ","\n[columns]\nbooked = "a"\namount = "b"', "another mark"),
        ("[columns", "not TOML"),
    ],
)
def test_a_map_that_cannot_be_used_is_refused_with_all_its_faults(by: str, words: str) -> None:
    with pytest.raises(InputRefused) as caught:
        statementmap.load(by, "bank.toml")
    assert words in str(caught.value)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300))
def test_no_bytes_do_anything_else_than_be_read_or_refused(data: bytes) -> None:
    for piece in read(PLAIN + data, COLUMNS):
        assert isinstance(piece, Head | StatementEntry | Foot | Fault)
        assert str(piece).isprintable()
