"""Power cuts in the midst of a run: what the disk may then hold, opened, proven and gone on from.

    .venv/bin/python tests/campaign/power_loss.py --seed 1 --report docs/evidence/power-loss.md

`cheque print` runs once under strace, to a practice printer; every write to the book's files, every sync, every file
made or removed, and every byte sent to the printer is kept, in order. A power cut may come between any two of them.
What was synced by then is on the disk; of every write since, any part may be, or none: the disk orders them as it
likes, and tears them. From each cut four images of the book are built:

* `least`: only what was synced; a file made or removed without a sync of its folder is as before;
* `most`: everything written;
* `some`: each unsynced write at random there or not;
* `torn`: the same, and of those that are there some only up to a random byte.

Each image is opened, `book verify` must pass, and the operator (as in kill_run.py) goes on from the paper: every byte
sent before the cut is struck on it. Then every payment must have exactly one good cheque, in the book and on paper.
"""

import argparse
import ast
import os
import random
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from campaign.kill_payday import Firm  # noqa: E402
from campaign.kill_run import Campaign, Room, Try, beginning  # noqa: E402

from cheque.book import where  # noqa: E402

VARIANTS = ("least", "most", "some", "torn")
_TRACED = "openat,write,pwrite64,fsync,fdatasync,ftruncate,unlink,rename,link,sendto,sendmsg,writev,pwritev"
_BYTES = r'"(?P<data>(?:\\x[0-9a-f]{2})*)"'
_LINES = {
    "write": re.compile(rf"pwrite64\(\d+<(?P<path>[^>]*)>, {_BYTES}, \d+, (?P<at>\d+)\) = (?P<done>\d+)"),
    "append": re.compile(rf"write\(\d+<(?P<path>/[^>]*)>, {_BYTES}, \d+\) = (?P<done>\d+)"),
    "sync": re.compile(r"f(?:data)?sync\(\d+<(?P<path>[^>]*)>\) = 0"),
    "cut": re.compile(r"ftruncate\(\d+<(?P<path>[^>]*)>, (?P<at>\d+)\) = 0"),
    "make": re.compile(r"openat\([^,]*, \"[^\"]*\", (?P<flags>[A-Z_|]*O_CREAT[A-Z_|]*)[^)]*\) = \d+<(?P<path>[^>]*)>"),
    "remove": re.compile(rf"unlink\({_BYTES}\) = 0"),
    "send": re.compile(rf"sendto\(\d+<(?P<path>[^>]*)>, {_BYTES}, .*\) = (?P<done>\d+)"),
}


class Op(NamedTuple):
    """One thing done: to a file (by its path from the firm's folder), or bytes sent to the printer."""

    what: str
    path: str = ""
    data: bytes = b""
    at: int = 0


def read_trace(lines: list[str], folder: Path) -> list[Op]:
    """What was done, in order. AssertionError for a call on the firm's files that is not understood."""
    found = []
    for line in lines:
        text = re.sub(r"^\d+ +", "", line)
        for what, pattern in _LINES.items():
            match = pattern.match(text)
            if match:
                told = match.groupdict()
                data = ast.literal_eval(f'b"{told.get("data") or ""}"')
                path = data.decode() if what == "remove" else told["path"]
                if what != "send" and not _inside(path, folder):
                    break
                if "done" in told:
                    data = data[: int(told["done"])]
                name = "" if what == "send" else os.path.relpath(path, folder)
                found.append(Op(what, name, b"" if what == "remove" else data, int(told.get("at") or 0)))
                break
        else:
            harmless = " = -1 " in text or text.startswith(("openat", "+++", "---")) or str(folder) not in text
            assert harmless, f"not understood: {text[:200]}"
    return found


def _inside(path: str, folder: Path) -> bool:
    return path.startswith(f"{folder}/book") and not path.endswith(("-shm", ".lock"))


class Disk:
    """What a disk may hold after a cut: files by name, and what was done to them since their last sync."""

    def __init__(self, folder: Path) -> None:
        self.safe: dict[str, bytearray] = {}
        for path in sorted((folder / "book").rglob("*")):
            if path.is_file() and not path.name.endswith(("-shm", ".lock")):
                self.safe[str(path.relative_to(folder))] = bytearray(path.read_bytes())
        self.named = set(self.safe)  # names that are on the disk for sure
        self.since: dict[str, list[Op]] = {}
        self.names: list[Op] = []  # files made and removed since their folder was last synced

    def do(self, op: Op) -> None:
        """One thing more has happened."""
        if op.what in ("make", "remove"):
            if op.what == "remove" or (op.path not in self.safe):
                self.names.append(op)
            self.safe.setdefault(op.path, bytearray())
        elif op.what == "sync" and op.path in self.safe:
            for done in self.since.pop(op.path, []):
                _apply(self.safe[op.path], done, len(done.data))
        elif op.what == "sync":  # a folder
            for made in [one for one in self.names if os.path.dirname(one.path) == op.path]:
                self._name(self.named, made)
                self.names.remove(made)
        elif op.what != "send":
            assert op.path in self.safe, f"a write to {op.path}, which is not there"
            if op.what == "append":
                op = op._replace(at=self._size(op.path))
            self.since.setdefault(op.path, []).append(op)

    def _size(self, path: str) -> int:
        whole = bytearray(self.safe[path])
        for done in self.since.get(path, []):
            _apply(whole, done, len(done.data))
        return len(whole)

    @staticmethod
    def _name(names: set[str], op: Op) -> None:
        if op.what == "make":
            names.add(op.path)
        else:
            names.discard(op.path)

    def image(self, variant: str, chance: random.Random) -> dict[str, bytes]:
        """The files as they may be found."""
        names = set(self.named)
        for op in self.names:
            if variant == "most" or (variant != "least" and chance.random() < 0.5):
                self._name(names, op)
        found = {}
        for name in names:
            whole = bytearray(self.safe[name])
            for op in self.since.get(name, []):
                if variant == "least" or (variant in ("some", "torn") and chance.random() < 0.5):
                    continue
                length = len(op.data)
                if variant == "torn" and chance.random() < 0.5:
                    length = chance.randint(0, length)
                _apply(whole, op, length)
            found[name] = bytes(whole)
        return found


def _apply(whole: bytearray, op: Op, length: int) -> None:
    if op.what == "cut":
        del whole[op.at :]
        whole.extend(bytes(op.at - len(whole)))
        return
    whole.extend(bytes(max(0, op.at - len(whole))))
    whole[op.at : op.at + length] = op.data[:length]


class Traced(NamedTuple):
    """A run as it was traced: the firm's folder before it, and what was done."""

    before: Path
    ops: list[Op]


def trace(campaign: Campaign, folder: Path) -> Traced:
    """Run `cheque print` once under strace."""
    before = folder / "before"
    with campaign.room("socket", random.Random(0)) as room:
        room.firm.copy(before)
        listing = folder / "trace"
        command = ["strace", "-y", "-xx", "-s", "10000000", "-e", f"trace={_TRACED}", "-o", str(listing), "-f"]
        done = subprocess.run(
            [*command, sys.executable, "-m", "cheque", *campaign.command()],
            cwd=room.firm.folder,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr.decode()
        return Traced(before, read_trace(_readable(listing), room.firm.folder))


def _readable(listing: Path) -> list[str]:
    """The trace's lines, paths in angle brackets and of opened files in letters again (-xx writes them in hex)."""

    def letters(match: re.Match[str]) -> str:
        return "<" + bytes.fromhex(match[1].replace("\\x", "")).decode() + ">"

    text = listing.read_text()
    return re.sub(r"<((?:\\x[0-9a-f]{2})+)>", letters, text).splitlines()


def cuts(traced: Traced) -> Iterator[tuple[int, Disk, bytes]]:
    """Every moment between two things done: how many were, the disk, and what had been sent."""
    disk, sent = Disk(traced.before), bytearray()
    yield 0, disk, b""
    for place, op in enumerate(traced.ops, 1):
        if op.what == "send":
            sent += op.data
        disk.do(op)
        yield place, disk, bytes(sent)


def attempt(campaign: Campaign, traced: Traced, image: dict[str, bytes], sent: bytes, chance: random.Random) -> Try:
    """Open an image, and go on from it to the end."""
    with campaign.room("socket", chance) as room:
        _lay(room, traced.before, image)
        room.feed(sent)
        one = Try(campaign, room, chance)
        try:
            status, out, err = room.firm.run("book", "verify")
            if status:
                one.wrong.append(f"verify: {out}{err}")
            one.finish()
        except (AssertionError, TimeoutError) as error:
            one.wrong.append(str(error) or type(error).__name__)
        return one


def _lay(room: Room, before: Path, image: dict[str, bytes]) -> None:
    """Put the image in the place of the firm's book."""
    firm = Firm(room.firm.folder)
    for path in (firm.folder / "book").glob("book.sqlite*"):
        path.unlink()
    for name, data in image.items():
        place = firm.folder / name
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        place.write_bytes(data)
        place.chmod(0o600)
    where.settle_file(firm.folder / "book", firm.folder / "book" / "book.sqlite")  # it is the same disk's own file


class Outcome(NamedTuple):
    """One image: after how many things done, which of the four, and what is wrong."""

    cut: int
    variant: str
    losses: int
    doubles: int
    wrong: list[str]


def campaign(seed: int, show: Callable[[str], None], *, every: int = 1) -> tuple[list[Op], list[Outcome]]:
    """All images of every cut (or of every so many)."""
    outcomes = []
    with beginning(("socket",)) as made, tempfile.TemporaryDirectory(prefix="power-") as name:
        traced = trace(made, Path(name))
        show(f"things done: {Counter(op.what for op in traced.ops)}")
        for place, disk, sent in cuts(traced):
            if place % every:
                continue
            for variant in VARIANTS:
                chance = random.Random(f"{seed}:{place}:{variant}")
                one = attempt(made, traced, disk.image(variant, chance), sent, chance)
                outcomes.append(Outcome(place, variant, one.losses, one.doubles, one.wrong))
                if one.wrong:
                    show(f"cut {place}, {variant}: {one.wrong}")
            if place % 20 == 0:
                show(f"{place} of {len(traced.ops)}")
    return traced.ops, outcomes


def report(ops: list[Op], outcomes: list[Outcome], command: str) -> str:
    """The page of evidence."""
    git = ["git", "rev-parse", "--short", "HEAD"]
    commit = subprocess.run(git, cwd=ROOT, capture_output=True, text=True, check=False)
    counts = Counter(op.what for op in ops)
    done = ", ".join(f"{counts[what]} × {what}" for what in sorted(counts))
    lines = [
        "# Power cuts",
        "",
        f"`{command}`, {time.strftime('%Y-%m-%d')}, commit {commit.stdout.strip()}.",
        "",
        "What is done and what is checked is told at the top of the script. A run of four forms, traced: " + done + ".",
        "",
        "| image | tried | losses | doubles | something wrong |",
        "| --- | --- | --- | --- | --- |",
    ]
    for variant in VARIANTS:
        mine = [outcome for outcome in outcomes if outcome.variant == variant]
        figures = (
            len(mine),
            sum(o.losses for o in mine),
            sum(o.doubles for o in mine),
            sum(bool(o.wrong) for o in mine),
        )
        lines.append(f"| {variant} | " + " | ".join(map(str, figures)) + " |")
    found = [f"- cut {o.cut}, {o.variant}: {'; '.join(o.wrong)}" for o in outcomes if o.wrong]
    return "\n".join([*lines, "", *(found or ["Nothing was wrong with any of them."]), ""])


def main() -> None:
    """Run the campaign."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--report", type=Path)
    given = parser.parse_args()
    ops, outcomes = campaign(given.seed, lambda text: print(text, flush=True), every=given.every)
    text = report(ops, outcomes, f".venv/bin/python tests/campaign/power_loss.py --seed {given.seed}")
    print(text)
    if given.report:
        given.report.write_text(text, "utf-8")
    sys.exit(any(outcome.wrong for outcome in outcomes))


if __name__ == "__main__":
    main()
