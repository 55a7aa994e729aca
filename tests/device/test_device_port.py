"""Printer ports, as far as character devices that are no printers can show them.

There is no such hardware here: pseudo-terminals and /dev/full stand for the driver, and the status byte is imitated
by putting a value where the ioctl would (the bits are those of linux/lp.h, from memory).
"""

import array
import doctest
import errno
import fcntl
import os
import threading
import time
import tty
from collections.abc import Iterator

import pytest
from device.lines import Printer
from device.peers import soon

from cheque.device import DeviceError, Stalled, port

STREAM = bytes(range(256)) * 200
READY, PAPER_OUT, OFF_LINE, FAULT = 0x18, 0x38, 0x08, 0x10


@pytest.fixture
def printer() -> Iterator[Printer]:
    made = Printer()
    tty.setraw(made.near)
    try:
        yield made
    finally:
        made.end()


def _status(monkeypatch: pytest.MonkeyPatch, status: list[int]) -> None:
    """Where the ioctl would, put what `status` holds."""
    real = fcntl.ioctl

    def imitated(descriptor: int, request: int, answer: "array.array[int]") -> object:
        if request != port.LPGETSTATUS:
            return real(descriptor, request, answer)
        answer[0] = status[0]
        return 0

    monkeypatch.setattr(fcntl, "ioctl", imitated)


def test_every_byte_reaches_the_driver_untouched(printer: Printer) -> None:
    device = port.open_device(f"port:{printer.path}", stall=5)
    for start in range(0, len(STREAM), 9000):
        device.send(STREAM[start : start + 9000])
    device.finish()
    soon(lambda: len(printer.read) == len(STREAM))
    device.close()
    device.close()
    assert bytes(printer.read) == STREAM


def test_a_port_that_takes_nothing_is_a_stall_and_the_wait_can_go_on(printer: Printer) -> None:
    printer.reads.clear()
    device = port.open_device(f"port:{printer.path}", stall=0.3)
    began = time.process_time()
    with pytest.raises(Stalled, match="bytes had been taken by the driver") as fault:
        device.send(STREAM)
    assert time.process_time() - began < 0.15
    assert 0 < fault.value.taken < len(STREAM)
    printer.reads.set()
    device.send(b"")
    device.finish()
    soon(lambda: bytes(printer.read) == STREAM)
    device.close()


def test_a_driver_whose_poll_promises_room_it_has_not_is_not_asked_in_a_tight_loop(
    printer: Printer, monkeypatch: pytest.MonkeyPatch
) -> None:
    tries = []

    def never(_: object, piece: memoryview) -> int:
        tries.append(len(piece))
        raise BlockingIOError

    monkeypatch.setattr(port.PortLine, "hand", never)
    device = port.open_device(f"port:{printer.path}", stall=0.5)
    with pytest.raises(Stalled):
        device.send(b"x")
    device.close()
    assert len(tries) < 60


def test_paper_out_before_a_window_sends_nothing_of_it_and_goes_on_when_put_right(
    printer: Printer, monkeypatch: pytest.MonkeyPatch
) -> None:
    status = [PAPER_OUT]
    _status(monkeypatch, status)
    device = port.open_device(f"port:{printer.path}", stall=1)
    with pytest.raises(Stalled, match="says that paper is out; nothing of this window was sent") as fault:
        device.send(b"form")
    assert fault.value.taken == 0
    with pytest.raises(DeviceError, match="has not gone yet"):
        device.send(b"another")
    status[0] = OFF_LINE
    with pytest.raises(Stalled, match="off line"):
        device.send(b"")
    status[0] = READY
    device.finish()
    device.close()
    soon(lambda: bytes(printer.read) == b"form")


def test_a_stall_says_what_the_port_says(printer: Printer, monkeypatch: pytest.MonkeyPatch) -> None:
    status = [READY]
    _status(monkeypatch, status)
    printer.reads.clear()
    device = port.open_device(f"port:{printer.path}", stall=0.4)
    timer = threading.Timer(0.1, status.__setitem__, (0, FAULT))
    timer.start()
    with pytest.raises(Stalled, match=r"\(The port reports a fault\.\)"):
        device.send(STREAM)
    timer.join()
    device.close()


def test_a_printer_that_goes_away_is_one_clear_message(printer: Printer) -> None:
    printer.reads.clear()
    device = port.open_device(f"port:{printer.path}", stall=10)
    timer = threading.Timer(0.2, printer.unplug)
    timer.start()
    with pytest.raises(DeviceError, match=r"the (printer went away|port reported an error)") as fault:
        device.send(STREAM)
    timer.join()
    assert not isinstance(fault.value, Stalled)
    with pytest.raises(DeviceError, match="nothing more is sent after this fault"):
        device.send(b"x")
    with pytest.raises(DeviceError, match="not finished"):
        device.finish()
    device.close()


def test_a_driver_that_gives_up_for_want_of_paper_says_so() -> None:
    device = port.open_device("port:/dev/full", stall=1)
    with pytest.raises(DeviceError, match="the port says that paper is out; 0 of the last 4 bytes"):
        device.send(b"form")
    device.close()


def test_a_port_in_use_is_refused(printer: Printer) -> None:
    first = port.open_device(f"port:{printer.path}", stall=1)
    with pytest.raises(DeviceError, match="another run is using it"):
        port.open_device(f"port:{printer.path}", stall=1)
    first.close()


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("port:/dev/usb/cheque-none", "there is no such port"),
        ("port:/dev/shm", "not a character device"),
        ("port:/dev/full/x", "there is no such port"),
        ("port:usb/lp0", "wanted one in /dev"),
        ("port:/dev/../etc/passwd", "wanted one in /dev"),
        ("port:/dev/a\nb", "control character"),
        ("file:/dev/lp0", "not of the form"),
    ],
)
def test_what_is_no_port_is_said(address: str, says: str) -> None:
    with pytest.raises(DeviceError, match=says):
        port.open_device(address, stall=1)


@pytest.mark.parametrize(
    ("number", "says"), [(errno.EACCES, "you may not use it"), (errno.EBUSY, "another program"), (errno.EIO, "opened")]
)
def test_a_port_that_cannot_be_opened_says_why(number: int, says: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> int:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(DeviceError, match=says):
        port.open_device("port:/dev/full", stall=1)


def test_the_examples_of_the_status_byte_hold() -> None:
    failed, tried = doctest.testmod(port)
    assert tried == 4
    assert failed == 0
