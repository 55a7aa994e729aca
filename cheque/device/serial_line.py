"""`serial:/dev/ttyS0?baud=9600&flow=xonxoff`: a serial line, driven with pyserial.

    serial:/dev/ttyS0?baud=9600&flow=xonxoff
    serial:/dev/ttyUSB0?baud=19200&flow=rtscts&parity=even&stop=1

`baud` and `flow` are always written out, since a wrong guess prints rubbish or loses characters. `flow` is xonxoff
(the printer sends 13h to stop us and 11h to go on), rtscts (wire the printer's DTR to this machine's CTS: common
practice, from memory) or none. `parity` is none (usual), even or odd; `stop` 1 (usual) or 2. Always eight bits,
since seven would mangle characters.

What it can tell: when `send` returns, the kernel holds nothing unsent (ioctl TIOCOUTQ), so all but the few
characters in the port's own chip have gone down the wire. What it cannot tell: whether anything is at the other
end (a serial line without a printer takes everything, unless flow control stops it), how much is in the printer's
memory, or what came out on paper.

Rules:

1. The line is ours alone while it is open.
2. Closing drops what the kernel still holds. If this process dies, the kernel may go on sending what it holds, up
   to a few thousand characters for up to half a minute: switch the printer off and on before resuming.
3. What the printer says is read and dropped; XON and XOFF are acted upon by the kernel.

Proven here on pseudo-terminals: bytes, XON and XOFF, stalls, a line that goes away. Not proven here, for want of
hardware: rtscts, parity, speeds.
"""

import contextlib
import errno
import os
import re
import stat
import struct
from importlib import import_module
from typing import Any
from urllib.parse import parse_qsl

from cheque.device import DeviceError
from cheque.device.flow import Flow
from cheque.tongue import mark, tr

BAUDS = (110, 300, 600, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200)
_CHOICES = {
    "baud": tuple(str(baud) for baud in BAUDS),
    "flow": ("none", "xonxoff", "rtscts"),
    "parity": ("none", "even", "odd"),
    "stop": ("1", "2"),
}
_PARITY = {"none": "N", "even": "E", "odd": "O"}
_WENT_AWAY = mark("the line went away")
_LOOK = mark(
    "See that the cable and adapter are plugged in, look at the paper, switch the printer off and on, then resume"
)


def check(address: str) -> str | None:
    """What is wrong with the address as written, or None. Opens nothing."""
    parsed = _parse(address)
    return parsed if isinstance(parsed, str) else None


def tells() -> str:
    """One sentence for people: what a serial line can tell, and what it cannot."""
    return tr(
        "A serial line tells that the bytes went down the wire; it cannot tell whether a printer is at "
        "the other end, what waits in its memory, or what came out on paper."
    )


def open_device(address: str, *, stall: float) -> "SerialDevice":
    """Open and set the line. Raises DeviceError when it is not there, not a line, in use, or pyserial is missing."""
    parsed = _parse(address)
    if isinstance(parsed, str):
        raise DeviceError(f"{parsed}.")
    path, chosen = parsed
    try:
        import_module("termios")
    except ImportError as error:
        raise DeviceError(
            tr(
                "{address}: serial lines are spoken to on Linux and macOS only. Use a bridge (socket:), or print to a "
                "file (file:) and carry it to a machine that has the line.",
                address=address,
            )
        ) from error
    try:
        import serial
    except ImportError as error:
        raise DeviceError(
            tr(
                "{address}: serial lines need the package pyserial. Install it: pip install 'cheque[serial]'.",
                address=address,
            )
        ) from error
    try:
        if not stat.S_ISCHR(os.stat(path).st_mode):
            raise OSError(errno.ENOTTY, "")
        port = serial.Serial(
            path,
            baudrate=int(chosen["baud"]),
            parity=_PARITY[chosen["parity"]],
            stopbits=int(chosen["stop"]),
            xonxoff=chosen["flow"] == "xonxoff",
            rtscts=chosen["flow"] == "rtscts",
            timeout=0,
            exclusive=True,
        )
    except (OSError, ValueError, _error()) as error:
        raise DeviceError(tr("{address}: {happened}.", address=address, happened=_cannot(error, path))) from error
    return SerialDevice(address, port, stall)


class SerialDevice:
    """An open line. Not for several threads."""

    def __init__(self, address: str, port: Any, stall: float) -> None:
        self.address = address
        self._port = port
        self._flow = Flow(address, SerialLine(port.fileno()), stall)

    def send(self, data: bytes) -> None:
        """Send `data`; returns when the kernel holds nothing of it.

        Stalled when nothing moved for `stall` seconds, as when the printer sent XOFF (`send(b"")` goes on waiting);
        DeviceError when the line went away. `taken`: what had gone down the line at the least.
        """
        self._flow.push(data)

    def finish(self) -> None:
        """Wait until the kernel holds nothing; there is no more that a serial line can tell."""
        if self._flow.broken:
            raise DeviceError(
                tr(
                    "{address}: not finished, because of this fault: {broken}",
                    address=self.address,
                    broken=self._flow.broken,
                )
            )
        self._flow.push(b"")
        self._flow.broken = tr("the line was finished")

    def close(self) -> None:
        """Let go at once, dropping what the kernel still holds (it would otherwise wait for it). Never raises."""
        self._flow.broken = self._flow.broken or tr("the line was closed")
        with contextlib.suppress(OSError, _error(), ValueError, TypeError):
            import termios

            if self._flow.outstanding:
                termios.tcflush(self._port.fileno(), termios.TCOFLUSH)
        with contextlib.suppress(OSError, _error()):
            self._port.close()


def _error() -> type[Exception]:
    """What a terminal's calls raise, which is no OSError."""
    import termios

    return termios.error


class SerialLine:
    """A serial line's descriptor as a Line (see flow.py)."""

    gone = mark("had gone down the line")

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor

    def fileno(self) -> int:
        """What poll watches."""
        return self._descriptor

    def hand(self, piece: memoryview) -> int:
        """Give the kernel some of `piece`."""
        return os.write(self._descriptor, piece)

    def outstanding(self) -> int:
        """Characters in the kernel's buffer. OSError when the line went away."""
        import fcntl
        import termios

        return int(struct.unpack("i", fcntl.ioctl(self._descriptor, termios.TIOCOUTQ, bytes(4)))[0])

    def hear(self) -> bool:
        """Read and drop. A line never ends, but it may go away: then OSError."""
        for _ in range(64):
            try:
                if not os.read(self._descriptor, 4096):
                    break
            except BlockingIOError:
                break
        self.outstanding()
        return True

    def why(self, error: OSError) -> tuple[str, str]:
        """What a fault on a serial line means, and what to do."""
        if error.errno in (errno.EIO, errno.ENXIO, errno.ENODEV):
            return tr(_WENT_AWAY), tr(_LOOK)
        return (error.strerror or str(error)).lower(), tr(_LOOK)


def _parse(address: str) -> tuple[str, dict[str, str]] | str:
    """Path and settings, or what is wrong."""
    found = re.fullmatch(r"serial:(?P<path>/[^?\x00-\x1f\x7f]+)\?(?P<rest>[\x20-\x7e]*)", address)
    if not found:
        return tr("{address!r} is not of the form serial:/dev/ttyS0?baud=9600&flow=xonxoff", address=address)
    try:
        pairs = parse_qsl(found["rest"], keep_blank_values=True, strict_parsing=True)
    except ValueError:
        return tr("{address!r}: after the ? come settings such as baud=9600&flow=xonxoff", address=address)
    chosen = {"parity": "none", "stop": "1"}
    for key, value in pairs:
        if key not in _CHOICES:
            return tr(
                "{address!r}: found setting {key!r}; wanted {choices}",
                address=address,
                key=key,
                choices=", ".join(_CHOICES),
            )
        if value not in _CHOICES[key]:
            return tr(
                "{address!r}: found {key}={value}; wanted one of {list}",
                address=address,
                key=key,
                value=value,
                list=", ".join(_CHOICES[key]),
            )
        if [other for other, _ in pairs].count(key) > 1:
            return tr("{address!r}: {key} is given twice", address=address, key=key)
        chosen[key] = value
    missing = [key for key in ("baud", "flow") if key not in chosen]
    if missing:
        return tr(
            "{address!r}: {missing} must be written out, as on the printer",
            address=address,
            missing=tr(" and ").join(missing),
        )
    return found["path"], chosen


def _cannot(error: Exception, path: str) -> str:
    """Why the line could not be opened, and what to do."""
    number = getattr(error, "errno", None) or (error.args[0] if error.args else None)
    text = str(error)
    if number in (errno.ENOENT, errno.ENXIO, errno.ENODEV):
        return tr("there is no such line. See that the adapter is plugged in, and under which name")
    if number in (errno.EACCES, errno.EPERM):
        return tr("you may not use it. Have yourself put into the group that owns {path}, or ask its owner", path=path)
    if number == errno.EBUSY or "exclusively lock" in text:
        return tr("another program is using it. Close that one, or wait")
    if number in (errno.ENOTTY, errno.EINVAL) or "Inappropriate ioctl" in text:
        return tr("it is not a serial line. Write the path of one")
    return tr("it could not be opened ({text}). Look at the line and its settings", text=text)
