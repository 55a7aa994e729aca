"""Stations on one book: events a second, durable, against how many there are, and the longest wait; on both stores.

    .venv/bin/python tests/bench/bench_stations.py [--stations 1,2,4,8] [--events 200] [--folder DIR]

Each station is a process with a box of its own, and enters one spoiled form after another, each a commit on the disk.
The book in a file and the server's files are both in `--folder` (the default is where temporary files go), so that the
two stores stand on the same disk. Beside them what the disk alone does: a 4 KiB write and fdatasync at a time. A wait
is how long one event took from asking to being told that it is on the disk. A run of windows of forms, as a printer
makes them, has far fewer events a second than this: a form takes seconds on paper.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from book.quillmere import FORM  # noqa: E402
from book.server import Server  # noqa: E402

from cheque.book import stock, verify  # noqa: E402
from cheque.book.book import create, open_book  # noqa: E402

BOX = 100_000


def work(folder: Path, server: str, name: int, events: int, at: float) -> None:
    """One station: so many events, from a moment on; tells how long each took."""
    place = folder / (f"station-{name}" if server else "book")
    with open_book(place, server=server, who=f"clerk-{name}", station=f"s{name}") as book:
        time.sleep(max(0.0, at - time.time()))
        waits, begun = [], time.time()
        for number in range(name * BOX + 1, name * BOX + 1 + events):
            asked = time.perf_counter()
            stock.spoil(book, account="main", first=number, last=number, reason="torn")
            waits.append(time.perf_counter() - asked)
        print(json.dumps({"begun": begun, "ended": time.time(), "waits": waits}))


def measured(folder: Path, server: str, stations: int, events: int) -> tuple[float, list[float]]:
    """Events a second of so many stations together, and every wait, sorted."""
    with create(folder / ("station-0" if server else "book"), server=server) as book:
        for name in range(1, stations + 1):
            stock.receive(book, account="main", form=FORM, first=str(name * BOX + 1), last=str(name * BOX + 50_000))
    at = time.time() + 1.5 + 0.3 * stations
    command = [sys.executable, __file__, "--folder", str(folder), "--events", str(events), "--at", str(at)]
    processes = [
        subprocess.Popen(
            [*command, "--server", server, "--station", str(name)],
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        for name in range(1, stations + 1)
    ]
    told = [json.loads(process.communicate()[0]) for process in processes]
    with open_book(folder / ("station-0" if server else "book"), server=server) as book:
        assert verify.verify(book) == []
        assert book.head.seq == 1 + stations + stations * events
    span = max(one["ended"] for one in told) - min(one["begun"] for one in told)
    return stations * events / span, sorted(wait for one in told for wait in one["waits"])


def disk(folder: Path, writes: int = 300) -> float:
    """Writes of 4 KiB a second, each synced."""
    handle = os.open(folder / "log", os.O_CREAT | os.O_RDWR)
    begun = time.perf_counter()
    for place in range(writes):
        os.pwrite(handle, b"\0" * 4096, place * 4096)
        os.fdatasync(handle)
    os.close(handle)
    return writes / (time.perf_counter() - begun)


def shown(name: str, stations: int, alone: float, found: tuple[float, list[float]]) -> str:
    """One line of figures."""
    rate, waits = found
    middle, late = waits[len(waits) // 2], waits[int(len(waits) * 0.99)]
    return (
        f"{name:11} {stations:2} stations {rate:7.0f} events a second ({rate / alone:4.2f} of the disk)  wait: middle "
        f"{middle * 1e3:6.1f} ms, 99 of 100 within {late * 1e3:7.1f} ms, longest {waits[-1] * 1e3:7.1f} ms"
    )


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--stations", default="1,2,4,8")
    parser.add_argument("--events", type=int, default=200)
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--station", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--server", default="", help=argparse.SUPPRESS)
    parser.add_argument("--at", type=float, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.station:
        work(given.folder, given.server, given.station, given.events, given.at)
        return
    server = Server(folder=given.folder or Path(tempfile.gettempdir()))
    try:
        for stations in map(int, given.stations.split(",")):
            for name in ("file", "server"):
                with tempfile.TemporaryDirectory(dir=given.folder, prefix="bench-") as made:
                    alone = disk(Path(made))
                    url = server.url() if name == "server" else ""
                    print(shown(name, stations, alone, measured(Path(made), url, stations, given.events)), flush=True)
    finally:
        server.stop()


if __name__ == "__main__":
    main()
