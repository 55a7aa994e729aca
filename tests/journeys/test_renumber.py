"""A form is skipped on the practice printer and nobody notices; the correction makes book and paper agree again."""

import re
from pathlib import Path

import pytest
from device.peers import soon
from journeys.firm import Firm

from cheque.language import Printer, get
from cheque.practice import Mechanism, Practice, Sheet
from cheque.practice.orders import Order
from cheque.units import INCH

WHY = ("--reason", "the two numbers on each form differ from 100511 on", "--approved-by", "S. Mooring")

REPORTS = (
    ("report", "control", "--batch", "1"),
    ("report", "numbers", "--batch", "1"),
    ("report", "issued", "--batch", "1"),
)
#: how each tells which number is struck on a form, white space aside
STRUCK = {
    "numbers": r"\b{}\b(?:(?! struck ).)* struck {}\b",
    "control": r"\b{} {} ",
    "issued": r"\b{} \(struck {}\)",
}


def payees(firm: Firm, good: list[Sheet]) -> tuple[dict[str, str], dict[str, str]]:
    """Number -> payee, as the book has it and as the paper has it, for good cheques."""
    rows = firm.run("batch", "show", "1", "--json").json["payments"]
    book = {str(row["number"]): str(row["payee"]) for row in rows}
    paper = {}
    for sheet in good:
        paper[str(sheet.number)] = next(str(row["payee"]) for row in rows if str(row["payee"]) in sheet.text)
    return book, paper


@pytest.fixture
def firm(tmp_path: Path) -> Firm:
    return Firm(tmp_path).set_up()


def test_a_form_skipped_unnoticed_is_put_right_without_voiding_a_cheque(firm: Firm) -> None:
    inside = Mechanism(get("escp9"), Printer("escp9", INCH // 216), 7 * INCH)
    inside.load(100501)
    with Practice(inside) as printer:
        settings = firm.folder / "cheque.toml"
        settings.write_text(settings.read_text().replace('"file:payroom.prn"', f'"{printer.address}"'))
        firm.accept()
        firm.print(1, 100501, "--count", "10")
        soon(lambda: sum(sheet.whole for sheet in printer.sheets()) == 10)
        printer.order(Order("skip"))
        firm.run("resume", "1", "--last-good", "100510", "--next-number", "100511", "--power-cycled",
                 "--paper-loaded", "--after-first", "go-on")  # fmt: skip
        printer.settle()
        good = [sheet for sheet in printer.sheets() if sheet.whole]
    firm.run("confirm", "1", "--good-count", "14")
    book, paper = payees(firm, good)
    assert book != paper
    assert sorted(paper)[10] == "100512"
    said = firm.run("renumber", "100511-100524", "--by", "1", "--left", "spoiled", *WHY)
    assert "14 numbers of main moved: 100511 to 100524 are 100512 to 100525" in said.err
    book, paper = payees(firm, good)
    assert book == paper
    shown = firm.run("show", "100525").out
    assert "number struck on it  100524" in shown
    assert "100511 to 100524 found to be on numbers +1, approved by S. Mooring" in shown
    assert firm.run("show", "100511", "--json").json["is"] == "spoiled"
    reconciled = firm.run("reconcile", "numbers", "1").out
    assert "Everything agrees" in reconciled
    assert "every number is 1 higher than payroll expected: 100511 was spoiled" in " ".join(reconciled.split())
    for command in (("reconcile", "numbers", "1"), *REPORTS):
        told = " ".join(firm.run(*command).out.split())
        assert "the cheques that the book had on 100511-100524 are on 100512-100525 (+1)" in told, command
        assert "approved by S. Mooring: the two numbers on each form differ from 100511 on." in told, command
        for number in range(100512, 100526):
            assert re.search(STRUCK[command[1]].format(number, number - 1), told), (command, number)
    firm.run("book", "verify")


@pytest.mark.parametrize(
    ("options", "status"),
    [
        (("100511-100524", "--by", "1", "--left", "blank", *WHY), 2),
        (("100511-100524", "--by", "x", "--left", "spoiled", *WHY), 2),
        (("100511-100524", "--by", "1", "--left", "spoiled", "--reason", "skipped"), 2),
        (("100511-100520", "--by", "1", "--left", "spoiled", *WHY), 5),
        (("100511-100530", "--by", "1", "--left", "spoiled", *WHY), 5),
        (("900001-900002", "--by", "1", "--left", "spoiled", *WHY), 5),
    ],
)
def test_what_would_not_be_a_correction_is_refused(firm: Firm, options: tuple[str, ...], status: int) -> None:
    firm.paid()
    before = firm.run("stock", "list", "--json").out
    firm.run("renumber", *options, expect=status)
    assert firm.run("stock", "list", "--json").out == before


def test_the_correction_as_json_gives_the_event_that_the_record_keeps(firm: Firm) -> None:
    firm.paid()
    told = firm.run("renumber", "100520-100524", "--by", "2", "--left", "missing", *WHY, "--json").json
    assert (told["first"], told["last"], told["by"], told["left"]) == (100520, 100524, 2, "missing")
    assert [firm.run("show", str(n), "--json").json["is"] for n in (100520, 100521, 100522, 100526)] == [
        "missing", "missing", "printed", "printed",
    ]  # fmt: skip
