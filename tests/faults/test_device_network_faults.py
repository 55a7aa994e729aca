"""A cable pulled for real: two network namespaces of the test's own, joined by a virtual cable, nothing outside.

The addresses are of the block kept for documentation (RFC 5737, 192.0.2.0/24) and exist only in the namespaces.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress

import pytest

from cheque.device import tcp

HERE, THERE = "192.0.2.1", "192.0.2.2"

PRINTER = f"""
import socket, sys
with socket.create_server(({THERE!r}, 9100)) as listener:
    print("listening", flush=True)
    connection, _ = listener.accept()
    connection.settimeout(3)
    total = 0
    try:
        while piece := connection.recv(65536):
            total += len(piece)
    except OSError as error:
        print(type(error).__name__, total, flush=True)
    else:
        print("end", total, flush=True)
"""

SENDER = f"""
import sys
from cheque.device import DeviceError, Stalled, tcp
tcp.CONNECT_SECONDS = 0.5
try:
    device = tcp.open_device("socket://{THERE}:9100", stall=0.7)
    for order in sys.stdin:
        try:
            if order.strip() == "finish":
                device.finish()
            elif order.strip() == "close":
                device.close()
            else:
                device.send(bytes(int(order)))
            print("done", flush=True)
        except DeviceError as fault:
            print(type(fault).__name__, fault.taken, fault, flush=True)
except DeviceError as fault:
    print(type(fault).__name__, fault.taken, fault, flush=True)
"""


def _ip(*words: str) -> None:
    done = subprocess.run(["ip", *words], capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"this machine makes no network namespaces: ip {' '.join(words)}: {done.stderr.strip()}")


class Cable:
    """Two namespaces, a process in each."""

    def __init__(self, near: str, far: str) -> None:
        self.near, self.far = near, far
        self._running: list[subprocess.Popen[str]] = []

    def run(self, where: str, script: str) -> subprocess.Popen[str]:
        """A process of ours in one of them."""
        process = subprocess.Popen(
            ["ip", "netns", "exec", where, sys.executable, "-c", script],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self._running.append(process)
        return process

    def pull(self) -> None:
        """Out with the plug: traffic is dropped, and neither side is told."""
        _ip("-n", self.far, "link", "set", "plug", "down")

    def plug_in(self) -> None:
        """And in again."""
        _ip("-n", self.far, "link", "set", "plug", "up")

    def end(self) -> None:
        """Nothing of it stays."""
        for process in self._running:
            process.kill()
            process.communicate(timeout=5)


@pytest.fixture
def cable() -> Iterator[Cable]:
    if os.geteuid() != 0:
        pytest.skip("only root can make network namespaces")
    if not shutil.which("ip"):
        pytest.skip("iproute2 is not on this machine, so there is no cable to pull")
    names = [f"cheque-{side}-{os.getpid()}" for side in ("near", "far")]
    made = Cable(*names)
    try:
        for name in names:
            _ip("netns", "add", name)
        _ip("-n", names[0], "link", "add", "plug", "type", "veth", "peer", "name", "plug", "netns", names[1])
        for name, address in zip(names, (HERE, THERE), strict=True):
            _ip("-n", name, "addr", "add", f"{address}/24", "dev", "plug")
            _ip("-n", name, "link", "set", "plug", "up")
        yield made
    finally:
        made.end()
        for name in names:
            with suppress(subprocess.CalledProcessError):
                subprocess.run(["ip", "netns", "delete", name], check=True, capture_output=True)


def _ask(process: subprocess.Popen[str], order: str) -> str:
    assert process.stdin is not None
    process.stdin.write(f"{order}\n")
    process.stdin.flush()
    return _line(process)


def _line(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return process.stdout.readline().strip()


def test_a_cable_pulled_in_mid_run_is_a_stall_and_put_back_in_time_loses_nothing(cable: Cable) -> None:
    printer = cable.run(cable.far, PRINTER)
    assert _line(printer) == "listening"
    sender = cable.run(cable.near, SENDER)
    assert _ask(sender, "30000") == "done"
    cable.pull()
    said = _ask(sender, "5000")
    assert said.startswith("Stalled 0 ")
    assert "0 of the last 5,000 bytes were acknowledged" in said
    cable.plug_in()
    said = _ask(sender, "0")
    while said.startswith("Stalled"):  # the kernel tries again at growing intervals
        said = _ask(sender, "0")
    assert said == "done"
    assert _ask(sender, "finish") == "done"
    assert _line(printer) == "end 35000"


def test_after_giving_up_on_a_pulled_cable_only_what_was_on_its_way_can_still_arrive(cable: Cable) -> None:
    printer = cable.run(cable.far, PRINTER)
    assert _line(printer) == "listening"
    sender = cable.run(cable.near, SENDER)
    assert _ask(sender, "30000") == "done"
    cable.pull()
    assert _ask(sender, "200000").startswith("Stalled 0 ")
    assert _ask(sender, "close") == "done"
    cable.plug_in()
    # A packet that waited for the link may arrive, and then the reset; the send buffer never does.
    ended, total = _line(printer).split()
    assert ended in ("ConnectionResetError", "TimeoutError")
    assert 30_000 <= int(total) <= 30_000 + tcp.SEND_BUFFER


def test_a_printer_that_is_not_there_is_said_within_bounds(cable: Cable) -> None:
    cable.pull()
    said = _line(cable.run(cable.near, SENDER))
    assert said == (
        f"DeviceError 0 socket://{THERE}:9100: no answer. Check the address, the cable and that it is switched on."
    )
