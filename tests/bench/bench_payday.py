"""A payday against the words alone, and against a plain script: time, memory, and the size of the book.

    .venv/bin/python tests/bench/bench_payday.py [--sizes 10,100,1000,10000] [--repeat 3] [--keep FILE]
        [--kind stub,plain] [--cores 1]

Accept, proof code and print to a file, each command in a process of its own, as a user would run it: what counts is
the whole process, its start and the disk's syncs included. `num2words` spells the same whole numbers in a process of
its own, timed inside it after its import; `plain_script.py`, the whole process, writes the same payments with no
checks, no book and no proof. All in one call, so the ratios hold on a noisy machine; of several runs (`--repeat`)
each step's least counts. Processor time (user and system) is given beside the wall clock, because on a machine with
other work the wall clock measures that too; of a step with a crew it covers the workers. `cores` is how many were
kept busy: the processor time of the three steps by their wall clock; `--cores` says how many they may use. Modules
are compiled beforehand, as in an installed package. Nothing is cached between runs: each begins with a new folder.
`stub`: a payroll stub of seven lines; `plain`: four columns, no stub.
"""

import argparse
import csv
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).resolve().parent
SPELL = """
import csv, sys, time
from num2words import num2words
with open(sys.argv[1], newline="", encoding="utf-8") as file:
    numbers = [int(row["amount"].partition(".")[0]) for row in csv.DictReader(file)]
begun, work = time.perf_counter(), time.process_time()
for number in numbers:
    num2words(number)
print(time.perf_counter() - begun, time.process_time() - work)
"""
STEPS = ("accept", "proof", "print")


class Spent(NamedTuple):
    """One process: seconds of wall clock and of the processor, its peak memory in MiB, and what it said."""

    wall: float
    work: float
    memory: float
    out: str


def process(folder: Path, *arguments: str, good: tuple[int, ...] = (0,)) -> Spent:
    """Run Python with these arguments; SystemExit when it ends with a status that is not among the good ones."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    compiled = {"PYTHONPYCACHEPREFIX": str(Path(tempfile.gettempdir()) / "cheque-bench-compiled")}
    begun = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, *arguments], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=kept | compiled
    ) as child:
        assert child.stdout
        assert child.stderr
        out, err = child.stdout.read(), child.stderr.read()
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in good:
        raise SystemExit(f"{arguments} ended with {child.returncode}:\n{err.decode()}")
    wall = time.perf_counter() - begun
    return Spent(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, out.decode())


def write_register(path: Path, size: int, kind: str) -> int:
    """A register of so many payments; gives its control total in minor units."""
    import make_register

    total = 0
    columns = ("payee", "amount", "date", "reference")
    with path.open("w", encoding="utf-8", newline="") as file:
        rows = csv.reader(make_register.lines(size))
        head = next(rows)
        places = [head.index(name) for name in (columns if kind == "plain" else head)]
        out = csv.writer(file, lineterminator="\n")
        out.writerow([head[place] for place in places])
        for row in rows:
            total += int(row[1].replace(".", ""))
            out.writerow([row[place] for place in places])
    return total


def payday(size: int, kind: str, server: str = "") -> dict[str, float]:
    """One payday in a new folder: seconds and MiB by what they are of. `server`: where the book is, else here.

    The memory of a step is that of the largest of its processes.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        total = write_register(folder / "register.csv", size, kind)
        wall, work = map(float, process(folder, "-c", SPELL, "register.csv").out.split())
        found = {"words wall": wall, "words work": work}
        script = process(folder, str(HERE / "plain_script.py"), "register.csv", "plain.prn", "1000001")
        found |= {"script wall": script.wall, "script work": script.work}
        cheque = ("-m", "cheque")
        firm = ("--drawer", "Quillmere Boatyard Company", "--bank", "Tidewrack Savings Bank")
        process(folder, *cheque, "setup", *firm, *(("--book", server) if server else ()))
        process(folder, *cheque, "stock", "receive", "payroll-us", "--first", "1000001", "--last", str(1000000 + size))
        slip = ("--control-total", f"{total // 100}.{total % 100:02d}", "--item-count", str(size))
        code = ""
        for step in STEPS:
            arguments = {
                "accept": ("batch", "accept", "register.csv", "--form", "payroll-us", *slip),
                "proof": ("proof", "1"),
                "print": ("print", "1", "--first-number", "1000001", "--proof-code", code, "--paper-loaded"),
            }[step]
            spent = process(folder, *cheque, *arguments, *(("--after-first", "go-on") if step == "print" else ()))
            code = spent.out.strip()
            found |= {f"{step} wall": spent.wall, f"{step} work": spent.work, f"{step} memory": spent.memory}
        assert (folder / "payroom.prn").stat().st_size > size * 400
        with (folder / "payroom.prn").open("rb") as stream:
            forms, end = 0, b""
            while piece := stream.read(1 << 20):
                forms += (end + piece).count(b"\x1b@")  # a command may stand across two pieces
                end = piece[-1:]
        assert forms >= size
        found["register"] = (folder / "register.csv").stat().st_size
        found["book"] = sum(path.stat().st_size for path in (folder / "book").glob("book.sqlite*"))
        return found


def measured(size: int, kind: str, repeat: int, *, server: bool = False) -> dict[str, float]:
    """The least of several paydays, with what follows from it."""
    if server:
        sys.path.insert(0, str(HERE.parent))
        from book.server import shared

        runs = [payday(size, kind, shared().url()) for _ in range(repeat)]
    else:
        runs = [payday(size, kind) for _ in range(repeat)]
    least = {name: min(run[name] for run in runs) for name in runs[0]}
    for how in ("wall", "work"):
        least[f"all {how}"] = sum(least[f"{step} {how}"] for step in STEPS)
        least[f"to words {how}"] = least[f"all {how}"] / least[f"words {how}"]
        least[f"to script {how}"] = least[f"all {how}"] / least[f"script {how}"]
    least["cores"] = least["all work"] / least["all wall"]
    least["beyond the register"] = 0.0 if server else (least["book"] - least["register"]) / size
    return least


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sizes", default="10,100,1000,10000")
    parser.add_argument("--kind", default="stub,plain")
    parser.add_argument("--repeat", type=int, default=3)
    parser.add_argument("--server", action="store_true", help="with the book on a PostgreSQL server begun for it")
    parser.add_argument("--keep", type=Path, help="add what was measured to this file, a line of JSON each")
    parser.add_argument("--cores", type=int, help="how many cores each command may use; all of them unless given")
    given = parser.parse_args()
    if given.cores:
        os.environ["CHEQUE_CORES"] = str(given.cores)
    with tempfile.TemporaryDirectory() as name:
        process(Path(name), "-c", "import num2words, click")
        payday(3, "stub")  # compiles the modules
    heads = {"µs of processor a payment": 72, "by the clock": 14, "÷ words": 15, "÷ script": 14, "peak MiB": 18}
    print("".join(f"{text:>{width}}" for text, width in heads.items()) + f"{'B a payment':>14}")
    print(
        f"{'kind':5}{'payments':>9}"
        + "".join(f"{name:>8}" for name in ("words", "script", *STEPS, "all"))
        + "".join(f"{name:>7}" for name in ("all", "cores", *("work", "wall") * 2))
        + "".join(f"{name:>7}" for name in (*STEPS, "beyond"))
    )
    for kind in given.kind.split(","):
        for size in map(int, given.sizes.split(",")):
            found = measured(size, kind, given.repeat, server=given.server)
            each = [found[f"{what} work"] * 1e6 / size for what in ("words", "script", *STEPS, "all")]
            print(
                f"{kind:5}{size:>9,}"
                + "".join(f"{one:8.0f}" for one in each)
                + f"{found['all wall'] * 1e6 / size:7.0f}{found['cores']:7.2f}"
                + "".join(
                    f"{found[f'to {what} {how}']:7.1f}" for what in ("words", "script") for how in ("work", "wall")
                )
                + "".join(f"{found[f'{step} memory']:7.0f}" for step in STEPS)
                + f"{found['beyond the register']:7.0f}",
                flush=True,
            )
            if given.keep:
                with given.keep.open("a", encoding="utf-8") as file:
                    file.write(json.dumps({"kind": kind, "payments": size, **found}) + "\n")


if __name__ == "__main__":
    main()
