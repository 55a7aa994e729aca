"""Several stations at work on one book, while everything under them is killed: every number is accounted for.

    .venv/bin/python tests/campaign/stations.py [--store both|postgresql|sqlite] [--rounds 20] [--steps 120] [--seed 1]
                                                [--state FILE]

A round: 8 stations on PostgreSQL (4 on SQLite), each a process of its own with its own printer and box, accept
registers, print, look at the paper, spoil, void, print again, enter cheques by hand and lose forms, at random from
the seed. Meanwhile the server is killed (SIGKILL to all of it) and started again, connections are cut, and stations
are killed and begin again. A station prints into a file, form by form, one line a form: that is the paper. It learns
what happened as a person would: from the paper and from the book, and never assumes.

Afterwards what waits is printed, and the papers are held against the book: the chain is whole; every event that was
acknowledged is in it; no number is on two forms; what the paper bears, the book says; and each payment has exactly one
good cheque. With `--state` finished rounds are kept in a file and not done again.
"""

import argparse
import contextlib
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from book.quillmere import FORM, accept, payday, proof_of  # noqa: E402
from book.server import Server  # noqa: E402

from cheque.book import batches, cheques, runs, stock, verify  # noqa: E402
from cheque.book.book import Book, create, open_book  # noqa: E402
from cheque.book.state import State  # noqa: E402
from cheque.errors import BookRefused, Refusal  # noqa: E402

STATIONS = {"postgresql": 8, "sqlite": 4}
BOX = 100_000  # the first number of station n's box is n times this, plus 1
FORMS = 2000


class Station:
    """One station: its printer, its box, its paper, and what it was told was done."""

    def __init__(self, book: Book, folder: Path, name: int, life: int, seed: int) -> None:
        self.book, self.name, self.chance = book, name, random.Random(f"{seed}:{name}:{life}")
        self.printer, self.first = f"printer-{name}", name * BOX + 1
        self.paper = folder / f"paper-{name}"
        self.said = folder / f"told-{name}"
        self.start = 10_000_000 * name + 100_000 * life

    # what a person sees

    def struck(self) -> set[int]:
        """The numbers that are on this printer's paper."""
        text = self.paper.read_text() if self.paper.exists() else ""
        return {int(line.split()[0]) for line in text.splitlines()}

    def strike(self, number: int, batch: int, item: int) -> None:
        """A form goes through the printer."""
        row = self.book.row("SELECT origin_batch, origin_item FROM claim WHERE batch = ? AND item = ?", batch, item)
        assert row
        with self.paper.open("a") as paper:
            paper.write(f"{number} {row[0]} {row[1]}\n")

    def head(self) -> int:
        """The number at the head: the lowest of the box that is still there, as the paper is loaded anew."""
        box = stock.range_of(self.book, "main", self.first)
        free = stock.on_hand(self.book, box, box.first, box.last)
        return free[0][0]

    def note(self) -> None:
        """What is acknowledged must never be lost."""
        head = self.book.head
        self.tell(f"{head.seq} {head.digest}")

    def tell(self, text: str) -> None:
        """Note a line, so that it is there whatever is killed next."""
        with self.said.open("a") as said:
            said.write(text + "\n")

    # what a person does

    def step(self) -> str:
        """One thing, by chance; gives its name, or "refused"."""
        what = self.chance.choices(
            [self.accept, self.print, self.spoil, self.void, self.reprint, self.by_hand, self.lose],
            [3, 8, 2, 4, 3, 2, 1],
        )[0]
        begun = time.monotonic()
        try:
            what()
            self.note()
            done = what.__name__
        except Refusal as refusal:
            done = "refused" if isinstance(refusal, BookRefused) and "server of" not in refusal.message else "lost"
        self.tell(f"# {done} {time.monotonic() - begun:.4f}")
        return done

    def accept(self) -> None:
        """A register of a few payments."""
        count = self.chance.randint(1, 6)
        accept(self.book, payday(count, start=self.start))
        self.start += count

    def some_batch(self) -> int:
        rows = [
            row[0] for row in self.book.rows("SELECT id FROM batch WHERE state = 'accepted' ORDER BY id DESC LIMIT 20")
        ]
        waiting = [batch for batch in rows if batches.waiting(self.book, batch, 1)]
        if not waiting:
            raise BookRefused("nothing waits")
        return int(self.chance.choice(waiting))

    def print(self) -> None:
        """A run, from the number at the head on; then somebody looks at the paper."""
        self.answer()
        batch = self.some_batch()
        proof, pages = proof_of(self.book, batch)
        batches.proved(self.book, batch, proof, pages)
        run, planned = runs.begin(
            self.book, batch=batch, printer=self.printer, address="file:x", language="escp9", first=self.head(),
            count=self.chance.randint(0, 4), proof=proof,
        )  # fmt: skip
        self.note()
        window = self.chance.randint(1, 3)
        for start in range(0, len(planned), window):
            forms = planned[start : start + window]
            runs.sent(self.book, run, forms[0][0], forms[-1][0], digest="0" * 64, length=1, k=start)
            self.note()
            for number, item in forms:
                self.strike(number, batch, item)
        runs.finished(self.book, run)
        self.look(run, self.chance)

    def answer(self) -> None:
        """What this printer's runs left: the paper is looked at, and every form answered for.

        A cheque that was entered as written by hand when the station died is on paper all the same: a person wrote it.
        """
        struck = self.struck()
        by_hand = "run = 0 AND batch > 0 AND number BETWEEN ? AND ?"
        sql = f"SELECT number, batch, item FROM number WHERE account = 'main' AND {by_hand} ORDER BY number"
        for number, batch, item in list(self.book.rows(sql, self.first, self.first + FORMS - 1)):
            if number not in struck:
                self.strike(number, batch, item)
        for run in runs.unfinished(self.book, printer=self.printer):
            self.look(run.id, self.chance)
            self.note()

    def look(self, run: int, chance: random.Random | None) -> None:
        held, struck = runs.forms(self.book, run), self.struck()
        there = [form.number for form in held if form.state is State.SENT and form.number in struck]
        torn = [number for number in there if chance and chance.random() < 0.12]
        gone = [number for number in there if chance and number not in torn and chance.random() < 0.04]
        seen = runs.Seen(
            tuple(number for number in there if number not in torn and number not in gone),
            dict.fromkeys(torn, "torn"),
            dict.fromkeys(gone, "gone"),
            tuple(form.number for form in held if form.number not in there),
        )
        runs.seen(self.book, run, seen, how="confirm")

    def some_number(self, state: str) -> int:
        rows = [
            row[0]
            for row in self.book.rows(
                "SELECT number FROM number WHERE account = 'main' AND state = ? AND batch > 0 "
                "ORDER BY seq DESC LIMIT 30",
                state,
            )
        ]
        if not rows:
            raise BookRefused(f"none is {state}")
        return int(self.chance.choice(rows))

    def void(self) -> None:
        """A good cheque of anybody's is void."""
        cheques.void(self.book, account="main", number=self.some_number("printed"), reason="wrong", paper="in hand")

    def reprint(self) -> None:
        """A void or missing cheque's payment is to be printed again."""
        number = self.some_number(self.chance.choice(["voided", "voided", "missing"]))
        cheques.accept_reprint(
            self.book, cheques.reprint_source(self.book, "main", number), stop_override="the bank was asked"
        )

    def spoil(self) -> None:
        """The form at the head is torn."""
        self.answer()
        number = self.head()
        stock.spoil(self.book, account="main", first=number, last=number, reason="torn")

    def lose(self) -> None:
        """The form at the head is not there."""
        self.answer()
        number = self.head()
        stock.missing(self.book, account="main", first=number, last=number, reason="not there")

    def by_hand(self) -> None:
        """A cheque is written by hand on the form at the head."""
        self.answer()
        batch, number = self.some_batch(), self.head()
        for item in batches.waiting(self.book, batch, 1):
            told = {"batch": batch, "item": item, "reason": "the printer is away"}
            cheques.by_hand(self.book, account="main", number=number, **told)
            self.strike(number, batch, item)


def work(folder: Path, name: int, life: int, seed: int, steps: int) -> None:
    """A station's life, in a process of its own; what it did is counted at its end."""
    done: Counter[str] = Counter()
    with opened(folder, name) as book:
        station = Station(book, folder, name, life, seed)
        while sum(done.values()) < steps:
            done[station.step()] += 1
        for _ in range(50):
            with contextlib.suppress(Refusal):
                station.answer()
                break
    print(json.dumps(done))


def opened(folder: Path, name: int) -> Book:
    """The book, as a station opens it."""
    place = (folder / "place").read_text()
    until = time.monotonic() + 60
    while True:
        try:
            if place:
                return open_book(folder / f"station-{name}", server=place, who=f"clerk-{name}", station=f"s{name}")
            return open_book(folder / "book", who=f"clerk-{name}", station=f"s{name}")
        except BookRefused:
            if time.monotonic() > until:
                raise
            time.sleep(0.2)


class Round(NamedTuple):
    """What one round showed."""

    store: str
    seed: int
    stations: int
    events: int
    forms: int
    payments: int
    servers_killed: int
    lines_cut: int
    stations_killed: int
    done: dict[str, int]
    longest: float
    seconds: float
    wrong: list[str]


class Rounds:
    """One round on one store."""

    def __init__(self, store: str, seed: int, steps: int, *, stations: int = 0) -> None:
        self.store, self.seed, self.steps = store, seed, steps
        self.stations = stations or STATIONS[store]
        self.chance = random.Random(f"{store}:{seed}")
        self.servers_killed = self.lines_cut = self.stations_killed = 0
        self.done: Counter[str] = Counter()
        self.server: Server | None = None

    def run(self) -> Round:
        """Begin, disturb, end, and judge."""
        begun = time.monotonic()
        with tempfile.TemporaryDirectory(prefix="stations-") as name:
            folder = Path(name)
            try:
                self._begin(folder)
                self._disturb(folder)
                wrong, book = self._judge(folder)
                events, forms, payments = book
                longest = self._longest(folder)
            finally:
                if self.server:
                    self.server.stop()
        return Round(
            self.store, self.seed, self.stations, events, forms, payments, self.servers_killed, self.lines_cut,
            self.stations_killed, dict(self.done), longest, time.monotonic() - begun, wrong,
        )  # fmt: skip

    def _begin(self, folder: Path) -> None:
        place = ""
        if self.store == "postgresql":
            self.server = Server()
            place = self.server.url()
        (folder / "place").write_text(place)
        with create(folder / ("station-0" if place else "book"), server=place, who="clerk", station="s0") as book:
            for name in range(1, self.stations + 1):
                stock.receive(book, account="main", form=FORM, first=str(name * BOX + 1), last=str(name * BOX + FORMS))
            accept(book, payday(20))

    def _start(self, folder: Path, name: int, life: int) -> "subprocess.Popen[bytes]":
        with (folder / "errors").open("ab") as errors:
            return subprocess.Popen(
                [sys.executable, __file__, "--station", str(name), "--life", str(life), "--folder", str(folder),
                 "--seed", str(self.seed), "--steps", str(self.steps)],
                stdout=subprocess.PIPE, stderr=errors, env={**os.environ, "PYTHONPATH": str(ROOT)},
            )  # fmt: skip

    def _disturb(self, folder: Path) -> None:
        lives = dict.fromkeys(range(1, self.stations + 1), 0)
        going = {name: self._start(folder, name, 0) for name in lives}
        next_server = time.monotonic() + self.chance.uniform(1, 3)
        while going:
            time.sleep(self.chance.uniform(0.05, 0.3))
            for name, process in list(going.items()):
                if process.poll() is not None:
                    self._ended(process)
                    del going[name]
            if self.server and time.monotonic() > next_server:
                self._kill_server()
                next_server = time.monotonic() + self.chance.uniform(1.5, 5)
            elif self.server and self.chance.random() < 0.5:
                self._cut()
            if going and self.chance.random() < 0.08:
                name = self.chance.choice(sorted(going))
                if lives[name] < 5:
                    going[name].send_signal(signal.SIGKILL)
                    going[name].communicate()
                    self.stations_killed += 1
                    lives[name] += 1
                    going[name] = self._start(folder, name, lives[name])

    def _ended(self, process: "subprocess.Popen[bytes]") -> None:
        said = process.communicate()[0]
        if process.returncode == 0:
            self.done.update(json.loads(said))
        else:
            self.done["station failed"] += 1

    def _kill_server(self) -> None:
        assert self.server
        self.server.kill()
        self.servers_killed += 1
        time.sleep(self.chance.uniform(0, 0.6))
        self.server.start()

    def _cut(self) -> None:
        import psycopg

        assert self.server
        with contextlib.suppress(psycopg.Error):
            conninfo = f"host={self.server.socket} user=keeper dbname=cheques application_name=campaign"
            with psycopg.connect(conninfo, autocommit=True) as other:
                rows = other.execute("SELECT pid FROM pg_stat_activity WHERE application_name = 'cheque'").fetchall()
                if rows:
                    other.execute("SELECT pg_terminate_backend(%s)", (self.chance.choice(rows)[0],))
                    self.lines_cut += 1

    def _longest(self, folder: Path) -> float:
        times = [
            float(line.split()[2])
            for path in folder.glob("told-*")
            for line in path.read_text().splitlines()
            if line.startswith("# ") and len(line.split()) == 3
        ]
        return max(times, default=0.0)

    def _judge(self, folder: Path) -> tuple[list[str], tuple[int, int, int]]:
        wrong = [f"a station failed: {(folder / 'errors').read_text()[-500:]}"] if self.done["station failed"] else []
        with opened(folder, 1) as book:
            for name in range(1, self.stations + 1):  # the day ends: everything is answered for, and the rest printed
                Station(book, folder, name, 99, self.seed).answer()
            finish(Station(book, folder, 1, 99, self.seed))
            wrong += [str(fault) for fault in [*verify.verify(book), *verify.identities(book)]]
            wrong += list(lost(book, folder)) + list(papers(book, folder)) + list(paid(book))
            forms = int(book.value("SELECT count(*) FROM number"))
            owed = int(book.value("SELECT count(*) FROM claim WHERE origin_batch = batch"))
            return wrong, (book.head.seq, forms, owed)


def finish(station: Station) -> None:
    """Print all that waits, without trouble; what was voided or lost in the end is printed again first."""
    book = station.book
    for number, state in list(
        book.rows("SELECT number, state FROM number WHERE state IN ('voided', 'missing') AND batch > 0 ORDER BY number")
    ):
        with contextlib.suppress(Refusal):
            source = cheques.reprint_source(book, "main", number)
            cheques.accept_reprint(book, source, stop_override=f"it was {state}")
    for (batch,) in list(book.rows("SELECT id FROM batch WHERE state = 'accepted' ORDER BY id")):
        if not batches.waiting(book, batch, 1):
            continue
        proof, pages = proof_of(book, batch)
        batches.proved(book, batch, proof, pages)
        first = free(book, len(batches.waiting(book, batch)))
        run, planned = runs.begin(
            book, batch=batch, printer=station.printer, address="", language="", first=first, count=0, proof=proof
        )  # fmt: skip
        runs.sent(book, run, planned[0][0], planned[-1][0], digest="0" * 64, length=1, k=0)
        for number, item in planned:
            station.strike(number, batch, item)
        runs.finished(book, run)
        station.look(run, None)


def free(book: Book, count: int) -> int:
    """The first of so many numbers on hand in a row."""
    for box in stock.ranges(book):
        for first, last in stock.on_hand(book, box, box.first, box.last):
            if last - first + 1 >= count:
                return first
    raise AssertionError("the boxes are empty")


def lost(book: Book, folder: Path) -> Iterator[str]:
    """Events that were acknowledged to a station and are not in the book."""
    chain = dict(book.rows("SELECT seq, digest FROM event"))
    for path in folder.glob("told-*"):
        for line in path.read_text().splitlines():
            seq, _, digest = line.partition(" ")
            if seq.isdigit() and len(digest) == 64 and chain.get(int(seq)) != digest:
                yield f"{path.name}: event {seq} was acknowledged and is lost"


def papers(book: Book, folder: Path) -> Iterator[str]:
    """What the papers bear, held against the book."""
    on: dict[int, tuple[int, int]] = {}
    for path in sorted(folder.glob("paper-*")):
        for line in path.read_text().splitlines():
            number, batch, item = map(int, line.split())
            if number in on:
                yield f"number {number} is on two forms"
            on[number] = (batch, item)
    for number, state, batch, item in book.rows(
        "SELECT number, state, origin_batch, origin_item FROM number WHERE batch > 0"
    ):
        if state == "printed" and on.get(number) != (batch, item):
            yield f"number {number} is a good cheque of {batch}:{item} in the book, and bears {on.get(number)}"
        if number in on and on[number] != (batch, item):
            yield f"number {number} bears {on[number]}, and the book says {batch}:{item}"
    known = {row[0] for row in book.rows("SELECT number FROM number WHERE batch > 0")}
    yield from (
        f"number {number} bears a payment that the book does not know of" for number in on if number not in known
    )


def paid(book: Book) -> Iterator[str]:
    """Payments that have not exactly one good cheque."""
    for batch, item, good in book.rows(
        "SELECT c.batch, c.item, (SELECT count(*) FROM number n WHERE n.origin_batch = c.batch "
        "AND n.origin_item = c.item AND n.state = 'printed') FROM claim c WHERE c.origin_batch = c.batch"
    ):
        if good != 1:
            yield f"payment {batch}:{item} has {good} good cheques"
    for number, state in book.rows("SELECT number, state FROM number WHERE state IN ('reserved', 'sent')"):
        yield f"number {number} is still {state}"


def shown(one: Round) -> str:
    """A round in a line."""
    did = ", ".join(f"{count} {what}" for what, count in sorted(one.done.items()))
    return (
        f"{one.store:10} seed {one.seed:3}: {one.stations} stations, {one.events:6,} events, {one.forms:5,} forms, "
        f"{one.payments:5,} payments; {one.servers_killed} times the server killed, {one.lines_cut} lines cut, "
        f"{one.stations_killed} stations killed; longest step {one.longest:.1f} s; {one.seconds:.0f} s; "
        f"{len(one.wrong)} wrong ({did})"
    )


def main() -> int:
    """All rounds that are not done yet; gives 1 when anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--store", choices=["both", *STATIONS], default="both")
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--steps", type=int, default=120)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--state", type=Path, default=None)
    parser.add_argument("--station", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--life", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.station:
        work(given.folder, given.station, given.life, given.seed, given.steps)
        return 0
    kept = json.loads(given.state.read_text()) if given.state and given.state.exists() else []
    wrong = 0
    for store in STATIONS if given.store == "both" else (given.store,):
        for seed in range(given.seed, given.seed + given.rounds):
            done = next((Round(*one) for one in kept if one[:2] == [store, seed]), None)
            if done is None:
                done = Rounds(store, seed, given.steps).run()
                kept.append(list(done))
                if given.state:
                    given.state.write_text(json.dumps(kept))
            print(shown(done), flush=True)
            for text in done.wrong[:20]:
                print(f"    {text}", flush=True)
            wrong += len(done.wrong)
    rounds = [Round(*one) for one in kept]
    print(
        f"{len(rounds)} rounds: {sum(one.events for one in rounds):,} events, "
        f"{sum(one.forms for one in rounds):,} forms, {sum(one.servers_killed for one in rounds)} times the server "
        f"killed, {sum(one.lines_cut for one in rounds)} lines cut, {sum(one.stations_killed for one in rounds)} "
        f"stations killed; {wrong} things wrong"
    )
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
