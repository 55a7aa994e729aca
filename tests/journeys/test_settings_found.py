"""Where the settings are looked for, what is wrong in them, and what `cheque setup` writes."""

import os
import stat
from pathlib import Path

import pytest
from journeys.firm import Firm


def test_setting_up_writes_commented_settings_and_an_empty_book_that_only_the_owner_can_read(tmp_path: Path) -> None:
    firm = Firm(tmp_path)
    said = firm.run("setup", "--drawer", "Quillmere Boatyard Company", "--bank", "Tidewrack Savings Bank").err
    assert "An empty book is at" in said
    assert "only you can open it" in said
    assert "Next: cheque stock receive payroll-us --account main --first NUMBER --last NUMBER" in said
    text = (tmp_path / "cheque.toml").read_text("utf-8")
    assert "never rewrites it" in text
    assert "No secret belongs in this file." in text
    for place in (tmp_path / "cheque.toml", tmp_path / "book", tmp_path / "book" / "book.sqlite"):
        assert not stat.S_IMODE(place.stat().st_mode) & 0o077, place
    firm.run("book", "verify")
    said = firm.run("setup", expect=3).err
    assert "cheque.toml is there already and is never rewritten: edit it, or move it away." in said


def test_settings_whose_book_is_not_there_begin_one_and_warn_of_the_one_before(tmp_path: Path) -> None:
    firm = Firm(tmp_path).set_up()
    (tmp_path / "book").rename(tmp_path / "aside")
    text = (tmp_path / "cheque.toml").read_bytes()
    assert "`cheque setup` begins one" in firm.run("stock", "list", expect=5).err
    said = firm.run("setup").err
    assert "is there already and stays as it is" in said
    assert "Was a book in use before?" in said
    assert (tmp_path / "cheque.toml").read_bytes() == text
    firm.run("stock", "list")
    assert "is never rewritten" in firm.run("setup", expect=3).err


def test_what_was_left_blank_is_asked_for_before_anything_else(tmp_path: Path) -> None:
    firm = Firm(tmp_path)
    said = firm.run("setup").err
    assert "Fill in drawer and bank under [accounts.main] before anything else." in said
    said = firm.run("stock", "list", expect=3).err
    assert "accounts.main.drawer: found nothing between the quotes; wanted the drawer's legal name" in said
    assert "accounts.main.bank: found nothing between the quotes" in said


@pytest.mark.parametrize(
    ("options", "status", "why"),
    [
        (("--routing", "123456789"), 3, "wanted nine digits with a right check digit"),
        (("--routing", "000000000"), 3, "000000000, which no bank has"),
        (("--currency", "QQQ"), 3, "'QQQ', which ISO 4217 does not know as money"),
        (("--locale", "tr_TR"), 3, "'tr_TR', which is refused"),
        (("--locale", "en_XX"), 3, "which is not among"),
        (("--account-number", "12'34"), 3, "wanted letters and digits"),
        (("--drawer", "Quillmere\nBoatyard"), 2, "with a character that is not printed; wanted plain text"),
        (("--address", "\x1b[2J"), 2, "found --address '\\x1b[2J'"),
    ],
)  # fmt: skip
def test_what_is_given_is_judged_before_anything_is_written(
    tmp_path: Path, options: tuple[str, ...], status: int, why: str
) -> None:
    said = Firm(tmp_path).run("setup", *options, expect=status).err
    assert why in said
    assert os.listdir(tmp_path) == []


def test_quotes_and_backslashes_in_a_name_come_back_as_they_were(tmp_path: Path) -> None:
    name = 'The "Heron" \\ Quay Boatyard'
    firm = Firm(tmp_path)
    firm.run("setup", "--drawer", name, "--bank", "Tidewrack Savings Bank")
    firm.run("stock", "receive", "payroll-us", "--first", "100501", "--last", "100600")
    firm.accept()
    firm.run("proof", "1", "-o", "proof.txt", "--payment", "1")
    assert name in (tmp_path / "proof.txt").read_text("utf-8")


def test_settings_are_found_here_or_as_named_or_in_the_users_own_place(
    firm: Firm, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = Firm(tmp_path_factory.mktemp("elsewhere"))
    config = tmp_path_factory.mktemp("config")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(config))
    said = elsewhere.run("stock", "list", expect=3).err
    assert "there are no settings: neither" in said
    assert str(config / "cheque" / "cheque.toml") in said
    assert "`cheque setup` writes them here." in said
    # Named, they are read where they lie, and their paths are from there.
    named = str(firm.folder / "cheque.toml")
    assert elsewhere.run("--settings", named, "stock", "list", "--json").json[0]["first"] == 100501
    said = elsewhere.run("--settings", "nothere.toml", "stock", "list", expect=3).err
    assert "there are no settings at nothere.toml: no such file. Name another with --settings." in said
    # In the user's own configuration directory.
    (config / "cheque").mkdir()
    text = (firm.folder / "cheque.toml").read_text("utf-8").replace('"book"', f'"{firm.folder}/book"')
    (config / "cheque" / "cheque.toml").write_text(text, "utf-8")
    assert elsewhere.run("stock", "list", "--json").json[0]["first"] == 100501
    # What lies here goes first.
    (elsewhere.folder / "cheque.toml").write_text("colour = 1\n", "utf-8")
    assert "colour" in elsewhere.run("stock", "list", expect=3).err


def test_setup_writes_where_the_settings_are_named(tmp_path: Path) -> None:
    firm = Firm(tmp_path)
    firm.run("--settings", "yard.toml", "setup", "--drawer", "Quillmere Boatyard Company", "--bank", "Tidewrack")
    assert (tmp_path / "yard.toml").is_file()
    firm.run("--settings", "yard.toml", "stock", "list")
    firm.run("stock", "list", expect=3)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("speed = 200", "sped = 200", "printers.payroom.sped: found an unknown key; wanted a key of the docu"),
        ("speed = 200", 'speed = "fast"', "printers.payroom.speed: found 'fast'; wanted characters a second"),
        ("speed = 200", "speed = 0", "printers.payroom.speed: found 0; wanted characters a second"),
        ("window = 1 ", "window = 5000 ", "printers.payroom.window: found 5000; wanted forms, 1 to 1000"),
        ("parts = 4", "parts = true", "printers.payroom.parts: found True; wanted how many parts, 1 to 12"),
        ('language = "escp9"', 'language = "escp99"', "did you mean 'escp9'?"),
        ('table = "cp437"', 'table = "cp1252"', "printers.payroom.table: found 'cp1252'; wanted one of cp437"),
        ('step = "1/216 in"', 'step = "2 lines"', "printers.payroom.step: found '2 lines' is not a length"),
        ('step = "1/216 in"', 'step = "1/7 in"', "finer than any printer's step"),
        ('width = "13.6 in"', 'width = "13.6 ft"', "printers.payroom.width: found '13.6 ft' is not a length"),
        ('width = "13.6 in"', 'width = "0 in"', "which is no carriage's: 1 in to 24 in"),
        ("# stall_seconds = 164", "stall_seconds = 2", "printers.payroom.stall_seconds: found 2; wanted seconds"),
        ('# without = ["letter-quality"]', 'without = ["colour"]', "printers.payroom.without: found 'colour'; wanted"),
        ('# without = ["letter-quality"]', "without = [[1]]", "printers.payroom.without: found [1]"),
        ("file:payroom.prn", "ftp://payroom", "it begins with none of file:, socket:"),
        ("file:payroom.prn", "socket://payroom", "is not of the form socket://host:port"),
        ('routing = "123456780"', 'routing = "123456789"', "accounts.main.routing: found '123456789'"),
        ('routing = "123456780"', 'routing = "000000000"', "accounts.main.routing: found 000000000, which no bank has"),
        ("stale_after_days = 180", "stale_after_days = 0", "accounts.main.stale_after_days: found 0; wanted days"),
        ('# two_signatures_over = "5000.00"', 'two_signatures_over = "5000.001"', "accounts.main.two_signatures_over"),
        ('address = ["1 Slipway Lane"', 'address = ["1 Slipway\\u0007Lane"', "accounts.main.address: found"),
        ("[printers.payroom]", '[printers."pay room"]', "wanted a name of up to 40 letters, digits, - and _"),
        ("[printers.payroom]", '[printers."../payroom"]', "wanted a name of up to 40 letters, digits, - and _"),
        ('place = "book"', "place = 7", "book.place: found 7; wanted a folder of its own for the book"),
        ("[book]", "[book", "is not TOML"),
    ],
)  # fmt: skip
def test_what_is_wrong_in_the_settings_is_told_with_its_key_and_its_line(
    firm: Firm, old: str, new: str, why: str
) -> None:
    firm.change(old, new)
    said = firm.run("stock", "list", expect=3).err
    assert why in said
    assert "line" in said


def test_all_that_is_wrong_is_told_together_with_lines(firm: Firm) -> None:
    firm.change("speed = 200", "sped = 200")
    firm.change("window = 1 ", "window = 0 ")
    firm.change('"USD"', '"QQQ"')
    text = (firm.folder / "cheque.toml").read_text("utf-8").splitlines()
    said = firm.run("stock", "list", expect=3).err
    assert "cheque.toml has 3 faults." in said
    for key in ("sped", "window", "currency"):
        line = next(number for number, row in enumerate(text, 1) if row.startswith(f"{key} ="))
        assert f"cheque.toml line {line}, " in said


def test_the_account_number_is_masked_wherever_it_is_shown(paid: Firm) -> None:
    shown = ""
    for line in (
        ("report", "control"),
        ("report", "issued"),
        ("report", "outstanding", "--json"),
        ("reconcile", "numbers", "1"),
        ("batch", "show", "1"),
        ("show", "100501"),
    ):
        said = paid.run(*line)
        shown += said.out + said.err
    paid.run("proof", "1", "-o", "proof.txt", "--payment", "1", expect=None)
    shown += paid.stream.decode("cp437")
    assert "000417293355" not in shown
    assert "3355" in shown
