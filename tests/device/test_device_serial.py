"""Serial lines on pseudo-terminals: bytes untouched, XOFF obeyed, a line that goes away."""

import os
import signal
import sys
import threading
import time
from collections.abc import Iterator

import pytest
from device.lines import Printer
from device.peers import soon

from cheque.device import DeviceError, Stalled
from cheque.device import serial_line as serial

STREAM = bytes(one for one in range(256) if one not in (0x11, 0x13)) * 200
XON, XOFF = b"\x11", b"\x13"


@pytest.fixture
def printer() -> Iterator[Printer]:
    made = Printer()
    try:
        yield made
    finally:
        made.end()


def test_every_byte_goes_down_the_line_untouched(printer: Printer) -> None:
    device = serial.open_device(printer.address, stall=5)
    for start in range(0, len(STREAM), 9000):
        device.send(STREAM[start : start + 9000])
    device.finish()
    soon(lambda: len(printer.read) == len(STREAM))
    device.close()
    device.close()
    assert bytes(printer.read) == STREAM  # no carriage returns added, nothing eaten, high bytes whole


def test_xoff_stops_us_and_xon_lets_us_go_on(printer: Printer) -> None:
    device = serial.open_device(printer.address, stall=0.3)
    device.send(b"before")
    soon(lambda: bytes(printer.read) == b"before")
    os.write(printer.far, XOFF)
    time.sleep(0.1)
    began = time.process_time()
    with pytest.raises(Stalled, match=r"nothing was taken for 0\.3 s; 0 of the last 50,800 bytes") as fault:
        device.send(STREAM)
    assert time.process_time() - began < 0.15  # waiting is no work
    assert fault.value.taken == 0
    os.write(printer.far, XON)
    device.send(b"")
    device.finish()
    soon(lambda: bytes(printer.read) == b"before" + STREAM)
    device.close()


def test_a_printer_that_stops_reading_is_a_stall(printer: Printer) -> None:
    printer.reads.clear()
    device = serial.open_device(printer.address, stall=0.3)
    with pytest.raises(Stalled):
        device.send(STREAM)
    began = time.monotonic()
    device.close()
    assert time.monotonic() - began < 1


def test_what_the_printer_says_is_dropped(printer: Printer) -> None:
    device = serial.open_device(printer.address, stall=5)
    for _ in range(20):
        os.write(printer.far, b"status\r\n" * 20)
        device.send(b"form")
    device.finish()
    device.close()
    soon(lambda: bytes(printer.read) == b"form" * 20)


def test_an_adapter_pulled_out_in_mid_form_is_one_clear_message(printer: Printer) -> None:
    device = serial.open_device(printer.address, stall=10)
    device.send(b"first")
    printer.reads.clear()
    timer = threading.Timer(0.3, printer.unplug)
    timer.start()
    with pytest.raises(DeviceError, match="the line went away; ") as fault:
        device.send(STREAM * 10)
    timer.join()
    assert not isinstance(fault.value, Stalled)
    with pytest.raises(DeviceError, match="nothing more is sent after this fault"):
        device.send(b"x")
    with pytest.raises(DeviceError, match="not finished"):
        device.finish()
    device.close()


def test_stopped_by_hand_while_the_printer_holds_us(printer: Printer) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    printer.reads.clear()
    device = serial.open_device(printer.address, stall=20)
    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, 0.3)
    try:
        with pytest.raises(DeviceError, match="stopped by hand"):
            device.send(STREAM)
    finally:
        signal.signal(signal.SIGALRM, before)
    device.close()


def test_a_line_in_use_is_refused(printer: Printer) -> None:
    first = serial.open_device(printer.address, stall=1)
    with pytest.raises(DeviceError, match="another program is using it"):
        serial.open_device(printer.address, stall=1)
    first.close()
    serial.open_device(printer.address, stall=1).close()


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("/dev/cheque-no-such-line", "there is no such line"),
        ("/dev/null", "it is not a serial line"),
        ("/etc/hostname", "it is not a serial line"),
    ],
)
def test_what_is_not_a_line_is_said(path: str, says: str) -> None:
    with pytest.raises(DeviceError, match=says) as fault:
        serial.open_device(f"serial:{path}?baud=9600&flow=none", stall=1)
    assert f"serial:{path}?baud=9600&flow=none: " in str(fault.value)


def test_without_pyserial_it_says_how_to_get_it(printer: Printer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "serial", None)
    with pytest.raises(DeviceError, match="need the package pyserial"):
        serial.open_device(printer.address, stall=1)


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("serial:", "form serial:/dev/ttyS0"),
        ("serial:ttyS0?baud=9600&flow=none", "form serial:/dev/ttyS0"),
        ("serial:/dev/ttyS0", "form serial:/dev/ttyS0"),
        ("serial:/dev/ttyS0?", "baud and flow must be written out"),
        ("serial:/dev/ttyS0?baud", "after the ?"),
        ("serial:/dev/ttyS0?baud=9600", "flow must be written out"),
        ("serial:/dev/ttyS0?stop=1", "baud and flow must be written out"),
        ("serial:/dev/ttyS0?baud=9601&flow=none", "found baud=9601; wanted one of 110, 300"),
        ("serial:/dev/ttyS0?baud=9600&flow=dtr", "found flow=dtr; wanted one of none, xonxoff, rtscts"),
        ("serial:/dev/ttyS0?baud=9600&flow=none&bits=7", "found setting 'bits'"),
        ("serial:/dev/ttyS0?baud=9600&baud=1200&flow=none", "baud is given twice"),
        ("serial:/dev/ttyS0?baud=9600&flow=none&parity=mark", "found parity=mark"),
    ],
)
def test_what_is_wrong_with_a_line_as_written_is_said(address: str, says: str) -> None:
    assert says in str(serial.check(address))


@pytest.mark.parametrize(
    "address",
    [
        "serial:/dev/ttyS0?baud=9600&flow=xonxoff",
        "serial:/dev/serial/by-id/usb-one?flow=rtscts&baud=115200&parity=even&stop=2",
    ],
)
def test_ordinary_lines_are_accepted(address: str) -> None:
    assert serial.check(address) is None
