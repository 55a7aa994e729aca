"""Nothing that steers a printer or cannot be seen passes, whatever kind of file it came in: code point and position."""

import io

import openpyxl
import pytest
from register.registers import payments

from cheque.errors import Fault
from cheque.register import Reading, maps, pain001, read_register
from cheque.register.judge import Judge

FIXED = """kind = "fixed-width"
[[record]]
what = "payment"
when = [{ at = 1, is = "P" }]
[record.fields]
payee = { at = 2, width = 10 }
amount = { at = 12, width = 6 }
date = { at = 18, width = 10 }
"""
SAFE = payments("payee,amount,date\nAyXLi,100.00,2026-11-27\n")


def a_csv(name: str) -> tuple[bytes, Reading]:
    return f"payee,amount,date\n{name},100.00,2026-11-27\n".encode(), Reading("r.csv", "USD")


def a_report(name: str) -> tuple[bytes, Reading]:
    return f"P{name:<10}100.002026-11-27\n".encode(), Reading("r.prn", "USD", map=maps.load(FIXED, "map.toml"))


def a_message(name: str) -> tuple[bytes, Reading]:
    out = io.BytesIO()
    pain001.write([SAFE[0]._replace(line=0)], out, "USD")
    return out.getvalue().replace(b"AyXLi", name.encode()), Reading("r.xml", "USD")


def a_spreadsheet(name: str) -> tuple[bytes, Reading]:
    book = openpyxl.Workbook()
    book.active.append(["payee", "amount", "date"])  # type: ignore[union-attr]
    book.active.append([name, "100.00", "2026-11-27"])  # type: ignore[union-attr]
    out = io.BytesIO()
    book.save(out)
    return out.getvalue(), Reading("r.xlsx", "USD")


@pytest.mark.parametrize("made", [a_csv, a_report, a_message, a_spreadsheet])
@pytest.mark.parametrize(
    ("hidden", "told"),
    [
        ("\u202e", "U+202E RIGHT-TO-LEFT OVERRIDE (a bidirectional control) as character 3"),
        ("\u200b", "U+200B ZERO WIDTH SPACE (a zero-width character) as character 3"),
        ("\ue000", "U+E000 (a private-use character) as character 3"),
        ("\u0085", "U+0085 (a control character) as character 3"),
        ("\u007f", "U+007F (a control character) as character 3"),
    ],
)
def test_what_cannot_be_seen_is_refused_with_code_point_and_position(made: object, hidden: str, told: str) -> None:
    data, reading = made(f"Ay{hidden}Li")  # type: ignore[operator]
    judge = Judge(reading)
    list(judge.payments(read_register(io.BytesIO(data), reading)))
    faults = list(map(str, judge.verdict().faults))
    assert [fault for fault in faults if told in fault], faults
    assert hidden not in "".join(faults)


@pytest.mark.parametrize("made", [a_csv, a_report])
def test_an_escape_is_refused_too_where_a_file_can_hold_one(made: object) -> None:
    data, reading = made("Ay\x1bLi")  # type: ignore[operator]
    judge = Judge(reading)
    list(judge.payments(read_register(io.BytesIO(data), reading)))
    assert "U+001B (a control character) as character 3" in "".join(map(str, judge.verdict().faults))


def test_a_message_cannot_hold_an_escape_at_all() -> None:
    data, reading = a_message("Ay\x1bLi")
    (fault,) = read_register(io.BytesIO(data), reading)
    assert isinstance(fault, Fault)
    assert "well-formed XML" in str(fault)
