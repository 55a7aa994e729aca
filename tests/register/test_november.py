"""A month of the boatyard's registers, in every kind of file: the same batch, whichever file it came in."""

import io

import pytest
from register.november import (
    KINDS,
    NOVEMBER,
    Kind,
    csv_of,
    file_of,
    hash_column,
    map_for,
    payments_of,
    registers,
)

from cheque.errors import Fault
from cheque.payment import Payment, to_text
from cheque.register import Reading, read_register
from cheque.register.judge import Judge

FILES = [(register, kind) for register in registers() for kind in KINDS]


def reading_for(register: str, kind: Kind, said: list[str]) -> Reading:
    by = map_for(register, kind)
    return Reading(register + kind.suffix, "USD", hash_column(register), map=by, state=said.append)


def read(register: str, kind: Kind) -> list[Payment | Fault]:
    with (NOVEMBER / f"{register}{kind.suffix}").open("rb") as file:
        return list(read_register(file, reading_for(register, kind, [])))


@pytest.mark.parametrize(("register", "kind"), FILES, ids=[f"{register}{kind.suffix}" for register, kind in FILES])
def test_the_same_payments_from_another_kind_of_file_are_the_same_batch(register: str, kind: Kind) -> None:
    found = read(register, kind)
    assert not [str(item) for item in found if isinstance(item, Fault)]
    assert [to_text(item) for item in found if isinstance(item, Payment)] == list(map(to_text, payments_of(register)))


@pytest.mark.parametrize("register", registers())
def test_a_register_of_the_month_is_good_and_has_one_pairs_digest(register: str) -> None:
    digests = set()
    with csv_of(register).open("rb") as file:
        every = [list(read_register(file, Reading(register, "USD", hash_column(register), kind="csv")))]
    every += [read(register, kind) for kind in KINDS]
    for items in every:
        judge = Judge(Reading(register, "USD", hash_column(register)))
        list(judge.payments(items))
        verdict = judge.verdict()
        assert (verdict.faults, verdict.warnings) == ((), ())
        digests.add((verdict.totals.pairs_digest, verdict.totals.control_total, verdict.totals.hash_total))
    assert len(digests) == 1


@pytest.mark.parametrize(("register", "kind"), FILES, ids=[f"{register}{kind.suffix}" for register, kind in FILES])
def test_the_files_of_the_month_are_what_the_writers_write(register: str, kind: Kind) -> None:
    assert file_of(register, kind, payments_of(register)) == (NOVEMBER / f"{register}{kind.suffix}").read_bytes()


def test_what_a_reader_found_out_and_passed_over_is_said() -> None:
    said: list[str] = []
    report = KINDS[1]
    with (NOVEMBER / "payday-2026-11-27.prn").open("rb") as file:
        list(read_register(file, reading_for("payday-2026-11-27", report, said)))
    assert said == [
        "payday-2026-11-27.prn: cp1252 (as named), one record a line, laid out by payroll-report.toml.",
        "payday-2026-11-27.prn: 18 lines were passed over by the rules of payroll-report.toml.",
    ]
    said.clear()
    with (NOVEMBER / "payday-2026-11-27.xml").open("rb") as file:
        list(read_register(file, reading_for("payday-2026-11-27", KINDS[3], said)))
    assert said == [
        "payday-2026-11-27.xml: pain.001.001.09. It asks a bank to pay: if it is also sent to the bank, every payment "
        "in it is made twice. Make sure that it is not."
    ]


@pytest.mark.parametrize("kind", KINDS, ids=[kind.suffix for kind in KINDS])
def test_a_register_of_any_kind_is_read_from_a_pipe(kind: Kind) -> None:
    class Pipe(io.RawIOBase):
        """Standard input: it cannot go back, and gives a little at a time."""

        def __init__(self, data: bytes) -> None:
            self._data = data

        def readable(self) -> bool:
            return True

        def readinto(self, buffer: bytearray) -> int:  # type: ignore[override]
            some, self._data = self._data[:997], self._data[997:]
            buffer[: len(some)] = some
            return len(some)

    register = "payday-2026-11-27"
    reading = reading_for(register, kind, [])._replace(source="standard input", kind=kind.kind)
    pipe = io.BufferedReader(Pipe((NOVEMBER / f"{register}{kind.suffix}").read_bytes()))
    found = list(read_register(pipe, reading))  # type: ignore[arg-type]
    assert [to_text(item) for item in found if isinstance(item, Payment)] == list(map(to_text, payments_of(register)))
