"""A real PostgreSQL server of the tests' own: its own files, its own socket, nothing of the machine's; killed at will.

`Server` is one server. `shared` gives the one of this test session (under xdist each worker has its own): it is begun
when a test first asks, and stopped at the end. A book takes a schema of its own in it.
"""

import atexit
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
import uuid
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from cheque.book.book import Book

#: where distributions put a server's programs
_FOLDERS = ("/usr/lib/postgresql", "/usr/pgsql", "/opt/homebrew/opt")
_SETTINGS = """
listen_addresses = ''
max_connections = 60
shared_buffers = 32MB
max_wal_size = 64MB
min_wal_size = 2MB
log_min_messages = fatal
restart_after_crash = on
autovacuum_naptime = 10min
"""


def programs() -> Path | None:
    """The folder of the newest server's programs on this machine, or None."""
    found = [path.parent for folder in _FOLDERS for path in Path(folder).glob("*/bin/initdb")]
    if not found and (on_path := shutil.which("initdb")):
        found = [Path(on_path).resolve().parent]
    return max(found, key=lambda path: path.parts[-2].zfill(4)) if found else None


def _somebody() -> pwd.struct_passwd | None:
    """Whom a server runs as: root may not run one."""
    if os.geteuid():
        return None
    for name in ("postgres", "nobody"):
        try:
            return pwd.getpwnam(name)
        except KeyError:
            continue
    pytest.skip("there is nobody here whom a database server could run as")


class Server:
    """One server in a folder of its own; begun when made."""

    def __init__(self, *, folder: Path | None = None) -> None:
        """`folder`: on which disk; in memory unless said."""
        bin_folder = programs()
        if bin_folder is None:
            pytest.skip("no PostgreSQL server is installed here (Debian: apt-get install postgresql)")
        self.bin, self.owner = bin_folder, _somebody()
        room = folder or (Path("/dev/shm") if os.access("/dev/shm", os.W_OK) else None)
        self.folder = Path(tempfile.mkdtemp(prefix="cheque-pg-", dir=room))
        self.folder.chmod(0o755)
        self.data, self.socket = self.folder / "data", Path(tempfile.mkdtemp(prefix="pg-"))
        for path in (self.data, self.socket):
            path.mkdir(exist_ok=True)
            path.chmod(0o700)
            if self.owner:
                os.chown(path, self.owner.pw_uid, self.owner.pw_gid)
        self.socket.chmod(0o755)
        self._run("initdb", "-D", self.data, "-U", "keeper", "-A", "trust", "-E", "UTF8", "--locale=C", "-N",
                  "--wal-segsize=1")  # fmt: skip
        with (self.data / "postgresql.conf").open("a") as file:
            file.write(f"{_SETTINGS}unix_socket_directories = '{self.socket}'\n")
        self._process: subprocess.Popen[bytes] | None = None
        self.start()
        self._run("createdb", "-h", self.socket, "-U", "keeper", "cheques")

    def _as_owner(self) -> dict[str, object]:
        if not self.owner:
            return {}
        return {"user": self.owner.pw_uid, "group": self.owner.pw_gid, "extra_groups": [], "cwd": "/"}

    def _run(self, program: str, *arguments: object) -> None:
        done = subprocess.run(
            [str(self.bin / program), *map(str, arguments)],
            capture_output=True,
            check=False,
            **self._as_owner(),  # type: ignore[call-overload]
        )
        assert done.returncode == 0, done.stderr.decode()

    def start(self) -> None:
        """Begin it, and wait until it takes connections."""
        self._process = subprocess.Popen(
            [str(self.bin / "postgres"), "-D", str(self.data)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            **self._as_owner(),  # type: ignore[call-overload]
        )
        ready = [str(self.bin / "pg_isready"), "-q", "-h", str(self.socket)]
        for _ in range(600):
            if subprocess.run(ready, check=False).returncode == 0:
                return
            time.sleep(0.05)
        raise AssertionError("the server did not begin")

    def kill(self) -> None:
        """SIGKILL to the server and every process of its own, as a power cut does; nothing is left of them."""
        assert self._process
        children = subprocess.run(
            ["ps", "-o", "pid=", "--ppid", str(self._process.pid)], capture_output=True, text=True, check=False
        ).stdout.split()
        for pid in (self._process.pid, *map(int, children)):
            try:
                os.kill(pid, signal.SIGKILL)
            except ProcessLookupError:
                continue
        self._process.wait()
        self._process = None
        (self.data / "postmaster.pid").unlink(missing_ok=True)

    def stop(self) -> None:
        """End it, and remove everything of it."""
        if self._process:
            self._process.send_signal(signal.SIGQUIT)
            self._process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)
        shutil.rmtree(self.socket, ignore_errors=True)

    def url(self, schema: str = "") -> str:
        """A place for a book: a schema where nothing is."""
        schema = schema or f"book_{uuid.uuid4().hex[:12]}"
        return f"postgresql:///cheques?host={self.socket}&user=keeper&schema={schema}"


_on: list[str] = ["file"]
_opened: list[Book] = []


@pytest.fixture(params=["file", "server", "roles"], autouse=True)
def on_both(request: pytest.FixtureRequest) -> Iterator[None]:
    """Every test of a module that imports this runs with its books in files, on the server, and there under roles."""
    yield from _on_one(request.param)


@pytest.fixture(params=["file", "server"], autouse=True)
def on_both_by_our_clock(request: pytest.FixtureRequest) -> Iterator[None]:
    """As `on_both`, but not under roles, where the time is the server's."""
    yield from _on_one(request.param)


def _on_one(where: str) -> Iterator[None]:
    _on[0] = where
    yield
    _on[0] = "file"
    while _opened:
        _opened.pop().close()


def closed_later(book: Book) -> Book:
    """A book that is closed when the test ends, so that no connection is left open."""
    if book.server:
        _opened.append(book)
    return book


def on_server() -> bool:
    """Whether the books of this test are on the server."""
    return _on[0] != "file"


def under_roles() -> bool:
    """Whether they are under roles there: who tests is the server's keeper then, who may do everything."""
    return _on[0] == "roles"


@cache
def shared() -> Server:
    """The server of this test session."""
    server = Server()
    atexit.register(server.stop)
    return server
