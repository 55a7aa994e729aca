"""The book: events a second, durable; what verify costs as the book grows; what one question costs; its size.

    .venv/bin/python tests/bench/bench_book.py [--sizes 1000,10000,100000] [--folder DIR]

Each size is measured in a process of its own, so that its peak memory is its own. `--folder` says on which disk
(the default is where temporary files go). Events a second are given beside what the disk alone does: a 4 KiB
write and fdatasync at a time, in the same call, so the ratio holds on a noisy machine. Books are built without
syncs, in the shape of paydays: a register, a proof, a run in windows of four forms, people who look, a void and its
reprint, one spoiled form; verify then reads them as they lie.
"""

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from book.quillmere import FORM, Clock, accept, payday, prove, see

from cheque.book import batches, cheques, runs, stock, story, verify
from cheque.book.book import FILE, Book, create, open_book

PAYMENTS = 100


def timed(what: Callable[[], object]) -> float:
    """Seconds that a step takes."""
    begun = time.perf_counter()
    what()
    return time.perf_counter() - begun


def one_payday(book: Book, first: int) -> int:
    """A payday of a hundred payments; gives the next number at the head."""
    batch = accept(book, payday(PAYMENTS, start=first))
    run, planned = runs.begin(
        book,
        batch=batch,
        printer="payroom",
        address="file:payroom.prn",
        language="escp9",
        first=first,
        count=0,
        proof=prove(book, batch),
    )
    for start in range(0, PAYMENTS, 4):
        runs.sent(book, run, planned[start][0], planned[start + 3][0], digest="0" * 64, length=7200, k=start)
    runs.finished(book, run)
    good = [number for number, _ in planned]
    see(book, run, good=good[1:], spoiled={good[0]: "torn"})
    cheques.void(book, account="main", number=good[9], reason="wrong hours", paper="in hand")
    reprint = cheques.accept_reprint(book, cheques.reprint_source(book, "main", good[9]))
    head = good[-1] + 1
    for which, number in ((batch, head), (reprint, head + 1)):
        run, _ = runs.begin(
            book,
            batch=which,
            printer="payroom",
            address="file:payroom.prn",
            language="escp9",
            first=number,
            count=0,
            proof=batches.get(book, which).proof or prove(book, which),
        )
        runs.sent(book, run, number, number, digest="0" * 64, length=1800, k=0)
        runs.finished(book, run)
        see(book, run, good=[number])
    return head + 2


def built(folder: Path, events: int) -> Book:
    """A book of at least so many events."""
    book = create(folder / "book", clock=Clock())
    book.store.execute("PRAGMA synchronous = OFF")
    stock.receive(book, account="main", form=FORM, first="1000001", last="9000000")
    head = 1_000_001
    while book.head.seq < events:
        with book.change():
            for _ in range(10):
                head = one_payday(book, head)
    book.store.row("PRAGMA wal_checkpoint(TRUNCATE)")
    return book


def peak() -> float:
    """Peak memory of this process so far, MiB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def verified(folder: Path) -> None:
    """In a process of its own: verify a book that lies there, and ask it single questions."""
    before = peak()
    with open_book(folder / "book") as book:
        spent = timed(lambda: verify.verify(book))
        memory = peak()
        events = book.head.seq
        payments = book.value("SELECT count(*) FROM payment")
        last = book.value("SELECT max(number) FROM number")
        middle = book.value("SELECT max(id) / 2 FROM batch")
        asked = {
            "show a number": lambda: (story.history(book, "main", last - 50), story.links(book, "main", last - 50)),
            "find a reference": lambda: story.search(book, f"PR-{1_000_001 + 7:04}"),
            "find a payee": lambda: story.search(book, "nobody"),
            "what waits in a batch": lambda: batches.waiting(book, middle),
        }
        answers = "  ".join(f"{name} {min(timed(ask) for _ in range(5)) * 1e3:.2f} ms" for name, ask in asked.items())
        past = timed(
            lambda: verify.as_of(book, datetime.fromisoformat(book.value("SELECT at FROM event WHERE seq = 9")))
        )
        size = os.path.getsize(folder / "book" / FILE)
        text = book.value("SELECT sum(length(CAST(body AS BLOB))) FROM payment")
    print(
        f"{events:>9,} events, {payments:>9,} payments: verify {spent:7.2f} s, {spent / events * 1e6:6.1f} µs an event;"
        f" peak {memory:5.0f} MiB ({memory - before:+.0f})\n"
        f"            {answers}\n"
        f"            the book as of its ninth event: {past * 1e3:.0f} ms; "
        f"size {(size - text) / payments:.0f} bytes a payment, and its text ({text / payments:.0f})"
    )


def durable(folder: Path, events: int = 300) -> None:
    """Events a second, each its own commit on the disk; windows of four forms; and the disk alone."""
    handle = os.open(folder / "log", os.O_CREAT | os.O_RDWR)

    def writes() -> None:
        for place in range(events):
            os.pwrite(handle, b"\0" * 4096, place * 4096)
            os.fdatasync(handle)

    with create(folder / "durable") as book:
        stock.receive(book, account="main", form=FORM, first="1", last="100000")
        alone = timed(writes)
        spoiled = timed(
            lambda: [stock.spoil(book, account="main", first=n, last=n, reason="torn") for n in range(1, events + 1)]
        )
        batch = accept(book, payday(4 * events))
        run, planned = runs.begin(
            book,
            batch=batch,
            printer="p",
            address="",
            language="",
            first=1001,
            count=0,
            proof=prove(book, batch),
        )
        windows = [planned[start : start + 4] for start in range(0, len(planned), 4)]

        def sent() -> None:
            for k, window in enumerate(windows):
                runs.sent(book, run, window[0][0], window[-1][0], digest="0" * 64, length=7200, k=4 * k)

        went = timed(sent)
        book.store.execute("PRAGMA synchronous = OFF")
        unsynced = timed(
            lambda: [
                stock.spoil(book, account="main", first=n, last=n, reason="torn")
                for n in range(50_001, 50_001 + 10 * events)
            ]
        ) / (10 * events)
    os.close(handle)
    print(f"the disk alone         {events / alone:9,.0f} writes of 4 KiB and syncs a second")
    print(
        f"one form an event      {events / spoiled:9,.0f} events a second, durable ({alone / spoiled:.2f} of the disk)"
    )
    print(f"windows of four forms  {events / went:9,.0f} events a second, durable: {alone / went:.2f} of the disk")
    print(f"without syncs          {unsynced * 1e6:9,.0f} µs an event and its transaction")


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sizes", default="1000,10000,100000")
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--verify", type=Path, default=None, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.verify:
        verified(given.verify)
        return
    with tempfile.TemporaryDirectory(dir=given.folder) as name:
        durable(Path(name))
    for size in map(int, given.sizes.split(",")):
        with tempfile.TemporaryDirectory(dir=given.folder) as name:
            begun = time.perf_counter()
            built(Path(name), size).close()
            print(f"{size:>9,} events wanted: built in {time.perf_counter() - begun:.1f} s", flush=True)
            subprocess.run([sys.executable, __file__, "--verify", name], check=True)


if __name__ == "__main__":
    main()
