"""Reading and judging a CSV register, as a ratio to Python's csv module alone reading the same file.

    .venv/bin/python tests/bench/bench_register.py [--lines 20000] [--memory 1000 10000 100000 1000000]

csv: the module alone, decoding included, rows thrown away. read: our reader. judge: reading, every check, duplicates,
totals and the pairs digest. Times are the best of three. Peak memory is of a process of its own that judges a
register of so many lines; what it grows by a line is the duplicates and pairs remembered. A ratio of judge to csv
above 25, or a growth above 100 bytes a line, ends with exit status 1. The registers are `make_register.py`'s.
"""

import argparse
import csv
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from make_register import lines

from cheque.register import Reading, read_register
from cheque.register.judge import Judge, Verdict

RATIO, GROWTH = 25, 100
REPEATS = 3


def cp437(text: str) -> list[tuple[int, str]]:
    """A printer's table, as accepting a batch would ask it."""
    return [(place, c) for place, c in enumerate(text, 1) if not c.encode("cp437", "ignore")]


def alone(path: Path) -> None:
    """The csv module, and nothing else."""
    with path.open(encoding="utf-8", newline="") as file:
        for _ in csv.reader(file):
            pass


def read(path: Path) -> None:
    """Our reader, and nothing else."""
    with path.open("rb") as file:
        for _ in read_register(file, Reading(path.name, "USD")):
            pass


def judge(path: Path) -> Verdict:
    """Reading and judging, as accepting does it."""
    hearing = Judge(Reading(path.name, "USD"), unprintable=cp437)
    with path.open("rb") as file:
        for _ in hearing.payments(read_register(file, Reading(path.name, "USD"))):
            pass
    return hearing.verdict()


def best(run: Callable[[Path], object], path: Path) -> float:
    """Seconds, the best of a few."""
    times = []
    for _ in range(REPEATS):
        began = time.perf_counter()
        run(path)
        times.append(time.perf_counter() - began)
    return min(times)


def make(folder: str, count: int) -> Path:
    """A register of so many lines."""
    path = Path(folder) / f"{count}.csv"
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.writelines(lines(count))
    return path


def peak(path: Path) -> int:
    """Bytes of memory at most, of a process that judges a register."""
    done = subprocess.run([sys.executable, __file__, "--judge", path], capture_output=True, check=True, text=True)
    return int(done.stdout)


def main() -> int:
    """Measure, print, and say by the exit status whether it is as it should be."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    options.add_argument("--lines", type=int, default=20_000)
    options.add_argument("--memory", type=int, nargs="*", default=[1_000, 10_000, 100_000])
    options.add_argument("--judge", type=Path, help=argparse.SUPPRESS)
    asked = options.parse_args()
    if asked.judge:
        verdict = judge(asked.judge)
        assert not verdict.fault_count, verdict.faults
        print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024)
        return 0
    with tempfile.TemporaryDirectory() as folder:
        path = make(folder, asked.lines)
        base, ratio = best(alone, path), 0.0
        for name, run in (("csv", alone), ("read", read), ("judge", judge)):
            taken = best(run, path)
            ratio = taken / base
            rate = asked.lines / taken
            each = taken / asked.lines * 1e6
            print(f"{name:6} {rate:10,.0f} lines a second   {each:6.1f} µs a line   {ratio:5.1f} × csv")
        peaks = {count: peak(make(folder, count)) for count in asked.memory}
    for count, most in peaks.items():
        print(f"{count:10,} lines: {most / 2**20:6.1f} MB at most")
    few, many = min(peaks, default=0), max(peaks, default=0)
    growth = (peaks[many] - peaks[few]) / (many - few) if many > few else 0.0
    print(f"growth {growth:.0f} bytes a line")
    return 1 if ratio > RATIO or growth > GROWTH else 0


if __name__ == "__main__":
    sys.exit(main())
