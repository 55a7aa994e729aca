"""A payday with the book on a PostgreSQL server: the same commands, with nothing else changed; and a second station."""

from pathlib import Path

import pytest
from book.server import shared
from journeys.firm import REGISTER, TOTALS, Firm


@pytest.fixture
def yard(tmp_path: Path) -> Firm:
    (tmp_path / "yard").mkdir()
    return Firm(tmp_path / "yard").set_up(book=shared().url())


def joined(yard: Firm, folder: Path) -> Firm:
    """A second station on the same book."""
    folder.mkdir()
    text = (yard.folder / "cheque.toml").read_text("utf-8")
    (folder / "cheque.toml").write_text(text.replace("payroom", "stores"), "utf-8")
    return Firm(folder)


def test_a_payday_with_trouble_ends_with_every_number_accounted_for(yard: Firm) -> None:
    yard.accept()
    said = yard.print(1, 100501, "--count", "12")
    assert "12 forms sent" in said.err
    yard.run("resume", "1", "--power-cycled", "--last-good", "100511", "--next-number", "100513", "--between", "torn",
             "--paper-loaded", "--after-first", "go-on")  # fmt: skip
    yard.run("confirm", "1", "--good-count", "13")
    yard.run("void", "100503", "--paper", "in-hand", "--reason", "wrong hours")
    assert yard.run("reprint", "100503").out.strip() == "2"
    yard.print(2, 100526)
    yard.run("confirm", "2", "--good-count", "1")
    assert yard.state(100503) == "voided"
    assert yard.state(100512) == "spoiled"
    assert yard.state(100526) == "printed"
    yard.run("reconcile", "numbers", "1")
    for name in ("issued", "control", "numbers", "outstanding", "voids", "handover"):
        yard.run("report", name, *(["1"] if name in ("issued", "control", "handover") else []), expect=None)
    found = yard.run("book", "verify", "--json").json
    assert found["whole"]
    assert yard.run("book", "verify", "--digest", found["digest"][:12]).status == 0
    assert "Marisol" in yard.run("find", "marisol").out


def test_a_second_station_joins_the_book_and_sees_what_the_first_did(yard: Firm, tmp_path: Path) -> None:
    second = joined(yard, tmp_path / "stores")
    yard.accept()
    yard.print(1, 100501, "--count", "4")
    second.run("print", "1", "--first-number", "100521", "--proof-code", second.proof(1), "--paper-loaded",
               "--after-first", "go-on", expect=5)  # fmt: skip
    yard.run("confirm", "1", "--good-count", "4")
    second.print(1, 100521)
    second.run("confirm", "1", "--good-count", "20")
    assert yard.state(100540) == "printed"
    yard.run("reconcile", "numbers", "1")
    yard.run("book", "verify")


def test_setting_up_where_a_book_is_joins_it(yard: Firm, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    other = Firm(tmp_path / "other")
    place = next(line for line in (yard.folder / "cheque.toml").read_text().splitlines() if line.startswith("place = "))
    said = other.run("setup", "--drawer", "Q", "--bank", "T", "--book", place.split('"')[1])
    assert "is there already: this station joins it." in said.err
    assert "100501" in other.run("stock", "list").out


@pytest.mark.parametrize("end", ["&password=sesame", "&options=-c%20password%3Dsesame"])
def test_a_password_in_the_settings_is_refused_and_not_shown(yard: Firm, end: str) -> None:
    yard.change("&schema=", f"{end}&schema=")
    said = yard.run("stock", "list", expect=3)
    assert "book.place" in said.err
    assert "a password in the URL" in said.err
    assert "password file" in said.err
    assert "sesame" not in said.err


def test_a_server_that_is_not_there_is_one_message(yard: Firm) -> None:
    yard.change(str(shared().socket), "/nowhere")
    said = yard.run("stock", "list", expect=5)
    assert "cannot be reached" in said.err
    assert (
        "See to the server and the line to it, and to what the URL names (database, role, its password file)"
        in said.err
    )


def test_another_database_or_an_empty_schema_is_no_book(yard: Firm) -> None:
    yard.change("/cheques?", "/elsewhere?")
    assert 'database "elsewhere" does not exist' in yard.run("stock", "list", expect=5).err
    yard.change("/elsewhere?", "/cheques?")
    yard.change("schema=", "schema=no_")
    assert "there is no book at" in yard.run("stock", "list", expect=5).err


def test_the_register_is_kept_at_the_station_that_accepted_it(yard: Firm) -> None:
    yard.accept(REGISTER, *TOTALS)
    assert len(list((yard.folder / "station" / "registers").iterdir())) == 1
    assert (yard.folder / "station").stat().st_mode & 0o077 == 0
    assert not (yard.folder / "book").exists()
