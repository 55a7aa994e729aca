"""Which reader is chosen for a register: by the kind named, the file's name, or how it begins."""

import io

import pytest
from register.registers import HEADER, LINE, reading

from cheque.errors import UsageRefused
from cheque.payment import Payment
from cheque.register import kind_of, read_register


class Pipe(io.RawIOBase):
    """Standard input: it cannot seek, and gives a little at a time."""

    def __init__(self, data: bytes) -> None:
        self._data = data

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: bytearray) -> int:  # type: ignore[override]
        some, self._data = self._data[:7], self._data[7:]
        buffer[: len(some)] = some
        return len(some)


@pytest.mark.parametrize("source", ["payday.csv", "PAYDAY.CSV", "payday.tsv", "payday.txt", "standard input", "payday"])
def test_a_register_is_read_from_a_pipe_whatever_it_is_called(source: str) -> None:
    pipe = io.BufferedReader(Pipe((HEADER + LINE).encode()))
    (payment,) = read_register(pipe, reading(source=source))  # type: ignore[arg-type]
    assert isinstance(payment, Payment)
    assert payment.amount == 81240


def test_a_stream_that_cannot_be_peeked_into_is_read_all_the_same() -> None:
    assert len(list(read_register(io.BytesIO((HEADER + LINE).encode()), reading(source="-")))) == 1


def test_a_kind_that_does_not_exist_is_refused_with_those_that_do() -> None:
    with pytest.raises(UsageRefused, match=r"There is no kind of register called 'cvs'; there are: csv"):
        kind_of("payday.csv", kind="cvs")


def test_what_is_no_register_is_refused() -> None:
    with pytest.raises(UsageRefused, match=r"photo\.png is no kind of register that can be read"):
        kind_of("photo.png", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR,")


def test_a_file_of_a_known_kind_is_read_whatever_its_beginning() -> None:
    assert kind_of("anything", b"\0", "csv") is kind_of("payday.csv")
