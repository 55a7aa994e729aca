"""`file:PATH`: the print stream goes to the end of a file, to be kept or carried to the printer later.

    file:payday.prn          relative to the folder of the settings (whoever calls makes it so)
    file:/srv/cheques/a.prn  as it stands

What it can tell: when `send` returns, the bytes are on the disk (the file is synced after every send, and its
folder when the file is new). What it cannot tell: whether anything was ever sent to a printer, how often, or
what came out on paper. A print stream can be printed again: keep it private, delete it when done.

Rules:

1. A new file is its owner's alone (mode 0600). A file that others can read, that belongs to someone else or
   that has a second name (a hard link) is refused; so is a symbolic link, whose target others may choose.
2. Bytes are only ever added at the end: what a stopped run left stays, and the resumed run follows it. After
   a fault the file may therefore end in the midst of a form.
3. One run at a time: the file is locked while it is open; removing it or writing to it meanwhile is found.
4. After a failed sync nothing more is sent, since the disk no longer tells which bytes it has.
"""

import contextlib
import errno
import os
import stat
from pathlib import Path

from cheque import system
from cheque.device import DeviceError
from cheque.tongue import mark, tr

#: Bytes handed over at once; a signal is seen between pieces.
PIECE = 1 << 16

_OPEN = {
    errno.ENOENT: (mark("its folder does not exist"), mark("make the folder, or write another path")),
    errno.ENOTDIR: (mark("a part of its path is not a folder"), mark("write another path")),
    errno.EISDIR: (mark("it is a folder"), mark("name a file in it")),
    errno.ELOOP: (mark("it is a symbolic link"), mark("name the file itself")),
    errno.EROFS: (mark("it is on a file system mounted read-only"), mark("write another path")),
    errno.EACCES: (mark("you may not write there"), mark("write another path, or have its owner let you")),
    errno.EPERM: (mark("you may not write there"), mark("write another path, or have its owner let you")),
    errno.ENOSPC: (mark("the disk is full"), mark("make room, or write another path")),
    errno.EDQUOT: (mark("your disk quota is used up"), mark("make room, or write another path")),
    errno.ENAMETOOLONG: (mark("its name is too long"), mark("write a shorter one")),
}
_FULL = {
    errno.ENOSPC: mark("the disk is full"),
    errno.EDQUOT: mark("your disk quota is used up"),
    errno.EFBIG: mark("the file may not grow any further"),
}


def check(address: str) -> str | None:
    """What is wrong with `file:PATH` as written, or None. Opens nothing."""
    scheme, colon, path = address.partition(":")
    if scheme != "file" or not colon:
        return tr("{address!r} is not of the form file:PATH", address=address)
    if not path:
        return tr("{address!r} names no file: write file:PATH", address=address)
    if any(ord(character) < 32 or ord(character) == 127 for character in path):
        return tr("{address!r} has a control character in its path", address=address)
    if reason := system.unfit(path):
        return tr("{address!r}: {reason}", address=address, reason=reason)
    if path.startswith(("//", "\\\\") if system.WINDOWS else "//"):
        return tr("{address!r} looks like a link: write file:/folder/name or file:name", address=address)
    ends = os.sep + (os.altsep or "")
    if path[-1] in ends or os.path.basename(path) in (".", ".."):
        return tr("{address!r} names a folder: name a file in it", address=address)
    return None


def tells() -> str:
    """One sentence for people: what a file can tell, and what it cannot."""
    return tr(
        "A file tells when the bytes are on the disk; it cannot tell whether they were ever sent to a "
        "printer, or what came out on paper."
    )


def held(address: str) -> int:
    """Bytes that the file holds already; 0 when there is none. A new run would follow them."""
    try:
        return os.lstat(address.partition(":")[2]).st_size
    except OSError:
        return 0


def open_device(address: str, *, stall: float) -> "FileDevice":
    """Open the file to add to its end, making it if there is none. `stall` is not used.

    Raises DeviceError when it cannot be opened, or would not be private.
    """
    wrong = check(address)
    if wrong:
        raise DeviceError(f"{wrong}.")
    path = address.partition(":")[2]
    descriptor, new = _open(address, path)
    try:
        reason = _unfit(os.fstat(descriptor))
        if not reason:
            reason = _lock(descriptor)
        if reason:
            raise _refused(address, *reason)
        if new:
            _sync_folder(address, path)
    except BaseException:
        os.close(descriptor)
        if new:
            with contextlib.suppress(OSError):
                os.unlink(path)
        raise
    return FileDevice(address, descriptor)


class FileDevice:
    """An open print stream. Not for several threads."""

    def __init__(self, address: str, descriptor: int) -> None:
        self.address = address
        self._descriptor = descriptor
        self._size = os.fstat(descriptor).st_size
        self._broken = ""

    def send(self, data: bytes) -> None:
        """Add `data` and sync; returns when all of it is on the disk.

        DeviceError's `taken`: the bytes of this send that are known to be on the disk.
        """
        if self._broken:
            raise DeviceError(
                tr(
                    "{address}: nothing more is sent after this fault: {broken}",
                    address=self.address,
                    broken=self._broken,
                )
            )
        written = 0
        try:
            view = memoryview(data)
            while written < len(view):
                written += os.write(self._descriptor, view[written : written + PIECE])
        except OSError as error:
            raise self._fault(_why(error), self._synced(written), len(data)) from error
        except KeyboardInterrupt as stop:
            raise self._fault(tr("stopped by hand"), self._synced(written), len(data)) from stop
        self._sync(len(data))
        self._size += written
        self._unchanged(len(data))

    def finish(self) -> None:
        """Sync once more; raises DeviceError when that fails or a send has failed."""
        if self._broken:
            raise DeviceError(
                tr(
                    "{address}: not finished, because of this fault: {broken}",
                    address=self.address,
                    broken=self._broken,
                )
            )
        self._sync(0)

    def close(self) -> None:
        """Let go of the file and its lock. Never raises."""
        descriptor, self._descriptor = self._descriptor, -1
        self._broken = self._broken or tr("the file was closed")
        if descriptor >= 0:
            with contextlib.suppress(OSError):
                os.close(descriptor)

    def _sync(self, length: int) -> None:
        try:
            os.fsync(self._descriptor)
        except OSError as error:
            raise self._fault(tr("the disk did not confirm it ({why})", why=_why(error)), 0, length) from error
        except KeyboardInterrupt as stop:
            raise self._fault(tr("stopped by hand while the disk was at work"), 0, length) from stop

    def _synced(self, written: int) -> int:
        """How many of `written` bytes are known to be on the disk."""
        try:
            os.fsync(self._descriptor)
        except OSError:
            return 0
        return written

    def _unchanged(self, length: int) -> None:
        """Nobody else removed the file or wrote to it."""
        state = os.fstat(self._descriptor)
        if state.st_nlink == 0:
            raise self._fault(tr("the file was removed during the run"), length, length)
        if state.st_size != self._size:
            raise self._fault(tr("something else wrote to the file during the run"), length, length)

    def _fault(self, why: str, taken: int, length: int) -> DeviceError:
        self._broken = why
        share = (
            tr("; {taken:,} of the last {length:,} bytes are on the disk", taken=taken, length=length) if length else ""
        )
        return DeviceError(
            tr(
                "{address}: {why}{share}. Put it right, then resume: what the file holds stays, and it may end "
                "in the midst of a form.",
                address=self.address,
                why=why,
                share=share,
            ),
            taken=taken,
        )


def _open(address: str, path: str) -> tuple[int, bool]:
    """A descriptor, and whether the file is new."""
    # No waiting for the other end of a pipe, and no touching of a device, which may act on being opened.
    flags = os.O_WRONLY | os.O_APPEND | system.NO_LINK | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0)
    try:
        try:
            return os.open(path, flags | os.O_CREAT | os.O_EXCL, 0o600), True
        except FileExistsError:
            reason = _kind(os.lstat(path))
            if reason:
                raise _refused(address, *reason) from None
            return os.open(path, flags), False
    except OSError as error:
        happened, do = _OPEN.get(error.errno or 0, (_why(error), mark("write another path")))
        raise _refused(address, tr(happened), tr(do)) from error


def _said(number: int) -> tuple[str, str]:
    happened, do = _OPEN[number]
    return tr(happened), tr(do)


def _kind(state: os.stat_result) -> tuple[str, str] | None:
    """Why this is no ordinary file, and what to do."""
    if stat.S_ISLNK(state.st_mode):
        return _said(errno.ELOOP)
    if stat.S_ISDIR(state.st_mode):
        return _said(errno.EISDIR)
    if not stat.S_ISREG(state.st_mode):
        return tr("it is a device or a pipe, not a file"), tr("name a file")
    return None


def _unfit(state: os.stat_result) -> tuple[str, str] | None:
    """Why the file is not private to its owner, and what to do."""
    reason = _kind(state)
    if reason:
        return reason
    if not system.is_ours(state, root=False):
        return tr("it belongs to someone else"), tr("write another path")
    if state.st_nlink > 1:
        return tr("it has a second name (a hard link)"), tr("write another path")
    if system.others_can_open(state):
        return tr("others can read or write it"), tr("make it private (chmod 600), or write another path")
    return None


def _lock(descriptor: int) -> tuple[str, str] | None:
    try:
        system.lock(descriptor)
    except BlockingIOError:
        return tr("another run is writing to it"), tr("wait for that run, or write another path")
    except OSError:
        return None  # a file system without locks: the check of the size after each send remains
    return None


def _sync_folder(address: str, path: str) -> None:
    """Make the new name durable too."""
    try:
        system.sync_folder(Path(path).parent)
    except OSError as error:
        happened = tr("its folder could not be synced ({why})", why=_why(error))
        raise _refused(address, happened, tr("write another path")) from error


def _refused(address: str, happened: str, do: str) -> DeviceError:
    return DeviceError(tr("{address} cannot be written: {happened}; {do}.", address=address, happened=happened, do=do))


def _why(error: OSError) -> str:
    return tr(_FULL.get(error.errno or 0, "")) or (error.strerror or str(error)).lower()
