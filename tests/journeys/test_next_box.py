"""A run that goes over from one box to the next, with the forms torn off and led in accounted for."""

from pathlib import Path

import pytest
from journeys.firm import Firm

from cheque.language import Printer, get
from cheque.practice import Mechanism, Practice
from cheque.practice.orders import Order
from cheque.units import INCH

GO = ("--paper-loaded", "--after-first", "go-on")


@pytest.fixture
def firm(tmp_path: Path) -> Firm:
    """24 payments, a box of ten forms, 103001 to 103010; the next is 102001 to 102500."""
    firm = Firm(tmp_path).set_up()
    for first, last in (("103001", "103010"), ("102001", "102500")):
        firm.run("stock", "receive", "payroll-us", "--account", "main", "--first", first, "--last", last)
    firm.accept()
    return firm


def begin(firm: Firm, *more: str, expect: int | None = 0) -> str:
    command = ("print", "1", "--first-number", "103001", "--proof-code", firm.proof(), *GO)
    return firm.run(*command, *more, expect=expect).err


def states(firm: Firm, first: int, last: int) -> list[str]:
    return [firm.run("show", str(n), "--json").json["is"] for n in range(first, last + 1)]


def test_a_run_goes_over_to_the_next_box_and_every_lost_form_is_accounted_for(firm: Firm) -> None:
    said = begin(firm, "--then", "102001", "--tear-off", "1", "--lead-in", "2", "--next-loaded")
    assert "Run 1: 9 forms, 103001 to 103009" in said
    assert "Load the next one, form 102003 at the head" in said
    assert "Run 2: 15 forms, 102003 to 102017" in said
    firm.run("confirm", "1", "--run", "1", "--good-count", "9")
    firm.run("confirm", "1", "--run", "2", "--good-count", "15")
    assert states(firm, 103009, 103010) == ["printed", "spoiled"]
    assert states(firm, 102001, 102003) == ["spoiled", "spoiled", "printed"]
    assert "torn off at the end of the box" in firm.run("show", "103010").out
    assert "led in at the start of the box" in firm.run("show", "102002").out
    assert "Everything agrees" in firm.run("reconcile", "numbers", "1").out
    firm.run("book", "verify")


def test_a_box_that_suffices_is_not_left(firm: Firm) -> None:
    said = begin(firm, "--count", "9", "--then", "102001", "--tear-off", "1", "--lead-in", "2", "--next-loaded")
    assert "Run 1: 9 forms, 103001 to 103009" in said
    assert "Load the next one" not in said
    assert states(firm, 103010, 103010) == ["on hand"]
    assert states(firm, 102001, 102001) == ["on hand"]


def test_the_form_that_is_torn_off_is_not_printed_on(firm: Firm) -> None:
    said = begin(firm, "--count", "10", "--then", "102001", "--tear-off", "1", "--lead-in", "0", "--next-loaded")
    assert "Run 1: 9 forms, 103001 to 103009" in said
    assert "Run 2: 1 form, 102001" in said


def test_forms_that_fall_on_both_boxes_are_what_the_practice_printer_shows(firm: Firm) -> None:
    inside = Mechanism(get("escp9"), Printer("escp9", INCH // 216), 7 * INCH)
    inside.load(103001)
    with Practice(inside) as printer:
        settings = firm.folder / "cheque.toml"
        settings.write_text(settings.read_text().replace('"file:payroom.prn"', f'"{printer.address}"'))
        begin(firm, "--count", "9")
        printer.settle()
        printer.order(Order("load", 102003))
        firm.run("confirm", "1", "--good-count", "9")
        firm.run("resume", "1", "--next-number", "102003", "--power-cycled", *GO)
        printer.settle()
        good = [sheet.number for sheet in printer.sheets() if sheet.whole]
    assert good == [*range(102003, 102018), *range(103001, 103010)]


def test_a_stop_on_the_next_box_leaves_two_runs_each_answered_for_by_itself(firm: Firm) -> None:
    begin(
        firm, "--after-first", "stop", "--count", "1", "--then", "102001", "--tear-off", "0", "--lead-in", "0",
        "--next-loaded",
    )  # fmt: skip
    firm.run("confirm", "1", "--good-count", "1")
    stop = ("--after-first", "stop", "--then", "102001", "--tear-off", "8", "--lead-in", "0", "--next-loaded")
    firm.run(
        "print", "1", "--first-number", "103002", "--proof-code", firm.proof(), "--paper-loaded", *stop, expect=4
    )  # one form before the change, which is a run of its own; then the first form of the next box
    assert states(firm, 103002, 103003) == ["sent", "spoiled"]
    assert states(firm, 102001, 102002) == ["sent", "reserved"]
    refused = firm.run("resume", "1", "--power-cycled", *GO, expect=2).err
    assert "run 2 on payroom (finished); run 3 on payroom (stopped)" in refused
    firm.run("confirm", "1", "--run", "2", "--good-count", "1")
    firm.run("resume", "1", "--last-good", "102001", "--next-number", "102002", "--power-cycled", *GO)
    firm.run("confirm", "1", "--good-count", "21")
    assert "Everything agrees" in firm.run("reconcile", "numbers", "1").out


@pytest.mark.parametrize(
    ("options", "status", "why"),
    [
        ((), 5, "or name that with --then"),
        (("--tear-off", "1"), 2, "name it with --then"),
        (("--then", "102001"), 2, "--tear-off"),
        (("--then", "102001", "--tear-off", "1"), 2, "--lead-in"),
        (("--then", "102001", "--tear-off", "1", "--lead-in", "1"), 2, "--next-loaded"),
        (("--then", "103005", "--tear-off", "1", "--lead-in", "1", "--next-loaded"), 2, "of the same box"),
        (("--then", "900000", "--tear-off", "1", "--lead-in", "1", "--next-loaded"), 5, "on no stock"),
        (("--then", "x", "--tear-off", "1", "--lead-in", "1", "--next-loaded"), 2, "wanted the number preprinted"),
        (("--then", "102001", "--tear-off", "20", "--lead-in", "1", "--next-loaded"), 5, "begin with the next box"),
        (("--then", "102480", "--tear-off", "1", "--lead-in", "10", "--next-loaded"), 5, "the box ends at 102500"),
    ],
)
def test_what_cannot_be_is_refused_before_a_number_is_used(
    firm: Firm, options: tuple[str, ...], status: int, why: str
) -> None:
    assert why in begin(firm, *options, expect=status)
    boxes = firm.run("stock", "list", "--json").json
    assert all(box["states"]["on hand"] == box["states"]["received"] for box in boxes)


def test_a_lead_in_form_that_is_used_already_refuses_the_change(firm: Firm) -> None:
    firm.run("spoil", "102001", "--reason", "torn")
    said = begin(firm, "--then", "102001", "--tear-off", "0", "--lead-in", "1", "--next-loaded", expect=5)
    assert "are not all on hand" in said
