"""What only POSIX has may be missing: a payday to a file is gone through all the same, or refused in one sentence.

Simulated, by taking the modules and the calls of POSIX away; never run on Windows or macOS: docs/other-systems.md.
"""

import subprocess
import sys
from pathlib import Path, PurePosixPath, PureWindowsPath

import pytest
from journeys.firm import REGISTER, Firm, Said

from cheque import system

WITHOUT = """
import fcntl as real, importlib.abc, os, sys, types

def locking(handle, mode, count):  # the lock of Windows, which keeps others from bytes of a file
    place = os.lseek(handle, 0, os.SEEK_CUR)
    how = {0: real.LOCK_UN, 1: real.LOCK_EX, 2: real.LOCK_EX | real.LOCK_NB}[mode]
    real.lockf(handle, how, count, place)

windows = types.ModuleType("msvcrt")
windows.LK_UNLCK, windows.LK_LOCK, windows.LK_NBLCK, windows.locking = 0, 1, 2, locking

class Missing(importlib.abc.MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name in ("fcntl", "pwd", "grp", "termios", "resource", "tty", "pty", "syslog"):
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)

import subprocess, tempfile, shutil, socket, click, sqlite3, getpass  # what the standard library itself does of POSIX
for name in ("fcntl", "pwd", "grp", "termios", "resource", "tty", "pty", "syslog"):
    sys.modules.pop(name, None)
sys.meta_path.insert(0, Missing())
sys.modules["msvcrt"] = windows
for name in ("getuid", "geteuid", "getgid", "fchmod", "fchown", "chown", "uname", "sync", "fork", "posix_spawn",
             "mkfifo", "O_NOFOLLOW", "O_DIRECTORY", "O_CLOEXEC", "O_NONBLOCK", "statvfs", "getpgid", "setsid", "killpg",
             "sched_getaffinity"):
    if hasattr(os, name):
        delattr(os, name)
from cheque.cli import status_of
sys.exit(status_of(sys.argv[1:]))
"""


def without(firm: Firm, *arguments: str, expect: int = 0) -> Said:
    """Run one command where nothing that is POSIX's own is there."""
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT, *arguments],
        cwd=firm.folder, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == expect, f"cheque {' '.join(arguments)}:\n{done.stderr}{done.stdout}"
    assert "Traceback" not in done.stderr
    assert "fault of the tool's own" not in done.stderr
    return Said(done.returncode, done.stdout, done.stderr)


def test_a_payday_to_a_file_is_gone_through_without_what_is_posix_own(tmp_path: Path) -> None:
    firm = Firm(tmp_path)
    without(
        firm, "setup", "--drawer", "Quillmere Boatyard Company", "--address", "1 Slipway Lane", "--bank",
        "Tidewrack Savings Bank", "--routing", "123456780", "--account-number", "000417293355",
    )  # fmt: skip
    without(firm, "stock", "receive", "payroll-us", "--account", "main", "--first", "100501", "--last", "101000")
    firm.register()
    slip = ("--control-total", "18214.77", "--item-count", "24", "--hash-total", "51877")
    without(firm, "register", "check", REGISTER)
    without(firm, "batch", "accept", REGISTER, "--form", "payroll-us", *slip)
    code = without(firm, "proof", "1", "-o", "proof.pdf").out.split()[-1]
    without(
        firm, "print", "1", "--first-number", "100501", "--proof-code", code, "--paper-loaded", "--after-first", "go-on"
    )
    without(firm, "confirm", "1", "--good-count", "24")
    without(firm, "reconcile", "numbers", "1")
    without(firm, "report", "control", "--batch", "1", "-o", "control.txt")
    assert "whole" in without(firm, "book", "verify").out
    without(firm, "payday", expect=2)
    assert len(firm.struck()) == 24


@pytest.mark.parametrize(
    "address", ["serial:/dev/ttyS0?baud=9600&parity=none&stop=1&flow=xonxoff", "port:/dev/usb/lp0"]
)
def test_a_way_that_only_posix_has_is_refused_in_a_sentence(tmp_path: Path, address: str) -> None:
    firm = Firm(tmp_path).set_up(address=address)
    firm.accept()
    code = firm.proof(1)
    said = without(
        firm, "print", "1", "--first-number", "100501", "--proof-code", code, "--paper-loaded",
        "--after-first", "go-on", expect=4,
    )  # fmt: skip
    assert said.err.count("cheque: ") == 1


def test_names_that_are_devices_on_windows_are_known_and_only_there() -> None:
    for name in ("CON", "nul.txt", "lpt1.prn", "COM9"):
        assert system.unfit(f"C:/cheques/{name}", windows=True), name
        assert not system.unfit(f"/cheques/{name}", windows=False), name
    assert not system.unfit("C:/cheques/console.prn", windows=True)


def test_where_settings_are_is_each_system_s_own_place() -> None:
    home = PureWindowsPath("C:/Users/mara")
    at = {"LOCALAPPDATA": "C:/Users/mara/AppData/Local"}
    assert system.settings_folder(at, home, "win32") == home / "AppData" / "Local"
    mac = PurePosixPath("/Users/mara")
    assert system.settings_folder({}, mac, "darwin") == mac / "Library" / "Application Support"
    linux = PurePosixPath("/home/mara")
    assert system.settings_folder({}, linux, "linux") == linux / ".config"
    assert system.settings_folder({"XDG_CONFIG_HOME": "/x"}, linux, "linux") == PurePosixPath("/x")


def test_a_drive_s_letter_is_no_kind_of_printer() -> None:
    assert system.begins_with_drive("C:\\cheques\\out.prn")
    assert not system.begins_with_drive("file:out.prn")
    assert not system.begins_with_drive("socket://127.0.0.1:9100")
