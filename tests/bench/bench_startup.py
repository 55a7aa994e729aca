"""How soon a command is there: against importing the library of options alone.

    .venv/bin/python tests/bench/bench_startup.py [--times 21]

`cheque --help` and `cheque words 1` against `python -c "import click"`, in turn, each in a process of its own; of each
the least counts: processor time, and the wall clock. Modules are compiled beforehand, as in an installed package.
"""

import argparse
import json
import tempfile
from pathlib import Path

from bench_payday import process

ASKED = {
    'python -c "import click"': ("-c", "import click"),
    "cheque --help": ("-m", "cheque", "--help"),
    "cheque words 1": ("-m", "cheque", "words", "1"),
}
AIMS = {"cheque --help": 1.5, "cheque words 1": 2.5}


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=21)
    parser.add_argument("--keep", type=Path, help="add what was measured to this file, a line of JSON")
    given = parser.parse_args()
    work: dict[str, list[float]] = {name: [] for name in ASKED}
    wall: dict[str, list[float]] = {name: [] for name in ASKED}
    with tempfile.TemporaryDirectory() as name:
        for arguments in ASKED.values():
            process(Path(name), *arguments)
        for _ in range(given.times):
            for what, arguments in ASKED.items():
                spent = process(Path(name), *arguments)
                work[what].append(spent.work)
                wall[what].append(spent.wall)
    bare, *_ = ASKED
    found = {}
    for what in ASKED:
        found[what] = min(work[what]) / min(work[bare])
        print(
            f"{what:26} {min(work[what]) * 1e3:6.1f} ms of processor, {min(wall[what]) * 1e3:6.1f} ms of wall clock: "
            f"{found[what]:.2f} ({min(wall[what]) / min(wall[bare]):.2f}) times; aim {AIMS.get(what, 1)}"
        )
    if given.keep:
        with given.keep.open("a", encoding="utf-8") as file:
            file.write(json.dumps(found) + "\n")


if __name__ == "__main__":
    main()
