"""Encodings that somebody named wrongly are a fault of the file, told like any other."""

import io

import pytest

from cheque.payment import Payment
from cheque.register import Reading, read_register
from cheque.register.encodings import transcoded


@pytest.mark.parametrize("encoding", ["utf-16", "utf-32"])
def test_an_encoding_that_wants_a_byte_order_mark_named_for_a_file_without_one_is_a_fault(encoding: str) -> None:
    data = b"payee,amount,date\nAy Li,1.00,2026-11-27\n"
    assert transcoded(io.BytesIO(data), encoding).read() == "\ufffd".encode()
    found = list(read_register(io.BytesIO(data), Reading("payday.csv", "USD", "", encoding=encoding)))
    assert len(found) == 1
    assert not isinstance(found[0], Payment)
    assert "bytes that do not belong there" in str(found[0])
