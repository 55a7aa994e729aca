"""A payday against the words alone: accept, proof code and print to a file, as a ratio to num2words.

    .venv/bin/python tests/bench/bench_payday.py [--sizes 1000,10000,100000]

Each command runs in a process of its own, as a user would run it; the wall time is of the whole process. num2words
spells the same whole numbers in a process of its own too, timed inside it after its import. Both run in this one
call, so the ratio holds on a noisy machine. Nothing is cached between runs: each begins with a new folder.
"""

import argparse
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
begun = time.perf_counter()
for number in numbers:
    num2words(number)
print(time.perf_counter() - begun)
"""


class Spent(NamedTuple):
    """One command: seconds of wall clock, and its peak memory in MiB."""

    seconds: float
    memory: float
    out: str


def command(folder: Path, *arguments: str) -> Spent:
    """Run one command of the tool; raises when it fails."""
    begun = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, "-m", "cheque", *arguments], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout
        assert process.stderr
        out, err = process.stdout.read(), process.stderr.read()
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"cheque {arguments} ended with {process.returncode}:\n{err.decode()}")
    return Spent(time.perf_counter() - begun, usage.ru_maxrss / 1024, out.decode())


def payday(size: int) -> None:
    """One size: a line of figures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        register = folder / "register.csv"
        with register.open("wb") as file:
            subprocess.run([sys.executable, HERE / "make_register.py", str(size)], stdout=file, check=True)
        words = float(
            subprocess.run([sys.executable, "-c", SPELL, register], capture_output=True, check=True, text=True).stdout
        )
        command(folder, "setup", "--drawer", "Quillmere Boatyard Company", "--bank", "Tidewrack Savings Bank")
        command(folder, "stock", "receive", "payroll-us", "--first", "1000001", "--last", str(1000000 + size))
        with register.open(encoding="utf-8", newline="") as file:
            import csv

            total = sum(int(row["amount"].replace(".", "")) for row in csv.DictReader(file))
        slip = ("--control-total", f"{total // 100}.{total % 100:02d}", "--item-count", str(size))
        accepted = command(folder, "batch", "accept", "register.csv", "--form", "payroll-us", *slip)
        proved = command(folder, "proof", "1")
        code = proved.out.strip()
        printed = command(
            folder, "print", "1", "--first-number", "1000001", "--proof-code", code, "--paper-loaded",
            "--after-first", "go-on",
        )  # fmt: skip
        assert (folder / "payroom.prn").stat().st_size > size * 500
        steps = {"accept": accepted, "proof": proved, "print": printed}
        spent = sum(step.seconds for step in steps.values())
        print(
            f"{size:>9,}  {words * 1e6 / size:8.1f}  "
            + "  ".join(f"{step.seconds * 1e6 / size:8.0f}" for step in steps.values())
            + f"  {spent / words:7.1f}  "
            + "  ".join(f"{step.memory:7.0f}" for step in steps.values())
        )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", default="1000,10000")
    print("           µs a payment                               ratio  peak MiB")
    print(" payments  num2words   accept     proof     print  to words   accept    proof    print")
    for size in parser.parse_args().sizes.split(","):
        payday(int(size))


if __name__ == "__main__":
    main()
