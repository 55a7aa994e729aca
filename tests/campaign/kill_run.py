"""Kills in the midst of a run, over every kind of address; then a scripted operator goes on from what the paper shows.

    .venv/bin/python tests/campaign/kill_run.py --tries 2000 --seed 1 --state FILE --report docs/evidence/kills-run.md

Each try begins with a copy of a firm that has a batch accepted and proved, and a practice printer with numbered forms
(file: its bytes are carried there afterwards; socket: TCP; queue: through a real spooler of its own; serial: a
pseudo-terminal with XON and XOFF; port: a pseudo-terminal in the place of a printer port's device file). `cheque
print` runs in a process of its own and dies by SIGKILL: as it enters its n-th fsync, fdatasync, write, pwrite64 or
sendto, in turn, through strace; or after a random part of the time it takes. Some of the resumes are killed in the
same way, up to twice more.

The operator cancels what the spooler holds, lets the printer finish what is in its memory or switches it off at once,
loads the first blank form, and answers `resume` with what the practice printer's paper truly shows. After each try:

* `book verify` passes, no payment has two live cheques, no number stands twice (SQL of our own);
* every form that is not blank is accounted for in the book, and what the book calls good is whole on the paper, with
  that payment's payee and amount and its own number;
* each payment has exactly one good cheque. A payment with none is a loss; one with a whole form that the book does
  not call spoiled, beside its good one, is a double.

Tries have names; with --state they are kept, one line each, and a run that was broken off goes on after them.
"""

import argparse
import contextlib
import fcntl
import json
import os
import pty
import random
import re
import signal
import subprocess
import sys
import tempfile
import time
import tty
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from campaign.kill_payday import FIRST, Firm, printing, wrong_in_book  # noqa: E402
from device.spool import Spool, spooler  # noqa: E402

from cheque.form.model import Form  # noqa: E402
from cheque.language import Printer, get  # noqa: E402
from cheque.library import load  # noqa: E402
from cheque.practice import Mechanism, Practice, Sheet  # noqa: E402
from cheque.practice.orders import Order  # noqa: E402
from cheque.units import INCH  # noqa: E402

KINDS = ("file", "socket", "queue", "serial", "port")
CALLS = ("fsync", "fdatasync", "write", "pwrite64", "sendto")
PAYMENTS = 4
QUEUE = "payroom"


class Outcome(NamedTuple):
    """One try: its name, kind of address, way of killing, how many kills hit, losses, doubles, what is wrong."""

    name: str
    kind: str
    way: str
    kills: int
    losses: int
    doubles: int
    wrong: list[str]


class Kill(NamedTuple):
    """When a command is killed: at its n-th call of a name, or after so many seconds."""

    call: str = ""
    when: int = 0
    delay: float = 0.0


class Forker:
    """A process without threads that has everything imported, and forks a command to be killed.

    Forking from a process with a practice printer's thread in it would not be safe.
    """

    def __init__(self) -> None:
        ask, self._ask = os.pipe()
        self._answer, answer = os.pipe()
        self._process = os.fork()
        if not self._process:
            os.close(self._ask)
            os.close(self._answer)
            with contextlib.suppress(KeyboardInterrupt):
                self._serve(ask, answer)
            os._exit(0)
        os.close(ask)
        os.close(answer)
        self._answers = os.fdopen(self._answer)

    def run(self, folder: Path, arguments: tuple[str, ...], kill: Kill, trace: Path | None = None) -> dict[str, Any]:
        """Run a command, and kill it. `killed`, `status` and `seconds` come back; `trace`: where calls are listed."""
        order = [str(folder), arguments, kill, str(trace or ""), os.environ.get("CUPS_SERVER", "")]
        os.write(self._ask, json.dumps(order).encode() + b"\n")
        found: dict[str, Any] = json.loads(self._answers.readline())
        return found

    def close(self) -> None:
        """End it."""
        os.close(self._ask)
        os.waitpid(self._process, 0)
        self._answers.close()

    def _serve(self, ask: int, answer: int) -> None:
        import cheque.cli.printing
        import cheque.device.file
        import cheque.device.port
        import cheque.device.serial_line
        import cheque.device.spooler
        import cheque.device.tcp  # noqa: F401

        with contextlib.suppress(ImportError):
            import serial  # noqa: F401
        for line in os.fdopen(ask):
            folder, arguments, kill, trace, server = json.loads(line)
            if server:
                os.environ["CUPS_SERVER"] = server
            told = self._one(Path(folder), arguments, Kill(*kill), trace)
            os.write(answer, json.dumps(told).encode() + b"\n")

    def _one(self, folder: Path, arguments: list[str], kill: Kill, trace: str) -> dict[str, Any]:
        ready, go = os.pipe()
        child = os.fork()
        if not child:
            os.close(go)
            os.read(ready, 1)
            os._exit(Firm(folder).run(*arguments)[0])
        os.close(ready)
        tracer = self._traced(child, kill, trace) if kill.call or trace else None
        begun = time.monotonic()
        os.write(go, b"!")
        os.close(go)
        ended, status = 0, 0
        while not (kill.call or trace or ended) and time.monotonic() - begun < kill.delay:
            time.sleep(0.0005)
            ended, status = os.waitpid(child, os.WNOHANG)
        if not ended:
            if not kill.call and not trace:
                os.kill(child, signal.SIGKILL)
            status = os.waitpid(child, 0)[1]
        if tracer is not None:
            tracer.wait()
        return {
            "killed": os.WIFSIGNALED(status),
            "status": os.waitstatus_to_exitcode(status),
            "seconds": time.monotonic() - begun,
        }

    @staticmethod
    def _traced(child: int, kill: Kill, trace: str) -> "subprocess.Popen[bytes]":
        names = ",".join(CALLS)
        what = ["-e", f"trace={kill.call or names}"]
        if kill.call:
            what += ["-e", f"inject={kill.call}:signal=SIGKILL:when={kill.when}"]
        tracer = subprocess.Popen(
            ["strace", "-qq", "-o", trace or os.devnull, "-p", str(child), *what], stderr=subprocess.DEVNULL
        )
        until = time.monotonic() + 10
        while "TracerPid:\t0\n" in Path(f"/proc/{child}/status").read_text():
            assert time.monotonic() < until, "strace did not attach"
            time.sleep(0.001)
        return tracer


class Room:
    """The practice printer of one try, at the far end of its kind of address."""

    def __init__(self, kind: str, form: Form, chance: random.Random, port: int, firm: Firm) -> None:
        self.kind, self.firm = kind, firm
        self.inside = Mechanism(
            get("escp9"), Printer("escp9", INCH // 216), form.paper.length, memory=chance.choice((256, 2048, 8192))
        )
        self.inside.load(FIRST)
        self._carried = 0
        self._printer: Practice | None = None
        self._line: tuple[int, int] | None = None
        if kind == "file":
            self.address = "file:payroom.prn"
            return
        speed = chance.choice((0, 0, 40_000))
        if kind in ("serial", "port"):
            self._line = pty.openpty()
            tty.setraw(self._line[1])
            name = os.ttyname(self._line[1])
            self.address = f"port:{name}" if kind == "port" else f"serial:{name}?baud=115200&flow=xonxoff"
            self._printer = Practice(self.inside, line=self._line[0], speed=speed)
        else:
            self._printer = Practice(self.inside, port=port if kind == "queue" else 0, speed=speed)
            self.address = f"queue:{QUEUE}" if kind == "queue" else self._printer.address

    def come_to_rest(self, *, at_once: bool) -> None:
        """Let it strike what is on its way, or not; then switch it off and on, and load the first blank form."""
        if self.kind == "file":
            self._carry()
        elif self._printer is not None:
            if not at_once:
                self._printer.settle()
            self._printer.order(Order("power-off"))
            if self._line is not None:
                self._printer.settle()  # what the kernel still sends down the line is lost on a printer that is off
            self._printer.order(Order("power-on"))
            self._printer.order(Order("load", self.head()))
        if self.kind == "file":
            self.inside.power_off()
            self.inside.power_on()
            self.inside.load(self.head())

    def feed(self, data: bytes) -> None:
        """Bytes that had reached the printer before."""
        assert self._printer is not None
        self._printer.feed(data)

    def settle(self) -> None:
        """A run that came to its end: everything is struck."""
        if self.kind == "file":
            self._carry()
        elif self._printer is not None:
            self._printer.settle()

    def _carry(self) -> None:
        """What was added to the print stream goes to the printer."""
        stream = self.firm.stream
        while self._carried < len(stream):
            piece = stream[self._carried : self._carried + self.inside.room]
            self.inside.take(piece)
            self.inside.strike(len(piece))
            self._carried += len(piece)

    def used(self) -> list[Sheet]:
        """The forms that are not blank."""
        sheets = self.inside.sheets() if self._printer is None else self._printer.sheets()
        return [sheet for sheet in sheets if not sheet.blank]

    def head(self) -> int:
        """The first form after all that were struck or harmed."""
        return max((sheet.number + 1 for sheet in self.used()), default=FIRST)

    def close(self) -> None:
        """Away with it."""
        if self._printer is not None:
            self._printer.close()
        for descriptor in self._line or ():
            os.close(descriptor)


class Campaign:
    """What all tries share: the firm they begin from, the spooler, the process that forks."""

    def __init__(self, folder: Path, forker: Forker, spool: Spool | None, port: int) -> None:
        self.folder, self.forker, self.spool, self.port = folder, forker, spool, port
        self.kinds = KINDS if spool else tuple(kind for kind in KINDS if kind != "queue")
        self.form = load("payroll-us")
        self.base = self._ready()
        self.code = self.base.must("proof", "1").strip()
        self.seconds: dict[str, float] = {}

    def _ready(self) -> Firm:
        firm = Firm(self.folder / "base")
        firm.folder.mkdir()
        firm.must("setup", "--drawer", "Quillmere Boatyard Company", "--bank", "Tidewrack Savings Bank")
        firm.must("stock", "receive", "payroll-us", "--first", str(FIRST), "--last", "100999")
        lines = (ROOT / "demo" / "payday-2026-11-27.csv").read_text("utf-8").splitlines(keepends=True)[: PAYMENTS + 1]
        (firm.folder / "register.csv").write_text("".join(lines), "utf-8")
        total = sum(int(line.split(",")[1].replace(".", "")) for line in lines[1:])
        slip = ("--control-total", f"{total // 100}.{total % 100:02d}", "--item-count", str(PAYMENTS))
        firm.must("batch", "accept", "register.csv", "--form", "payroll-us", *slip)
        return firm

    @contextmanager
    def room(self, kind: str, chance: random.Random, *, window: int = 1) -> Iterator[Room]:
        """A copy of the firm with a printer of this kind; the printer is `room.firm`'s only one."""
        with tempfile.TemporaryDirectory(prefix="kill-run-") as name:
            firm = self.base.copy(Path(name))
            made = Room(kind, self.form, chance, self.port, firm)
            try:
                settings = firm.folder / "cheque.toml"
                text = settings.read_text("utf-8").replace('"file:payroom.prn"', f'"{made.address}"')
                settings.write_text(re.sub(r"(?m)^# window = 1 ", f"window = {window} ", text), "utf-8")
                yield made
            finally:
                self.nothing_waits(kind)
                made.close()

    def nothing_waits(self, kind: str) -> None:
        """The operator cancels what the spooler holds for the printer."""
        if kind == "queue" and self.spool is not None:
            subprocess.run(["cancel", "-x", "-a", QUEUE], capture_output=True, check=False)
            until = time.monotonic() + 10
            while self.spool.ipp.unfinished(QUEUE):
                assert time.monotonic() < until, "a cancelled job does not go"
                time.sleep(0.01)

    def command(self) -> tuple[str, ...]:
        """The print that begins it all."""
        return printing(self.base, "print", "1", "--first-number", str(FIRST), "--proof-code", self.code)

    def measure(self, kind: str) -> dict[str, int]:
        """How often a whole print makes each call; and, kept in `seconds`, how long it takes."""
        with self.room(kind, random.Random(0)) as room:
            trace = room.firm.folder / "trace"
            told = self.forker.run(room.firm.folder, self.command(), Kill(), trace)
            assert told["status"] == 0, told
            found = Counter(line.partition("(")[0] for line in trace.read_text().splitlines())
        with self.room(kind, random.Random(0)) as room:
            self.seconds[kind] = self.forker.run(room.firm.folder, self.command(), Kill(delay=60))["seconds"]
        return {call: found[call] for call in CALLS if found[call]}


class Try:
    """One try: print, killed; resume, perhaps killed; then to the end, and the reckoning."""

    def __init__(self, campaign: Campaign, room: Room, chance: random.Random) -> None:
        self.campaign, self.room, self.firm, self.chance = campaign, room, room.firm, chance
        self.kills = 0
        self.losses = self.doubles = 0
        self.wrong: list[str] = []

    def play(self, kill: Kill) -> None:
        """From the first kill to the end."""
        self._killed(self.campaign.command(), kill)
        for _ in range(self.chance.choice((0, 0, 1, 2))):
            self._look()
            if not self._waiting():
                break
            delay = self.chance.random() * self.campaign.seconds[self.room.kind]
            self._killed(self._next(), Kill(delay=delay))
        self.finish()

    def finish(self) -> None:
        """From wherever it stands to the end of the batch, and the reckoning."""
        self._look()
        if self._waiting():
            self.firm.must(*self._next())
            self.room.settle()
        self._confirm()
        self.wrong += wrong_in_book(self.firm)
        self._reckon()

    def _killed(self, command: tuple[str, ...], kill: Kill) -> None:
        told = self.campaign.forker.run(self.firm.folder, command, kill)
        self.kills += told["killed"]
        if not told["killed"] and told["status"]:
            self.wrong.append(f"{command[0]} ended by itself with {told['status']}")
        self.wrong += wrong_in_book(self.firm)

    def _look(self) -> None:
        self.campaign.nothing_waits(self.room.kind)
        self.room.come_to_rest(at_once=self.chance.random() < 0.5)

    def _waiting(self) -> bool:
        """Whether any payment still lacks a form that is good or may be, or a run an answer."""
        whole = sum(sheet.whole for sheet in self.room.used())
        return whole < PAYMENTS or bool(self._run())

    def _run(self) -> list[tuple[int, ...]]:
        return self.firm.tables("SELECT id, first FROM run WHERE state <> 'closed'")

    def _next(self) -> tuple[str, ...]:
        """The command that goes on, with what the paper shows."""
        head = str(self.room.head())
        if not self.firm.tables("SELECT 1 FROM run"):
            return printing(self.firm, "print", "1", "--first-number", head, "--proof-code", self.campaign.code)
        told: tuple[str, ...] = ()
        if run := self._run():
            mine = [sheet for sheet in self.room.used() if sheet.number >= run[0][1]]
            good = [sheet.number for sheet in mine if sheet.whole]
            last = good[-1] if good else 0
            told = ("--last-good", str(last) if good else "none", "--between", "torn")
            for sheet in mine:
                if sheet.number < last and not sheet.whole:
                    told += ("--spoiled", f"{sheet.number}={sheet.harm[0] if sheet.harm else 'not finished'}")
        return printing(self.firm, "resume", "1", *told, "--next-number", head, "--power-cycled")

    def _confirm(self) -> None:
        sent = {number for (number,) in self.firm.tables("SELECT number FROM number WHERE state = 'sent'")}
        if self._run():
            good = [sheet.number for sheet in self.room.used() if sheet.number in sent and sheet.whole]
            bad = [("--spoiled", f"{number}=torn") for number in sorted(sent - set(good))]
            self.firm.must("confirm", "1", "--good-count", str(len(good)), *(word for pair in bad for word in pair))

    def _reckon(self) -> None:
        """The paper against the book."""
        claims = {
            item: (payee, f"{amount // 100:,}.{amount % 100:02d}")
            for item, payee, amount in self.firm.tables("SELECT item, payee, amount FROM claim")
        }
        book = {n: (state, item) for n, state, item in self.firm.tables("SELECT number, state, item FROM number")}
        good: Counter[int] = Counter()
        for sheet in self.room.used():
            state, item = book.get(sheet.number, ("on hand", 0))
            if state == "on hand":
                self.wrong.append(f"form {sheet.number} is used, but on hand in the book")
            if not sheet.whole:
                if state == "printed":
                    self.wrong.append(f"form {sheet.number} is good in the book, on paper {sheet.harm}")
                continue
            shown = [i for i, told in claims.items() if all(text in sheet.text for text in told)]
            if len(shown) != 1 or str(sheet.number) not in sheet.text.split():
                self.wrong.append(f"form {sheet.number} shows payments {shown}, or not its own number")
                continue
            if state == "printed" and item != shown[0]:
                self.wrong.append(f"form {sheet.number} is payment {item} in the book, {shown[0]} on paper")
            if state != "spoiled":
                good[shown[0]] += 1
        paper = {sheet.number for sheet in self.room.used()}
        for number, (state, _) in book.items():
            if state == "printed" and number not in paper:
                self.wrong.append(f"form {number} is good in the book, and blank on paper")
            if state in ("reserved", "sent"):
                self.wrong.append(f"form {number} is still {state}")
        self.losses = sum(1 for item in claims if not good[item])
        self.doubles = sum(1 for item in claims if good[item] > 1)
        if self.losses or self.doubles:
            self.wrong.append(f"{self.losses} losses, {self.doubles} doubles")


def attempt(campaign: Campaign, name: str, seed: int) -> Outcome:
    """One try by its name: `kind:call:n`, or `kind:random:n`."""
    kind, call, n = name.split(":")
    chance = random.Random(f"{seed}:{name}")
    kill, window = Kill(call, int(n)), 1  # as when the calls were counted
    if call == "random":
        window = chance.choice((1, 2, 3))
    with campaign.room(kind, chance, window=window) as room:
        if call == "random":
            kill = Kill(delay=chance.random() * campaign.seconds[kind] * 1.1)
        one = Try(campaign, room, chance)
        try:
            one.play(kill)
        except (AssertionError, TimeoutError) as error:
            one.wrong.append(str(error) or type(error).__name__)
    way = f"{kill.delay * 1000:.1f} ms" if call == "random" else f"{call} {n}"
    return Outcome(name, kind, way, one.kills, one.losses, one.doubles, one.wrong)


@contextmanager
def beginning(kinds: tuple[str, ...] = KINDS) -> Iterator[Campaign]:
    """A campaign ready to try: the forking process, a spooler where `kinds` has the queue, the firm."""
    import socket

    with ExitStack() as stack:
        forker = Forker()
        stack.callback(forker.close)
        folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="kill-run-base-"))
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        spool = None
        if "queue" in kinds:
            queue = {QUEUE: {"device": f"socket://127.0.0.1:{port}"}}
            spool = stack.enter_context(spooler(queue, os.environ.__setitem__))
            stack.callback(os.environ.pop, "CUPS_SERVER", None)
        yield Campaign(Path(folder), forker, spool, port)


def names_of(counts: dict[str, dict[str, int]], tries: int) -> list[str]:
    """The tries: every call of every kind in turn, then random moments, the kinds in turn."""
    found = [
        f"{kind}:{call}:{n}" for kind, calls in counts.items() for call in calls for n in range(1, calls[call] + 1)
    ]
    kinds = list(counts)
    found += [f"{kinds[n % len(kinds)]}:random:{n}" for n in range(max(0, tries - len(found)))]
    return found


def campaign(tries: int, seed: int, state: Path, show: Callable[[str], None]) -> list[Outcome]:
    """All tries that are not in the state file yet; gives every outcome."""
    done: dict[str, Outcome] = {}
    lines = state.read_text("utf-8").splitlines() if state.exists() else []
    for line in lines:
        outcome = Outcome(*json.loads(line))
        done[outcome.name] = outcome
    with beginning() as made, state.open("a", encoding="utf-8") as file:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        counts = {kind: made.measure(kind) for kind in made.kinds}
        show(f"calls: {counts}; seconds: {made.seconds}")
        names = names_of(counts, tries)
        random.Random(seed).shuffle(names)  # so that a run broken off has some of everything
        for place, name in enumerate(names):
            if name in done:
                continue
            done[name] = attempt(made, name, seed)
            file.write(json.dumps(done[name]) + "\n")
            file.flush()
            if done[name].wrong or place % 50 == 49:
                show(f"{place + 1} of {len(names)}: {name}: {done[name].wrong or 'nothing wrong so far'}")
    return [done[name] for name in names]


def report(outcomes: list[Outcome], command: str) -> str:
    """The page of evidence."""
    git = ["git", "rev-parse", "--short", "HEAD"]
    commit = subprocess.run(git, cwd=ROOT, capture_output=True, text=True, check=False)
    lines = [
        "# Kills in the midst of a run",
        "",
        f"`{command}`, {time.strftime('%Y-%m-%d')}, commit {commit.stdout.strip()}.",
        "",
        "What each try does and what it checks is told at the top of the script. A try may hold several kills: the "
        "print, and then the resumes.",
        "",
        "| address | killed at | tries | kills that hit | losses | doubles | something wrong |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    ways = (*CALLS, "random")
    total: Counter[str] = Counter()
    for kind in KINDS:
        for way in ways:
            mine = [o for o in outcomes if o.kind == kind and o.name.split(":")[1] == way]
            if not mine:
                continue
            counts = {
                "tries": len(mine),
                "kills": sum(o.kills for o in mine),
                "losses": sum(o.losses for o in mine),
                "doubles": sum(o.doubles for o in mine),
                "wrong": sum(bool(o.wrong) for o in mine),
            }
            total.update(counts)
            shown = "a random moment" if way == "random" else f"each {way}"
            lines.append(f"| {kind} | {shown} | " + " | ".join(str(count) for count in counts.values()) + " |")
    keys = ("tries", "kills", "losses", "doubles", "wrong")
    lines.append("| all | | " + " | ".join(str(total[key]) for key in keys) + " |")
    found = [f"- {o.name}, {o.way}: {'; '.join(o.wrong)}" for o in outcomes if o.wrong]
    return "\n".join([*lines, "", *(found or ["Nothing was wrong after any of them."]), ""])


def main() -> None:
    """Run the campaign."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tries", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--state", type=Path, required=True)
    parser.add_argument("--report", type=Path)
    given = parser.parse_args()
    outcomes = campaign(given.tries, given.seed, given.state, lambda text: print(text, flush=True))
    text = report(
        outcomes, f".venv/bin/python tests/campaign/kill_run.py --tries {given.tries} --seed {given.seed} --state FILE"
    )
    print(text)
    if given.report:
        given.report.write_text(text, "utf-8")
    sys.exit(any(outcome.wrong for outcome in outcomes))


if __name__ == "__main__":
    main()
