"""A person at a terminal: a command in a pseudo-terminal of its own, what it shows, and what is typed."""

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Mapping
from pathlib import Path

#: makes the pseudo-terminal the process's own, so that Ctrl-C and a hang-up reach it as signals
_OWN = """
import fcntl, os, sys, termios
os.setsid()
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
os.execv(sys.executable, [sys.executable, "-m", "cheque", *sys.argv[1:]])
"""
BOUND = 15.0
CTRL_C, CTRL_D = "\x03", "\x04"


class Terminal:
    """One command at a terminal. `shown` is everything it has shown, as one line with single blanks."""

    def __init__(
        self,
        folder: Path,
        *arguments: str,
        columns: int = 100,
        lines: int = 40,
        environment: Mapping[str, str] | None = None,
    ) -> None:
        self._ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))
        named = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
        self.process = subprocess.Popen(
            [sys.executable, "-c", _OWN, *arguments],
            cwd=folder,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            env=named | dict(environment or {}),
        )
        os.close(theirs)
        self._raw = b""
        self._seen = self._asked = 0

    @property
    def text(self) -> str:
        """Everything shown, as it was."""
        return self._raw.decode(errors="replace")

    @property
    def shown(self) -> str:
        """Everything shown, lines joined: it is broken where the terminal is too narrow."""
        return re.sub(r"\s+", " ", self.text)

    def _read(self, seconds: float) -> bool:
        """Take what is shown; False at the end."""
        ready, _, _ = select.select([self._ours], [], [], seconds)
        if not ready:
            return True
        try:
            piece = os.read(self._ours, 65536)
        except OSError:  # the other side is gone
            return False
        self._raw += piece
        return bool(piece)

    def expect(self, text: str) -> None:
        """Wait until this is shown, after what was expected before."""
        until = time.monotonic() + BOUND
        while (place := self.shown.find(text, self._seen)) < 0:
            assert time.monotonic() < until, f"{text!r} was not shown:\n{self.text}"
            assert self._read(0.1), f"it ended without {text!r}:\n{self.text}"
        self._seen = place + len(text)

    def question(self, *prompts: str) -> str | None:
        """Wait until what is shown ends in one of these prompts; gives what was shown since, None at the end.

        For a conversation of many questions, of which the order is not known beforehand.
        """
        until = time.monotonic() + BOUND
        while len(self._raw) == self._asked or not self.text.endswith(prompts):
            assert time.monotonic() < until, f"nothing was asked:\n{self.text}"
            if not self._read(0.1):
                return None
        shown = self._raw[self._asked :].decode(errors="replace")
        self._asked = len(self._raw)
        return shown

    def type(self, line: str) -> None:
        """Type a line and Enter."""
        os.write(self._ours, line.encode() + b"\n")

    def press(self, key: str) -> None:
        """Press one key."""
        time.sleep(0.1)  # nobody is quicker than the program from its question to its reading
        os.write(self._ours, key.encode())

    def asked(self, question: str, answer: str) -> None:
        """Wait for a question, and answer it."""
        self.expect(question)
        self.type(answer)

    def hang_up(self) -> None:
        """The terminal goes away."""
        os.close(self._ours)
        self._ours = -1

    def abandon(self) -> None:
        """End it, whatever it does: a test is over."""
        if self._ours >= 0:
            self.hang_up()
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait(BOUND)

    def ended(self) -> int:
        """Wait for the end; the exit status."""
        until = time.monotonic() + BOUND
        while self._ours >= 0 and self._read(0.1):
            assert time.monotonic() < until, f"it did not end:\n{self.text}"
        if self._ours >= 0:
            self.hang_up()
        status = self.process.wait(BOUND)
        assert "Traceback" not in self.text
        assert "fault of the tool's own" not in self.shown
        return status
