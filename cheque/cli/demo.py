"""`cheque demo`: a payday of the invented Quillmere boatyard, played through the real commands.

Every step is a command run as a user would run it, in a process of its own, with its output shown. The printer is
a socket on this machine that takes bytes no faster than a printer would and writes them to `payroom-*.prn`.
"""

import json
import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import click

from cheque import system
from cheque.cli.desk import answer, say, wrapped
from cheque.errors import InputRefused, Refusal
from cheque.money import plain
from cheque.tongue import tr

TOTALS = ("--control-total", "18214.77", "--item-count", "24", "--hash-total", "51877")
REGISTER = "payday-2026-11-27.csv"
STATEMENT = "statement-2026-12-04.xml"
#: the bank's balance before, in minor units
OPENING = 2_500_000


def _nothing() -> None:
    """What a jam does while nobody is told of it."""


def demo_data(name: str) -> bytes:
    """A file of the demo: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "shipped_demo"
    return ((installed if installed.is_dir() else package.parent / "demo") / name).read_bytes()


class _PrinterAtTheEndOfACable(threading.Thread):
    """Takes a connection at a time and writes what comes to payroom-1.prn, payroom-2.prn, …

    While `jam_at` is set it stops reading after so many bytes, as a printer does whose paper has jammed, and
    calls `jammed`; then it reads on.
    """

    def __init__(self, folder: Path) -> None:
        super().__init__(daemon=True)
        self._folder, self._runs = folder, 0
        self.jam_at = 0
        self.jammed: Callable[[], None] = _nothing
        self._listener = socket.socket()
        self._listener.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2304)
        self._listener.bind(("127.0.0.1", 0))
        self._listener.listen(1)
        self.port = self._listener.getsockname()[1]

    def run(self) -> None:
        """Serve until the process ends."""
        while True:
            connection, _ = self._listener.accept()
            self._runs += 1
            path = self._folder / f"payroom-{self._runs}.prn"
            handle = os.open(path, os.O_CREAT | os.O_WRONLY | os.O_TRUNC | system.PLAIN, 0o600)
            with connection, os.fdopen(handle, "wb", buffering=0) as paper:
                taken = 0
                while piece := connection.recv(512):
                    paper.write(piece)
                    taken += len(piece)
                    if self.jam_at and taken >= self.jam_at:
                        self.jam_at = 0
                        self.jammed()


class Stage:
    """Runs commands in the demo's folder, showing each, and stops the demo when one ends unlike it should."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.process: subprocess.Popen[str] | None = None

    def tell(self, text: str) -> None:
        """A step of the story."""
        answer()
        answer(f"— {text}")

    def run(self, *arguments: str, status: int = 0, quiet: bool = False) -> str:
        """Run one command; its answer comes back. InputRefused when its exit status is not the one meant."""
        shown = " ".join(f"'{a}'" if " " in a else a for a in arguments)
        if not quiet:
            answer(f"$ cheque {shown}")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "cheque", *arguments],
            cwd=self.folder,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        out, talk = self.process.communicate()
        if not quiet:
            for line in talk.splitlines():
                answer(wrapped(line, 96, "    "))
            for line in out.splitlines():
                answer(f"    {line}" if line else "")
        if self.process.returncode != status:
            raise InputRefused(
                tr(
                    "the demo went wrong: `cheque {shown}` ended with {returncode}, not {status}:\n{talk}{out}",
                    shown=shown,
                    returncode=self.process.returncode,
                    status=status,
                    talk=talk,
                    out=out,
                )
            )
        if status:
            answer(tr("    (exit status {status})", status=status))
        return out

    def interrupt(self) -> None:
        """Ctrl-C to the command in hand."""
        if self.process:
            self.process.send_signal(signal.SIGINT)


@click.command("demo")
@click.argument("folder", metavar="[DIR]", default="demo-payday")
def demo_command(folder: str) -> None:
    """A whole payday of the invented Quillmere boatyard, in DIR, through the real commands, to the bank's statement.

    Nothing is printed on paper; everything it makes stays in DIR to be looked at.
    """
    place = Path(folder)
    if place.exists() and any(place.iterdir()):
        raise InputRefused(
            tr("{folder} is not empty: nothing is written over. Name another folder for the demo.", folder=folder)
        )
    place.mkdir(mode=0o700, parents=True, exist_ok=True)
    stage = Stage(place.resolve())
    printer = _PrinterAtTheEndOfACable(stage.folder)
    printer.start()
    try:
        _morning(stage, printer.port)
        code = _accept_and_proof(stage)
        _print_and_jam(stage, printer, code)
        _void_and_reprint(stage)
        _close(stage)
        _bank(stage)
    except Refusal as refusal:
        say(str(refusal))
        raise
    _what_to_look_at(stage.folder)


def _morning(stage: Stage, port: int) -> None:
    stage.tell(tr("Friday, 27 November 2026, at Quillmere Boatyard. The tool is set up once:"))
    stage.run(
        "setup",
        "--drawer", "Quillmere Boatyard Company",
        "--address", "1 Slipway Lane", "--address", "Quillmere, QM 00401",
        "--bank", "Tidewrack Savings Bank",
        "--routing", "123456780",
        "--account-number", "000417293355",
    )  # fmt: skip
    settings = stage.folder / "cheque.toml"
    text = settings.read_text("utf-8").replace('"file:payroom.prn"', f'"socket://127.0.0.1:{port}"')
    settings.write_text(text, "utf-8")
    stage.tell(tr("The box of forms is entered, with the numbers that are on the forms themselves:"))
    stage.run("stock", "receive", "payroll-us", "--account", "main", "--first", "100501", "--last", "101000")
    for name in (REGISTER, "payday-digits-exchanged.csv"):
        (stage.folder / name).write_bytes(demo_data(name))


def _accept_and_proof(stage: Stage) -> str:
    stage.tell(tr("Payroll hands over a register. It is read and judged; nothing changes:"))
    stage.run("register", "check", REGISTER)
    stage.tell(tr("But the first file they sent had two digits exchanged. The slip's totals catch it:"))
    stage.run("batch", "accept", "payday-digits-exchanged.csv", "--form", "payroll-us", *TOTALS, status=3)
    stage.tell(tr("The right file agrees with the slip, and becomes a batch:"))
    stage.run("batch", "accept", REGISTER, "--form", "payroll-us", *TOTALS)
    stage.tell(tr("A proof is drawn from the very bytes that the printer would get. Its code says who looked at what:"))
    code = stage.run("proof", "1", "-o", "proof.pdf").split()[-1]
    stage.run("proof", "1", "-o", "proof-1.png", "--payment", "1", quiet=True)
    stage.run("proof", "1", "-o", "proof-1.txt", "--payment", "1", quiet=True)
    stage.run("proof", "1", "-o", "proof-1.svg", "--payment", "1", quiet=True)
    stage.tell(tr("A code that is not the proof's prints nothing:"))
    wrong = "2222-2222" if code != "2222-2222" else "3333-3333"
    stage.run(*_print("1", "100501", wrong), status=5)
    return code


def _print(batch: str, first: str, code: str) -> tuple[str, ...]:
    return (
        "print", batch, "--first-number", first, "--proof-code", code, "--paper-loaded", "--after-first", "go-on",
    )  # fmt: skip


def _print_and_jam(stage: Stage, printer: _PrinterAtTheEndOfACable, code: str) -> None:
    stage.tell(
        tr("Paper is loaded, the first form looked at, the run goes … until the paper jams, and Ctrl-C stops it:")
    )
    printer.jam_at, printer.jammed = 24_000, stage.interrupt
    stage.run(*_print("1", "100501", code), status=4)
    forms = json.loads(stage.run("batch", "show", "1", "--json", quiet=True))["payments"]
    last = max(form["number"] for form in forms if form["is"] == "sent")
    stage.tell(
        tr("Form {last} is crumpled. The printer is switched off and on, and the run goes on after it:", last=last)
    )
    stage.run(
        "resume", "1", "--power-cycled", "--last-good", str(last - 1), "--next-number", str(last + 1),
        "--between", "crumpled in the tractors", "--paper-loaded", "--after-first", "go-on",
    )  # fmt: skip
    stage.tell(tr("Every form is looked at, the good ones counted, and the count keyed in:"))
    stage.run("confirm", "1", "--good-count", str(24 - (last - 100501)))


def _void_and_reprint(stage: Stage) -> None:
    stage.tell(tr("Coffee is spilt on a good cheque before it is signed. It is voided, and its payment printed again:"))
    stage.run("void", "100503", "--reason", "coffee spilt on it before signing", "--paper", "in-hand")
    stage.run("reprint", "100503")
    code = stage.run("proof", "2").split()[-1]
    stage.run(*_print("2", "100526", code))
    stage.run("confirm", "2", "--good-count", "1")
    stage.run("show", "100503")


def _close(stage: Stage) -> None:
    stage.tell(tr("Every number is accounted for, and the good cheques add up to the register:"))
    stage.run("reconcile", "numbers", "1")
    stage.run("reconcile", "numbers", "2")
    stage.tell(tr("The reports for the binder:"))
    for name in ("issued", "control", "numbers", "outstanding", "voids", "handover"):
        of = ("--batch", "1") if name == "control" else ()
        stage.run("report", name, *of, "-o", f"report-{name}.txt")
        for kind in ("csv", "html", "json"):
            stage.run("report", name, *of, "--format", kind, "-o", f"report-{name}.{kind}", quiet=True)


def _bank(stage: Stage) -> None:
    stage.tell(
        tr("A week later the bank's statement comes: some of the cheques, a fee, and one figure that is not ours.")
    )
    forms = json.loads(stage.run("batch", "show", "1", "--json", quiet=True))["payments"]
    paid = [(form["number"], _minor(form["amount"])) for form in forms if form["is"] == "printed"][:8]
    number, amount = paid[1]
    paid[1] = (number, _exchanged(amount))
    (stage.folder / STATEMENT).write_text(_statement(paid), "utf-8")
    ledger = plain(OPENING - _minor("18214.77"), "USD")
    stage.run("reconcile", "bank", STATEMENT, "--ledger-balance", ledger, "--to-enter", "fee", status=1)
    stage.tell(
        tr(
            "Bank and ledger agree, once the bank puts {number} right. What it has paid is not voided any more:",
            number=number,
        )
    )
    stage.run("void", str(paid[0][0]), "--reason", "wrong hours", "--paper", "not-in-hand", status=5)
    stage.tell(tr("What is still out, and since when:"))
    stage.run("report", "outstanding")
    stage.tell(tr("And the record is whole:"))
    stage.run("book", "verify")


def _minor(text: str) -> int:
    return int(text.replace(".", ""))


def _exchanged(minor: int) -> int:
    """An amount with two neighbouring digits exchanged, as keyed in by somebody in a hurry."""
    figures = str(minor)
    at = next(at for at in range(len(figures) - 1) if figures[at] != figures[at + 1])
    return int(figures[:at] + figures[at + 1] + figures[at] + figures[at + 2 :])


def _statement(paid: list[tuple[int, int]]) -> str:
    """The bank's statement as ISO 20022 camt.053: these cheques, and its fee."""
    fee, days = 1_500, ("2026-12-01", "2026-12-02", "2026-12-03")
    entries = [
        (days[place % 3], minor, f"<NtryDtls><TxDtls><Refs><ChqNb>{number}</ChqNb></Refs></TxDtls></NtryDtls>")
        for place, (number, minor) in enumerate(paid)
    ]
    entries = [*sorted(entries), ("2026-12-04", fee, "<AddtlNtryInf>account fee</AddtlNtryInf>")]
    closing = OPENING - sum(minor for _, minor, _ in entries)
    booked = "".join(
        f'<Ntry><Amt Ccy="USD">{plain(minor, "USD")}</Amt><CdtDbtInd>DBIT</CdtDbtInd><Sts><Cd>BOOK</Cd></Sts>'
        f"<BookgDt><Dt>{day}</Dt></BookgDt><BkTxCd><Prtry><Cd>CHQ</Cd></Prtry></BkTxCd>{what}</Ntry>\n"
        for day, minor, what in entries
    )
    balances = "".join(
        f"<Bal><Tp><CdOrPrtry><Cd>{code}</Cd></CdOrPrtry></Tp>"
        f'<Amt Ccy="USD">{plain(minor, "USD")}</Amt><CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>{day}</Dt></Dt></Bal>\n'
        for code, minor, day in (("OPBD", OPENING, "2026-11-30"), ("CLBD", closing, "2026-12-04"))
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.08"><BkToCstmrStmt>\n'
        "<GrpHdr><MsgId>TSB-2026-49</MsgId><CreDtTm>2026-12-04T18:00:00</CreDtTm></GrpHdr>\n"
        "<Stmt><Id>2026-49</Id><CreDtTm>2026-12-04T18:00:00</CreDtTm>"
        "<FrToDt><FrDtTm>2026-11-30T00:00:00</FrDtTm><ToDtTm>2026-12-04T23:59:59</ToDtTm></FrToDt>"
        f"<Acct><Id><Othr><Id>000417293355</Id></Othr></Id><Ccy>USD</Ccy></Acct>\n{balances}{booked}"
        "</Stmt></BkToCstmrStmt></Document>\n"
    )


def _what_to_look_at(folder: Path) -> None:
    answer()
    answer(tr("Look in {folder}:", folder=folder))
    for name, what in (
        ("proof.pdf", tr("what was going to be printed: totals, code, and every form, part by part")),
        ("proof-1.png, .svg, .txt", tr("one form of it as a picture, and as text")),
        ("payroom-1.prn …", tr("the bytes the printer got")),
        ("report-*.txt, .csv, .html", tr("the reports for the binder")),
        (STATEMENT, tr("the bank's statement: `cheque reconcile bank` holds it against the book")),
        (
            "cheque.toml, book/",
            tr("the settings, and the book: `cheque show 100503` in that folder tells a form's story"),
        ),
    ):
        answer(f"  {name:<26} {what}")
