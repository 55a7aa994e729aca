"""`port:/dev/usb/lp0`, `port:/dev/lp0`: a printer port's own character device.

What it can tell: when `send` returns, the driver has taken every byte and is ready for more; and, where the driver
answers the ioctl LPGETSTATUS (06 0B hex), that the port says *paper out*, *off line* or *fault*, which is looked at
before each send and when a send stalls. What it cannot tell: what waits in the printer's memory, or what came out
on paper. A cable without a printer, and many adapters, answer nothing or always the same; and many printers do not
notice missing paper (common practice).

The bits of the status byte are those of the parallel port's status register as the kernel's header linux/lp.h
gives them (from memory): 08 no fault, 10 selected, 20 paper out, 40 no acknowledge, 80 not busy.

Rules:

1. The port is ours alone while it is open (a lock that other runs of this tool respect).
2. Paper out, off line or fault before a send: nothing of it is handed over.
3. Closing does not wait. What the driver has taken, it may still send.

Proven here: bytes, stalls, errors and locks on character devices that are no printers (pseudo-terminals, /dev/full).
**Not proven here, for want of hardware: any real printer port, and the status bits.**
"""

import array
import contextlib
import errno
import os
import select
import stat

from cheque.device import DeviceError, Stalled
from cheque.device.flow import Flow
from cheque.tongue import mark, tr

LPGETSTATUS = 0x060B
_NO_FAULT, _SELECTED, _PAPER_OUT = 0x08, 0x10, 0x20
_PAPER = mark("the port says that paper is out")
_LOOK = mark("See that the printer is on and its cable in, look at the paper, switch it off and on, then resume")
_OPEN = {
    errno.ENOENT: mark(
        "there is no such port. See that the printer is plugged in and switched on, and under which name"
    ),
    errno.ENXIO: mark("no printer is there. See that it is plugged in and switched on"),
    errno.ENODEV: mark("no printer is there. See that it is plugged in and switched on"),
    errno.EBUSY: mark("another program is using it. Close that one, or wait"),
    errno.EACCES: mark("you may not use it. Have yourself put into the group that owns it"),
    errno.EPERM: mark("you may not use it. Have yourself put into the group that owns it"),
    errno.ENOTDIR: mark("there is no such port. Write its path, such as /dev/usb/lp0"),
    errno.ELOOP: mark("it is a symbolic link that leads in a circle. Write the port's path"),
}
_BROKE = {
    errno.ENOSPC: _PAPER,  # what the drivers answer a write with when asked to give up on errors
    errno.EIO: mark("the port reported an error"),
    errno.ENODEV: mark("the printer went away"),
    errno.ENXIO: mark("the printer went away"),
}


def check(address: str) -> str | None:
    """What is wrong with `port:/dev/…` as written, or None. Opens nothing."""
    scheme, colon, path = address.partition(":")
    if scheme != "port" or not colon:
        return tr("{address!r} is not of the form port:/dev/usb/lp0", address=address)
    if not path.startswith("/dev/") or path.endswith("/") or ".." in path.split("/"):
        return tr(
            "{address!r}: found path {path!r}; wanted one in /dev, such as /dev/usb/lp0", address=address, path=path
        )
    if any(ord(character) < 32 or ord(character) == 127 for character in path):
        return tr("{address!r} has a control character in its path", address=address)
    return None


def tells() -> str:
    """One sentence for people: what a printer port can tell, and what it cannot."""
    return tr(
        "A printer port tells that its driver took the bytes, and on some hardware (none was at hand to "
        "try) that paper is out or the printer off line; it cannot tell what waits in its memory, or "
        "what came out on paper."
    )


def open_device(address: str, *, stall: float) -> "PortDevice":
    """Open the port. Raises DeviceError when it is not there, no character device, in use, or not ready."""
    wrong = check(address)
    if wrong:
        raise DeviceError(f"{wrong}.")
    path = address.partition(":")[2]
    try:
        import fcntl
    except ImportError as error:
        raise DeviceError(
            tr(
                "{address}: printer ports are Linux's own; on this system there is none. Use a bridge (socket:), "
                "or print to a file (file:).",
                address=address,
            )
        ) from error
    try:
        if not stat.S_ISCHR(os.stat(path).st_mode):
            raise DeviceError(
                tr(
                    "{address}: it is not a character device. Write a port's path, such as /dev/usb/lp0.",
                    address=address,
                )
            )
        descriptor = os.open(path, os.O_WRONLY | os.O_NONBLOCK | os.O_NOCTTY | os.O_CLOEXEC)
    except OSError as error:
        happened = tr(_OPEN.get(error.errno or 0, "")) or tr(
            "it could not be opened ({text}). Look at the port", text=error.strerror
        )
        raise DeviceError(tr("{address}: {happened}.", address=address, happened=happened)) from error
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        os.close(descriptor)
        raise DeviceError(
            tr("{address}: another run is using it. Wait for that run, or end it.", address=address)
        ) from error
    return PortDevice(address, descriptor, stall)


class PortDevice:
    """An open port. Not for several threads."""

    def __init__(self, address: str, descriptor: int, stall: float) -> None:
        self.address = address
        self._descriptor = descriptor
        self._flow = Flow(address, PortLine(descriptor), stall)
        self._held = b""  # a window that the printer was not ready for

    def send(self, data: bytes) -> None:
        """Send `data`; returns when the driver has all of it and is ready for more.

        Stalled when it took nothing for `stall` seconds, or when the port says, before a byte is handed over, that
        the printer is not ready (`send(b"")` goes on with the same bytes). DeviceError when the port broke.
        `taken`: what the driver took.
        """
        if data and self._held:
            raise DeviceError(
                tr("{address}: the last send has not gone yet; wait for it, or close.", address=self.address)
            )
        data, self._held = data or self._held, b""
        wrong = self._trouble()
        if data and wrong and not self._flow.broken and not self._flow.outstanding:
            self._held = data
            raise Stalled(
                tr(
                    "{address}: {wrong}; nothing of this window was sent. Put it right, and go on.",
                    address=self.address,
                    wrong=wrong,
                )
            )
        try:
            self._flow.push(data)
        except Stalled as stalled:
            wrong = self._trouble()
            if not wrong:
                raise
            raise Stalled(f"{stalled} ({wrong[0].upper()}{wrong[1:]}.)", taken=stalled.taken) from stalled

    def finish(self) -> None:
        """Wait until the driver is ready for more; there is no more that a port can tell."""
        if self._flow.broken:
            raise DeviceError(
                tr(
                    "{address}: not finished, because of this fault: {broken}",
                    address=self.address,
                    broken=self._flow.broken,
                )
            )
        self.send(b"")
        self._flow.broken = tr("the port was finished")

    def close(self) -> None:
        """Let go of the port. Never raises."""
        self._flow.broken = self._flow.broken or tr("the port was closed")
        descriptor, self._descriptor = self._descriptor, -1
        if descriptor >= 0:
            with contextlib.suppress(OSError):
                os.close(descriptor)

    def _trouble(self) -> str:
        """What the port says is wrong, or nothing; nothing too where the driver does not tell."""
        import fcntl

        status = array.array("i", [0])
        try:
            fcntl.ioctl(self._descriptor, LPGETSTATUS, status)
        except (OSError, ValueError):
            return ""
        return trouble(status[0])


class PortLine:
    """A port's descriptor as a Line (see flow.py)."""

    gone = mark("had been taken by the driver")

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._last = 0

    def fileno(self) -> int:
        """What poll watches."""
        return self._descriptor

    def hand(self, piece: memoryview) -> int:
        """Give the driver some of `piece`."""
        self._last = os.write(self._descriptor, piece)
        return self._last

    def outstanding(self) -> int:
        """The last piece, until the driver is ready for the next: a USB port takes it and then sends it."""
        watch = select.poll()
        watch.register(self._descriptor, select.POLLOUT)
        if not self._last or any(event & select.POLLOUT for _, event in watch.poll(0)):
            self._last = 0
        return self._last

    def hear(self) -> bool:
        """Nothing is read from a port. OSError when the printer went away."""
        watch = select.poll()
        watch.register(self._descriptor, 0)
        if any(event & (select.POLLHUP | select.POLLERR) for _, event in watch.poll(0)):
            raise OSError(errno.ENODEV, "")
        return False

    def why(self, error: OSError) -> tuple[str, str]:
        """What a fault on a port means, and what to do."""
        return tr(_BROKE.get(error.errno or 0, "")) or (error.strerror or str(error)).lower(), tr(_LOOK)


def trouble(status: int) -> str:
    """What a status byte says is wrong, the likeliest first, or nothing.

    >>> trouble(0x08 | 0x10)
    ''
    >>> trouble(0x08 | 0x10 | 0x20)
    'the port says that paper is out'
    >>> trouble(0x08)
    'the port says that the printer is off line'
    >>> trouble(0x10)
    'the port reports a fault'
    """
    if status & _PAPER_OUT:
        return tr(_PAPER)
    if not status & _SELECTED:
        return tr("the port says that the printer is off line")
    if not status & _NO_FAULT:
        return tr("the port reports a fault")
    return ""
