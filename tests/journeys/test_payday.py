"""A payday from end to end, and the ways it may lawfully go: in two pieces, on several boxes, with an advice."""

import csv
import hashlib
import io
import json

from journeys.firm import DEMO, REGISTER, TOTALS, Firm


def test_a_payday_of_twenty_four_from_the_register_to_the_binder(firm: Firm) -> None:
    checked = firm.run("register", "check", firm.register(), "--json").json
    assert (checked["item_count"], checked["control_total"], checked["hash_total"]) == (24, "18214.77", "51877")
    assert firm.accept() == 1
    code = firm.proof()
    said = firm.run(
        "print", "1", "--first-number", "100501", "--proof-code", code, "--paper-loaded", "--after-first", "go-on"
    )
    assert "printing on a bare platen damages the print head" in said.err
    assert "Run 1: 24 forms, 100501 to 100524, to payroom" in said.err
    assert "form 100524  24 of 24 sent  0 left" in said.err
    assert "none counts as printed until somebody has looked" in said.err
    assert firm.struck() == [str(number) for number in range(100501, 100525)]
    assert set(firm.numbers().values()) == {(number, "sent") for number in range(100501, 100525)}
    said = firm.run("confirm", "1", "--good-count", "24")
    assert "Entered: 24 good." in said.err
    assert set(firm.numbers().values()) == {(number, "printed") for number in range(100501, 100525)}
    assert "Everything agrees." in firm.run("reconcile", "numbers", "1").out
    assert "The book is whole" in firm.run("book", "verify").out
    assert firm.run("batch", "list", "--json").json[0]["is"] == "done"


def test_the_register_is_kept_as_it_came_in_the_books_private_place(accepted: Firm) -> None:
    data = (accepted.folder / REGISTER).read_bytes()
    (kept,) = (accepted.folder / "book" / "registers").iterdir()
    assert kept.read_bytes() == data
    assert kept.name == hashlib.sha256(data).hexdigest()
    assert not kept.stat().st_mode & 0o077
    (body,) = [body for kind, body in accepted.events() if kind == "batch.accepted"]
    assert body["register"] == kept.name


def test_the_register_may_come_through_standard_input(firm: Firm) -> None:
    data = (DEMO / REGISTER).read_bytes()
    assert "standard input can be read" in firm.run("register", "check", "-", stdin=data).err
    said = firm.run("batch", "accept", "-", "--form", "payroll-us", *TOTALS, "--json", stdin=data)
    assert said.json["item_count"] == 24
    (body,) = [body for kind, body in firm.events() if kind == "batch.accepted"]
    assert body["source"] == "standard input"
    # The same payments have the same proof code, wherever they came from.
    other = firm.proof()
    firm.run("batch", "withdraw", "1", "--reason", "to be read from the file instead")
    firm.accept()
    assert firm.proof(2) == other


def test_the_same_register_in_other_clothes_has_the_same_proof_code(firm: Firm) -> None:
    firm.accept()
    code = firm.proof()
    text = (firm.folder / REGISTER).read_text("utf-8")
    rows = list(csv.reader(io.StringIO(text)))
    clothes = {
        "marked.csv": "\ufeff" + text,
        "crlf.csv": text.replace("\n", "\r\n"),
        "semicolons.csv": written(rows, ";"),
        "tabs.csv": written(rows, "\t"),
    }
    for batch, (name, clothed) in enumerate(clothes.items(), 2):
        firm.run("batch", "withdraw", str(batch - 1), "--reason", "read again from another file")
        (firm.folder / name).write_bytes(clothed.encode())
        firm.run("batch", "accept", name, "--form", "payroll-us", *TOTALS)
        assert firm.proof(batch) == code


def written(rows: list[list[str]], separator: str) -> str:
    """A register with another mark between its fields."""
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\n").writerows(rows)
    return out.getvalue()


def test_a_batch_is_printed_in_two_pieces_with_count(accepted: Firm) -> None:
    accepted.print(1, 100501, "--count", "10")
    accepted.run("confirm", "1", "--good-count", "10")
    assert accepted.run("batch", "list", "--json").json[0]["is"] == "14 still to print"
    said = accepted.print(1, 100511)
    assert "Run 2: 14 forms, 100511 to 100524" in said.err
    assert "held" not in said.err  # the file's bytes are of this same batch
    accepted.run("confirm", "1", "--good-count", "14")
    assert accepted.struck() == [str(number) for number in range(100501, 100525)]
    accepted.run("reconcile", "numbers", "1")
    said = accepted.print(1, 100525, expect=5)
    assert "batch 1 has no payment that lacks a form: there is nothing to print" in said.err


def test_a_batch_goes_on_from_the_end_of_a_box_in_the_next_one(accepted: Firm) -> None:
    accepted.run("stock", "receive", "payroll-us", "--account", "main", "--first", "200001", "--last", "200500")
    said = accepted.print(1, 100991, expect=5)
    assert "the box ends at 101000: 10 forms for 24 payments" in said.err
    assert "Print the first 10 with --count, then the rest from the next box" in said.err
    assert not (accepted.folder / "payroom.prn").exists()
    accepted.print(1, 100991, "--count", "10")
    accepted.run("confirm", "1", "--good-count", "10")
    accepted.print(1, 200001)
    accepted.run("confirm", "1", "--good-count", "14")
    assert accepted.numbers()[10] == (101000, "printed")
    assert accepted.numbers()[11] == (200001, "printed")


def test_stop_after_the_first_form_then_resume_when_it_was_looked_at(accepted: Firm) -> None:
    said = accepted.run(
        "print", "1", "--first-number", "100501", "--proof-code", accepted.proof(), "--paper-loaded",
        "--after-first", "stop", expect=4,
    )  # fmt: skip
    assert "stopped after 1 of 24 forms: it was to stop after the first form" in said.err
    assert accepted.run("batch", "list", "--json").json[0]["is"] == "stopped: resume it"
    assert accepted.struck() == ["100501"]
    said = accepted.resume("100501", "100502")
    assert "Entered: 1 good, 23 still blank" in said.err
    assert accepted.struck() == [str(number) for number in range(100501, 100525)]


def test_net_pay_of_zero_makes_an_advice_on_cheque_stock_that_nobody_can_pay(firm: Firm) -> None:
    firm.accept("payday-with-advice.csv", "--control-total", "3016.07", "--item-count", "6")
    shown = firm.run("batch", "show", "1").out
    assert "waiting, advice" in shown
    firm.run("proof", "1", "-o", "proof.txt")
    proof = (firm.folder / "proof.txt").read_text("utf-8")
    assert "NON-NEGOTIABLE" in proof
    assert "VOID" in proof
    firm.print()
    firm.run("confirm", "1", "--good-count", "6")
    advices = [one for one in firm.run("batch", "show", "1", "--json").json["payments"] if one["role"] == "advice"]
    assert advices
    for one in advices:
        said = firm.run("custody", str(one["number"]), "--place", "handed-over")
        assert "handed over" in said.err
    issued = firm.run("report", "issued", "--json").json
    assert "3016.07" in json.dumps(issued)
    firm.run("reconcile", "numbers", "1")


def test_two_accounts_may_have_the_same_numbers_and_are_told_apart_by_name(firm: Firm) -> None:
    text = (firm.folder / "cheque.toml").read_text("utf-8")
    table = text[text.index("[accounts.main]") : text.index("# Hands kept apart")]
    other = table.replace("accounts.main", "accounts.yard").replace("000417293355", "000588110077")
    (firm.folder / "cheque.toml").write_text(text + "\n" + other, "utf-8")
    said = firm.run("stock", "receive", "payroll-us", "--first", "100501", "--last", "100600", expect=2)
    assert "which account? --account with one of main, yard" in said.err
    firm.run("stock", "receive", "payroll-us", "--account", "yard", "--first", "100501", "--last", "100600")
    said = firm.run("spoil", "100501", "--reason", "torn", expect=2)
    assert "100501 is a number of main and of yard: write main:100501" in said.err
    firm.run("spoil", "yard:100501", "--reason", "torn")
    assert firm.state("main:100501") == "on hand"
    assert firm.state("yard:100501") == "spoiled"
    # 100601 is on one account's stock only, so its name is not needed.
    assert firm.state("100601") == "on hand"
    firm.register()
    said = firm.run("batch", "accept", REGISTER, "--form", "payroll-us", *TOTALS, expect=2)
    assert "which account?" in said.err
    firm.run("batch", "accept", REGISTER, "--form", "payroll-us", "--account", "yard", *TOTALS)
    firm.print(1, 100502)
    assert firm.run("show", "yard:100502", "--json").json["payee"] == "Niamh O'Dunmarrow"
    assert firm.state("main:100502") == "on hand"
    # The same payments from the other account are no duplicates of these, but so like them that it is asked.
    again = ("batch", "accept", REGISTER, "--form", "payroll-us", "--account", "main", *TOTALS)
    assert "is within 5 days of payment 1 of batch 1, number 100502, sent" in firm.run(*again, expect=2).err
    firm.run(*again, "--not-a-duplicate", "half of it is the yard's")


def test_several_printers_and_the_one_that_can_is_taken(firm: Firm) -> None:
    text = (firm.folder / "cheque.toml").read_text("utf-8")
    table = text[text.index("[printers.payroom]") :]
    weak = table.replace("printers.payroom", "printers.attic").replace("parts = 4", "parts = 2")
    (firm.folder / "cheque.toml").write_text(text.replace(table, weak + "\n" + table), "utf-8")
    said = firm.run("batch", "accept", firm.register(), "--form", "payroll-us", *TOTALS)
    assert "not on attic (escp9): the form has 3 parts, and the printer is rated for 2" in said.err
    code = firm.proof()
    said = firm.run(
        "print", "1", "--printer", "attic", "--first-number", "100501", "--proof-code", code, "--paper-loaded",
        "--after-first", "go-on", expect=3,
    )  # fmt: skip
    assert "attic cannot print payroll-us: the form has 3 parts" in said.err
    said = firm.run(
        "print", "1", "--first-number", "100501", "--proof-code", code, "--paper-loaded", "--after-first", "go-on"
    )
    assert "to payroom" in said.err


def test_how_long_it_will_take_is_told_before_and_what_it_took_afterwards(accepted: Firm) -> None:
    said = accepted.print()
    before, _, after = said.err.partition("form 100501")
    assert "On paper about 5 minutes, at 200 characters a second." in before
    assert "A file tells when the bytes are on the disk" in before
    assert "24 forms sent in less than a second" in after
    accepted.change("speed = 200", "speed = 100")
    accepted.run("confirm", "1", "--good-count", "23", "--spoiled", "100524=smudged")
    said = accepted.run(
        "resume", "1", "--power-cycled", "--next-number", "100525", "--paper-loaded", "--after-first", "go-on", "--json"
    )
    assert said.json["sent"] == 1
    assert 15_000 < said.json["expected_milliseconds"] < 40_000
    assert 0 <= said.json["took_milliseconds"] < 15_000


def test_a_file_that_holds_another_batchs_bytes_is_warned_about(paid: Firm) -> None:
    paid.run("void", "100503", "--reason", "coffee spilt on it", "--paper", "in-hand")
    paid.run("reprint", "100503")
    size = len(paid.stream)
    said = paid.print(2, 100525)
    assert f"payroom.prn held {size:,} bytes before this run" in said.err
    assert "prints those again too" in said.err


def test_a_form_left_behind_in_the_box_is_warned_about(accepted: Firm) -> None:
    said = accepted.print(1, 100503)
    assert "100502, the form before 100503, is on hand in the book" in said.err
