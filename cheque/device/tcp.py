"""`socket://HOST:PORT`: a raw TCP connection to the printer or to a bridge (a print server box).

    socket://192.0.2.17:9100    socket://payroom.example:9101    socket://[2001:db8::17]:9100

Raw printing is usually at port 9100; a bridge with several outputs has a port for each (common practice), so
the port is always written out.

What it can tell: when `send` returns, the other side's TCP has acknowledged every byte (Linux: the ioctl
SIOCOUTQ of tcp(7) counts what is not; elsewhere `send` returns when this machine's kernel has the bytes, at
most a few thousand of which are still here). After `finish` it can tell that the other side closed in order, or that it
did not close in time. What it cannot tell: whether acknowledged bytes have left the bridge's memory, and
anything at all about paper.

Rules:

1. The send buffer is kept small, and `send` waits until it is empty: never more than one window in doubt.
2. Nothing trickles out later: closing with bytes unacknowledged, or the death of this process, resets the
   connection and drops what the kernel holds; only packets already on their way can still arrive. Only
   `finish` ends it in order.
3. A dead link is found: by `stall` while sending, by keepalive probes while idle.
4. What the printer says back is read and dropped, since unread bytes would turn our close into a reset.
5. There is no silent second connection: a bridge may eject paper or forget its state between two connections.
"""

import contextlib
import errno
import ipaddress
import re
import socket
import struct
import sys
import time

from cheque.device import DeviceError
from cheque.device.flow import LONGEST_WAIT, SHORTEST_WAIT, Flow
from cheque.tongue import mark, tr

#: Asked of the kernel, which doubles it and counts its own overhead in it.
SEND_BUFFER = 8192
CONNECT_SECONDS = 10.0
#: At most this long for the other side to close after everything was sent.
FINISH_SECONDS = 10.0
COUNTS = sys.platform == "linux"

_ADDRESS = re.compile(r"socket://(?:\[(?P<six>[^\]]*)\]|(?P<name>[^\[\]:/?#@]*)):(?P<port>[0-9]*)")
_HOST = re.compile(r"(?!-)[A-Za-z0-9_-]{1,63}(?:\.(?!-)[A-Za-z0-9_-]{1,63})*\.?")
_CONNECT = {
    errno.ECONNREFUSED: (
        mark("the connection was refused"),
        mark("Switch the printer or bridge on, check the port, and see that no other job holds it"),
    ),
    errno.EHOSTUNREACH: (
        mark("no way to that machine"),
        mark("Check the address, the cable and that it is switched on"),
    ),
    errno.ENETUNREACH: (mark("no way to that network"), mark("Check the address and this machine's network")),
    errno.ETIMEDOUT: (mark("no answer"), mark("Check the address, the cable and that it is switched on")),
    errno.EACCES: (mark("this machine does not allow that connection"), mark("Check its firewall")),
    errno.EPERM: (mark("this machine does not allow that connection"), mark("Check its firewall")),
}
_BROKE = {
    errno.ECONNRESET: mark("the other side broke the connection"),
    errno.EPIPE: mark("the other side closed the connection"),
    errno.ETIMEDOUT: mark("the other side no longer answers"),
    errno.EHOSTUNREACH: mark("the way to the other side was lost"),
    errno.ENETUNREACH: mark("the way to the other side was lost"),
    errno.ENETDOWN: mark("this machine's network went down"),
}
_LOOK = mark(
    "It may have been switched off, timed out while idle, or been unplugged, and what it had acknowledged "
    "may be lost: look at the paper, switch printer and bridge off and on, then resume"
)


def check(address: str) -> str | None:
    """What is wrong with `socket://HOST:PORT` as written, or None. Opens nothing and looks up no name."""
    parsed = _parse(address)
    return parsed if isinstance(parsed, str) else None


def tells() -> str:
    """One sentence for people: what a TCP connection can tell, and what it cannot."""
    if COUNTS:
        return tr(
            "A TCP connection tells which bytes the printer or bridge has acknowledged; it cannot tell how "
            "many of them are still in its memory, or what came out on paper."
        )
    return tr(
        "A TCP connection on this kind of machine tells only which bytes have been handed to its own "
        "kernel; it cannot tell whether they arrived, or what came out on paper."
    )


def open_device(address: str, *, stall: float) -> "TcpDevice":
    """Connect. Raises DeviceError when there is no such name, nobody listens, or no answer in time."""
    parsed = _parse(address)
    if isinstance(parsed, str):
        raise DeviceError(f"{parsed}.")
    connection = _connect(address, *parsed)
    try:
        _tune(connection, stall)
    except OSError as error:  # the other side hung up at once
        connection.close()
        raise DeviceError(
            tr(
                "{address}: {reason} as soon as it was made. {look}.",
                address=address,
                reason=_reason(error),
                look=tr(_LOOK),
            )
        ) from error
    return TcpDevice(address, connection, stall)


class TcpDevice:
    """An open connection. Not for several threads."""

    def __init__(self, address: str, connection: socket.socket, stall: float) -> None:
        self.address = address
        self._connection: socket.socket | None = connection
        self._line = TcpLine(connection)
        self._flow = Flow(address, self._line, stall)
        #: What people should know although nothing failed.
        self.remarks: list[str] = []

    def send(self, data: bytes) -> None:
        """Send `data`; returns when every byte was acknowledged.

        Stalled when nothing was acknowledged for `stall` seconds (`send(b"")` goes on waiting), DeviceError
        when the connection broke. `taken`: the bytes of this send that were acknowledged, at the least.
        """
        self._flow.push(data)

    def finish(self) -> None:
        """Say that all was sent, and wait, at most FINISH_SECONDS, for the other side to close.

        A reset raises DeviceError: bytes acknowledged earlier may not have been read. A side that has
        everything and does not close is no fault (a bridge may hold on until its memory is empty):
        `remarks` then says so.
        """
        flow, connection = self._flow, self._connection
        if flow.broken or connection is None:
            raise DeviceError(
                tr("{address}: not finished, because of this fault: {broken}", address=self.address, broken=flow.broken)
            )
        flow.push(b"")
        try:
            connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 0, 0))
            connection.shutdown(socket.SHUT_WR)
            self._await_close(min(flow.stall, FINISH_SECONDS))
        except OSError as error:
            raise flow.fault(tr("{reason} before it was finished", reason=_reason(error)), tr(_LOOK)) from error
        except KeyboardInterrupt as stop:
            raise flow.fault(tr("stopped by hand"), tr("Resume, and look at the paper")) from stop
        flow.broken = tr("the connection was finished")

    def close(self) -> None:
        """Let go at once; unless finished, bytes still here are dropped, not sent later. Never raises."""
        connection, self._connection = self._connection, None
        self._flow.broken = self._flow.broken or tr("the connection was closed")
        if connection is None:
            return
        with contextlib.suppress(OSError):
            if not self._flow.outstanding:
                self._line.hear()  # unread bytes would make this a reset
                connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 0, 0))
        with contextlib.suppress(OSError):
            connection.close()

    def _await_close(self, seconds: float) -> None:
        flow, wait, until = self._flow, SHORTEST_WAIT, time.monotonic() + seconds
        while flow.hears or self._line.outstanding():
            left = until - time.monotonic()
            if left <= 0:
                self.remarks.append(
                    tr(
                        "{address}: everything was acknowledged, but the other side did not close the connection "
                        "within "
                        "{seconds:g} s: it may still be printing.",
                        address=self.address,
                        seconds=seconds,
                    )
                )
                return
            flow.wait(min(wait, left))
            wait = min(wait * 2, LONGEST_WAIT)
        self._line.trouble()


class TcpLine:
    """A connected socket as a Line (see flow.py)."""

    gone = mark("were acknowledged")

    def __init__(self, connection: socket.socket) -> None:
        self._connection = connection

    def fileno(self) -> int:
        """What poll watches."""
        return self._connection.fileno()

    def hand(self, piece: memoryview) -> int:
        """Give the kernel some of `piece`."""
        return self._connection.send(piece)

    def outstanding(self) -> int:
        """Bytes not yet acknowledged (SIOCOUTQ, which has the number of TIOCOUTQ on Linux)."""
        if not COUNTS:
            return 0
        import fcntl
        import termios

        answer = fcntl.ioctl(self._connection.fileno(), termios.TIOCOUTQ, bytes(4))
        return int(struct.unpack("i", answer)[0])

    def hear(self) -> bool:
        """Read and drop; False at the other side's end of stream, which need not mean that it is gone."""
        for _ in range(64):
            try:
                if not self._connection.recv(65536):
                    self.trouble()
                    return False
            except BlockingIOError:
                break
        self.trouble()
        return True

    def trouble(self) -> None:
        """Raise what the kernel knows to be wrong, if anything."""
        number = self._connection.getsockopt(socket.SOL_SOCKET, socket.SO_ERROR)
        if number:
            raise OSError(number, errno.errorcode.get(number, str(number)))

    def why(self, error: OSError) -> tuple[str, str]:
        """What a broken connection means, and what to do."""
        return _reason(error), tr(_LOOK)


def _parse(address: str) -> tuple[str, int] | str:
    """Host and port, or what is wrong."""
    found = _ADDRESS.fullmatch(address)
    if not found:
        return tr("{address!r} is not of the form socket://host:port (an IPv6 address in brackets)", address=address)
    host, port = found["six"] if found["six"] is not None else found["name"], found["port"]
    if len(port) > 5 or not 1 <= int(port or 0) <= 65535:
        return tr("{address!r}: the port must be 1 to 65535", address=address)
    if found["six"] is not None:
        kind, good = "IPv6 address", _is_address(host, ipaddress.IPv6Address)
    elif re.fullmatch(r"[0-9.]*", host):
        kind, good = tr("IPv4 address or name"), _is_address(host, ipaddress.IPv4Address)
    else:
        kind, good = "name", _HOST.fullmatch(host) is not None
    return (
        (host, int(port))
        if good
        else tr("{address!r}: {host!r} is not a well-formed {kind}", address=address, host=host, kind=kind)
    )


def _is_address(host: str, kind: type[ipaddress.IPv4Address] | type[ipaddress.IPv6Address]) -> bool:
    try:
        kind(host)
    except ValueError:
        return False
    return True


def _connect(address: str, host: str, port: int) -> socket.socket:
    """The first of the name's addresses that answers."""
    try:
        places = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (socket.gaierror, UnicodeError) as error:
        raise DeviceError(
            tr(
                "{address}: no machine of the name {host!r} was found. Check the name, or write its address.",
                address=address,
                host=host,
            )
        ) from error
    until, last = time.monotonic() + CONNECT_SECONDS, OSError(errno.ETIMEDOUT, "")
    for index, (family, kind, protocol, _, place) in enumerate(places):
        share = (until - time.monotonic()) / (len(places) - index)
        if share <= 0:
            break
        connection = socket.socket(family, kind, protocol)
        try:
            connection.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER)
            connection.settimeout(share)
            connection.connect(place)
        except OSError as error:
            connection.close()
            last = OSError(errno.ETIMEDOUT, "") if isinstance(error, TimeoutError) else error
        except BaseException:
            connection.close()
            raise
        else:
            return connection
    other = (_reason(last), tr("Check the address, the cable and the network"))
    happened, do = _CONNECT.get(last.errno or 0, other)
    raise DeviceError(tr("{address}: {happened}. {do}.", address=address, happened=tr(happened), do=tr(do))) from last


def _tune(connection: socket.socket, stall: float) -> None:
    connection.setblocking(False)
    # Reset, not a late delivery, if this process dies or gives up: see rule 2.
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
    connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    # Idle 20 s, then a probe every 5 s; the kernel gives up only after our own stall detection has spoken.
    patience = max(1000, min(int((stall + 5) * 1000), 3_600_000))
    for name, value in (
        ("TCP_KEEPIDLE", 20),
        ("TCP_KEEPINTVL", 5),
        ("TCP_KEEPCNT", 6),
        ("TCP_USER_TIMEOUT", patience),
    ):
        option = getattr(socket, name, None)
        if option is not None:
            connection.setsockopt(socket.IPPROTO_TCP, option, value)


def _reason(error: OSError) -> str:
    return tr(_BROKE.get(error.errno or 0, "")) or (error.strerror or str(error) or tr("it failed")).lower()
