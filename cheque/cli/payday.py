"""`cheque payday`: the guided run through all of it, one question at a time."""

import os
import shutil
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import click

from cheque import system
from cheque.book.batches import Batch
from cheque.book.book import Book
from cheque.cli.desk import interactive, opened, private_write, say
from cheque.errors import UsageRefused
from cheque.guide.talk import Left, Talk
from cheque.run import Setting
from cheque.tongue import mark, tr

_UNATTENDED = mark(
    "cheque payday asks a person at a terminal, and standard input is none. Unattended, the same is done by: "
    "cheque batch accept, cheque proof, cheque print, cheque resume, cheque confirm, cheque reconcile numbers, "
    "cheque report; each takes its answers as options."
)


@click.command("payday")
@click.option("--plain", is_flag=True, help="For a screen reader or a slow line: nothing is redrawn, no colour.")
def payday_command(plain: bool) -> None:
    """The guided run: one question at a time, from payroll's register to the bank.

    Leave it at any point (q, Ctrl-C, a lost line); the same command takes it up again where the book says it stands.
    To every question ? gives help, and back goes to the question before it.
    """
    if not interactive():
        raise UsageRefused(tr(_UNATTENDED))
    from cheque.guide.payday import Payday

    with opened() as (found, book):
        payday = Payday(found, book, _talk(plain), _Files(book))
        try:
            payday.run()
        except Left as left:
            say(tr("Left here; nothing is lost. cheque payday takes it up again where it stands."))
            if left.how != "quit":
                click.get_current_context().exit(4)
            return
    if not payday.agreed:
        click.get_current_context().exit(1)


def _talk(plain: bool) -> Talk:
    dumb = os.environ.get("TERM", "") in ("", "dumb")
    colour = sys.stderr.isatty() and not dumb and "NO_COLOR" not in os.environ
    width = shutil.get_terminal_size((80, 24)).columns - 1
    return Talk(_read, _write, width=width, plain=plain or dumb or not sys.stderr.isatty(), bold=colour)


def _read() -> str:
    return sys.stdin.readline()


def _write(text: str) -> None:
    with suppress(OSError, ValueError):  # a terminal that has gone hears nothing
        sys.stderr.write(text)
        sys.stderr.flush()


class _Files:
    """What a payday leaves beside it: its owner's only."""

    def __init__(self, book: Book) -> None:
        self._book = book

    @property
    def kinds(self) -> tuple[str, ...]:
        """The endings that `cheque proof -o` takes."""
        from cheque.cli.proof import KINDS

        return KINDS

    def proof(self, path: Path, batch: Batch, setting: Setting, code: str) -> None:
        """Draw a proof, as `cheque proof -o` does."""
        from cheque.cli.proof import draw

        draw(path, self._book, batch, setting, code, 0, "letter", False)

    def save(self, path: Path, data: bytes) -> None:
        """Write a new file."""
        private_write(path, data)

    def show(self, path: Path) -> str:
        """Have a file opened by the desktop's own opener."""
        return system.show(path.resolve(), sys.platform)

    def print(self, path: Path, queue: str) -> str:
        """Hand a file to the spooler's own command."""
        command = shutil.which("lp")
        if command is None:
            return tr("this machine has no lp command")
        try:
            done = subprocess.run(
                [command, "-d", queue, str(path.resolve())],
                stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=60, check=False,
            )  # fmt: skip
        except (OSError, subprocess.TimeoutExpired) as error:
            return str(error)
        return (
            ""
            if done.returncode == 0
            else " ".join(done.stderr.split()) or tr("lp ended with {returncode}", returncode=done.returncode)
        )
