"""Connections that fail, with real sockets: every fault is one clear message and a count that can be trusted."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from device.peers import Peer, peer, soon

from cheque.device import DeviceError, Stalled, tcp

STREAM = bytes(range(256)) * 4000


def test_a_refused_connection_says_what_to_look_at() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
    with pytest.raises(DeviceError, match=f"socket://127.0.0.1:{port}: the connection was refused") as fault:
        tcp.open_device(f"socket://127.0.0.1:{port}", stall=1)
    assert fault.value.taken == 0
    assert "no other job holds it" in str(fault.value)


def test_a_name_that_nobody_has_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def nobody(*_: object, **__: object) -> None:
        raise socket.gaierror(socket.EAI_NONAME, "unknown")

    monkeypatch.setattr(socket, "getaddrinfo", nobody)
    with pytest.raises(DeviceError, match=r"no machine of the name 'payroom.example' was found"):
        tcp.open_device("socket://payroom.example:9100", stall=1)


def test_a_reset_in_mid_form_tells_how_much_was_acknowledged_at_the_least() -> None:
    def break_off(other: Peer) -> None:
        other.take(100_000)
        other.reset()

    with peer(break_off) as other:
        device = tcp.open_device(other.address, stall=5)
        with pytest.raises(DeviceError, match=r"(broke|closed) the connection") as fault:
            device.send(STREAM)
        assert not isinstance(fault.value, Stalled)
        assert 0 < fault.value.taken < len(STREAM)
        assert f"{fault.value.taken:,} of the last" in str(fault.value)
        with pytest.raises(DeviceError, match="nothing more is sent after this fault"):
            device.send(b"more")
        with pytest.raises(DeviceError, match="not finished"):
            device.finish()
        device.close()


def test_a_printer_that_closes_before_it_has_read_all_is_a_fault_at_the_end() -> None:
    def close_unread(other: Peer) -> None:
        other.take(10)
        other.wait()

    with peer(close_unread) as other:
        device = tcp.open_device(other.address, stall=5)
        device.send(bytes(5000))  # acknowledged by its kernel, never read
        other.go.set()
        with pytest.raises(DeviceError, match="look at the paper"):
            device.finish()
        device.close()


def test_a_bridge_that_timed_out_while_idle_is_found_before_the_next_form_leaves() -> None:
    def reset_when_told(other: Peer) -> None:
        other.take(10)
        other.wait()
        other.reset()

    with peer(reset_when_told) as other:
        device = tcp.open_device(other.address, stall=5)
        device.send(bytes(10))
        other.go.set()
        time.sleep(0.1)
        with pytest.raises(DeviceError, match="timed out while idle") as fault:
            device.send(bytes(5000))
        assert fault.value.taken == 0
        device.close()


def test_a_printer_that_closed_while_idle_takes_nothing_of_the_next_form() -> None:
    def close_when_told(other: Peer) -> None:
        other.take(10)
        other.wait()

    with peer(close_when_told) as other:
        device = tcp.open_device(other.address, stall=5)
        device.send(bytes(10))
        other.end()
        with pytest.raises(DeviceError, match="the connection") as fault:
            device.send(bytes(5000))
        assert fault.value.taken == 0
        device.close()


def test_what_a_stalled_printer_had_not_acknowledged_is_dropped_not_sent_later() -> None:
    def read_after_the_end(other: Peer) -> None:
        other.wait()
        other.take_all()

    with peer(read_after_the_end, buffer=2048) as other:
        device = tcp.open_device(other.address, stall=0.3)
        with pytest.raises(Stalled) as fault:
            device.send(STREAM)
        device.close()
        other.go.set()
    assert isinstance(other.error, ConnectionResetError)
    assert len(other.read) <= fault.value.taken


@contextmanager
def alarm_in(seconds: float) -> Iterator[None]:
    """The second Ctrl-C of an impatient operator, as a handler elsewhere would raise it."""

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def test_stopped_by_hand_in_mid_form_still_tells_what_was_acknowledged() -> None:
    with peer(Peer.wait, buffer=2048) as other:
        device = tcp.open_device(other.address, stall=30)
        with alarm_in(0.3), pytest.raises(DeviceError, match="stopped by hand") as fault:
            device.send(STREAM)
        assert isinstance(fault.value.__cause__, KeyboardInterrupt)
        assert 0 < fault.value.taken < len(STREAM)
        device.close()


def test_a_signal_that_only_sets_a_flag_does_not_disturb_a_send() -> None:
    seen: list[int] = []

    def slowly(other: Peer) -> None:
        while piece := other.connection.recv(2000):
            other.read += piece
            time.sleep(0.002)

    before = signal.signal(signal.SIGALRM, lambda number, _: seen.append(number))
    signal.setitimer(signal.ITIMER_REAL, 0.01, 0.01)
    try:
        with peer(slowly, buffer=2048) as other:
            device = tcp.open_device(other.address, stall=5)
            device.send(STREAM[:150_000])
            device.finish()
            device.close()
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
    assert seen
    assert other.read == STREAM[:150_000]


def test_a_killed_run_leaves_nothing_in_this_machine_to_print_later() -> None:
    def read_after_the_kill(other: Peer) -> None:
        other.wait()
        other.take_all()

    script = (
        "import sys\nfrom cheque.device import tcp\n"
        "device = tcp.open_device(sys.argv[1], stall=30)\nprint('open', flush=True)\ndevice.send(bytes(10**6))\n"
    )
    with peer(read_after_the_kill, buffer=2048) as other:
        child = subprocess.Popen([sys.executable, "-c", script, other.address], stdout=subprocess.PIPE, env=os.environ)
        assert child.stdout is not None
        assert child.stdout.readline() == b"open\n"
        time.sleep(0.3)
        child.kill()
        child.wait(5)
        child.stdout.close()
        other.go.set()
    assert isinstance(other.error, ConnectionResetError)  # not an orderly end after a trickle of old bytes
    assert len(other.read) < 100_000


def test_a_connection_broken_as_soon_as_it_is_made_is_a_fault_without_a_traceback(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(*_: object) -> None:
        raise OSError(104, "Connection reset by peer")

    monkeypatch.setattr(tcp, "_tune", broken)
    with peer() as other, pytest.raises(DeviceError, match="as soon as it was made"):
        tcp.open_device(other.address, stall=1)
    soon(lambda: other.error is not None or other.read == b"")
