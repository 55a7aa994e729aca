"""What differs between operating systems, in one place: whoever needs one of these asks here.

The tool is made for Linux and tried there. On macOS and Windows nothing here is missing at import; what the system has
no like of is done in the plain way that is told beside it, or refused in one sentence where it cannot be done at all
(`docs/other-systems.md`). What a path or a name means there is decided by pure functions, which are told for which
system they are to answer.
"""

import errno
import os
import stat
import zlib
from collections.abc import Mapping
from contextlib import suppress
from importlib import import_module
from pathlib import Path, PurePath, PureWindowsPath
from typing import Any

from cheque.tongue import tr

WINDOWS = os.name == "nt"
#: what is added to the flags of os.open: no other program gets the file from us; bytes go as they are (on Windows
#: a file is otherwise of lines, whose ends are changed)
PLAIN = getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOINHERIT", 0) | getattr(os, "O_BINARY", 0)
#: the same, and a symbolic link is not followed, where the system can be told so
NO_LINK = PLAIN | getattr(os, "O_NOFOLLOW", 0)
#: where a lock of Windows stands, which keeps others from the bytes themselves: beyond any that a file has
_LOCKED_AT = 0x7FFF_FFFF
#: names that are devices on Windows in every folder, whatever their suffix (Microsoft, "Naming Files, Paths, and
#: Namespaces")
_DEVICES = frozenset(
    {"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"}
    | {f"{port}{number}" for port in ("COM", "LPT") for number in "123456789¹²³"}
)
_FORBIDDEN = '<>"|?*'


def person() -> str:
    """The name that the operating system knows the user by.

    Where it has a list of users, that list says it, never the environment; Windows tells its own by the environment
    only, so that there a person who means to can be somebody else. "" when nothing says it.
    """
    try:
        users = import_module("pwd")
    except ImportError:
        import getpass

        try:
            return getpass.getuser()
        except (ImportError, KeyError, OSError):
            return ""
    try:
        return str(users.getpwuid(os.getuid()).pw_name)
    except KeyError:
        return ""


def node() -> str:
    """What this machine is called in its network."""
    if hasattr(os, "uname"):
        return os.uname().nodename
    import platform

    return platform.node()


def own_number() -> str:
    """The machine's own number, which it keeps whatever it is called; "" where it has none that can be read.

    Linux: machine-id(5). Windows: MachineGuid of its registry. macOS has one, which is not asked for here.
    """
    with suppress(OSError, ValueError):
        return Path("/etc/machine-id").read_text("ascii").strip()
    with suppress(ImportError, OSError):
        registry: Any = import_module("winreg")
        flags = registry.KEY_READ | registry.KEY_WOW64_64KEY
        with registry.OpenKey(registry.HKEY_LOCAL_MACHINE, r"SOFTWARE\Microsoft\Cryptography", 0, flags) as key:
            return str(registry.QueryValueEx(key, "MachineGuid")[0])
    return ""


# -- whose a file is ---------------------------------------------------------------------------------------------------


def is_ours(found: os.stat_result, *, root: bool = True) -> bool:
    """Whether a file or folder belongs to who runs this; `root`: or they are root.

    Windows keeps owners elsewhere (access control lists), which are not looked at: there it is always so.
    """
    if not hasattr(os, "geteuid"):
        return True
    me = os.geteuid()
    return found.st_uid == me or (root and me == 0)


def others_can_open(found: os.stat_result) -> bool:
    """Whether others than the owner may read or write it; on Windows the mode says nothing of that: never."""
    return hasattr(os, "geteuid") and bool(stat.S_IMODE(found.st_mode) & 0o077)


def make_private(handle: int) -> None:
    """Let its owner alone read and write an open file, whatever the umask; on Windows its folder decides."""
    if hasattr(os, "geteuid") and hasattr(os, "fchmod"):
        os.fchmod(handle, 0o600)


# -- locks and syncs ---------------------------------------------------------------------------------------------------


def lock(handle: int, *, wait: bool = False) -> None:
    """Hold an open file against others that ask for the same; it ends with the handle, or with the process.

    BlockingIOError when another holds it; another OSError where there are no locks (as on some network disks).
    """
    try:
        locks = import_module("fcntl")
    except ImportError:
        _lock_bytes(handle, wait)
        return
    locks.flock(handle, locks.LOCK_EX | (0 if wait else locks.LOCK_NB))


def _lock_bytes(handle: int, wait: bool) -> None:
    """As Windows has it: one byte far beyond the end of the file."""
    try:
        locks = import_module("msvcrt")
    except ImportError as error:
        raise OSError(errno.ENOLCK, tr("this system has no locks")) from error
    before = os.lseek(handle, 0, os.SEEK_CUR)
    os.lseek(handle, _LOCKED_AT, os.SEEK_SET)
    try:
        locks.locking(handle, locks.LK_LOCK if wait else locks.LK_NBLCK, 1)  # LK_LOCK tries for ten seconds
    except OSError as error:
        if error.errno in (errno.EACCES, errno.EDEADLK, getattr(errno, "EDEADLOCK", errno.EDEADLK)):
            raise BlockingIOError(errno.EAGAIN, tr("another process holds it")) from error
        raise
    finally:
        os.lseek(handle, before, os.SEEK_SET)


def gate(folder: Path) -> int:
    """An open handle for `lock` that all who work in a folder share: the folder itself, or a file in it."""
    if hasattr(os, "O_DIRECTORY"):
        return os.open(folder, os.O_RDONLY | os.O_DIRECTORY | PLAIN)
    return os.open(folder / ".gate", os.O_RDWR | os.O_CREAT | NO_LINK, 0o600)


def sync_folder(folder: Path) -> None:
    """Put a folder's list of names on the disk, so that a new file in it survives a power cut.

    Windows lets no folder be opened for that: NTFS keeps names by its own journal, and nothing is done.
    """
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | PLAIN)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def name_new(unnamed: str | Path, name: Path) -> None:
    """Give a finished file its name, never over another nor through a link. FileExistsError when there is one."""
    try:
        os.link(unnamed, name)
    except FileExistsError:
        raise
    except OSError:
        if not WINDOWS:
            raise
        os.rename(unnamed, name)  # on Windows never over another either; a disk without hard links has only this
        return
    os.unlink(unnamed)


# -- paths and names ---------------------------------------------------------------------------------------------------


def same(one: str | Path, other: str | Path) -> bool:
    """Whether two paths lead to one place, whatever the disk thinks of capitals; one of nothing there may be."""
    first, second = (os.path.normcase(os.path.realpath(path)) for path in (one, other))
    if first == second:
        return True
    try:
        return os.path.samefile(first, second)
    except OSError:
        return False


def within(path: str | Path, folder: str | Path) -> bool:
    """Whether a path is a folder or something inside it."""
    real = Path(os.path.realpath(path))
    return any(same(place, folder) for place in (real, *real.parents))


def file_stem(name: str) -> str:
    """A name of the settings as the stem of a file's, on every disk its own and no device.

    >>> file_stem("payroom"), file_stem("Payroom"), file_stem("con")
    ('payroom', 'payroom-da08e60f', 'con-fdbf975c')
    """
    if name == name.lower() and name.upper() not in _DEVICES:
        return name
    return f"{name.lower()}-{zlib.crc32(name.encode()):08x}"


def unfit(name: str, *, windows: bool = WINDOWS) -> str:
    """Why a path cannot be an ordinary file's by its spelling, or "". Only Windows has such: devices among names.

    >>> unfit("C:/cheques/nul.prn", windows=True)
    'NUL is the name of a device on Windows'
    >>> unfit("nul.prn", windows=False)
    ''
    """
    if not windows:
        return ""
    path = PureWindowsPath(name)
    if path.drive.startswith(("\\\\.", "\\\\?")):
        return tr("it names a device, not a file")
    for part in path.parts[1 if path.anchor else 0 :]:
        stem = part.split(".")[0].rstrip(" ").upper()
        if stem in _DEVICES:
            return tr("{stem} is the name of a device on Windows", stem=stem)
        if ":" in part:
            return tr("{part!r} has a colon in it, which Windows takes for a part of another file", part=part)
        if part not in (".", "..") and part != part.rstrip(". "):
            return tr("{part!r} ends in a dot or a blank, which Windows leaves out", part=part)
        if any(character in _FORBIDDEN or ord(character) < 32 for character in part):
            return tr("{part!r} has a character that no name has on Windows", part=part)
    return ""


def begins_with_drive(text: str) -> bool:
    r"""Whether a text is a path of Windows that begins with a drive's letter, as in C:\cheques or C:/cheques.

    >>> begins_with_drive("C:\\cheques\\out.prn"), begins_with_drive("queue:payroom"), begins_with_drive("c:out.prn")
    (True, False, True)
    """
    return len(text) > 1 and text[1] == ":" and text[0].isascii() and text[0].isalpha()


def on_another_machine(place: PurePath | str) -> bool:
    r"""Whether a path of Windows says by itself that it is on another machine: \\server\share, or a drive of one."""
    path = PureWindowsPath(place)
    if path.drive.startswith("\\\\"):
        return True
    if not WINDOWS or not path.drive:
        return False
    remote = 4  # DRIVE_REMOTE of GetDriveTypeW
    try:
        kernel: Any = import_module("ctypes").windll.kernel32
        return bool(kernel.GetDriveTypeW(f"{path.drive}\\") == remote)
    except (ImportError, AttributeError, OSError):
        return False


def settings_folder(environment: Mapping[str, str], home: PurePath, system: str) -> PurePath:
    """Where a person's own settings are: XDG_CONFIG_HOME where it is set, else as the system has it.

    `system`: sys.platform. `home`: the person's own folder, of which the answer is made.
    """
    if named := environment.get("XDG_CONFIG_HOME"):
        return type(home)(named)
    if system == "win32":
        local = environment.get("LOCALAPPDATA")
        return type(home)(local) if local else home / "AppData" / "Local"
    if system == "darwin":
        return home / "Library" / "Application Support"
    return home / ".config"


def show(path: Path, system: str) -> str:
    """Have a file opened by what the desktop opens files with; why it was not, or "". `system`: sys.platform."""
    import shutil
    import subprocess

    if system == "win32":
        try:
            vars(os)["startfile"](path)
        except (OSError, KeyError) as error:
            return str(error)
        return ""
    opener = shutil.which("open" if system == "darwin" else "xdg-open")
    if opener is None:
        return tr("this machine has no desktop opener")
    try:
        done = subprocess.run(
            [opener, str(path)], stdin=subprocess.DEVNULL, capture_output=True, timeout=20, check=False
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return str(error)
    ended = tr("{name} ended with {returncode}", name=Path(opener).name, returncode=done.returncode)
    return "" if done.returncode == 0 else ended
