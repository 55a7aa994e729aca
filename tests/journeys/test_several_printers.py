"""One batch on several printers, each on its own numbers: side by side, failing alone, one batch in the end."""

import contextlib
import json
import os
import pty
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest
from device.peers import soon
from journeys.firm import Firm

from cheque.language import Printer, get
from cheque.practice import Mechanism, Practice
from cheque.practice.orders import Order
from cheque.units import INCH

FIRST = {"a": 100501, "b": 100601, "c": 100701}


class Shop:
    """A firm with three practice printers, each with paper of its own."""

    def __init__(self, firm: Firm, printers: dict[str, Practice]) -> None:
        self.firm, self.printers = firm, printers

    def print(self, *more: str, names: str = "abc", expect: int | None = 0) -> str:
        """Print batch 1 on some of them."""
        places = [word for name in names for word in ("--printer", f"{name}={FIRST[name]}")]
        command = ("print", "1", *places, "--proof-code", self.firm.proof(), "--paper-loaded", "--after-first", "go-on")
        return self.firm.run(*command, *more, expect=expect).err

    def good(self, name: str) -> list[int]:
        """The numbers of the whole forms on a printer's paper."""
        self.printers[name].settle()
        return [sheet.number for sheet in self.printers[name].sheets() if sheet.whole]

    def payees(self) -> list[str]:
        """Who is on the whole forms of all the printers, by what the stub says."""
        for printer in self.printers.values():
            printer.settle()
        claims = json.loads(self.firm.run("batch", "show", "1", "--json").out)["payments"]
        sheets = [sheet for printer in self.printers.values() for sheet in printer.sheets() if sheet.whole]
        return sorted(next(c["payee"] for c in claims if c["payee"] in sheet.text) for sheet in sheets)

    def resume(self, name: str, run: int, *told: str) -> None:
        """Off and on, paper loaded at the first blank form, and on with one printer."""
        printer = self.printers[name]
        printer.speed = 0
        printer.order(Order("power-off"))
        printer.order(Order("power-on"))
        used = [sheet.number for sheet in printer.sheets() if not sheet.blank]
        head = max(used, default=FIRST[name] - 1) + 1
        printer.order(Order("load", head))
        good = self.good(name)
        self.firm.run(
            "resume", "1", "--run", str(run), "--last-good", str(good[-1]) if good else "none",
            "--next-number", str(head), *told, "--power-cycled", "--paper-loaded", "--after-first", "go-on",
        )  # fmt: skip


@contextmanager
def shop(folder: Path, *, speeds: dict[str, int] | None = None, pace: int = 0) -> Iterator[Shop]:
    with ExitStack() as stack:
        printers = {}
        for name, first in FIRST.items():
            inside = Mechanism(get("escp9"), Printer("escp9", INCH // 216), 7 * INCH, memory=512)
            inside.load(first)
            printers[name] = stack.enter_context(Practice(inside, speed=pace))
        firm = Firm(folder).set_up()
        settings = firm.folder / "cheque.toml"
        tables = [
            f'[printers.{name}]\nlanguage = "escp9"\naddress = "{printer.address}"\nstall_seconds = 5\n'
            f"speed = {(speeds or {}).get(name, 200)}\n"
            for name, printer in printers.items()
        ]
        settings.write_text(settings.read_text() + "\n" + "\n".join(tables))
        firm.accept()
        yield Shop(firm, printers)


def test_a_batch_is_divided_in_order_by_the_printers_speeds(tmp_path: Path) -> None:
    with shop(tmp_path, speeds={"a": 400, "b": 200, "c": 200}) as three:
        said = three.print()
        assert three.good("a") == list(range(100501, 100513))
        assert three.good("b") == list(range(100601, 100607))
        assert three.good("c") == list(range(100701, 100707))
        assert "Run 1: 12 forms, 100501 to 100512" in said
        for run, count in (("1", "12"), ("2", "6"), ("3", "6")):
            three.firm.run("confirm", "1", "--run", run, "--good-count", count)
        assert len(set(three.payees())) == 24
        reconciled = three.firm.run("reconcile", "numbers", "1").out
        assert "Everything agrees" in reconciled
        assert all(f"on {name}\n" in reconciled for name in "abc")
        control = three.firm.run("report", "control", "--batch", "1").out
        assert all(f"{first}" in control for first in FIRST.values())
        three.firm.run("book", "verify")
        order = [row["number"] for row in json.loads(three.firm.run("batch", "show", "1", "--json").out)["payments"]]
        assert [int(number) for number in order] == [
            *range(100501, 100513), *range(100601, 100607), *range(100701, 100707),
        ]  # fmt: skip


def test_three_printers_one_jams_and_one_loses_power_and_every_payment_is_printed_once(tmp_path: Path) -> None:
    with shop(tmp_path, pace=9_000) as three:
        halfway = threading.Event()

        def mishaps() -> None:
            soon(lambda: len([s for s in three.printers["b"].sheets() if s.whole]) >= 2, 20)
            three.printers["b"].order(Order("jam"))
            soon(lambda: len([s for s in three.printers["c"].sheets() if s.whole]) >= 3, 20)
            three.printers["c"].order(Order("power-off"))
            halfway.set()

        helper = threading.Thread(target=mishaps)
        helper.start()
        said = three.print(expect=4)
        helper.join()
        assert halfway.is_set()
        assert "c, run 3: the run stopped after" in said
        assert "resume 1 --run 3" in said
        assert three.good("a") == list(range(100501, 100509))
        three.printers["b"].settle()
        three.resume("c", 3, "--between", "torn")
        # the jammed printer noticed nothing: somebody who goes through its paper does
        good = three.good("b")
        assert 2 <= len(good) < 8
        three.resume("b", 2, "--between", "crumpled in a jam")
        runs = {"a": 1, "c": 4, "b": 5}
        for name, run in runs.items():
            mine = three.firm.run("batch", "show", "1", "--json").json
            assert mine
            sent = in_doubt(three.firm, run)
            assert set(sent) <= set(three.good(name))
            three.firm.run("confirm", "1", "--run", str(run), "--good-count", str(len(sent)))
        payees = three.payees()
        assert len(payees) == 24
        assert len(set(payees)) == 24
        three.firm.run("book", "verify")
        three.firm.run("reconcile", "numbers", "1")


def in_doubt(firm: Firm, run: int) -> list[int]:
    """The numbers that a run sent and nobody has answered for."""
    import sqlite3

    with contextlib.closing(sqlite3.connect(firm.folder / "book" / "book.sqlite")) as db:
        found = db.execute("SELECT number FROM number WHERE run = ? AND state = 'sent' ORDER BY number", (run,))
        return [number for (number,) in found]


def test_one_is_resumed_while_the_others_are_still_unanswered_and_only_when_it_is_named(tmp_path: Path) -> None:
    with shop(tmp_path) as three:
        three.print("--after-first", "stop", expect=4)
        refused = three.firm.run("resume", "1", "--power-cycled", expect=2)
        assert "run 1 on a (stopped); run 2 on b (stopped); run 3 on c (stopped)" in refused.err
        three.firm.run("resume", "1", "--run", "9", "--power-cycled", expect=5)
        three.resume("b", 2)
        assert three.good("b") == list(range(100601, 100609))
        assert three.good("a") == [100501]
        again = three.firm.run("print", "1", "--printer", "a", "--first-number", "100502", "--proof-code",
                               three.firm.proof(), "--paper-loaded", "--after-first", "go-on", expect=5)  # fmt: skip
        assert "there is nothing to print" in again.err  # what the other runs hold is theirs
        three.resume("a", 1)
        three.resume("c", 3)
        assert len(set(three.payees())) == len(three.payees()) == 24


def test_one_that_failed_is_resumed_while_the_others_still_print(tmp_path: Path) -> None:
    with shop(tmp_path, pace=3_000) as three:
        three.printers["c"].order(Order("load", FIRST["c"] + 1))
        places = [word for name in "ab" for word in ("--printer", f"{name}={FIRST[name]}")]
        command = [sys.executable, "-m", "cheque", "print", "1", *places, "--printer", "c=100702", "--proof-code"]
        process = subprocess.Popen(
            [*command, three.firm.proof(), "--paper-loaded", "--after-first", "go-on"],
            cwd=three.firm.folder, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
        )  # fmt: skip
        soon(lambda: any(sheet.whole for sheet in three.printers["c"].sheets()), 20)
        three.printers["c"].order(Order("power-off"))
        soon(lambda: "stopped" in json.dumps(three.firm.run("batch", "list", "--json").json), 20)
        three.printers["c"].order(Order("power-on"))
        held = three.firm.run("resume", "1", "--run", "2", "--power-cycled", "--last-good", "none", "--next-number",
                              "100601", "--paper-loaded", "--after-first", "go-on", expect=5)  # fmt: skip
        assert "printer b is in use by another run" in held.err
        three.resume("c", 3, "--between", "torn")
        assert process.poll() is None  # a and b are still at work
        for name in "ab":
            three.printers[name].speed = 0
        process.communicate(timeout=20)
        payees = three.payees()
        assert len(payees) == len(set(payees)) == 24


def test_a_printer_that_cannot_be_reached_stops_all_before_a_number_is_used(tmp_path: Path) -> None:
    with shop(tmp_path) as three:
        three.printers["b"].order(Order("power-off"))
        said = three.print(expect=4)
        assert "no number was used" in said
        assert three.good("a") == []
        three.printers["b"].order(Order("power-on"))
        three.print()
        assert len(three.payees()) == 24


def test_control_c_stops_every_printer_at_the_end_of_its_form_and_twice_at_once(tmp_path: Path) -> None:
    for times in (1, 2):
        (tmp_path / str(times)).mkdir()
        with shop(tmp_path / str(times), pace=3_000) as three:
            places = [word for name in "abc" for word in ("--printer", f"{name}={FIRST[name]}")]
            process = subprocess.Popen(
                [
                    sys.executable, "-m", "cheque", "print", "1", *places, "--proof-code", three.firm.proof(),
                    "--paper-loaded", "--after-first", "go-on",
                ],
                cwd=three.firm.folder, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
            )  # fmt: skip
            soon(lambda three=three: all(s.sheets()[0].whole for s in three.printers.values()), 20)
            os.kill(process.pid, signal.SIGINT)
            if times == 2:
                os.kill(process.pid, signal.SIGINT)
                soon(lambda process=process: process.poll() is not None, 3)
            _, err = process.communicate(timeout=20)
            assert process.returncode == 4
            assert err.count(b"the run stopped after") == 3
            for run, name in enumerate("abc", 1):
                three.resume(name, run, "--between", "torn")
            payees = three.payees()
            assert len(payees) == len(set(payees)) == 24


@pytest.mark.parametrize(
    ("options", "status"),
    [
        (("--printer", "a", "--printer", "b"), 2),
        (("--printer", "a=100501", "--printer", "b"), 2),
        (("--printer", "a=100501", "--printer", "a=100601"), 2),
        (("--printer", "a=100501", "--printer", "nobody=100601"), 3),
        (("--printer", "a=100501", "--printer", "b=100505"), 5),
        (("--printer", "a=100501", "--printer", "b=100601", "--first-number", "100501"), 2),
        (("--printer", "a=100501", "--printer", "b=900601"), 5),
    ],
)
def test_what_cannot_be_divided_is_refused_and_no_number_is_used(
    tmp_path: Path, options: tuple[str, ...], status: int
) -> None:
    with shop(tmp_path) as three:
        code = three.firm.proof()
        firm = three.firm
        firm.run(
            "print", "1", *options, "--proof-code", code, "--paper-loaded", "--after-first", "go-on", expect=status
        )
        assert firm.run("stock", "list", "--json").json[0]["states"] == {"on hand": 500, "received": 500}
        assert all(printer.sheets()[0].blank for printer in three.printers.values())
        three.print()


def test_at_a_terminal_each_first_form_is_asked_for_in_turn_and_each_printer_has_its_line(tmp_path: Path) -> None:
    with shop(tmp_path) as three:
        near, far = pty.openpty()
        places = [word for name in "abc" for word in ("--printer", f"{name}={FIRST[name]}")]
        command = [sys.executable, "-m", "cheque", "print", "1", *places, "--proof-code", three.firm.proof(), "--json"]
        process = subprocess.Popen(
            [*command, "--paper-loaded"], cwd=three.firm.folder, stdin=far, stdout=subprocess.PIPE, stderr=far
        )
        os.close(far)
        said = ""
        for answer in ("yes\n", "no\n", "yes\n"):
            said += until(near, "(yes/no) ")
            os.write(near, answer.encode())
        said += until(near, "")
        out, _ = process.communicate(timeout=20)
        os.close(near)
        assert process.returncode == 4
        assert len(re.findall(r"Is form (100[567]01) good", said)) == 3
        told = json.loads(out)["runs"]
        stopped = [one["printer"] for one in told if one["stopped"]]
        assert len(stopped) == 1
        assert "the first form was not right" in next(one["stopped"] for one in told if one["stopped"])
        assert all(f"{name}: form" in said for name in "abc")
        assert "\x1b[3A" in said
        for name in set("abc") - set(stopped):
            assert len(three.good(name)) == 8
        assert len(three.good(stopped[0])) == 1


def until(terminal: int, wanted: str) -> str:
    """What a terminal shows up to some words; to the end for none."""
    said = ""
    while not wanted or wanted not in said:
        try:
            piece = os.read(terminal, 4096)
        except OSError:  # nobody has it open any more
            break
        if not piece:
            break
        said += piece.decode(errors="replace")
    return said


def test_fewer_payments_than_printers_leaves_one_without_work(tmp_path: Path) -> None:
    with shop(tmp_path) as three:
        said = three.print("--count", "2")
        assert "nothing is left for it to print" in said
        assert sum(len(three.good(name)) for name in "abc") == 2
