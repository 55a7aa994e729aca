"""The guided payday on the practice printer: a jam, a form skipped, Ctrl-C, a dead line; the book against the paper."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from device.peers import soon
from journeys.attending import Attend, Operator
from journeys.firm import Firm
from journeys.terminal import CTRL_C

from cheque.language import Printer, get
from cheque.practice import Mechanism, Practice, Sheet
from cheque.practice.orders import Order
from cheque.units import INCH

SLOW = 4_000  # characters a second, of about 900 on a form


@pytest.fixture
def firm(tmp_path: Path) -> Firm:
    """The boatyard with a register, its printer still to come."""
    firm = Firm(tmp_path).set_up()
    firm.register()
    return firm


@pytest.fixture
def printer(firm: Firm) -> Iterator[Practice]:
    """A practice printer with form 100501 at its head, and the firm's settings pointing to it."""
    inside = Mechanism(get("escp9"), Printer("escp9", INCH // 216), 7 * INCH, memory=512)
    inside.load(100501)
    with Practice(inside, speed=SLOW) as practice:
        firm.change("file:payroom.prn", practice.address)
        yield practice


def whole(printer: Practice) -> list[Sheet]:
    """The forms that came out whole."""
    return [sheet for sheet in printer.sheets() if sheet.whole]


def agree(firm: Firm, printer: Practice) -> None:
    """Every payment is on one good form, and the payee the book has on a number is the one on the paper."""
    rows = firm.run("batch", "show", "1", "--json").json["payments"]
    assert [row["is"] for row in rows] == ["printed"] * 24
    paper = {sheet.number: sheet.text for sheet in printer.sheets()}
    for row in rows:
        assert row["payee"] in paper[row["number"]]
    firm.run("reconcile", "numbers", "1")
    firm.run("book", "verify")


def sent(firm: Firm) -> list[int]:
    """The numbers that may have been printed."""
    return sorted(number for number, state in firm.numbers().values() if state == "sent")


def begun(operator: Operator, printer: Practice, forms: int) -> None:
    """Go on until the run is under way and so many forms are out."""
    operator.until("Is it right: everything in its place")
    operator.type("yes")
    soon(lambda: len(whole(printer)) >= forms, 20)


def test_a_jam_is_stopped_told_of_and_the_rest_printed(attend: Attend, firm: Firm, printer: Practice) -> None:
    operator = attend(firm, "--plain")
    begun(operator, printer, 4)
    printer.order(Order("jam"))
    time.sleep(0.3)
    operator.terminal.press(CTRL_C)
    operator.terminal.expect("Stopping at the end of the form in hand")
    operator.until("Is that done?")
    printer.order(Order("power-off"))
    printer.order(Order("clear"))
    printer.order(Order("power-on"))
    good = max(sheet.number for sheet in whole(printer))
    printer.order(Order("load", good + 3))
    # the answers from here on are what is seen on the paper
    operator.told.update({
        "on the last good form": str(good), "did the run print on form": str(good), "up to it good?": "yes",
        "now at the head, not yet printed": str(good + 3), "What became of": "crumpled in the tractors",
        "preprinted on the form at the head": str(good + 3), "that was just printed": str(good + 3),
        "last form that was": lambda _: str(sent(firm)[-1]), "How many good": lambda _: str(len(sent(firm))),
    })  # fmt: skip
    operator.type("yes")
    assert operator.to_the_end() == 0
    printer.settle()
    agree(firm, printer)
    assert [firm.state(n) for n in (good + 1, good + 2)] == ["spoiled", "spoiled"]
    assert len(whole(printer)) == 24


def test_a_form_skipped_in_the_midst_is_put_right_at_the_end(attend: Attend, firm: Firm, printer: Practice) -> None:
    operator = attend(firm)
    begun(operator, printer, 3)
    printer.order(Order("skip"))
    question = operator.until("preprinted on the last form that was printed")
    assert "100501 to 100524 were sent" in question
    printer.settle()
    good = [sheet.number for sheet in whole(printer)]
    assert good[-1] == 100525
    first = next(number for place, number in enumerate(good) if number != 100501 + place)
    operator.told.update({
        "Does the last form, 100525, bear 100524 in print": "yes", "How many good": "24",
        "first form whose two numbers differ": str(first - 1), "What became of the form that was skipped": "spoiled",
        "Who else has looked": "S. Mooring",
    })  # fmt: skip
    operator.type("100525")
    assert operator.to_the_end() == 0
    agree(firm, printer)
    assert firm.state(first - 1) == "spoiled"
    assert firm.run("show", "100525").out.count("100524")
    assert "approved by S. Mooring" in firm.run("reconcile", "numbers", "1").out


def test_a_form_skipped_before_a_stop_is_put_right_with_the_stop(attend: Attend, firm: Firm, printer: Practice) -> None:
    operator = attend(firm)
    operator.until("Is it right: everything in its place")
    printer.order(Order("skip"))
    operator.type("yes")
    soon(lambda: len(whole(printer)) >= 5, 20)
    operator.terminal.press(CTRL_C)
    operator.until("Is that done?")
    printer.settle()
    good = [sheet.number for sheet in whole(printer)]
    last = good[-1]
    first = next(number for place, number in enumerate(good) if number != 100501 + place)
    printer.order(Order("power-off"))
    printer.order(Order("power-on"))
    printer.order(Order("load", last + 1))
    operator.told.update({
        "on the last good form": str(last), "did the run print on form": str(last - 1), "up to it good cheques": "yes",
        "first form whose two numbers differ": str(first - 1), "What became of the form that was skipped": "spoiled",
        "Who else has looked": "S. Mooring", "now at the head, not yet printed": str(last + 1),
        "preprinted on the form at the head": str(last + 1), "that was just printed": str(last + 1),
        "last form that was": lambda _: str(sent(firm)[-1]), "How many good": lambda _: str(len(sent(firm))),
    })  # fmt: skip
    operator.type("yes")
    assert operator.to_the_end() == 0
    printer.settle()
    agree(firm, printer)
    assert firm.state(first - 1) == "spoiled"


def test_a_terminal_that_goes_away_in_the_midst_of_a_run_leaves_it_to_be_taken_up(
    attend: Attend, firm: Firm, printer: Practice
) -> None:
    operator = attend(firm)
    begun(operator, printer, 3)
    operator.terminal.hang_up()
    assert operator.terminal.ended() == 4
    printer.settle()
    out = sent(firm)
    assert 3 <= len(out) < 24
    assert [body["cause"] for body in firm.events_of("run.stopped")] == [
        "stopped because its terminal went away (SIGHUP)"
    ]
    last = out[-1]
    again = attend(
        firm,
        answers={
            "on the last good form": str(last), "did the run print on form": str(last), "up to it good?": "yes",
            "now at the head, not yet printed": str(last + 1), "preprinted on the form at the head": str(last + 1),
            "that was just printed": str(last + 1), "last form that was": "100524",
            "How many good": lambda _: str(len(sent(firm))),
        },
    )  # fmt: skip
    assert "its run stopped, forms are in doubt" in again.until("Which batch do you go on with?")
    again.type("1")
    assert again.to_the_end() == 0
    printer.settle()
    agree(firm, printer)


def test_a_printer_that_cannot_be_reached_uses_no_number(attend: Attend, firm: Firm) -> None:
    firm.change("file:payroom.prn", "socket://127.0.0.1:9")
    operator = attend(firm)
    question = operator.until("Press Enter to try again")
    assert "nothing was sent and no number was used" in question
    assert firm.events_of("run.begun") == []
    firm.change("socket://127.0.0.1:9", "file:payroom.prn")
    operator.type("q")
    assert operator.terminal.ended() == 0
    assert attend(firm).to_the_end() == 0
    firm.run("reconcile", "numbers", "1")
