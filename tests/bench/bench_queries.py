"""Commands that ask or enter one thing, in a book of a thousand cheques and in one of a million; verify as it grows.

    .venv/bin/python tests/bench/bench_queries.py [--sizes 1000,10000,100000,1000000] [--keep FILE] [--books DIR]

`--books`: where books are built, and used again when they are there (a million cheques take two minutes).

Each command runs in a process of its own, as a user would run it, eleven times in turn with the others, and its least
counts: processor time, which includes the start of Python, and the wall clock. A ratio is the largest book's to the
smallest's. Books are built without syncs, in paydays of up to 10,000 cheques: all printed, and mailed but for the
last payday's; 120,066 payees in turn. `cheque book verify` is timed once in each.
"""

import argparse
import json
import os
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from bench_payday import Spent, process
from book.quillmere import CREW, FORM, accept, see, start

from cheque.book import cheques as cheque_list
from cheque.book import runs, stock
from cheque.book.book import open_book
from cheque.payment import Payment

PAYDAY = 10_000
FIRST = 1_000_001
TIMES = 11


def payments(count: int, begin: int) -> list[Payment]:
    """So many payments, each payee in every 120,066th."""
    return [
        Payment(item, f"{CREW[n % 6]}-{n % 20_011}", 81_240 + 7 * n, "2026-11-27", f"PR-{n:07}")
        for item, n in enumerate(range(begin, begin + count), 1)
    ]


def build(folder: Path, cheques: int) -> None:
    """A firm whose book has so many cheques, and one more box."""
    firm = ("--drawer", "Quillmere Boatyard Company", "--bank", "Tidewrack Savings Bank")
    process(folder, "-m", "cheque", "setup", *firm)
    with open_book(folder / "book") as book:
        book.store.execute("PRAGMA synchronous = OFF")
        last = FIRST + cheques + 999
        stock.receive(book, account="main", form=FORM, first=str(FIRST), last=str(last))
        for begin in range(0, cheques, PAYDAY):
            count = min(PAYDAY, cheques - begin)
            batch = accept(book, payments(count, begin))
            run, numbers = start(book, batch, FIRST + begin)
            runs.sent(book, run, numbers[0], numbers[-1], digest="0" * 64, length=1800 * count, k=0)
            runs.finished(book, run)
            see(book, run, good=numbers)
            if begin + count < cheques:
                cheque_list.move(book, account="main", first=numbers[0], last=numbers[-1], place="mailed", to="")


def asked(cheques: int, turn: int = 0) -> dict[str, tuple[str, ...]]:
    """The commands of a turn, by what they are called in the table; those that enter something never the same twice."""
    middle, fresh = FIRST + cheques // 2, FIRST + cheques
    used = str(middle + 1 + turn)
    return {
        "show NUMBER": ("show", str(middle)),
        "find REFERENCE": ("find", f"PR-{cheques // 2:07}"),
        "find NUMBER": ("find", str(middle)),
        "find AMOUNT": ("find", f"{(81_240 + 7 * (cheques // 2)) / 100:.2f}"),
        "find PART OF A NAME": ("find", "hwaite-402"),
        "find nobody": ("find", "nobody at all"),
        "stock list": ("stock", "list"),
        "stock count": ("stock", "count", f"{fresh + 100}-{fresh + 999}", "--forms", "900"),
        "batch list": ("batch", "list"),
        "custody": ("custody", str(middle), "--place", "mailed"),
        "void": ("void", used, "--reason", "wrong hours", "--paper", "in-hand", "--disposition", "reissue"),
        "reprint": ("reprint", used),
        "spoil": ("spoil", str(fresh + turn), "--reason", "torn"),
        "missing": ("missing", str(fresh + 50), "--reason", "gone"),
        "found": ("found", str(fresh + 50), "--reason", "behind the printer"),
        "notice list": ("notice", "list"),
        "report stops": ("report", "stops"),
        "report owed": ("report", "owed"),
        "report voids": ("report", "voids"),
    }


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sizes", default="1000,10000,100000")
    parser.add_argument("--books", type=Path, help="where books are built, or were")
    parser.add_argument("--keep", type=Path, help="add what was measured to this file, a line of JSON each")
    given = parser.parse_args()
    sizes = [int(size) for size in given.sizes.split(",")]
    with tempfile.TemporaryDirectory() as name:
        folders = {size: (given.books or Path(name)) / str(size) for size in sizes}
        for size, folder in folders.items():
            if folder.exists():
                continue
            folder.mkdir(parents=True)
            begun = time.process_time()
            build(folder, size)
            print(f"a book of {size:,} cheques built in {time.process_time() - begun:.0f} s", flush=True)
        least: dict[tuple[str, int], Spent] = {}
        for turn in range(TIMES):
            for size, folder in folders.items():
                for what, arguments in asked(size, turn).items():
                    one = process(folder, "-m", "cheque", *arguments, good=(0, 1, *((5,) if given.books else ())))
                    before = least.get((what, size), one)
                    least[what, size] = Spent(min(before.wall, one.wall), min(before.work, one.work), one.memory, "")
        print(f"{'ms of processor (wall clock)':24}" + "".join(f"{size:>18,}" for size in sizes) + "   ratio")
        for what in asked(sizes[0]):
            row = [least[what, size] for size in sizes]
            shown = "".join(f"{one.work * 1e3:9.0f} ({one.wall * 1e3:5.0f})" for one in row)
            print(f"{what:24}{shown}   {row[-1].work / row[0].work:.2f} ({row[-1].wall / row[0].wall:.2f})")
        found = {}
        for size, folder in folders.items():
            spent = process(folder, "-m", "cheque", "book", "verify")
            bytes_of = sum(os.path.getsize(path) for path in (folder / "book").glob("book.sqlite*"))
            found[size] = spent
            print(
                f"book verify, {size:>9,} cheques: {spent.work:8.2f} s, {spent.work * 1e6 / size:6.1f} µs a cheque, "
                f"peak {spent.memory:4.0f} MiB; the book {bytes_of / size:6.0f} B a cheque"
            )
        if given.keep:
            with given.keep.open("a", encoding="utf-8") as file:
                for size in sizes:
                    told = {what: least[what, size].work for what in asked(size)}
                    verify = {"verify work": found[size].work, "verify memory": found[size].memory}
                    file.write(json.dumps({"cheques": size, **told, **verify}) + "\n")


if __name__ == "__main__":
    main()
