"""A small firm at work: a folder with settings, a book and registers, and the command line run in it.

`Firm.run` calls the command line in this process, with standard input no terminal; `Firm.spawn` runs it as a user
would, in a process of its own.
"""

import contextlib
import io
import json
import os
import shutil
import sqlite3
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

from outside.paper import read

from cheque.book import where
from cheque.book.place import FILE
from cheque.cli import status_of

DEMO = Path(__file__).resolve().parents[2] / "demo"
REGISTER = "payday-2026-11-27.csv"
LENGTH = Fraction(7)
TOTALS = ("--control-total", "18214.77", "--item-count", "24", "--hash-total", "51877")


class Said(NamedTuple):
    """What a command said, and its exit status."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The answer, read as JSON."""
        return json.loads(self.out)


class _Input(io.TextIOWrapper):
    def __init__(self, data: bytes) -> None:
        super().__init__(io.BytesIO(data), "utf-8")


class _Output(io.TextIOWrapper):
    """As Python's own standard streams: what cannot be written in UTF-8 is an error on the one for answers."""

    def __init__(self, errors: str) -> None:
        self._bytes = io.BytesIO()
        super().__init__(self._bytes, "utf-8", errors=errors, newline="", write_through=True)

    @property
    def text(self) -> str:
        """Everything that was written."""
        return self._bytes.getvalue().decode()


class Firm:
    """Quillmere Boatyard in a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def copy(self, folder: Path) -> "Firm":
        """The same firm in another folder, as if it had always been there."""
        shutil.copytree(self.folder, folder, dirs_exist_ok=True)
        if (folder / "book" / FILE).exists():
            where.settle_file(folder / "book", folder / "book" / FILE)
        return Firm(folder)

    def run(self, *arguments: str, expect: int | None = 0, stdin: bytes = b"") -> Said:
        """Run one command here; `expect` is the exit status it must have (None: any)."""
        out, err = _Output("strict"), _Output("backslashreplace")
        before, standard_input = Path.cwd(), sys.stdin
        os.chdir(self.folder)
        sys.stdin = _Input(stdin)
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                status = status_of(list(arguments))
        finally:
            os.chdir(before)
            sys.stdin = standard_input
        said = Said(status, out.text, err.text)
        if expect is not None:
            assert status == expect, (
                f"cheque {' '.join(arguments)} ended with {status}, not {expect}:\n{said.err}{said.out}"
            )
            assert "Traceback" not in said.err
            assert "fault of the tool's own" not in said.err
        return said

    def start(self, *arguments: str, **how: Any) -> "subprocess.Popen[bytes]":
        """Begin one command in a process of its own, its talk and answers to be read."""
        given = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **how}
        return subprocess.Popen([sys.executable, "-m", "cheque", *arguments], cwd=self.folder, **given)

    def spawn(self, *arguments: str, stdin: bytes = b"", environment: dict[str, str] | None = None) -> Said:
        """Run one command in a process of its own."""
        done = subprocess.run(
            [sys.executable, "-m", "cheque", *arguments],
            cwd=self.folder,
            input=stdin,
            capture_output=True,
            env={**os.environ, **(environment or {})},
            check=False,
        )
        return Said(done.returncode, done.stdout.decode(), done.stderr.decode())

    def set_up(
        self, *, address: str = "file:payroom.prn", language: str = "escp9", book: str = "book", **printer: str
    ) -> "Firm":
        """Settings, an empty book and a box of forms 100501 to 101000."""
        self.run(
            "setup", "--drawer", "Quillmere Boatyard Company", "--address", "1 Slipway Lane",
            "--address", "Quillmere, QM 00401", "--bank", "Tidewrack Savings Bank",
            "--routing", "123456780", "--account-number", "000417293355", "--book", book,
        )  # fmt: skip
        settings = self.folder / "cheque.toml"
        text = settings.read_text().replace('"file:payroom.prn"', f'"{address}"')
        text = text.replace('language = "escp9"', f'language = "{language}"')
        text = text.replace("# window = 1  ", "window = 1    ")  # form by form, so that a stop falls between any two
        if language == "plain":
            text = text.replace('step = "1/216 in"', 'step = "1/6 in"')
        for key, value in printer.items():
            lines = [line if not line.startswith(f"{key} =") else f"{key} = {value}" for line in text.splitlines()]
            text = "\n".join(lines) + "\n"
        settings.write_text(text)
        self.run("stock", "receive", "payroll-us", "--account", "main", "--first", "100501", "--last", "101000")
        return self

    def change(self, old: str, new: str) -> None:
        """Change something in the settings."""
        settings = self.folder / "cheque.toml"
        text = settings.read_text("utf-8")
        assert old in text
        settings.write_text(text.replace(old, new), "utf-8")

    def write(self, name: str, *rows: str, head: str = "payee,amount,date,reference,employee") -> str:
        """A register of these rows, in the firm's folder."""
        (self.folder / name).write_text("\n".join([head, *rows]) + "\n", "utf-8")
        return name

    def register(self, name: str = REGISTER) -> str:
        """A register of the demo's, in the firm's folder."""
        (self.folder / name).write_bytes((DEMO / name).read_bytes())
        return name

    def accept(self, name: str = REGISTER, *totals: str) -> int:
        """Accept a register; gives the batch."""
        said = self.run("batch", "accept", self.register(name), "--form", "payroll-us", *(totals or TOTALS))
        return int(said.out)

    def proof(self, batch: int = 1) -> str:
        """Prove a batch; gives the proof code."""
        return self.run("proof", str(batch)).out.strip()

    def print(self, batch: int = 1, first: int | str = 100501, *more: str, expect: int | None = 0) -> Said:
        """Print a batch from a number on, first proofed anew."""
        return self.run(
            "print", str(batch), "--first-number", str(first), "--proof-code", self.proof(batch),
            "--paper-loaded", "--after-first", "go-on", *more, expect=expect,
        )  # fmt: skip

    def paid(self) -> "Firm":
        """The demo's payday, printed and confirmed: 24 good cheques, 100501 to 100524."""
        self.accept()
        self.print()
        self.run("confirm", "1", "--good-count", "24")
        return self

    def resume(self, last_good: str, next_number: str, *more: str, batch: int = 1, expect: int | None = 0) -> Said:
        """Answer for a run that stopped, and print the rest."""
        return self.run(
            "resume", str(batch), "--power-cycled", "--last-good", last_good, "--next-number", next_number,
            "--paper-loaded", "--after-first", "go-on", *more, expect=expect,
        )  # fmt: skip

    def state(self, number: int | str) -> str:
        """What a number is."""
        return str(self.run("show", str(number), "--json").json["is"])

    def numbers(self, batch: int = 1) -> dict[int, tuple[int, str]]:
        """Of each payment of a batch: the number it is on, or 0, and what that is."""
        found = self.run("batch", "show", str(batch), "--json").json["payments"]
        return {one["payment"]: (one["number"], one["is"]) for one in found}

    def events(self) -> list[tuple[str, Any]]:
        """Every event of the book: its kind and its body, read past the tool."""
        with contextlib.closing(sqlite3.connect(self.folder / "book" / "book.sqlite")) as db:
            rows = db.execute("SELECT kind, body FROM event ORDER BY seq").fetchall()
        return [(kind, json.loads(body)) for kind, body in rows]

    def events_of(self, kind: str) -> list[Any]:
        """The bodies of the events of one kind."""
        return [body for one, body in self.events() if one == kind]

    def struck(self, language: str = "escp9") -> list[str]:
        """The numbers struck on the paper, form by form, read by a decoder that is not the package's."""
        paper = read(self.stream, language)
        forms = int(paper.fed / LENGTH)
        assert paper.fed == forms * LENGTH
        # The form's own number stands at line 26, column 71, ten wide.
        return [
            paper.text_at(form, LENGTH, Fraction(70, 10), Fraction(25, 6), Fraction(1)).strip() for form in range(forms)
        ]

    @property
    def stream(self) -> bytes:
        """What the printer got."""
        return (self.folder / "payroom.prn").read_bytes()
