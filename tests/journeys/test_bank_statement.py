"""The bank's statement of the demo's quarter: every kind of exception is found, none is invented, and it adds up."""

import csv
import io
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from bank.camt import Statement, message
from journeys.firm import DEMO, Firm
from journeys.quarter import ODD, OUT, WRONG, as_csv, lived, payments, statement

from cheque.reconcile.judge import KINDS

XML, CSV, MAP = "statement-2026-q4.xml", "statement-2026-q4.csv", "statement-map.toml"


@pytest.fixture(scope="module")
def quarter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The boatyard at the end of its quarter, made once."""
    firm = Firm(tmp_path_factory.mktemp("quarter")).set_up()
    lived(firm)
    for name in (XML, CSV, MAP):
        firm.register(name)
    return firm.folder


@pytest.fixture
def firm(quarter: Path, tmp_path: Path) -> Firm:
    """A copy of it."""
    return Firm(quarter).copy(tmp_path)


def table(report: Any, key: str) -> list[dict[str, Any]]:
    """The rows of a table of a report in JSON."""
    (found,) = [one for one in report["tables"] if one["table"] == key]
    return list(found["rows"])


def reconciled(firm: Firm, *more: str, name: str = XML, expect: int = 1) -> Any:
    return firm.run("reconcile", "bank", name, "--json", *more, expect=expect).json


def wrong(report: Any) -> dict[int, str]:
    return {int(row["number"]): row["kinds"] for row in table(report, "wrong") if row["number"]}


def test_the_demos_statements_are_what_they_are_said_to_be() -> None:
    assert (DEMO / XML).read_bytes() == message(8, [statement()])
    assert (DEMO / CSV).read_text("utf-8") == as_csv()
    assert {*WRONG.values(), *ODD.values()} == set(KINDS)


@pytest.mark.parametrize("how", [(XML,), (CSV, "--map", MAP)])
def test_every_kind_of_exception_is_found_and_none_invented(firm: Firm, how: tuple[str, ...]) -> None:
    name, *more = how
    report = reconciled(firm, *more, name=name)
    assert wrong(report) == WRONG
    odd = [row for row in table(report, "wrong") if not row["number"]]
    assert {word: row["kinds"] for row in odd for word in ODD if word in row["wrong"]} == ODD
    assert len(odd) == len(ODD)
    said = {int(row["number"]): row["wrong"] for row in table(report, "wrong") if row["number"]}
    assert "paid 897.69, issued for 897.96: 0.27 too little; two digits are exchanged" in said[100506]
    assert "paid 1029.44, issued for 1024.44: 5.00 too much; one digit differs, 9 for 4" in said[100507]
    assert "paid before, on 2026-12-02: 693.21" in said[100508]
    assert "'T. Underkeel', issued to 'Bartholomew Fetherstone-Quayle III'" in said[100510]
    assert [row["number"] for row in table(report, "outstanding")] == list(OUT)


def test_the_same_statement_in_either_kind_of_file_changes_nothing(firm: Firm) -> None:
    first = reconciled(firm)
    events = firm.events()
    for name, more in ((XML, ()), (CSV, ("--map", MAP)), (XML, ())):
        said = firm.run("reconcile", "bank", name, *more, "--json", expect=1)
        assert "Nothing new: all of it was in the book already." in said.err
        assert wrong(said.json) == wrong(first)
        assert firm.events() == events
    assert firm.run("book", "verify").out.startswith("The book is whole")


def test_what_was_paid_is_cleared_and_barred(firm: Firm) -> None:
    reconciled(firm)
    assert "paid by the bank" in firm.run("show", "100501").out
    assert "was paid by the bank" in firm.run("void", "100501", "--reason", "r", "--paper", "in-hand", expect=5).err
    assert "it is not printed again" in firm.run("reprint", "100503", expect=5).err
    assert "was paid by the bank" in firm.run("custody", "100501", "--place", "held", expect=None).err
    firm.run("void", "100511", "--reason", "the bank took it back", "--paper", "not-in-hand")


def test_the_ledger_agrees_to_the_cent_once_fee_and_interest_are_entered(firm: Firm) -> None:
    """The ledger has every cheque issued and the deposit; the bank is to put right what it ought not to have paid."""
    issued = payments()
    advices = (100527, 100529)
    gone = (100503, 100531)  # void, and printed again but not yet looked at: neither is in the ledger
    written = sum(minor for number, (minor, _) in issued.items() if number not in (*advices, *gone))
    ledger = 2_500_000 + 312_000 + 8_500 - written
    balance = f"{ledger // 100}.{ledger % 100:02}"
    enter = ("--to-enter", "fee", "--to-enter", "interest", "--to-enter", "10O5I2")
    report = reconciled(firm, "--ledger-balance", balance, *enter)
    lines = {row["key"]: row["balance"] for row in table(report, "reconciliation") if row["balance"]}
    assert lines["difference"] == "0.00"
    assert lines["adjusted_bank"] == lines["adjusted_ledger"]
    text = firm.run("reconcile", "bank", XML, "--ledger-balance", balance, *enter, expect=1).out
    assert "The two agree to the last minor unit." in text
    swapped = f"{balance[:-2]}{balance[-1]}{balance[-2]}"
    if swapped != balance:
        said = firm.run("reconcile", "bank", XML, "--ledger-balance", swapped, *enter, expect=1).out
        assert f"two digits exchanged: {swapped} for {balance}" in " ".join(said.split())
    less = f"{(ledger - 59_877) // 100}.{(ledger - 59_877) % 100:02}"
    said = firm.run("reconcile", "bank", XML, "--ledger-balance", less, *enter, expect=1).out
    assert "The two do not agree: the bank has 598.77 more." in " ".join(said.split())
    assert "the same as cheque 100474, Ned Barnacle" in " ".join(said.split())


def test_it_is_written_in_every_form(firm: Firm) -> None:
    for form in ("text", "csv", "json", "html"):
        said = firm.run("reconcile", "bank", XML, "--format", form, expect=1).out
        assert "100506" in said
        assert "Quarterly account fee" in said
    firm.run("reconcile", "bank", XML, "-o", "bank.txt", expect=1)
    assert "Reconciled by" in (firm.folder / "bank.txt").read_text("utf-8")
    rows = list(csv.reader(io.StringIO(firm.run("reconcile", "bank", XML, "--format", "csv", expect=1).out)))
    assert any("taken back" in row for row in rows)


def test_a_statement_without_exceptions_ends_well(firm: Firm) -> None:
    one = statement()
    good = tuple(e for e in one.entries if e.parts and e.parts[0].cheque in ("100501", "100502"))
    data = message(8, [one._replace(entries=good, opening="2000.00", closing="457.48", summary=2)])
    (firm.folder / "good.xml").write_bytes(data)
    report = reconciled(firm, name="good.xml", expect=0)
    assert wrong(report) == {}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ((b"000417293355", b"000417293356"), "no statement of account main"),
        ((b'"USD"', b'"EUR"'), "found a statement in 'EUR'; wanted USD"),
        ((b"18.00", b"19.00"), "the file is not whole: ask the bank for it again"),
        ((b"<?xml", b"<!DOCTYPE Document><?xml"), "refused"),
        ((b"camt.053", b"camt.052"), "ask the bank for a camt.053 file"),
    ],
)
def test_a_statement_that_is_refused_changes_nothing(firm: Firm, change: tuple[bytes, bytes], words: str) -> None:
    data = (firm.folder / XML).read_bytes().replace(b"<Ccy>USD", b"<Ccy>EUR" if b"EUR" in change[1] else b"<Ccy>USD")
    (firm.folder / "bad.xml").write_bytes(data.replace(*change))
    events = firm.events()
    assert words in firm.run("reconcile", "bank", "bad.xml", expect=3).err
    assert firm.events() == events


def test_what_is_keyed_in_wrongly_is_told(firm: Firm) -> None:
    for options, words in (
        (("--deposit", "tomorrow 5.00"), 'wanted a day, an amount and what it is: "2026-11-30 250.00 takings"'),
        (("--ledger-balance", "5.005"), "--ledger-balance: '5.005' has 3 decimals"),
        (("--to-enter", "salvage"), "which no item that pays no cheque says"),
        (("--map", MAP), "is XML, and a map is for CSV"),
        (("--account", "other"), "there is no account 'other'"),
    ):
        assert words in firm.run("reconcile", "bank", XML, *options, expect=None).err
    assert "needs a map of its columns" in firm.run("reconcile", "bank", CSV, expect=2).err
    said = firm.run("reconcile", "bank", "nowhere.xml", expect=3).err
    assert "nowhere.xml cannot be read: No such file or directory. Name the statement that the bank gave." in said


def test_an_opening_list_is_refused_with_all_its_faults(firm: Firm) -> None:
    head = "number,date,payee,amount\n"
    (firm.folder / "list.csv").write_text(f"{head}9,2026-01-01,,1.00\n8,2026-01-01,A,1.005\n7,x,A,1.00\n")
    said = firm.run("book", "opening", "list.csv", expect=3).err
    assert "list.csv line 2: found payee ''" in said
    assert "list.csv line 3: found amount '1.005' has 3 decimals" in said
    assert "list.csv line 4: found date 'x'" in said
    (firm.folder / "list.csv").write_text("number,date,payee,amount\n100510,2026-01-01,Ay Li,1.00\n")
    assert "in the box 100501 to 101000 already" in firm.run("book", "opening", "list.csv", expect=5).err
    (firm.folder / "list.csv").write_text("no,date,payee,amount\n")
    assert "found the titles 'no, date, payee, amount'" in firm.run("book", "opening", "list.csv", expect=3).err


def test_what_was_voided_or_printed_after_the_statements_last_day_is_named(tmp_path: Path) -> None:
    """With the --item that it names, the ledger of that day agrees to the cent."""
    firm = Firm(tmp_path).set_up()
    day, dated = ((date.today() - timedelta(ago)).isoformat() for ago in (1, 3))
    firm.write("one.csv", f"Cora Selwick,100.00,{dated},X-1,9", f"Jory Penhallow,40.50,{dated},X-2,10")
    firm.run("batch", "accept", "one.csv", "--form", "payroll-us", "--control-total", "140.50", "--item-count", "2")
    firm.print(1, 100501)
    firm.run("confirm", "1", "--good-count", "2")
    firm.write("opening.csv", f"90001,{dated},Old Salt,7.00,1", head="number,date,payee,amount,reference")
    firm.run("book", "opening", "opening.csv", "--form", "payroll-us")
    whole = Statement(account="000417293355", opening="500.00", closing="500.00", first=dated, last=day)
    (firm.folder / "day.xml").write_bytes(message(8, [whole]))

    said = " ".join(firm.run("reconcile", "bank", "day.xml").out.split())
    assert f"Printed after {day}, though dated on or before it, and so outstanding here: 2 cheques, 140.50." in said
    assert "Voided after" not in said
    firm.run("void", "100502", "--reason", "wrong hours", "--paper", "in-hand")
    said = " ".join(firm.run("reconcile", "bank", "day.xml").out.split())
    assert "outstanding here: 1 cheque, 100.00." in said
    assert f"Voided after {day}, and so not outstanding here: 100502, 40.50." in said
    as_issued = ("--ledger-balance", "352.50")  # 500.00 less 100.00, 40.50 and 7.00
    firm.run("reconcile", "bank", "day.xml", *as_issued, expect=1)
    firm.run("reconcile", "bank", "day.xml", *as_issued, "--item", f"{day} 40.50 voided since")
    as_not_yet_printed = ("--ledger-balance", "493.00")
    firm.run("reconcile", "bank", "day.xml", *as_not_yet_printed, "--item", f"{day} -100.00 printed since")


def test_cleared_not_yet_cleared_and_voided_are_what_was_issued(firm: Firm) -> None:
    reconciled(firm)
    rows = [row for one in firm.run("report", "issued", "--json").json["tables"] for row in one["rows"]]
    sums = {"Cleared: paid by the bank": 0, "Good, not yet cleared": 0, "Voided since": 0}
    for row in rows:
        sums[row["group"]] += row["amount_minor_units"]
        assert bool(row["paid_on"]) == (row["group"] == "Cleared: paid by the bank") or row["state"] == "voided"
    assert all(sums.values())
    said = firm.run("report", "issued").out
    total = sum(sums.values())
    assert f"{total // 100}.{total % 100:02}" in said.split("issued")[-1]
    assert {row["number"] for row in rows if row["group"] == "Good, not yet cleared"} == {*OUT}
