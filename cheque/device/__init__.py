"""Where bytes go: one file per kind of address, behind the small interface below.

A device tells what it can, and never that a form is *printed*: only a person who looks at the paper can.
"""

from importlib import import_module
from typing import Protocol, cast

#: address scheme -> module of this package
KINDS = {"file": "file", "socket": "tcp", "queue": "spooler", "serial": "serial_line", "port": "port"}


class DeviceError(Exception):
    """The device failed. `taken` is how many bytes of this send are known to have been taken from us.

    It is the least that went, never the most: more may have left, so the whole send is in doubt unless it
    raised before a byte was handed over (as `open_device` does).
    """

    def __init__(self, message: str, *, taken: int = 0) -> None:
        super().__init__(message)
        self.taken = taken


class Stalled(DeviceError):
    """Nothing broke, but nothing moved for `stall` seconds: the printer may be out of paper or off line.

    The device still holds the rest of the send: `send(b"")` goes on waiting for it, `close` gives it up.
    """


class Device(Protocol):
    """An open way to one printer."""

    def send(self, data: bytes) -> None:
        """Hand over all of `data`, or raise DeviceError; returns when the device has nothing of it unsent."""
        ...

    def finish(self) -> None:
        """All was sent: wait until as much is known as this device can tell. Raises DeviceError."""
        ...

    def close(self) -> None:
        """Let go, at once, whatever the state. Never raises."""
        ...


class Kind(Protocol):
    """A module of this package: what an address of its kind means, and how to open it."""

    def check(self, address: str) -> str | None:
        """What is wrong with the address as written, or None. Opens nothing."""
        ...

    def open_device(self, address: str, *, stall: float) -> Device:
        """Open it. `stall`: seconds without progress after which `send` gives up with DeviceError."""
        ...

    def tells(self) -> str:
        """One sentence for people: what this kind of device can tell, and what it cannot."""
        ...


def remarks(device: Device) -> tuple[str, ...]:
    """What people should know after `finish` although nothing failed, a sentence each; often nothing."""
    return tuple(getattr(device, "remarks", ()))


def kind_of(address: str) -> Kind:
    """The module for an address; KeyError with the scheme when there is none."""
    scheme = address.partition(":")[0]
    if scheme not in KINDS:
        raise KeyError(scheme)
    return cast(Kind, import_module(f"cheque.device.{KINDS[scheme]}"))
