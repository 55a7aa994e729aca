"""Any batch written as CSV, in any dialect, reads back equal."""

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from register.batches import batches
from register.registers import payments

from cheque.payment import Kind, Payment, Role, StubLine
from cheque.register import checks
from cheque.register.csvfile import write


@settings(max_examples=150, deadline=None)
@given(
    batch=batches(),
    currency=st.sampled_from(["USD", "JPY", "KWD", "CLF"]),
    separator=st.sampled_from([",", ";", "\t"]),
    line_end=st.sampled_from(["\n", "\r\n"]),
    byte_order_mark=st.booleans(),
    quote_all=st.booleans(),
)
def test_a_batch_written_reads_back_equal(
    batch: list[Payment], currency: str, separator: str, line_end: str, byte_order_mark: bool, quote_all: bool
) -> None:
    file = io.BytesIO()
    write(
        *(batch, file, currency),
        separator=separator,
        line_end=line_end,
        byte_order_mark=byte_order_mark,
        quote_all=quote_all,
    )
    line, expected = 2, []
    for item, payment in enumerate(batch, 1):
        expected.append(payment._replace(item=item, line=line))
        line += 1 + sum(text.count("\n") for _, text in checks.texts(payment))
    assert payments(file.getvalue(), currency=currency) == expected


def test_a_hash_column_of_another_name_is_written_and_read() -> None:
    payment = Payment(1, "Tarn & Tiller", 100, "2026-11-30", "R1", hash_value=40117)
    file = io.BytesIO()
    write([payment], file, "USD", hash_column="vendor")
    assert file.getvalue() == b"payee,amount,date,reference,vendor\r\nTarn & Tiller,1.00,2026-11-30,R1,40117\r\n"
    assert payments(file.getvalue(), hash_column="vendor") == [payment._replace(line=2)]


@pytest.mark.parametrize(
    "change",
    [
        {"payee": " Ay Li"},
        {"payee": "Esme\u0301"},
        {"role": Role.CHEQUE, "amount": 0},
        {"address": ("1", "2", "3", "4", "5")},
        {"address": ("1", "", "3")},
        {"hash_value": 7, "employee": "8"},
        {"employee": "E-8", "hash_value": None},
        {"stub": (StubLine(Kind.NOTE, "x"), StubLine(Kind.EARNING, "Regular", 100))},
        {"stub": (StubLine(Kind.DEDUCTION, "Dues", 100, None, "8.00"),)},
        {"stub": (StubLine(Kind.EARNING, "", 100),)},
        {"stub": tuple(StubLine(Kind.NOTE, str(n)) for n in range(100))},
        {"amount": 10**18},
    ],
)
def test_what_would_not_read_back_the_same_is_not_written(change: dict[str, object]) -> None:
    payment = Payment(1, "Ay Li", 100, "2026-11-27", "R1", hash_value=8, employee="8")._replace(**change)
    with pytest.raises(ValueError, match="cannot be written"):
        write([payment], io.BytesIO(), "USD")
