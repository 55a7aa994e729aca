"""A real spooler of the test's own: its own folders, its own socket, its own queues; stopped at the end."""

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from cheque.device import ipp

FILES = """
ServerRoot {root}/etc
RequestRoot {root}/spool
CacheDir {root}/cache
StateDir {root}/state
TempDir {root}/tmp
AccessLog {root}/log/access
ErrorLog {root}/log/error
PageLog {root}/log/page
User lp
Group lp
SystemGroup root
"""

# The limits are those of the distribution's own configuration.
SPOOLER = """
LogLevel info
Listen {root}/cups.sock
Browsing Off
WebInterface No
DefaultAuthType Basic
PreserveJobFiles Yes
PreserveJobHistory Yes
MultipleOperationTimeout 60
<Location />
  Order allow,deny
  Allow all
</Location>
<Policy default>
  JobPrivateAccess default
  JobPrivateValues default
  <Limit Create-Job Print-Job Print-URI Validate-Job>
    Order deny,allow
  </Limit>
  <Limit Send-Document Send-URI Hold-Job Release-Job Restart-Job Purge-Jobs Cancel-My-Jobs Close-Job>
    Require user @OWNER @SYSTEM
    Order deny,allow
  </Limit>
  <Limit Cancel-Job CUPS-Authenticate-Job>
    Require user @OWNER @SYSTEM
    Order deny,allow
  </Limit>
  <Limit All>
    Order deny,allow
  </Limit>
</Policy>
"""

QUEUE = """
<Printer {name}>
DeviceURI {device}
State {state}
StateMessage {message}
Accepting {accepting}
ErrorPolicy {policy}
JobSheets standard none
</Printer>
"""


class Spool:
    """The spooler, its folder and its queues' names."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.server = f"{root}/cups.sock"
        self.ipp = ipp.Spooler(self.server, "root")
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Until it answers."""
        with (self.root / "log/out").open("ab") as log:
            etc = self.root / "etc"
            command = ["cupsd", "-f", "-c", f"{etc}/cupsd.conf", "-s", f"{etc}/cups-files.conf"]
            self._process = subprocess.Popen(command, stdout=log, stderr=log)
        until = time.monotonic() + 10
        while True:
            try:
                self.ipp.printer("any", [])
                return
            except ipp.IppError:
                if self._process.poll() is not None or time.monotonic() > until:
                    pytest.fail(f"the spooler did not start: {(self.root / 'log/out').read_text()}")
                time.sleep(0.02)

    def stop(self, *, orderly: bool = False) -> None:
        """At once, or in order, so that it remembers its jobs."""
        if self._process is not None:
            if orderly:
                self._process.terminate()
            else:
                self._process.kill()
            self._process.wait(10)
            self._process = None

    def documents(self) -> list[str]:
        """The spooled copies that lie about."""
        return sorted(one.name for one in (self.root / "spool").glob("d*-*"))


@contextmanager
def spooler(queues: dict[str, dict[str, str]], setenv: Callable[[str, str], None]) -> Iterator[Spool]:
    """Started with these queues (each with `device`, and what else is out of the ordinary)."""
    if os.geteuid() != 0:
        pytest.skip("only root can start a spooler of its own")
    if not shutil.which("cupsd") or not shutil.which("lp"):
        pytest.skip("no spooler is installed (apt-get install cups cups-client)")
    if not Path("/usr/lib/cups/backend/socket").exists():
        pytest.skip("the spooler has no way to a socket (apt-get install cups)")
    # A short path for the socket's sake, open to the spooler's own user.
    root = Path(tempfile.mkdtemp(prefix="cheque-spool-"))
    try:
        root.chmod(0o755)
        for folder in ("spool", "cache", "state/certs", "tmp", "log", "etc"):
            (root / folder).mkdir(parents=True)
        (root / "etc/cups-files.conf").write_text(FILES.format(root=root))
        (root / "etc/cupsd.conf").write_text(SPOOLER.format(root=root))
        usual = {"state": "Idle", "message": "", "accepting": "Yes", "policy": "abort-job"}
        written = [QUEUE.format(name=name, **{**usual, **settings}) for name, settings in queues.items()]
        (root / "etc/printers.conf").write_text("".join(written))
        (root / "etc/classes.conf").write_text(
            f"<Class crowd>\nState Idle\nAccepting Yes\nErrorPolicy abort-job\nPrinter {next(iter(queues))}\n</Class>\n"
        )
        made = Spool(root)
        setenv("CUPS_SERVER", made.server)
        made.start()
        try:
            yield made
        finally:
            made.stop()
    finally:
        shutil.rmtree(root)
