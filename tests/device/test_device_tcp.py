"""A raw TCP connection: what arrives, what is acknowledged, how it ends."""

import resource
import socket
import time

import pytest
from device.peers import Peer, peer, soon
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.device import DeviceError, Stalled, remarks, tcp

STREAM = bytes(range(256)) * 2000


@pytest.mark.parametrize("host", ["127.0.0.1", "::1", "localhost"])
def test_the_printer_gets_exactly_the_bytes_sent(host: str) -> None:
    with peer(host="127.0.0.1" if host == "localhost" else host) as other:
        address = other.address.replace("127.0.0.1", host)
        device = tcp.open_device(address, stall=5)
        for start in range(0, len(STREAM), 100_000):
            device.send(STREAM[start : start + 100_000])
        device.finish()
        device.close()
        assert remarks(device) == ()
    assert other.read == STREAM
    assert other.error is None


@settings(max_examples=15, deadline=None)
@given(pieces=st.lists(st.binary(min_size=1, max_size=9000), min_size=1, max_size=5))
def test_pieces_of_any_size_arrive_in_order(pieces: list[bytes]) -> None:
    with peer() as other:
        device = tcp.open_device(other.address, stall=5)
        for piece in pieces:
            device.send(piece)
        device.finish()
        device.close()
    assert other.read == b"".join(pieces)


def test_when_send_returns_every_byte_is_with_the_other_side() -> None:
    def one_at_a_time(other: Peer) -> None:
        other.take(20_000)
        other.wait()
        other.take_all()

    with peer(one_at_a_time) as other:
        device = tcp.open_device(other.address, stall=5)
        device.send(bytes(20_000))
        soon(lambda: len(other.read) == 20_000)  # nothing more is sent, and yet it is all there
        other.go.set()
        device.finish()
        device.close()


def test_a_slow_printer_is_waited_for_and_is_no_stall() -> None:
    def slowly(other: Peer) -> None:
        while piece := other.connection.recv(300):
            other.read += piece
            time.sleep(0.005)

    with peer(slowly, buffer=2048) as other:
        device = tcp.open_device(other.address, stall=0.5)
        began = time.monotonic()
        device.send(STREAM[:60_000])
        assert time.monotonic() - began > 0.6  # longer than the stall, but never that long without progress
        device.finish()
        device.close()
    assert other.read == STREAM[:60_000]


def test_a_printer_that_takes_nothing_is_a_stall_and_the_wait_can_go_on() -> None:
    def later(other: Peer) -> None:
        other.wait()
        other.take_all()

    with peer(later, buffer=2048) as other:
        device = tcp.open_device(other.address, stall=0.3)
        with pytest.raises(Stalled, match=r"nothing was taken for 0\.3 s") as fault:
            device.send(STREAM)
        assert 0 < fault.value.taken < len(STREAM)
        assert f"{fault.value.taken:,} of the last {len(STREAM):,} bytes" in str(fault.value)
        with pytest.raises(DeviceError, match="not gone yet"):
            device.send(b"something else")  # would fall into the midst of a form
        other.go.set()
        device.send(b"")
        device.finish()
        device.close()
    assert other.read == STREAM


def test_waiting_costs_no_work() -> None:
    with peer(Peer.wait, buffer=2048) as other:
        device = tcp.open_device(other.address, stall=1.0)
        before = resource.getrusage(resource.RUSAGE_SELF)
        with pytest.raises(Stalled):
            device.send(STREAM)
        after = resource.getrusage(resource.RUSAGE_SELF)
        device.close()
    assert after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime < 0.25


def test_what_the_printer_says_back_is_dropped_and_does_not_break_the_end() -> None:
    def talkative(other: Peer) -> None:
        for _ in range(50):
            other.take(1000)
            other.connection.sendall(b"status" * 500)
        other.take_all()
        other.connection.sendall(b"last word")

    with peer(talkative) as other:
        device = tcp.open_device(other.address, stall=5)
        device.send(STREAM[:100_000])
        device.finish()
        device.close()
    assert other.error is None
    assert other.read == STREAM[:100_000]


def test_a_printer_that_only_stops_talking_is_still_printed_to() -> None:
    def half_close(other: Peer) -> None:
        other.connection.shutdown(socket.SHUT_WR)
        other.take_all()

    with peer(half_close) as other:
        device = tcp.open_device(other.address, stall=5)
        device.send(STREAM[:50_000])
        time.sleep(0.05)
        device.send(STREAM[50_000:100_000])
        device.finish()
        device.close()
        assert remarks(device) == ()
    assert other.read == STREAM[:100_000]


def test_a_bridge_that_keeps_the_connection_open_is_no_fault_but_is_told_apart(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(tcp, "FINISH_SECONDS", 0.2)

    def hold(other: Peer) -> None:
        other.take_all()
        other.wait()

    with peer(hold) as other:
        device = tcp.open_device(other.address, stall=5)
        device.send(b"form")
        device.finish()
        assert "may still be printing" in remarks(device)[0]
        device.close()
    assert other.read == b"form"


def test_closing_after_a_whole_window_without_finish_loses_nothing() -> None:
    with peer() as other:
        device = tcp.open_device(other.address, stall=5)
        device.send(STREAM)
        device.close()
        device.close()
        with pytest.raises(DeviceError, match="closed"):
            device.send(b"x")
        with pytest.raises(DeviceError, match="closed"):
            device.finish()
    assert other.read == STREAM
    assert other.error is None


def test_where_the_kernel_cannot_count_it_says_so_and_still_sends(monkeypatch: pytest.MonkeyPatch) -> None:
    assert "acknowledged" in tcp.tells()
    monkeypatch.setattr(tcp, "COUNTS", False)
    assert "cannot tell whether they arrived" in tcp.tells()
    with peer() as other:
        device = tcp.open_device(other.address, stall=5)
        device.send(STREAM)
        device.finish()
        device.close()
    assert other.read == STREAM


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("socket:127.0.0.1:9100", "form socket://host:port"),
        ("socket://127.0.0.1", "form socket://host:port"),
        ("socket://127.0.0.1:", "port must be"),
        ("socket://127.0.0.1:0", "port must be"),
        ("socket://127.0.0.1:65536", "port must be"),
        ("socket://127.0.0.1:" + "9" * 6000, "port must be"),
        ("socket://127.0.0.1:9100/raw", "form socket://host:port"),
        ("socket://who@payroom:9100", "form socket://host:port"),
        ("socket://127.1:9100", "not a well-formed IPv4 address"),
        ("socket://010.0.0.1:9100", "not a well-formed IPv4 address"),
        ("socket://:9100", "not a well-formed"),
        ("socket://-x:9100", "not a well-formed name"),
        ("socket://a b:9100", "not a well-formed name"),
        ("socket://[::1:9100", "form socket://host:port"),
        ("socket://[zz]:9100", "not a well-formed IPv6 address"),
        ("socket://::1:9100", "form socket://host:port"),
        ("file:a", "form socket://host:port"),
    ],
)
def test_what_is_wrong_with_an_address_is_said(address: str, says: str) -> None:
    assert says in str(tcp.check(address))


@pytest.mark.parametrize(
    "address",
    ["socket://127.0.0.1:9100", "socket://[2001:db8::17]:9101", "socket://pay-room.quillmere.example:1"],
)
def test_ordinary_addresses_are_accepted(address: str) -> None:
    assert tcp.check(address) is None
