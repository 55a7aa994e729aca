"""However many cores a payday is done with, everything is the same to the byte: book, digests, code and stream."""

import sqlite3
from pathlib import Path

import pytest
from book.server import shared
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


def spoilt(firm: Firm) -> None:
    """A register in which every seventh line has something else wrong, of each kind there is."""
    lines = (firm.folder / "crowd.csv").read_text("utf-8").splitlines()
    for place in range(3, len(lines), 7):
        fields = lines[place].split(",")
        match place % 8:
            case 0:
                fields[1] = "12.3.4"
            case 1:
                fields[2] = "2026-13-01"
            case 2:
                fields[8] = fields[8].replace(".", "") + ".00"
            case 3:
                fields[0] = "Nobody  in  particular"
            case 4:
                fields[0], fields[5] = "A payee whose name is far too long for any form that there is " * 3, "\u2603"
            case 5:
                lines[place] = lines[place - 20]
                continue
            case 6:
                fields.append("one too many")
            case 7:
                fields[4] = "no number"
        lines[place] = ",".join(fields)
    lines.insert(800, "   ,,,,,,,,,,,")
    lines.insert(900, '"never closed')
    (firm.folder / "crowd.csv").write_text("\n".join(lines) + "\n", "utf-8")


def test_the_faults_of_a_register_are_the_same_in_the_same_order(tmp_path: Path) -> None:
    firm = crowd(tmp_path, PAYMENTS)
    spoilt(firm)
    said = [accept(firm, cores, expect=3) for cores in (1, 3)]
    assert said[0] == said[1]
    assert said[0].count("\n  ") >= 100
    assert "more." in said[0]
    check = ("register", "check", "crowd.csv", "--form", "payroll-us")
    told = [process(firm, cores, *check, expect=3) for cores in (1, 3)]
    assert told[0] == told[1]


@pytest.mark.parametrize("order", [("--order", "payee"), ("--order", "payee", "--group", "department")])
def test_the_order_of_printing_is_the_same(tmp_path: Path, order: tuple[str, ...]) -> None:
    books = []
    for cores in (1, 3):
        (tmp_path / str(cores)).mkdir()
        firm = crowd(tmp_path / str(cores), 700)
        books.append((accept(firm, cores, *order), written(firm)))
    assert books[0] == books[1]


def test_a_register_that_is_good_is_checked_the_same(alone: Firm) -> None:
    check = ("register", "check", "crowd.csv", "--form", "payroll-us", "--json")
    told = [process(alone, cores, *check, expect=3) for cores in (1, 3)]  # every payment of it is accepted already
    assert told[0] == told[1]
    assert "the same payee, amount, date and reference as payment 1 of batch 1" in told[0][1]


def test_with_the_book_on_a_server_the_same_is_sent(tmp_path: Path) -> None:
    streams = []
    for cores, book in ((1, "book"), (3, shared().url())):
        (tmp_path / str(cores)).mkdir()
        firm = crowd(tmp_path / str(cores), 600, book)
        accept(firm, cores)
        code, _ = process(firm, cores, "proof", "1")
        process(firm, cores, *sending(code.strip()))
        process(firm, cores, "book", "verify")
        streams.append((firm.folder / "payroom.prn").read_bytes())
    assert streams[0] == streams[1]


def test_a_number_of_cores_that_is_none_is_refused_before_anything_is_done(alone: Firm) -> None:
    said = alone.spawn("proof", "1", environment={crew.CORES: "all"})
    assert (said.status, said.out) == (2, "")
    assert said.err == ("cheque: found CHEQUE_CORES='all' in the environment; wanted how many cores to use, 1 to 64.\n")
