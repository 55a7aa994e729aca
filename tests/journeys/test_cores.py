"""However many cores a payday is done with, everything is the same to the byte: book, digests, code and stream."""

import sqlite3
from pathlib import Path

import pytest
from journeys.crowd import accept, crowd, process, sending
from journeys.firm import Firm

from cheque import crew

PAYMENTS = 1_300


def payday(folder: Path, cores: int) -> Firm:
    """A whole payday with so many cores."""
    firm = crowd(folder, PAYMENTS)
    accept(firm, cores)
    code, _ = process(firm, cores, "proof", "1")
    process(firm, cores, *sending(code.strip()))
    process(firm, cores, "book", "verify")
    return firm


def written(firm: Firm) -> list[tuple[object, ...]]:
    """What the book says, but for moments and the digests that are over moments."""
    with sqlite3.connect(firm.folder / "book" / "book.sqlite") as db:
        events = db.execute("SELECT seq, kind, body FROM event WHERE kind <> 'book.begun' ORDER BY seq").fetchall()
        rows = [
            row
            for table, key in (("payment", "item"), ("claim", "item"), ("proof_page", "item"), ("number", "number"))
            for row in db.execute(f"SELECT * FROM {table} ORDER BY {key}")
        ]
    db.close()
    return [(seq, kind, body.replace(str(firm.folder), "")) for seq, kind, body in events] + rows


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Firm:
    return payday(tmp_path_factory.mktemp("alone"), 1)


def test_with_any_number_of_cores_a_payday_is_the_same_to_the_byte(alone: Firm, tmp_path: Path) -> None:
    for cores in (2, 3):
        (tmp_path / str(cores)).mkdir()
        together = payday(tmp_path / str(cores), cores)
        assert (together.folder / "payroom.prn").read_bytes() == (alone.folder / "payroom.prn").read_bytes()
        assert written(together) == written(alone)


def test_a_number_of_cores_that_is_none_is_refused_before_anything_is_done(alone: Firm) -> None:
    said = alone.spawn("proof", "1", environment={crew.CORES: "all"})
    assert (said.status, said.out) == (2, "")
    assert said.err == ("cheque: found CHEQUE_CORES='all' in the environment; wanted how many cores to use, 1 to 64.\n")
