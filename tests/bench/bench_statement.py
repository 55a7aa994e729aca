"""A statement against the book: seconds and memory as both grow, up to a million entries and a million cheques.

    .venv/bin/python tests/bench/bench_statement.py [--sizes 10000,100000] [--folder DIR] [--csv]

For each size: a book of so many good cheques, written in bulk through the book's own functions (one batch, one run, one
answer), and a statement with an entry for each of them but the last hundred, one amount wrong. The command itself runs
in a process of its own, so that its seconds and its peak memory are its own: once to enter, once more to find nothing
new. The ratio to compare by is seconds against those that expat alone takes to go through the same file.
"""

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from xml.parsers import expat

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from bank.camt import Entry, Part, Statement, entry_text, head
from book.quillmere import FORM, Clock, prove

from cheque.book import batches, runs, stock
from cheque.book.book import create
from cheque.payment import Payment

FIRST = 1_000_001
SETTINGS = """[book]
place = "book"
[accounts.main]
drawer = "Quillmere Boatyard Company"
bank = "Tidewrack Savings Bank"
account_number = "000417293355"
currency = "USD"
locale = "en_US"
"""


def book_of(folder: Path, size: int) -> None:
    """A book with so many good cheques, one batch."""
    with create(folder / "book", clock=Clock()) as book:
        book.store.execute("PRAGMA synchronous = OFF")
        stock.receive(book, account="main", form=FORM, first=str(FIRST), last=str(FIRST + size - 1))
        with batches.accepting(book) as acceptance:
            for item in range(1, size + 1):
                acceptance.add(Payment(item, f"Payee {item}", 10_000 + item, "2026-11-27", f"R{item}"))
            acceptance.finish(
                {
                    "account": "main",
                    "form": FORM,
                    "currency": "USD",
                    "items": size,
                    "hash": 0,
                    "source": "bench",
                    "kind": "csv",
                    "register": "",
                    "pairs": "",
                    "form_digest": acceptance.keep_form("bench"),
                    "total": sum(10_000 + item for item in range(1, size + 1)),
                }
            )
        proof = prove(book, acceptance.batch)
        run, _ = runs.begin(
            book,
            batch=acceptance.batch,
            printer="payroom",
            address="file:x",
            language="escp9",
            first=FIRST,
            count=0,
            proof=proof,
        )
        runs.sent(book, run, FIRST, FIRST + size - 1, digest="0" * 64, length=1, k=0)
        runs.finished(book, run)
        good = tuple(range(FIRST, FIRST + size))
        runs.seen(book, run, runs.Seen(good, {}, {}, ()), how="confirm")
    (folder / "cheque.toml").write_text(SETTINGS)


def lines(size: int) -> Iterator[str]:
    """A statement, as camt.053 version 8."""
    paid = size - 100
    total = sum(10_000 + item for item in range(1, paid + 1)) + 90
    left = (total // 100 + 1) * 100 - total
    closing = f"{left // 100}.{left % 100:02}"
    told = Statement(name="BENCH", account="000417293355", opening=f"{total // 100 + 1}.00", closing=closing)
    yield '<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.08"><BkToCstmrStmt>'
    yield "<GrpHdr><MsgId>M</MsgId><CreDtTm>2026-12-31T18:00:00</CreDtTm></GrpHdr>" + head(8, told)
    for item in range(1, paid + 1):
        minor = 10_000 + item + (90 if item == 7 else 0)
        day = f"2026-12-{1 + item * 28 // (paid + 1):02}"
        part = Part(str(FIRST + item - 1), payee=f"PAYEE {item}")
        entry = Entry(f"-{minor // 100}.{minor % 100:02}", day, (part,), reference=f"TSB{item}")
        yield entry_text(8, entry, "USD")
    yield "</Stmt></BkToCstmrStmt></Document>"


def run(folder: Path, expect: int) -> tuple[float, float, str]:
    """Seconds and peak MiB of the command, and what it said."""
    begun = time.perf_counter()
    command = [sys.executable, "-m", "cheque", "reconcile", "bank", "s.xml", "--format", "csv", "-o"]
    out = f"out-{begun}.csv"
    process = subprocess.Popen(
        [*command, out], cwd=folder, stderr=subprocess.PIPE, text=True, env={**os.environ, "LC_ALL": "C.UTF-8"}
    )
    assert process.stderr
    said = process.stderr.read()
    _, status, used = os.wait4(process.pid, 0)
    if os.waitstatus_to_exitcode(status) != expect:
        raise SystemExit(said)
    text = (folder / out).read_text()
    if text.count("amount") < 1 or "two digits" in text:
        raise SystemExit("the wrong amount was not found")
    return time.perf_counter() - begun, used.ru_maxrss / 1024, said


def bare(path: Path) -> float:
    """Seconds that expat alone takes to go through a file."""
    begun = time.perf_counter()
    parser = expat.ParserCreate()
    with path.open("rb") as file:
        parser.ParseFile(file)
    return time.perf_counter() - begun


def main() -> None:
    """Measure each size, and print a table."""
    options = argparse.ArgumentParser()
    options.add_argument("--sizes", default="10000,100000")
    options.add_argument("--folder")
    chosen = options.parse_args()
    titles = ("cheques and entries", "file MB", "expat alone s", "enter s", "÷ expat", "µs an entry", "peak MiB")
    print(f"| {' | '.join((*titles, 'again s', 'peak MiB', 'book MB'))} |\n|{' --- |' * 10}")
    for size in map(int, chosen.sizes.split(",")):
        with tempfile.TemporaryDirectory(dir=chosen.folder) as name:
            folder = Path(name)
            if os.fork() == 0:  # so that what the building took is not this process's
                book_of(folder, size)
                os._exit(0)
            os.wait()
            with (folder / "s.xml").open("w") as file:
                file.writelines(lines(size))
            alone = bare(folder / "s.xml")
            first, most, _ = run(folder, 1)
            again, most_again, said = run(folder, 1)
            if "Nothing new" not in said:
                raise SystemExit("the second time something was new")
            megabytes = [(folder / path).stat().st_size / 1e6 for path in ("s.xml", "book/book.sqlite")]
            print(
                f"| {size:,} | {megabytes[0]:.0f} | {alone:.2f} | {first:.1f} | {first / alone:.0f} | "
                f"{first / size * 1e6:.0f} | {most:.0f} | {again:.1f} | {most_again:.0f} | {megabytes[1]:.0f} |",
                flush=True,
            )
    print(f"\nThis process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB.")


if __name__ == "__main__":
    main()
