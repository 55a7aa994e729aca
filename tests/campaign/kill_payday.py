"""Kills at random moments, and at the n-th sync to disk; then a scripted operator goes on from what the paper shows.

    .venv/bin/python tests/campaign/kill_payday.py --tries 1000 --seed 1 --state FILE --report docs/evidence/kills.md

Each try begins with a copy of a firm at one stage of its payday (accept, print, resume, confirm, void, reprint),
starts the stage's command in a process of its own, and kills it with SIGKILL: after a random part of the time the
command takes, or, through strace, as it enters its n-th fsync or fdatasync. Then:

* `cheque book verify` must pass: chain, tables and the identity of every range of stock;
* no payment may have two live cheques, no number two payments (asked of the tables with SQL of our own);
* the operator looks at the paper (the print stream, read by `outside.paper`, which knows nothing of the package),
  answers truly, goes on to the end, and every payment must have exactly one good cheque, on paper and in the book.

Tries are numbered; with --state they are kept, one line each, and a run that was broken off goes on after them.
"""

import argparse
import contextlib
import io
import json
import os
import random
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from outside.paper import Paper, PaperError, read  # noqa: E402

from cheque.book import where  # noqa: E402
from cheque.cli import status_of  # noqa: E402

LENGTH = Fraction(7)
FIRST = 100501
STAGES = ("accept", "print", "resume", "confirm", "void", "reprint")
PAYMENTS = 6


class Outcome(NamedTuple):
    """One try: its number, stage and way of killing, whether the command was killed in time, and what is wrong."""

    number: int
    stage: str
    way: str
    killed: bool
    wrong: list[str]


class Firm:
    """A firm in a folder, its commands run in this process (with standard input no terminal)."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def run(self, *arguments: str) -> tuple[int, str, str]:
        """Run one command here: exit status, answer, talk."""
        out, err, before, stdin = io.StringIO(), io.StringIO(), Path.cwd(), sys.stdin
        os.chdir(self.folder)
        sys.stdin = io.StringIO()
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                return status_of(list(arguments)), out.getvalue(), err.getvalue()
        finally:
            os.chdir(before)
            sys.stdin = stdin

    def must(self, *arguments: str) -> str:
        """Run one command that has to succeed; gives its answer."""
        status, out, err = self.run(*arguments)
        if status:
            raise AssertionError(f"cheque {' '.join(arguments)} ended with {status}: {err}{out}")
        return out

    def fork(self, arguments: tuple[str, ...], delay: float) -> bool:
        """Run one command in a child process and kill it after a delay; True when it was killed in time."""
        child = os.fork()
        if not child:
            os._exit(self.run(*arguments)[0])
        time.sleep(delay)
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        return os.WIFSIGNALED(os.waitpid(child, 0)[1])

    def at_sync(self, arguments: tuple[str, ...], when: int) -> bool:
        """Run one command under strace, which kills it at its n-th sync; True when it was killed."""
        done = subprocess.run(
            [
                "strace", "-f", "-qq", "-o", os.devnull, "-e", "trace=fsync,fdatasync",
                "-e", f"inject=fsync,fdatasync:signal=SIGKILL:when={when}",
                sys.executable, "-m", "cheque", *arguments,
            ],
            cwd=self.folder,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            check=False,
        )  # fmt: skip
        return done.returncode in (-signal.SIGKILL, 128 + signal.SIGKILL)

    def copy(self, folder: Path) -> "Firm":
        """The same firm elsewhere. Its settings name no absolute path."""
        shutil.copytree(self.folder, folder, dirs_exist_ok=True)
        if (folder / "book" / "book.sqlite").exists():
            where.settle_file(folder / "book", folder / "book" / "book.sqlite")  # as if it had always been there
        return Firm(folder)

    def tables(self, sql: str) -> list[tuple[int, ...]]:
        """Rows of the book's tables, read past the tool."""
        with contextlib.closing(sqlite3.connect(self.folder / "book" / "book.sqlite")) as db:
            return db.execute(sql).fetchall()

    @property
    def stream(self) -> bytes:
        """What the printer has got in all."""
        path = self.folder / "payroom.prn"
        return path.read_bytes() if path.exists() else b""


#: for each stage a firm that has come so far, and the command of that stage
Stages = dict[str, tuple[Firm, tuple[str, ...]]]


def printing(firm: Firm, command: str, batch: str, *more: str) -> tuple[str, ...]:
    """A command that strikes paper, with what it has to be told."""
    return (command, batch, *more, "--paper-loaded", "--after-first", "go-on")


def ready(folder: Path) -> Stages:
    """For each stage a firm that has come so far, and the command of that stage."""
    firm = Firm(folder / "base")
    firm.folder.mkdir()
    firm.must("setup", "--drawer", "Quillmere Boatyard Company", "--bank", "Tidewrack Savings Bank")
    settings = firm.folder / "cheque.toml"  # form by form, so that a kill falls between any two
    settings.write_text(settings.read_text("utf-8").replace("# window = 1  ", "window = 1    "), "utf-8")
    firm.must("stock", "receive", "payroll-us", "--first", str(FIRST), "--last", "100999")
    lines = (ROOT / "demo" / "payday-2026-11-27.csv").read_text("utf-8").splitlines(keepends=True)[: PAYMENTS + 1]
    (firm.folder / "register.csv").write_text("".join(lines), "utf-8")
    total = sum(int(line.split(",")[1].replace(".", "")) for line in lines[1:])
    stages: Stages = {}

    def stage(name: str, *arguments: str) -> None:
        nonlocal firm
        stages[name] = (firm, arguments)
        firm = firm.copy(folder / f"after-{name}")

    slip = ("--control-total", f"{total // 100}.{total % 100:02d}", "--item-count", str(PAYMENTS))
    stage("accept", "batch", "accept", "register.csv", "--form", "payroll-us", *slip)
    firm.must(*stages["accept"][1])
    code = firm.must("proof", "1").strip()
    begin = printing(firm, "print", "1", "--first-number", str(FIRST), "--proof-code", code)
    stage("print", *begin)
    status, _, _ = firm.run(*begin[:-1], "stop")  # stops after the first form
    assert status == 4
    go_on = ("--power-cycled", "--last-good", str(FIRST), "--next-number", str(FIRST + 1))
    stage("resume", *printing(firm, "resume", "1", *go_on))
    firm.must(*stages["resume"][1])
    stage("confirm", "confirm", "1", "--good-count", str(PAYMENTS - 1))
    firm.must(*stages["confirm"][1])
    stage("void", "void", str(FIRST + 1), "--reason", "wrong hours", "--paper", "in-hand")
    firm.must(*stages["void"][1])
    stage("reprint", "reprint", str(FIRST + 1))
    return stages


def on_paper(stream: bytes) -> tuple[Paper, int, bool]:
    """What one run put on paper: the paper, how many whole forms, and whether a torn one follows."""
    for cut in range(len(stream), -1, -1):
        try:
            paper = read(stream[:cut], "escp9")
        except PaperError:
            continue
        whole = int(paper.fed / LENGTH)
        torn = bool(paper.form(whole, LENGTH)) or paper.fed % LENGTH > 0 or bool(paper.unstruck)
        return paper, whole, torn
    raise AssertionError("even no bytes at all cannot be read")


class Sheet(NamedTuple):
    """One form that went through the printer: its preprinted number, its payee, and whether it is whole."""

    number: int
    payee: str
    whole: bool


class Operator:
    """Somebody at the printer who knows only what the paper shows, and answers truly."""

    def __init__(self, firm: Firm) -> None:
        self.firm, self.sheets, self.seen, self.head = firm, list[Sheet](), 0, FIRST

    def look(self) -> None:
        """Take the paper out: what has come since the last look, on the numbers that were at the head."""
        stream = self.firm.stream
        paper, whole, torn = on_paper(stream[self.seen :])
        self.seen = len(stream)
        for form in range(whole + torn):
            payee = paper.text_at(form, LENGTH, Fraction(1, 2), Fraction(32, 6), Fraction(4)).strip("* ")
            self.sheets.append(Sheet(self.head, payee, form < whole))
            self.head += 1

    def in_doubt(self) -> bool:
        """Whether the book waits for an answer."""
        return bool(self.firm.tables("SELECT 1 FROM run WHERE state <> 'closed'"))

    def answers(self) -> tuple[str, ...]:
        """The answers to resume's questions, from the paper alone."""
        mine = [sheet for sheet in self.sheets if sheet.number >= self.run_begins()]
        good = [sheet.number for sheet in mine if sheet.whole]
        told = ("--last-good", str(good[-1]) if good else "none", "--next-number", str(self.head))
        return (*told, "--between", "torn", "--power-cycled")

    def run_begins(self) -> int:
        """The first number of the run in doubt."""
        return int(self.firm.tables("SELECT first FROM run WHERE state <> 'closed' ORDER BY id DESC LIMIT 1")[0][0])

    def finish(self) -> None:
        """From wherever the kill left it to the end of the payday."""
        self.look()
        for batch in [row[0] for row in self.firm.tables("SELECT id FROM batch WHERE state = 'accepted' ORDER BY id")]:
            self._finish(str(batch))

    def _finish(self, batch: str) -> None:
        state = json.loads(self.firm.must("batch", "show", batch, "--json"))["is"]
        if state in ("accepted", "proofed"):
            code = self.firm.must("proof", batch).strip()
            head = ("--first-number", str(self.head), "--proof-code", code)
            self.firm.must(*printing(self.firm, "print", batch, *head))
            self.look()
        elif state != "done":
            told = self.answers() if self.in_doubt() else ("--next-number", str(self.head), "--power-cycled")
            self.firm.must(*printing(self.firm, "resume", batch, *told))
            self.look()
        if self.in_doubt():
            good = len(self.firm.tables("SELECT 1 FROM number WHERE state = 'sent'"))
            self.firm.must("confirm", batch, "--good-count", str(good))


def wrong_in_book(firm: Firm) -> list[str]:
    """What `book verify` and our own SQL find."""
    status, out, err = firm.run("book", "verify")
    wrong = [f"verify: {out}{err}"] if status else []
    live = "state IN ('reserved', 'sent', 'printed') AND role = 'cheque'"
    if firm.tables(f"SELECT 1 FROM number WHERE {live} GROUP BY origin_batch, origin_item HAVING count(*) > 1"):
        wrong.append("a payment has two live cheques")
    if firm.tables("SELECT 1 FROM number GROUP BY account, number HAVING count(*) > 1"):
        wrong.append("a number stands twice")
    return wrong


def wrong_at_the_end(firm: Firm, operator: Operator) -> list[str]:
    """Every payment has one good cheque, in the book and on the paper, and they are the same number."""
    wrong = wrong_in_book(firm)
    if status := firm.run("reconcile", "numbers", "1")[0]:
        wrong.append(f"reconcile ends with {status}")
    good = firm.tables(
        "SELECT n.number, c.payee FROM number n JOIN claim c ON c.batch = n.batch AND c.item = n.item "
        "WHERE n.state = 'printed'"
    )
    if len(good) != PAYMENTS or len({payee for _, payee in good}) != PAYMENTS:
        wrong.append(f"{len(good)} good cheques for {PAYMENTS} payments")
    paper = {sheet.number: sheet.payee for sheet in operator.sheets if sheet.whole}
    for number, payee in good:
        if paper.get(number) != payee:
            wrong.append(f"number {number} is {payee} in the book and {paper.get(number)!r} on paper")
    return wrong


def attempt(number: int, seed: int, stages: Stages, times: dict[str, float]) -> Outcome:
    """One try."""
    chance = random.Random(f"{seed}:{number}")
    stage = chance.choice(STAGES)
    by_sync = bool(shutil.which("strace")) and chance.random() < 0.25
    with tempfile.TemporaryDirectory(prefix="kill-") as name:
        firm = stages[stage][0].copy(Path(name))
        operator = Operator(firm)
        if stage not in ("accept", "print"):
            operator.look()
        if stage == "resume":
            operator.head = FIRST + 1
        if by_sync:
            when = chance.randint(1, 6 if stage in ("accept", "confirm", "void", "reprint") else 24)
            killed, way = firm.at_sync(stages[stage][1], when), f"sync {when}"
        else:
            delay = chance.random() * times[stage]
            killed, way = firm.fork(stages[stage][1], delay), f"{delay * 1000:.1f} ms"
        wrong = wrong_in_book(firm)
        try:
            if stage == "accept" and not firm.tables("SELECT 1 FROM batch"):
                firm.must(*stages["accept"][1])
            if stage == "void" and not firm.tables("SELECT 1 FROM number WHERE state = 'voided'"):
                firm.must(*stages["void"][1])
            if stage in ("void", "reprint") and len(firm.tables("SELECT 1 FROM batch")) == 1:
                firm.must(*stages["reprint"][1])
            operator.finish()
            wrong += wrong_at_the_end(firm, operator)
        except AssertionError as error:
            wrong.append(str(error))
    return Outcome(number, stage, way, killed, wrong)


def timed(stages: Stages, folder: Path) -> dict[str, float]:
    """How long each stage's command takes in a child process."""
    times = {}
    for stage, (firm, arguments) in stages.items():
        copy = firm.copy(folder / f"timed-{stage}")
        begun = time.perf_counter()
        child = os.fork()
        if not child:
            os._exit(copy.run(*arguments)[0])
        assert os.waitpid(child, 0)[1] == 0, stage
        times[stage] = (time.perf_counter() - begun) * 1.1
    return times


def campaign(tries: int, seed: int, state: Path | None, show: Callable[[str], None]) -> list[Outcome]:
    """All tries that are not in the state file yet; gives every outcome."""
    done: dict[int, Outcome] = {}
    if state and state.exists():
        for line in state.read_text("utf-8").splitlines():
            outcome = Outcome(*json.loads(line))
            done[outcome.number] = outcome
    with tempfile.TemporaryDirectory(prefix="stages-") as name:
        stages = ready(Path(name))
        times = timed(stages, Path(name))
        for number in range(tries):
            if number in done:
                continue
            done[number] = attempt(number, seed, stages, times)
            if state:
                with state.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(done[number]) + "\n")
            if done[number].wrong or number % 50 == 49:
                show(f"{number + 1} of {tries}: {done[number].wrong or 'nothing wrong so far'}")
    return [done[number] for number in sorted(done) if number < tries]


def report(outcomes: list[Outcome], command: str) -> str:
    """The page of evidence."""
    git = ["git", "rev-parse", "--short", "HEAD"]
    commit = subprocess.run(git, cwd=ROOT, capture_output=True, text=True, check=False)
    lines = [
        "# Kills",
        "",
        f"`{command}`, {time.strftime('%Y-%m-%d')}, commit {commit.stdout.strip()}.",
        "",
        "What each try does and what it checks is told at the top of the script.",
        "",
        "| stage | tries | killed in time | of these at a sync | something wrong |",
        "| --- | --- | --- | --- | --- |",
    ]
    total: Counter[str] = Counter()
    for stage in STAGES:
        mine = [outcome for outcome in outcomes if outcome.stage == stage]
        killed = [outcome for outcome in mine if outcome.killed]
        at_sync = [outcome for outcome in killed if outcome.way.startswith("sync")]
        wrong = [outcome for outcome in mine if outcome.wrong]
        counts = {"tries": len(mine), "killed": len(killed), "sync": len(at_sync), "wrong": len(wrong)}
        total.update(counts)
        lines.append(f"| {stage} | " + " | ".join(str(count) for count in counts.values()) + " |")
    lines.append("| all | " + " | ".join(str(total[key]) for key in ("tries", "killed", "sync", "wrong")) + " |")
    found = [f"- try {o.number}, {o.stage}, {o.way}: {'; '.join(o.wrong)}" for o in outcomes if o.wrong]
    return "\n".join([*lines, "", *(found or ["Nothing was wrong after any of them."]), ""])


def main() -> None:
    """Run the campaign."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tries", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--state", type=Path)
    parser.add_argument("--report", type=Path)
    given = parser.parse_args()
    outcomes = campaign(given.tries, given.seed, given.state, lambda text: print(text, flush=True))
    shown = re.sub(r" --(?:state|report) \S+", "", " ".join(sys.argv[1:]))
    text = report(outcomes, f".venv/bin/python tests/campaign/kill_payday.py {shown}")
    print(text)
    if given.report:
        given.report.write_text(text, "utf-8")
    sys.exit(any(outcome.wrong for outcome in outcomes))


if __name__ == "__main__":
    main()
