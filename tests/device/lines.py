"""The far end of a line, for tests: a pseudo-terminal, read in a thread."""

import os
import pty
import threading
import time


class Printer:
    """The far end of a pseudo-terminal, reading in a thread while `reads` is set."""

    def __init__(self) -> None:
        self.far, near = pty.openpty()
        self.path = os.ttyname(near)
        self.near = near  # held, or the far end would see a hang-up before we open
        self.address = f"serial:{self.path}?baud=9600&flow=xonxoff"
        self.read = bytearray()
        self.reads = threading.Event()
        self.reads.set()
        self.over = threading.Event()
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def _run(self) -> None:
        os.set_blocking(self.far, False)
        while not self.over.is_set():
            self.reads.wait(0.02)
            try:
                self.read += os.read(self.far, 4096) if self.reads.is_set() else b""
            except BlockingIOError:
                time.sleep(0.002)
            except OSError:
                return

    def unplug(self) -> None:
        """The far end goes away."""
        self.over.set()
        self._thread.join(5)
        if self.far >= 0:
            os.close(self.far)
            self.far = -1

    def end(self) -> None:
        """Nothing of it stays."""
        self.unplug()
        os.close(self.near)
