"""The other side of a connection, for tests: real sockets, a thread each, always joined within bounds."""

import socket
import struct
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

BOUND = 10.0


class Peer:
    """Listens on a port of this machine and lets `behave` loose on the first connection."""

    def __init__(self, behave: Callable[["Peer"], None], *, host: str = "127.0.0.1", buffer: int | None = None) -> None:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        self._listener = socket.socket(family, socket.SOCK_STREAM)
        if buffer is not None:
            self._listener.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, buffer)
        self._listener.bind((host, 0))
        self._listener.listen(1)
        self._listener.settimeout(BOUND)
        port = self._listener.getsockname()[1]
        self.address = f"socket://[{host}]:{port}" if ":" in host else f"socket://{host}:{port}"
        self.connection: socket.socket
        self.read = b""
        self.error: BaseException | None = None
        self.go = threading.Event()
        self._thread = threading.Thread(target=self._run, args=(behave,))
        self._thread.start()

    def _run(self, behave: Callable[["Peer"], None]) -> None:
        try:
            self.connection, _ = self._listener.accept()
            self.connection.settimeout(BOUND)
            with self.connection:
                behave(self)
        except BaseException as error:
            self.error = error

    def take(self, count: int) -> None:
        """Read exactly `count` more bytes."""
        until = len(self.read) + count
        while len(self.read) < until:
            piece = self.connection.recv(until - len(self.read))
            if not piece:
                return
            self.read += piece

    def take_all(self) -> None:
        """Read to the end of the stream."""
        while piece := self.connection.recv(65536):
            self.read += piece

    def reset(self) -> None:
        """Break the connection off."""
        self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        self.connection.close()

    def wait(self) -> None:
        """Until the test says go."""
        self.go.wait(BOUND)

    def end(self) -> None:
        """Let it come to its end."""
        self.go.set()
        self._thread.join(2 * BOUND)
        self._listener.close()
        assert not self._thread.is_alive()


@contextmanager
def peer(
    behave: Callable[[Peer], None] = Peer.take_all, *, host: str = "127.0.0.1", buffer: int | None = None
) -> Iterator[Peer]:
    """A Peer for the length of a `with`."""
    made = Peer(behave, host=host, buffer=buffer)
    try:
        yield made
    finally:
        made.end()


def soon(true: Callable[[], object], seconds: float = 5.0) -> None:
    """Wait until `true()` is, or fail."""
    until = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < until, "it did not come about in time"
        time.sleep(0.01)
