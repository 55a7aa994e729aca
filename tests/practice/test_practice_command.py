"""`cheque practice`, as a person meets it: a process of its own that prints are sent to and orders are given to."""

import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from device.peers import soon
from journeys.firm import Firm

from cheque.cli.practice import practice_command
from cheque.library import load
from cheque.page import Mark
from cheque.practice import show
from cheque.practice.orders import SHORT
from cheque.practice.paper import Sheet
from cheque.units import INCH


class Room:
    """A practice printer in a process, and its control file."""

    def __init__(self, folder: Path, *options: str) -> None:
        self.folder = folder
        self.control = folder / "orders"
        self.control.touch()
        self.talk = folder / "talk"
        with self.talk.open("wb") as talk:
            self.process = subprocess.Popen(
                [
                    sys.executable, "-m", "cheque", "practice", "--listen", "127.0.0.1:0", "--speed", "0",
                    "--control", str(self.control), "--quiet", *options,
                ],
                cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=talk,
            )  # fmt: skip
        soon(lambda: "listens at" in self.said(), 15)
        found = re.search(r"socket://\S+:\d+", self.said())
        assert found
        self.address = found[0]

    def said(self) -> str:
        """All it has said so far."""
        return self.talk.read_text()

    def order(self, text: str) -> None:
        """Give an order, and wait until it is carried out."""
        before = self.said().count("done")
        with self.control.open("a") as file:
            file.write(text + "\n")
        soon(lambda: self.said().count("done") > before)

    def end(self) -> str:
        """Quit; what it reckons up."""
        with self.control.open("a") as file:
            file.write("quit\n")
        return self.process.communicate(timeout=15)[0].decode()


@contextmanager
def room(folder: Path, *options: str) -> Iterator[Room]:
    made = Room(folder, *options)
    try:
        yield made
    finally:
        if made.process.poll() is None:
            made.process.kill()
        made.process.communicate()


def test_a_payday_on_practice_paper_with_a_torn_form_and_a_loss_of_power(tmp_path: Path) -> None:
    with room(tmp_path, "--paper", "paper", "--pictures", "txt") as printer:
        (tmp_path / "firm").mkdir()
        firm = Firm(tmp_path / "firm").set_up(address=printer.address)
        firm.accept()
        firm.print(1, 100501, "--count", "10")
        printer.order("tear 100504")
        printer.order("power-off")
        code = firm.proof()
        resume = (
            "resume", "1", "--last-good", "100510", "--next-number", "100511", "--spoiled", "100504=torn",
            "--power-cycled", "--paper-loaded", "--after-first", "go-on",
        )  # fmt: skip
        refused = firm.run(*resume, expect=4)
        assert "refused" in refused.err
        assert code
        printer.order("power-on")
        printer.order("load 100511")
        firm.run(*resume[:2], "--next-number", "100511", *resume[-4:])
        soon(lambda: "form 100525: struck" in printer.said())
        firm.run("confirm", "1", "--good-count", "15")
        firm.run("reconcile", "numbers", "1", expect=None)
        reckoned = printer.end()
    good = [int(n) for n in re.findall(r"form (\d+): struck, whole", reckoned)]
    assert good == [n for n in range(100501, 100526) if n != 100504]
    assert "form 100504: NOT GOOD: torn" in reckoned
    pictures = {path.name for path in (tmp_path / "paper").iterdir()}
    assert pictures == {f"form-{n}.txt" for n in range(100501, 100526)}
    text = (tmp_path / "paper" / "form-100501.txt").read_text()
    assert "EIGHT HUNDRED SIXTY-THREE" in text.upper()
    assert text.count("Part ") == 3
    assert (tmp_path / "paper" / "form-100501.txt").stat().st_mode & 0o077 == 0
    assert "torn" in (tmp_path / "paper" / "form-100504.txt").read_text()


def test_pictures_of_the_paper_are_drawn_with_all_parts(tmp_path: Path) -> None:
    from PIL import Image

    with room(tmp_path, "--paper", "paper") as printer:
        firm = Firm(tmp_path / "firm")
        firm.folder.mkdir()
        firm.set_up(address=printer.address)
        firm.accept()
        firm.print(1, 100501, "--count", "1")
        soon(lambda: (tmp_path / "paper" / "form-100501.png").exists())
        printer.end()
    with Image.open(tmp_path / "paper" / "form-100501.png") as image:
        assert image.width > 2 * image.height


def test_the_paper_bears_its_own_number_beside_the_one_struck_on_it() -> None:
    form = load("payroll-us")
    before = [caption for caption in form.preprint.captions if caption.what == "number"]
    after = [caption for caption in show.numbered(form, 100502).preprint.captions if caption.text == "100502"]
    assert len(after) == len(before) > 0
    assert [(one.x, one.top) for one in after] == [(one.x, one.top) for one in before]
    assert not any(caption.what == "number" for caption in show.numbered(form, 100502).preprint.captions)


def test_without_a_sensor_the_damage_to_the_platen_is_told(tmp_path: Path) -> None:
    with room(tmp_path, "--no-sensor") as printer:
        firm = Firm(tmp_path / "firm")
        firm.folder.mkdir()
        firm.set_up(address=printer.address)
        firm.accept()
        printer.order("paper-out")
        firm.print(1, 100501, "--count", "2")
        soon(lambda: "DAMAGE" in printer.said())
        assert re.search(r"characters struck on the bare platen: [1-9]", printer.end())


def test_control_c_ends_it_with_the_reckoning(tmp_path: Path) -> None:
    with room(tmp_path) as printer:
        os.kill(printer.process.pid, signal.SIGINT)
        out, _ = printer.process.communicate(timeout=15)
        assert out.decode().splitlines() == ["form 100501: blank"]
        assert printer.process.returncode == 0


@pytest.mark.parametrize(
    ("options", "status"),
    [
        (("--listen", "9100"), 2),
        (("--listen", "127.0.0.1:99999"), 2),
        (("--listen", "127.0.0.1:0", "--form", "no-such-form"), 3),
        (("--listen", "127.0.0.1:0", "--step", "7 bananas"), 2),
        (("--listen", "192.0.2.1:9100"), 3),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(tmp_path: Path, options: tuple[str, ...], status: int) -> None:
    said = Firm(tmp_path).run("practice", *options, expect=status)
    assert said.err.startswith("cheque: ")


def test_orders_that_are_none_are_answered_and_change_nothing(tmp_path: Path) -> None:
    with room(tmp_path) as printer:
        with printer.control.open("a") as file:
            file.write("load 0\ntear 00\nexplode\ntear 5\n")
        soon(lambda: "load takes the number of a form after it" in printer.said())
        soon(lambda: "tear takes the number of a form after it" in printer.said())
        soon(lambda: "there is no order 'explode'" in printer.said())
        soon(lambda: "form 5 has not been in the printer" in printer.said())
        time.sleep(0.05)
        assert printer.end() == "form 100501: blank\n"


def test_orders_are_typed_at_its_terminal_and_forms_are_shown_there(tmp_path: Path) -> None:
    near, far = pty.openpty()
    command = [sys.executable, "-m", "cheque", "practice", "--listen", "127.0.0.1:0", "--speed", "0"]
    process = subprocess.Popen(command, cwd=tmp_path, stdin=far, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    try:
        os.write(near, b"tear 100501\ns\n")
        time.sleep(0.5)
        os.write(near, b"q\n")
        out, err = process.communicate(timeout=15)
    finally:
        process.kill()
        os.close(near)
        os.close(far)
    assert out.decode().splitlines() == ["form 100501: NOT GOOD: torn", "form 100502: blank"]
    assert "Part 1 of 3" in err.decode()


def test_a_terminal_of_80_columns_shows_every_finished_form_once_and_unbroken(tmp_path: Path) -> None:
    near, far = pty.openpty()
    termios.tcsetwinsize(far, (24, 80))
    environment = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
    process = subprocess.Popen(
        [sys.executable, "-m", "cheque", "practice", "--listen", "127.0.0.1:0", "--speed", "0"],
        cwd=tmp_path, stdin=far, stdout=subprocess.PIPE, stderr=far, env=environment,
    )  # fmt: skip
    heard: list[str] = []

    def said(wanted: str) -> bool:
        if select.select([near], [], [], 0.1)[0]:
            heard.append(os.read(near, 65536).decode())
        return wanted in "".join(heard)

    try:
        soon(lambda: said("Orders:"), 15)
        found = re.search(r"socket://\S+:\d+", "".join(heard))
        assert found
        (tmp_path / "firm").mkdir()
        firm = Firm(tmp_path / "firm").set_up(address=found[0])
        firm.accept()
        firm.print(1, 100501, "--count", "2")
        soon(lambda: said("form 100502: struck, whole"), 15)
        os.write(near, b"tear 100501\n")
        soon(lambda: said("form 100501: NOT GOOD: torn"), 15)
        os.write(near, b"q\n")
        soon(lambda: process.poll() is not None, 15)
        said("")
    finally:
        process.kill()
        process.communicate()
        os.close(far)
        os.close(near)
    lines = "".join(heard).replace("\r", "").split("\n")
    assert max(len(line) for line in lines) <= 80
    assert sum("Part 1 of 3" in line for line in lines) == 2
    assert sum("form 100502:" in line for line in lines) == 1
    payment = json.loads(firm.run("batch", "show", "1", "--json").out)["payments"][0]
    pictured = show.on_terminal(load("payroll-us"), Sheet(1, (), (), False)).count("\n")
    begun = lines.index("form 100501: struck, whole")
    shown = lines[begun : begun + pictured]
    assert sum(str(payment["payee"]) in line for line in shown) >= 1
    assert any("EIGHT HUNDRED SIXTY-THREE" in line.upper() for line in shown)


def test_a_line_too_long_for_the_terminal_loses_nothing_that_is_struck() -> None:
    form = load("payroll-us")
    text = "A" * 30 + " " * 20 + "B" * 45
    tenth = INCH // 10
    sheet = Sheet(100501, (Mark(0, 0, tenth, 0, text), Mark(0, INCH, tenth, 0, "C" * 84)), (), True)
    shown = show.on_terminal(form, sheet, 80)
    assert max(len(line) for line in shown.split("\n")) <= 80
    assert "A" * 30 + "     " + "B" * 45 in shown
    assert shown.count("C") == 84


def test_the_document_names_every_order_and_option() -> None:
    text = (Path(__file__).parents[2] / "docs" / "practice.md").read_text()
    for order in SHORT.values():
        assert f"`{order}" in text, order
    for parameter in practice_command.params:
        assert f"`{parameter.opts[0]}" in text, parameter.opts
    program = re.search(r"```python\n(.*?)```", text, re.DOTALL)
    assert program
    exec(compile(program[1], "docs/practice.md", "exec"), {})
