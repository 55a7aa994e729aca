"""Reading and judging registers, as a ratio to Python's csv module alone reading a CSV file of as many lines.

    .venv/bin/python tests/bench/bench_register.py [--lines 20000] [--memory 1000 10000 100000 1000000]
        [--commands 1000 100000]

csv: the module alone, decoding included, rows thrown away. read: our reader. judge: reading, every check, duplicates,
totals and the pairs digest, as accepting does it. The fixed-width report has as many lines as the CSV file, eight to
a payment. Times are the best of three. Peak memory is of a process of its own that judges a register of so many
lines; what it grows by a line is the duplicates and pairs remembered. A ratio of judge to csv above 25, or a growth
above 100 bytes a line, ends with exit status 1. The registers are `make_register.py`'s and `make_report.py`'s.

commands: `cheque register check` and `cheque batch accept`, each in a process of its own and a new book, as a user runs
them (--commands 1000 100000): seconds and peak memory.

For the other kinds: payments a second of a message and of a spreadsheet, with the same payments as the CSV file.
"""

import argparse
import csv
import io
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import make_register
import make_report

from cheque.payment import Payment
from cheque.register import Reading, maps, pain001, read_register, xlsxfile
from cheque.register.judge import Judge, Verdict

RATIO, GROWTH = 25, 100
REPEATS = 3
KINDS = ("csv", "fixed-width")


def cp437(text: str) -> list[tuple[int, str]]:
    """A printer's table, as accepting a batch would ask it."""
    return [(place, c) for place, c in enumerate(text, 1) if not c.encode("cp437", "ignore")]


def reading(path: Path) -> Reading:
    """What a reader of this file is told."""
    by = maps.load(make_report.MAP, "map.toml") if path.suffix == ".prn" else None
    return Reading(path.name, "USD", map=by)


def alone(path: Path) -> None:
    """The csv module, and nothing else."""
    with path.open(encoding="utf-8", newline="") as file:
        for _ in csv.reader(file):
            pass


def read(path: Path) -> None:
    """Our reader, and nothing else."""
    with path.open("rb") as file:
        for _ in read_register(file, reading(path)):
            pass


def judge(path: Path) -> Verdict:
    """Reading and judging, as accepting does it."""
    hearing = Judge(reading(path), unprintable=cp437)
    with path.open("rb") as file:
        for _ in hearing.payments(read_register(file, reading(path))):
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


def make(folder: str, count: int, kind: str) -> Path:
    """A register of so many lines."""
    made = make_register if kind == "csv" else make_report
    path = Path(folder) / f"{count}{'.csv' if kind == 'csv' else '.prn'}"
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.writelines(made.lines(count))
    return path


def peak(path: Path) -> int:
    """Bytes of memory at most, of a process that judges a register."""
    done = subprocess.run([sys.executable, __file__, "--judge", path], capture_output=True, check=True, text=True)
    return int(done.stdout)


_AS_A_USER = """
import pathlib, sys
from cheque.cli import status_of
status = status_of(sys.argv[1:])
pathlib.Path("status").write_text(pathlib.Path("/proc/self/status").read_text())
sys.exit(status)
"""


def high_water() -> int:
    """Bytes of memory at most, of this process since it began (and not of the one that began it)."""
    return _high_water(Path("/proc/self/status").read_text())


def _high_water(status: str) -> int:
    return int(next(line for line in status.splitlines() if line.startswith("VmHWM")).split()[1]) * 1024


def others(folder: str, path: Path, base: float, count: int) -> None:
    """A message and a spreadsheet of the same payments, their stubs left out of the message."""
    with path.open("rb") as file:
        payments = [item for item in read_register(file, reading(path)) if isinstance(item, Payment)][:2_000]
    bare = [payment._replace(stub=(), period_from="", period_to="") for payment in payments]
    for kind, module, batch in (("pain.001", pain001, bare), ("xlsx", xlsxfile, payments)):
        out = io.BytesIO()
        module.write(batch, out, "USD")
        other = Path(folder) / f"others{module.suffixes[0]}"
        other.write_bytes(out.getvalue())
        taken = best(read, other) / len(batch)
        print(f"{kind:12} read  {1 / taken:10,.0f} payments a second {taken / (base / count):5.1f} × a line of csv")


def commands(folder: str, count: int, kind: str) -> None:
    """A register of so many lines checked and accepted by the command line, in a firm of its own."""
    firm = Path(folder) / f"firm-{kind}-{count}"
    firm.mkdir()
    path = make(str(firm), count, kind)
    with path.open("rb") as file:
        total = items = 0
        for item in read_register(file, reading(path)):
            assert isinstance(item, Payment), item
            total, items = total + item.amount, items + 1
    by: tuple[str, ...] = ()
    if kind != "csv":
        (firm / "map.toml").write_text(make_report.MAP, "utf-8")
        by = ("--map", "map.toml")
    _run(firm, "setup", "--drawer", "Quillmere Boatyard Company", "--bank", "Tidewrack Savings Bank",
         "--routing", "123456780", "--account-number", "000417293355")  # fmt: skip
    slip = ("--control-total", f"{total // 100}.{total % 100:02}", "--item-count", str(items))
    for name, arguments in (
        ("check", ("register", "check", path.name, *by)),
        ("accept", ("batch", "accept", path.name, "--form", "payroll-us", *slip, *by)),
    ):
        seconds, peaked = _run(firm, *arguments)
        print(f"{kind:12} {name:6} {count:10,} lines: {seconds:7.1f} s, {peaked / 2**20:6.1f} MiB at most", flush=True)


def _run(firm: Path, *arguments: str) -> tuple[float, int]:
    """Run one command; seconds and bytes of memory at most."""
    began = time.perf_counter()
    with (firm / "said").open("wb") as said:
        command = [sys.executable, "-c", _AS_A_USER, *arguments]
        status = subprocess.run(command, cwd=firm, stdout=said, stderr=said, check=False).returncode
    assert status == 0, (firm / "said").read_text("utf-8")[-2000:]
    return time.perf_counter() - began, _high_water((firm / "status").read_text())


def main() -> int:
    """Measure, print, and say by the exit status whether it is as it should be."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    options.add_argument("--lines", type=int, default=20_000)
    options.add_argument("--memory", type=int, nargs="*", default=[1_000, 10_000, 100_000])
    options.add_argument("--commands", type=int, nargs="*", default=[])
    options.add_argument("--judge", type=Path, help=argparse.SUPPRESS)
    asked = options.parse_args()
    if asked.judge:
        verdict = judge(asked.judge)
        assert not verdict.fault_count, verdict.faults
        print(high_water())
        return 0
    worst = most_growth = 0.0
    with tempfile.TemporaryDirectory() as folder:
        path = make(folder, asked.lines, "csv")
        base = best(alone, path)
        print(f"{'csv module':12} alone {asked.lines / base:10,.0f} lines a second")
        for kind in KINDS:
            path = make(folder, asked.lines, kind)
            for name, run in (("read", read), ("judge", judge)):
                taken = best(run, path)
                worst = max(worst, taken / base)
                each = taken / asked.lines * 1e6
                print(
                    f"{kind:12} {name:5} {asked.lines / taken:10,.0f} lines a second   {each:6.1f} µs a line"
                    f"   {taken / base:5.1f} × csv"
                )
        others(folder, make(folder, asked.lines, "csv"), base, asked.lines)
        for kind in KINDS:
            peaks = {}
            for count in asked.memory:
                path = make(folder, count, kind)
                peaks[count] = peak(path)
                path.unlink()
                print(f"{kind:12} {count:10,} lines: {peaks[count] / 2**20:6.1f} MiB at most", flush=True)
            few, many = min(peaks, default=0), max(peaks, default=0)
            growth = (peaks[many] - peaks[few]) / (many - few) if many > few else 0.0
            most_growth = max(most_growth, growth)
            print(f"{kind:12} growth {growth:.0f} bytes a line")
        for kind in KINDS:
            for count in asked.commands:
                commands(folder, count, kind)
    return 1 if worst > RATIO or most_growth > GROWTH else 0


if __name__ == "__main__":
    sys.exit(main())
