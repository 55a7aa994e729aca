"""A firm whose register is long enough for a crew: thousands of payments, some of several kinds, to a file."""

import os
import signal
import sqlite3
import subprocess
from pathlib import Path
from typing import Any

from journeys.firm import Firm

from cheque import crew

FIRST = 100_501
HEAD = (
    "payee,amount,date,reference,employee,earning1,earning1_hours,earning1_rate,earning1_amount,"
    "deduction1,deduction1_amount,deduction1_to_date"
)


def amount(item: int) -> int:
    """What one payment of a register is (minor units); every ninetieth is an advice."""
    return 0 if item % 90 == 0 else 100_000 + item * 37 % 90_000


def row(item: int) -> str:
    """One payment of a register."""
    cents = amount(item)
    earned, payee = cents + 4_210, f"Hand {item} of the Slipway" if item % 7 else f"Renée Oakum-{item}"
    return (
        f"{payee},{money(cents)},2026-11-27,W48-{item},{2000 + item},Rigging,37.50,24.10,{money(earned)},"
        f"Tool fund,42.10,{money(42 * item)}"
    )


def money(cents: int) -> str:
    """An amount of a register."""
    return f"{cents // 100}.{cents % 100:02d}"


def crowd(folder: Path, payments: int, book: str = "book") -> Firm:
    """A firm with such a register, a box of forms for it, and a printer that is a file, as `cheque setup` has it."""
    firm = Firm(folder)
    firm.run("setup", "--drawer", "Quillmere Boatyard Company", "--bank", "Tidewrack Savings Bank", "--book", book)
    firm.run("stock", "receive", "payroll-us", "--first", str(FIRST), "--last", str(FIRST + payments + 99))
    firm.write("crowd.csv", *map(row, range(1, payments + 1)), head=HEAD)
    total = money(sum(map(amount, range(1, payments + 1))))
    (firm.folder / "slip").write_text(f"--control-total {total} --item-count {payments}")
    return firm


def accept(firm: Firm, cores: int, *options: str, expect: int = 0) -> str:
    """Accept it in a process of its own with so many cores; what was said."""
    slip = (firm.folder / "slip").read_text().split()
    command = ("batch", "accept", "crowd.csv", "--form", "payroll-us", *slip, *options)
    return process(firm, cores, *command, expect=expect)[1]


def process(firm: Firm, cores: int, *command: str, expect: int = 0) -> tuple[str, str]:
    """Run a command in a process of its own with so many cores; what it answered and what it said."""
    said = firm.spawn(*command, environment={crew.CORES: str(cores)})
    assert said.status == expect, said.err
    assert "Traceback" not in said.err
    return said.out, said.err


def sending(code: str) -> tuple[str, ...]:
    """The command that prints it all."""
    return (
        *("print", "1", "--first-number", str(FIRST), "--proof-code", code),
        *("--paper-loaded", "--after-first", "go-on"),
    )


def begin(firm: Firm, cores: int, *command: str) -> "subprocess.Popen[bytes]":
    """Begin a command in a process and a process group of its own, as a shell does."""
    environment: dict[str, Any] = {**os.environ, crew.CORES: str(cores)}
    return firm.start(*command, env=environment, start_new_session=True)


def workers(process: "subprocess.Popen[bytes]") -> list[int]:
    """The workers that a process has now."""
    try:
        text = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text()
    except (FileNotFoundError, ProcessLookupError):
        return []
    return [int(pid) for pid in text.split()]


def all_gone(process: "subprocess.Popen[bytes]") -> bool:
    """Whether nobody of the process's group is there any more."""
    try:
        os.killpg(process.pid, 0)
    except ProcessLookupError:
        return True
    return all(state(pid) == "Z" for pid in group(process.pid))


def group(leader: int) -> list[int]:
    """The processes of a group."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            try:
                if os.getpgid(int(entry.name)) == leader:
                    found.append(int(entry.name))
            except ProcessLookupError:
                continue
    return found


def state(pid: int) -> str:
    """The state of a process by its letter: Z for one that has ended; so has one that is not there at all."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return "Z"


def kill(pid: int) -> bool:
    """Kill a worker; whether it was there."""
    try:
        os.kill(pid, signal.SIGKILL)
    except ProcessLookupError:
        return False
    return True


def asked(firm: Firm, sql: str) -> list[tuple[Any, ...]]:
    """What a firm's book answers."""
    with sqlite3.connect(firm.folder / "book" / "book.sqlite") as db:
        found = db.execute(sql).fetchall()
    db.close()
    return found
