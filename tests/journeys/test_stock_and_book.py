"""Numbered stock between paydays, searching, and the record proved whole."""

import contextlib
import sqlite3

import pytest
from journeys.firm import Firm

WHY = ("--reason", "found at the count")


def test_a_box_is_received_by_the_numbers_that_are_on_the_forms(firm: Firm) -> None:
    said = firm.run("stock", "receive", "payroll-us", "--first", "200001", "--last", "200500").err
    assert "Received 500 forms of payroll-us, main:200001 to 200500." in said
    assert "the keys to the stock and to this tool belong in different hands" in said
    said = firm.run("stock", "receive", "payroll-us", "--first", "200500", "--last", "200600", expect=5).err
    assert "main:200500-200600 overlaps 200001-200500 (payroll-us), received already." in said
    assert "Look at the numbers on the box again." in said


@pytest.mark.parametrize(
    ("first", "last", "why"),
    [
        ("200500", "200001", "wanted the lowest number first, from 1 up"),
        ("2OO001", "200500", "wanted digits only, as preprinted on the forms"),
        ("000000", "000100", "wanted the lowest number first, from 1 up"),
        ("00001", "100000", "wanted both as preprinted, with as many digits"),
        ("1", "20000000", "Is there a digit too many?"),
        ("10000000001", "10000000100", "payroll-us has room for 10 where its number is struck"),
        ("1" * 30, "1" * 30, "has room for 10 where its number is struck"),
    ],
)  # fmt: skip
def test_numbers_that_no_box_has_are_refused(firm: Firm, first: str, last: str, why: str) -> None:
    said = firm.run("stock", "receive", "payroll-us", "--first", first, "--last", last, expect=2).err
    assert why in said
    assert len(firm.run("stock", "list", "--json").json) == 1


def test_leading_zeros_are_kept_as_they_are_preprinted(firm: Firm) -> None:
    firm.run("stock", "receive", "payroll-us", "--first", "000701", "--last", "000800")
    assert firm.run("show", "701", "--json").json["number"] == "main:000701"
    firm.accept()
    said = firm.print(1, 701, expect=2).err
    assert "found number 701; wanted it as preprinted, 000701." in said
    firm.run(
        "print", "1", "--first-number", "000701", "--proof-code", firm.proof(), "--paper-loaded", "--after-first",
        "go-on",
    )  # fmt: skip
    assert firm.struck()[0] == "000701"


def test_a_count_that_is_one_off_does_not_agree(paid: Firm) -> None:
    assert "Counted 476, as the book has it." in paid.run("stock", "count", "100501-101000", "--forms", "476").err
    said = paid.run("stock", "count", "100501-101000", "--forms", "475", expect=1).err
    assert "Counted 475: 1 fewer than the book has." in said
    assert "what is not there is entered with `cheque missing`, number by number" in said
    said = paid.run("stock", "count", "100501-101000", "--forms", "477", expect=1).err
    assert "Counted 477: 1 more than the book has." in said
    assert "`cheque found`" in said
    said = paid.run("stock", "count", "100501-101000", expect=2).err
    assert "How many forms of 100501-101000 did you count? Give it with --forms." in said
    assert "wanted 0 or more" in paid.run("stock", "count", "100501-101000", "--forms", "-1", expect=2).err
    said = paid.run("stock", "count", "100501-101001", "--forms", "1", expect=5).err
    assert "is not within one box: 100501-101000 is. Count each box by itself." in said
    counted = [body["counted"] for kind, body in paid.events() if kind == "stock.counted"]
    assert counted == [476, 475, 477]


def test_forms_are_spoiled_missing_and_found_again(firm: Firm) -> None:
    said = firm.run("spoil", "100501-100503", *WHY).err
    assert "main:100501 to 100503 entered as spoiled. Deface them and keep them for the count." in said
    said = firm.run("missing", "100504-100506", *WHY).err
    assert "main:100504 to 100506 entered as missing. Tell the bank: a blank cheque can be filled in by anyone." in said
    assert "main:100504 entered as found, on hand again." in firm.run("found", "100504", *WHY).err
    assert "main:100505 entered as found, spoiled." in firm.run("found", "100505", "--spoiled", *WHY).err
    assert [firm.state(number) for number in (100501, 100504, 100505, 100506)] == [
        "spoiled", "on hand", "spoiled", "missing",
    ]  # fmt: skip
    said = firm.run("spoil", "100506", *WHY, expect=5).err
    assert "number 100506 of main is missing, so it cannot become spoiled." in said
    assert "if it was found, say so with `cheque found`" in said
    assert "number 100503 of main is spoiled" in firm.run("missing", "100503-100504", *WHY, expect=5).err
    firm.run("found", "100503", *WHY, expect=5)
    assert (
        "100999-101001 goes past the end of its box, 101000" in firm.run("spoil", "100999-101001", *WHY, expect=5).err
    )
    assert "wanted the lower number first" in firm.run("spoil", "100510-100509", *WHY, expect=2).err
    assert "over a million numbers" in firm.run("spoil", "1-9999999", *WHY, expect=2).err
    assert "wanted a number such as 100501" in firm.run("spoil", "the first", *WHY, expect=2).err
    assert "a reason is wanted: give it with --reason" in firm.run("spoil", "100510", "--reason", " ", expect=2).err


def test_what_bears_a_cheque_is_not_spoiled_but_voided(paid: Firm) -> None:
    said = paid.run("spoil", "100503", *WHY, expect=5).err
    assert "number 100503 of main is printed, so it cannot become spoiled. It is a good cheque: `cheque void`" in said
    said = paid.run("missing", "100503", *WHY, expect=5).err
    assert "`cheque void` is the way to cancel it" in said


def test_old_stock_is_destroyed_before_a_witness(paid: Firm) -> None:
    line = ("stock", "destroy", "100990-101000", "--reason", "the old address")
    assert "Missing option '--witness'" in paid.run(*line, expect=2).err
    assert "stock is destroyed before a witness" in paid.run(*line, "--witness", " ", expect=2).err
    said = paid.run(*line, "--witness", "S. Mooring").err
    assert "11 forms of main entered as destroyed, witnessed by S. Mooring." in said
    assert paid.state(100995) == "destroyed"
    said = paid.run(*line, "--witness", "S. Mooring", expect=5).err
    assert "number 100990 of main is destroyed" in said
    said = paid.run("stock", "destroy", "100524-100530", *WHY, "--witness", "S. Mooring", expect=5).err
    assert "number 100524 of main is printed" in said
    assert "S. Mooring" in paid.run("show", "100995").out


def test_every_form_is_accounted_for_whatever_happened(paid: Firm) -> None:
    paid.run("void", "100503", "--paper", "in-hand", *WHY)
    paid.run("spoil", "100525", *WHY)
    paid.run("missing", "100526", *WHY)
    paid.run("stock", "destroy", "100990-101000", "--witness", "S. Mooring", *WHY)
    (box,) = paid.run("stock", "list", "--json").json
    states = dict(box["states"])
    assert states.pop("received") == 500
    assert states == {"on hand": 463, "printed": 23, "voided": 1, "spoiled": 1, "missing": 1, "destroyed": 11}
    assert sum(states.values()) == 500
    assert box["on_hand"] == [[100527, 100989]]


def test_a_search_shows_numbers_with_the_zeros_of_their_box(firm: Firm) -> None:
    firm.run("stock", "receive", "payroll-us", "--account", "main", "--first", "000201", "--last", "000210")
    firm.run("spoil", "201", *WHY)
    assert "main:000201" in firm.run("find", "201").out


def test_a_search_finds_payee_amount_reference_and_number(paid: Firm) -> None:
    for text in ("niamh", "863.79", "W48-2101", "100501", "main:100501"):
        found = paid.run("find", text, "--json").json
        assert [(one["number"], one["payee"]) for one in found] == [(100501, "Niamh O'Dunmarrow")], text
    said = paid.run("find", "nobody of this name", expect=1)
    assert said.err == "Nothing in the book has 'nobody of this name'.\n"
    assert paid.run("find", "nobody", "--json", expect=1).json == []
    assert "what is to be found?" in paid.run("find", " ", expect=2).err


def test_show_tells_a_forms_whole_story(paid: Firm) -> None:
    paid.run("custody", "100503", "--place", "handed-over", "--to", "Björn Saltängen")
    paid.run("void", "100503", "--paper", "returned", "--reason", "wrong hours")
    shown = paid.run("show", "100503")
    for text in (
        "received with 100501 to 101000, payroll-us",
        "batch 1 accepted from payday-2026-11-27.csv",
        "reserved for run 1 of batch 1 on payroom",
        "a person looked: good",
        "handed over (Björn Saltängen)",
        "voided, paper returned: wrong hours",
    ):
        assert text in shown.out
    kinds = [event["kind"] for event in paid.run("show", "100503", "--json").json["events"]]
    assert kinds[0] == "stock.received"
    assert kinds[-1] == "cheque.voided"
    said = paid.run("show", "300501", expect=5).err
    assert "300501 is on no stock in the book. `cheque stock list` shows what is." in said
    assert "wanted one number" in paid.run("show", "100501-100502", expect=2).err


def altered(firm: Firm, statement: str) -> None:
    """Change a row behind the tool's back, past its own guards, which are put back afterwards."""
    with contextlib.closing(sqlite3.connect(firm.folder / "book" / "book.sqlite")) as db:
        guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        assert db.execute(statement).rowcount > 0
        for _, sql in guards:
            db.execute(sql)
        db.commit()


def test_a_whole_book_says_so_and_agrees_with_the_digest_on_paper(paid: Firm) -> None:
    report = paid.run("report", "control", "--json").json
    digest = paid.run("book", "verify", "--json").json
    assert digest["whole"] is True
    assert digest["digest"].replace(" ", "") in str(report).replace(" ", "")
    paid.run("spoil", "100600", *WHY)
    paid.run("book", "verify", "--digest", digest["digest"])
    paid.run("book", "verify", "--digest", f"{digest['digest'][:8]} {digest['digest'][8:16]}")
    said = paid.run("book", "verify", "--digest", "0" * 64, expect=1)
    assert "digest" in said.out


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET who = 'somebody' WHERE seq = 3",
        "UPDATE event SET body = replace(body, '101000', '102000') WHERE kind = 'stock.received'",
        "DELETE FROM event WHERE seq = 5",
        "UPDATE payment SET body = replace(body, '86379', '96379') WHERE item = 1",
        "UPDATE number SET state = 'spoiled' WHERE number = 100503",
        "DELETE FROM number WHERE number = 100503",
        "UPDATE claim SET amount = amount + 1 WHERE item = 2",
    ],
)
def test_a_row_altered_behind_the_tools_back_is_found_and_reported(paid: Firm, statement: str) -> None:
    altered(paid, statement)
    said = paid.run("book", "verify", expect=1)
    assert "found" in said.out
    assert "wanted" in said.out
    assert "The book is not whole. Keep the file as it is, and restore a backup beside it." in said.err
    told = paid.run("book", "verify", "--json", expect=1).json
    assert told["whole"] is False
    assert "\n".join(told["faults"]) == said.out.strip()
    said = paid.run("book", "backup", "copy.sqlite", expect=5)
    assert "the book is not whole, so no copy of it was kept" in said.err
    assert not (paid.folder / "copy.sqlite").exists()


def test_a_book_whose_guards_were_taken_away_is_not_whole(paid: Firm) -> None:
    with contextlib.closing(sqlite3.connect(paid.folder / "book" / "book.sqlite")) as db:
        (name,) = db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchone()
        db.execute(f"DROP TRIGGER {name}")
    assert name in paid.run("book", "verify", expect=1).out


def test_a_backup_is_a_whole_book_of_its_owners_alone(paid: Firm) -> None:
    said = paid.run("book", "backup", "copy.sqlite").err
    assert "The book is copied to copy.sqlite, and the copy is whole." in said
    assert not (paid.folder / "copy.sqlite").stat().st_mode & 0o077
    said = paid.run("book", "backup", "copy.sqlite", expect=3).err
    assert "copy.sqlite is there already: nothing is written over." in said
    assert "cannot be made at no/such/copy" in paid.run("book", "backup", "no/such/copy", expect=3).err
    # Put back in its place, it is the book.
    for name in (paid.folder / "book").glob("book.sqlite*"):
        name.unlink()
    (paid.folder / "copy.sqlite").rename(paid.folder / "book" / "book.sqlite")
    paid.run("book", "verify")
    assert paid.state(100503) == "printed"


def test_without_a_book_nothing_goes_on(firm: Firm) -> None:
    firm.change('place = "book"', 'place = "elsewhere"')
    said = firm.run("stock", "list", expect=5).err
    assert "elsewhere" in said
