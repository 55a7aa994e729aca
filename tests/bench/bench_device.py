"""Bytes a second to each kind of address, as a multiple of 1,100 characters a second (fast impact printers).

    .venv/bin/python tests/bench/bench_device.py [--seconds 2] [--window 16384]

Each device is driven as a run drives it: a window of forms at a time, each waited for. The peers are on this
machine, so the figures are of this tool and its kernel, not of any network, disk or printer elsewhere; no
device is faster than the printer behind it. Serial lines and ports are pseudo-terminals, which know no speed:
a real line at 9600 baud carries 960 characters a second. A multiple below 50 ends with exit status 1.
"""

import argparse
import os
import socket
import sys
import tempfile
import threading
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from cheque.device import kind_of

FASTEST = 1_100  # characters a second
WANTED = 50


@contextmanager
def a_file() -> Iterator[str]:
    """On the disk of the temporary folder."""
    with tempfile.TemporaryDirectory() as folder:
        yield f"file:{Path(folder) / 'stream.prn'}"


@contextmanager
def a_socket() -> Iterator[str]:
    """A thread that reads everything."""

    def read() -> None:
        connection, _ = listener.accept()
        with connection:
            while connection.recv(65536):
                pass

    with socket.create_server(("127.0.0.1", 0)) as listener:
        reader = threading.Thread(target=read)
        reader.start()
        yield f"socket://127.0.0.1:{listener.getsockname()[1]}"
        reader.join(10)


@contextmanager
def a_queue() -> Iterator[str]:
    """A spooler of our own, and behind it a thread that reads every job."""

    def read() -> None:
        while True:
            connection, _ = listener.accept()
            with connection:
                while connection.recv(65536):
                    pass

    from device.spool import spooler

    with socket.create_server(("127.0.0.1", 0)) as listener:
        threading.Thread(target=read, daemon=True).start()
        queues = {"bench": {"device": f"socket://127.0.0.1:{listener.getsockname()[1]}"}}
        with spooler(queues, os.environ.__setitem__):
            yield "queue:bench"


@contextmanager
def a_serial_line() -> Iterator[str]:
    """A pseudo-terminal with a thread that reads."""
    from device.lines import Printer

    printer = Printer()
    yield printer.address
    printer.end()


@contextmanager
def a_port() -> Iterator[str]:
    """A pseudo-terminal in raw mode with a thread that reads."""
    from device.lines import Printer

    printer = Printer()
    tty.setraw(printer.near)
    yield f"port:{printer.path}"
    printer.end()


DEVICES: dict[str, Callable[[], AbstractContextManager[str]]] = {
    "file": a_file,
    "socket": a_socket,
    "queue": a_queue,
    "serial": a_serial_line,
    "port": a_port,
}


def measure(address: str, window: bytes, seconds: float) -> float:
    """Bytes a second, opening and finishing included."""
    began, sent = time.perf_counter(), 0
    device = kind_of(address).open_device(address, stall=10)
    while time.perf_counter() - began < seconds:
        device.send(window)
        sent += len(window)
    device.finish()
    taken = time.perf_counter() - began
    device.close()
    return sent / taken


def main() -> int:
    """Measure every device and print one line each."""
    sys.path.insert(0, str(Path(__file__).parent.parent))
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    options.add_argument("--seconds", type=float, default=2.0)
    options.add_argument("--window", type=int, default=16384, help="bytes a window")
    asked = options.parse_args()
    slow = False
    for name, made in DEVICES.items():
        with made() as address:
            rate = measure(address, bytes(asked.window), asked.seconds)
        multiple = rate / FASTEST
        slow = slow or multiple < WANTED
        print(f"{name:8} {rate:14,.0f} bytes a second   {multiple:10,.1f} times {FASTEST:,} characters a second")
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main())
