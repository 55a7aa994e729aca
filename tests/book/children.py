"""Other processes for the tests of the book: one with fewer rights, ones that are killed, ones whose disk fails."""

import os
import shutil
import subprocess
import sys
import textwrap
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

SOMEBODY = 65534  # a user with no rights, on every system
PRELUDE = """
import signal, sys
from pathlib import Path
from cheque.book import batches, cheques, runs, stock, verify
from cheque.book.book import create, open_book
from cheque.errors import Refusal
place = Path(sys.argv[1])
"""


def in_a_child(what: Callable[[], str], *, user: int | None = None, umask: int | None = None) -> str:
    """What a function gives in a process of its own: as another user when root may, or with another umask."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        status = 1
        try:
            os.close(read)
            if umask is not None:
                os.umask(umask)
            if user is not None and os.geteuid() == 0:
                os.setgroups([])
                os.setgid(user)
                os.setuid(user)
            os.write(write, what().encode())
            status = 0
        except BaseException as error:
            os.write(write, f"{type(error).__name__}: {error}".encode())
        finally:
            os._exit(status)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        said = pipe.read().decode()
    _, status = os.waitpid(child, 0)
    assert status == 0, said
    return said


def script(folder: Path, text: str, name: str = "steps.py") -> Path:
    """A script of steps on a book; it is given the book's place."""
    path = folder / name
    path.write_text(PRELUDE + textwrap.dedent(text), "utf-8")
    return path


def run(path: Path, place: Path, *before: str) -> subprocess.CompletedProcess[str]:
    """Run such a script to its end."""
    return subprocess.run(
        [*before, sys.executable, str(path), str(place)], capture_output=True, text=True, timeout=120, check=False
    )


@cache
def _traces() -> bool:
    tool = shutil.which("strace")
    if not tool:
        return False
    done = subprocess.run([tool, "-o", "/dev/null", "true"], capture_output=True, check=False)
    return done.returncode == 0


def injecting(fault: str) -> tuple[str, ...]:
    """The words that run a command with a fault injected into its system calls; skips where that cannot be done."""
    if not _traces():
        pytest.skip("system calls cannot be traced here")
    calls = fault.split(":", 1)[0]
    return ("strace", "-f", "-qq", "-o", "/dev/null", "-e", f"trace={calls}", "-e", f"inject={fault}")
