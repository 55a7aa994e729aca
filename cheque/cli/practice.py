"""`cheque practice`: a practice printer, to learn on and to try things out: no hardware, no wasted forms."""

import os
import re
import select
import shutil
import sys
import threading
import time
from pathlib import Path

import click

from cheque import language as languages
from cheque import library, practice
from cheque.cli.desk import answer, interactive, say, settings
from cheque.errors import InputRefused, UsageRefused
from cheque.form.model import Form
from cheque.language.tables import TABLES
from cheque.practice import orders, show
from cheque.practice.paper import Sheet
from cheque.tongue import tr
from cheque.units import read_length

_LISTEN = re.compile(r"(?:\[(?P<six>[0-9A-Fa-f:.]+)\]|(?P<host>[A-Za-z0-9.-]+)):(?P<port>\d{1,5})")
#: how often its memory, its control file and its terminal are looked at
_TICK = 0.1


@click.command("practice")
@click.option("--listen", required=True, metavar="HOST:PORT", help="Where to print to, such as 127.0.0.1:9100.")
@click.option("--form", default="payroll-us", show_default=True, help="The form that is loaded.")
@click.option("--first-number", default=100501, show_default=True, type=click.IntRange(1), help="The form at the head.")
@click.option("--language", type=click.Choice(languages.NAMES), default="escp9", show_default=True)
@click.option("--step", metavar="LENGTH", help="The true step of its paper feed; else what is usual for the language.")
@click.option("--table", type=click.Choice(tuple(TABLES)), default="cp437", help="Its character table.")
@click.option(
    "--speed", type=click.IntRange(0, 100_000), default=200, show_default=True, help="Characters a second; 0: at once."
)
@click.option(
    "--memory", type=click.IntRange(16, 1 << 24), default=8192, show_default=True, help="Characters it holds."
)
@click.option("--no-sensor", is_flag=True, help="It does not notice missing paper, as many do not.")
@click.option("--paper", type=click.Path(file_okay=False), metavar="DIR", help="A picture of every form goes there.")
@click.option(
    "--pictures", type=click.Choice(["png", "txt"]), default="png", show_default=True, help="What kind, in DIR."
)
@click.option("--control", type=click.Path(), metavar="FILE", help="A file or pipe whose lines are orders.")
@click.option("--quiet", is_flag=True, help="One line for each form, not the form itself.")
def practice_command(
    listen: str,
    form: str,
    first_number: int,
    language: str,
    step: str | None,
    table: str,
    speed: int,
    memory: int,
    no_sensor: bool,
    paper: str | None,
    pictures: str,
    control: str | None,
    quiet: bool,
) -> None:
    """A practice printer that takes what `cheque print` sends, at a printer's pace, onto numbered forms.

    Set `address = "socket://HOST:PORT"` for a printer in cheque.toml, and print. While it runs, type orders:
    jam, clear, tear NUMBER, paper-out, load NUMBER, skip, power-off, power-on, garble, paper, quit.
    """
    host, port = _place(listen)
    definition = library.load(form, _own_forms())
    inside = practice.Mechanism(
        languages.get(language),
        languages.Printer(language, _step(step, language), table, vouched=frozenset({languages.HIGH_LETTERS})),
        definition.paper.length,
        memory=memory,
        sensor=not no_sensor,
    )
    inside.load(first_number)
    try:
        printer = practice.Practice(inside, host=host, port=port, speed=speed)
    except OSError as error:
        raise InputRefused(
            tr(
                "{listen} cannot be listened at: {strerror}. Choose another port.",
                listen=listen,
                strerror=error.strerror,
            )
        ) from None
    folder = show.Folder(Path(paper), definition, pictures) if paper else None
    with printer:
        say(
            tr(
                "The practice printer listens at {address}, form {first_number} of {form} at the head.",
                address=printer.address,
                first_number=first_number,
                form=form,
            )
        )
        say(tr("Orders: ") + ", ".join(orders.SHORT.values()) + ".")
        desk = _Desk(printer, definition, folder, quiet=quiet)
        try:
            desk.attend(control)
        except KeyboardInterrupt:
            say()
        desk.look()
        desk.reckon()


def _place(listen: str) -> tuple[str, int]:
    found = _LISTEN.fullmatch(listen)
    if not found or int(found["port"]) > 65535:
        raise UsageRefused(tr("found --listen {listen!r}; wanted HOST:PORT, such as 127.0.0.1:9100.", listen=listen))
    return found["six"] or found["host"], int(found["port"])


def _own_forms() -> Path | None:
    """The firm's own forms, when there are settings here; practice needs none."""
    try:
        return settings().forms
    except InputRefused:
        return None


def _step(text: str | None, language: str) -> int:
    usual = {"plain": "1/6 in", "escp24": "1/180 in"}.get(language, "1/216 in")
    try:
        step = read_length(text or usual)
    except ValueError as error:
        raise UsageRefused(f"--step: {error}.") from None
    if step <= 0:
        raise UsageRefused(tr("found --step {text!r}; wanted more than nothing.", text=text))
    return step


class _Desk:
    """Who stands beside the practice printer: hears orders, shows forms as they come."""

    def __init__(self, printer: practice.Practice, form: Form, folder: show.Folder | None, *, quiet: bool) -> None:
        self._printer, self._form, self._folder, self._quiet = printer, form, folder, quiet
        self._told: dict[int, Sheet] = {}
        self._said: dict[int, str] = {}
        self._pictured: set[int] = set()
        self._platen = 0
        self._over = False

    def attend(self, control: str | None) -> None:
        """Until `quit`, or until there is nobody left who could say it."""
        if control is not None:
            threading.Thread(target=self._heed, args=(control,), daemon=True).start()
        typed = interactive()
        while not self._over:
            self.look()
            if typed and select.select([sys.stdin], [], [], _TICK)[0]:
                data = os.read(sys.stdin.fileno(), 4096)  # a terminal gives whole lines
                typed = bool(data)
                for line in data.decode(errors="replace").splitlines():
                    self._carry_out(line)
            elif not typed:
                time.sleep(_TICK)

    def _heed(self, control: str) -> None:
        """Lines of a control file as they are added; a pipe's until its writer is done, then the next writer's."""
        begun = 0
        while not self._over:
            try:
                with open(control, encoding="utf-8", errors="replace") as file:
                    if file.seekable():
                        file.seek(begun)
                    for line in iter(file.readline, ""):
                        self._carry_out(line)
                    begun = file.tell() if file.seekable() else 0
            except FileNotFoundError:
                begun = 0
            except OSError as error:
                say(tr("  the control file cannot be read: {strerror}", strerror=error.strerror))
                return
            time.sleep(_TICK)

    def _carry_out(self, line: str) -> None:
        try:
            order = orders.read(line)
            if order is None:
                return
            if order.what == "quit":
                self._over = True
            elif order.what == "paper":
                for sheet in self._printer.sheets():
                    say(show.what_became(sheet))
            else:
                self._printer.order(order)
                say(tr("  {what}{it}: done", what=order.what, it=f" {order.number}" if order.number else ""))
        except Exception as error:  # no order ends the practice, nor the thread that hears orders
            say(f"  {error}")

    def look(self) -> None:
        """Show every form that has passed the head since the last look, once, and say what became of earlier ones."""
        here = self._printer.mechanism.paper.here
        for sheet in self._printer.sheets():
            if self._told.get(sheet.number) == sheet:
                continue
            if sheet.passed or sheet.harm:
                self._told[sheet.number] = sheet
                self._show(sheet, finished=sheet.passed or sheet.number != here)
                if self._folder is not None:
                    self._folder.show(sheet)
        platen = self._printer.mechanism.paper.platen
        if platen > self._platen:
            self._platen = platen
            say(
                tr(
                    "  DAMAGE: {platen} characters struck on the bare platen. On a real printer the pins hit rubber "
                    "and are bent or worn: stop it, load paper.",
                    platen=platen,
                )
            )

    def _show(self, sheet: Sheet, *, finished: bool) -> None:
        """A line about a form when it tells something new; the form itself, when it is finished, the first time."""
        line = show.what_became(sheet)
        if not self._quiet and finished and sheet.number not in self._pictured:
            self._pictured.add(sheet.number)
            width = shutil.get_terminal_size((80, 24)).columns if sys.stderr.isatty() else 80
            say(show.on_terminal(self._form, sheet, max(20, min(80, width))))
        elif self._said.get(sheet.number) != line:
            say(line)
        self._said[sheet.number] = line

    def reckon(self) -> None:
        """What came of it all, as an answer: a line for each form."""
        for sheet in self._printer.sheets():
            answer(show.what_became(sheet))
        if self._platen:
            answer(tr("characters struck on the bare platen: {platen}", platen=self._platen))
