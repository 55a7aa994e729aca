"""The practice printer as others see it: something that listens at a port, or sits at the end of a line.

One thread moves bytes and time; orders are carried out between two pieces of it. While its memory is full it
reads nothing, so that the sender feels it as with a real printer; on a terminal line it also says XOFF and XON.
"""

import contextlib
import os
import select
import socket
import struct
import threading
import time
from types import TracebackType

from cheque.practice.mechanism import Mechanism
from cheque.practice.orders import Order
from cheque.practice.paper import Sheet
from cheque.tongue import tr

TICK = 0.02
PIECE = 4096
XON, XOFF = b"\x11", b"\x13"


class Practice:
    """A practice printer at work until `close`; usable in a `with`.

    `host`, `port`: where it listens (port 0: any free one; see `address`). `line`: instead of a port, the file
    descriptor of the far end of a terminal line. `speed`: bytes struck a second, 0 for as many as come.
    """

    def __init__(
        self, mechanism: Mechanism, *, host: str = "127.0.0.1", port: int = 0, line: int | None = None, speed: int = 0
    ) -> None:
        self.mechanism, self.speed = mechanism, speed
        self._host, self._port = host, port
        self._line = line
        self._listener: socket.socket | None = None
        self._connection: socket.socket | None = None
        self._held_off = False
        self._lock = threading.RLock()
        self._over = threading.Event()
        self._owed = 0.0
        if line is None:
            self._listen()
        else:
            os.set_blocking(line, False)
        self._thread = threading.Thread(target=self._work, name="practice printer", daemon=True)
        self._thread.start()

    def __enter__(self) -> "Practice":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    @property
    def address(self) -> str:
        """Where to print to, as `cheque.toml` has it."""
        return f"socket://{f'[{self._host}]' if ':' in self._host else self._host}:{self._port}"

    def order(self, order: Order) -> None:
        """Carry out one order. ValueError when it cannot be."""
        with self._lock:
            mechanism, number = self.mechanism, (order.number,) if order.number else ()
            if order.what == "power-off":
                mechanism.power_off()
                self._hang_up(reset=True)
                self._stop_listening()
            elif order.what == "power-on":
                mechanism.power_on()
                if self._line is None and self._listener is None:
                    self._listen()
            else:
                getattr(mechanism, order.what.replace("-", "_"))(*number)

    def feed(self, data: bytes) -> None:
        """Strike bytes that came before, or by another way: at once, however many."""
        with self._lock:
            while data and not self.mechanism.stands:
                piece = data[: self.mechanism.room]
                self.mechanism.take(piece)
                self.mechanism.strike(len(piece))
                data = data[len(piece) :]

    def sheets(self) -> list[Sheet]:
        """What truly is on the paper: every form that has been in the printer, by number."""
        with self._lock:
            return self.mechanism.sheets()

    def settle(self, seconds: float = 10.0) -> None:
        """Wait until nothing more comes and nothing waits to be struck. TimeoutError."""
        until = time.monotonic() + seconds
        quiet = 0
        while quiet < 2:
            with self._lock:
                still = self.mechanism.idle or self.mechanism.stands
                quiet = quiet + 1 if still and not self._coming() else 0
            if time.monotonic() > until:
                raise TimeoutError(tr("the practice printer is still at work"))
            time.sleep(0.002)

    def close(self) -> None:
        """Stop; the paper can still be looked at."""
        self._over.set()
        self._thread.join(10)
        with self._lock:
            self._hang_up(reset=False)
            self._stop_listening()

    # -- in its thread ----------------------------------------------------------------------------------

    def _work(self) -> None:
        last = time.monotonic()
        while not self._over.is_set():
            with self._lock:
                sources = self._sources()
            with contextlib.suppress(OSError, ValueError):  # one of them was closed by an order
                select.select(sources, [], [], TICK)
            now = time.monotonic()
            with self._lock:
                self._move(now - last)
            last = now

    def _sources(self) -> list[socket.socket | int]:
        """What bytes may come from: nothing while the memory is full."""
        if self._line is not None:
            return [self._line] if self.mechanism.room or not self.mechanism.powered else []
        if not self.mechanism.powered:
            return []
        if self._connection is not None:
            return [self._connection] if self.mechanism.room else []
        return [self._listener] if self._listener is not None else []

    def _coming(self) -> list[socket.socket | int]:
        return select.select(self._sources(), [], [], 0)[0]

    def _move(self, seconds: float) -> None:
        for source in self._coming():
            if source is self._listener and self._listener is not None:
                self._connection, _ = self._listener.accept()
                self._connection.setblocking(False)
                self.mechanism.begin_stream()
            else:
                self._receive(source)
        if not self.speed:
            self.mechanism.strike(self.mechanism.memory)
        else:
            self._owed = min(self._owed + seconds * self.speed, self.speed * 10 * TICK)
            self._owed -= self.mechanism.strike(int(self._owed))
        self._flow()

    def _receive(self, source: socket.socket | int) -> None:
        powered = self.mechanism.powered
        most = min(PIECE, self.mechanism.room) if powered else PIECE
        try:
            data = os.read(source, most) if isinstance(source, int) else source.recv(most)
        except BlockingIOError:
            return
        except OSError:  # reset by the sender, or nobody has the line open
            data = b""
        if data and powered:
            self.mechanism.take(data)
        elif data:
            pass  # down the line to a printer that is off: lost
        elif isinstance(source, int):
            time.sleep(TICK / 4)  # a line that nobody has open says so at once, again and again
        else:
            self._hang_up(reset=False)

    def _flow(self) -> None:
        """XOFF when the memory is three quarters full, XON when it is one quarter full again."""
        if self._line is None or not self.mechanism.powered:
            return
        room, memory = self.mechanism.room, self.mechanism.memory
        held_off = room < memory // 4 or (self._held_off and room < memory * 3 // 4)
        if held_off != self._held_off:
            with contextlib.suppress(OSError):
                os.write(self._line, XOFF if held_off else XON)
            self._held_off = held_off

    def _listen(self) -> None:
        family = socket.AF_INET6 if ":" in self._host else socket.AF_INET
        listener = socket.socket(family, socket.SOCK_STREAM)
        try:
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, PIECE)  # little waits outside the memory
            listener.bind((self._host, self._port))
            listener.listen(1)
        except BaseException:
            listener.close()
            raise
        listener.setblocking(False)
        self._listener, self._port = listener, listener.getsockname()[1]

    def _stop_listening(self) -> None:
        if self._listener is not None:
            with contextlib.suppress(OSError):
                self._listener.shutdown(socket.SHUT_RDWR)  # at once, though the thread may be waiting on it
            self._listener.close()
            self._listener = None

    def _hang_up(self, *, reset: bool) -> None:
        if self._connection is not None:
            with contextlib.suppress(OSError):
                if reset:
                    self._connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
                self._connection.close()
            self._connection = None
