"""How bytes flow down a line that may be slow, stall or break; shared by sockets, serial lines and ports.

A `Line` says what its kernel does: how much it took, how much of that has not yet gone. `Flow` hands over
small pieces, waits until nothing is left unsent, and keeps count: after any fault it is known how much has
gone at the least. Waiting is done by poll(2), woken by room to write or by news from the other side;
where the kernel gives no such news (bytes acknowledged), waits grow from a millisecond to a tenth of a second.
"""

import select
import time
from typing import Protocol

from cheque.device import DeviceError, Stalled
from cheque.tongue import tr

#: Bytes handed to the kernel at once.
PIECE = 4096
SHORTEST_WAIT = 0.001
LONGEST_WAIT = 0.1


class Line(Protocol):
    """One open way out, non-blocking."""

    def fileno(self) -> int:
        """What poll watches."""
        ...

    def hand(self, piece: memoryview) -> int:
        """Give the kernel some of `piece`: how much it took. BlockingIOError when it has no room; OSError."""
        ...

    def outstanding(self) -> int:
        """Bytes that the kernel took and that have not gone yet; 0 where it cannot tell."""
        ...

    def hear(self) -> bool:
        """Read and drop what the other side says; False once it will say no more. OSError when it broke."""
        ...

    def why(self, error: OSError) -> tuple[str, str]:
        """What a fault means on this kind of line, and what to do."""
        ...

    #: How much has gone, in words: "acknowledged", "gone down the line".
    gone: str


class Flow:
    """Counts what goes down one line. `stall`: seconds without progress after which `push` gives up."""

    def __init__(self, address: str, line: Line, stall: float) -> None:
        self.address = address
        self.line = line
        self.stall = stall
        self.broken = ""
        self.hears = True
        self._handed = 0  # bytes the kernel took, ever
        self._gone = 0  # of those, gone at the least, ever
        self._began = 0  # _handed when the present send began
        self._length = 0  # bytes in the present send
        self._rest = memoryview(b"")  # of the present send, what the kernel has not taken
        self._poll = select.poll()

    @property
    def outstanding(self) -> int:
        """Bytes of the present send that are not known to have gone."""
        return self._length - (self._gone - self._began)

    def push(self, data: bytes) -> None:
        """Hand over `data`, wait until it has gone. After Stalled, `push(b"")` goes on with the rest."""
        if self.broken:
            raise DeviceError(
                tr(
                    "{address}: nothing more is sent after this fault: {broken}",
                    address=self.address,
                    broken=self.broken,
                )
            )
        if data and self.outstanding:
            raise DeviceError(
                tr("{address}: the last send has not gone yet; wait for it, or close.", address=self.address)
            )
        if data:
            self._began, self._length, self._rest = self._handed, len(data), memoryview(data)
        try:
            self.wait(0)  # a line that broke while idle is found before anything of this send leaves
            self._until_gone()
        except OSError as error:
            raise self.fault(*self.line.why(error)) from error
        except KeyboardInterrupt as stop:
            raise self.fault(tr("stopped by hand"), tr("Resume, and look at the paper")) from stop

    def fault(self, happened: str, do: str) -> DeviceError:
        """The line is of no more use; a DeviceError that tells how much had gone."""
        self.broken = happened
        return DeviceError(self._message(happened, do), taken=self._taken())

    def stalled(self, happened: str, do: str) -> Stalled:
        """Nothing moves, but the line is still open."""
        return Stalled(self._message(happened, do), taken=self._taken())

    def _message(self, happened: str, do: str) -> str:
        taken, length = self._taken(), self._length
        share = (
            tr("; {taken:,} of the last {length:,} bytes {gone}", taken=taken, length=length, gone=tr(self.line.gone))
            if length
            else ""
        )
        return tr("{address}: {happened}{share}. {do}.", address=self.address, happened=happened, share=share, do=do)

    def _taken(self) -> int:
        self._look()
        return self._gone - self._began

    def _look(self) -> bool:
        """Count anew; True if more has gone since."""
        try:
            gone = self._handed - self.line.outstanding()
        except OSError:
            return False
        if gone <= self._gone:
            return False
        self._gone = gone
        return True

    def _until_gone(self) -> None:
        wait, moved, roomy = SHORTEST_WAIT, time.monotonic(), False
        while True:
            full = self._hand()
            if self._look():
                wait, moved = SHORTEST_WAIT, time.monotonic()
            if not self.outstanding:
                self.wait(0)  # a broken line too has nothing outstanding on some kernels
                return
            left = self.stall - (time.monotonic() - moved)
            if left <= 0:
                raise self.stalled(
                    tr("nothing was taken for {stall:g} s", stall=self.stall),
                    tr("Look at the printer (paper, cover, on-line light) and at the cable"),
                )
            if full and roomy:
                time.sleep(min(wait, left))  # a driver whose poll promises room that it has not
                roomy = False
            elif full or not self._rest:
                roomy = self.wait(min(wait, left), for_room=full)
            else:
                continue
            wait = min(wait * 2, LONGEST_WAIT)

    def _hand(self) -> bool:
        """Give one piece; True if the kernel has no room."""
        if not self._rest:
            return False
        try:
            took = self.line.hand(self._rest[:PIECE])
        except BlockingIOError:
            return True
        self._rest = self._rest[took:]
        self._handed += took
        return False

    def wait(self, seconds: float, *, for_room: bool = False) -> bool:
        """Until there is room (then True), or news, or the time is up. OSError when the line broke."""
        events = (select.POLLOUT if for_room else 0) | (select.POLLIN if self.hears else 0)
        if not events:
            time.sleep(seconds)  # poll would wake at once, for a hang-up already known
            self.line.hear()
            return False
        self._poll.register(self.line.fileno(), events)
        room = False
        for _, event in self._poll.poll(seconds * 1000):
            room = bool(event & select.POLLOUT)
            if event & (select.POLLIN | select.POLLERR | select.POLLHUP):
                self.hears = self.line.hear()
        return room
