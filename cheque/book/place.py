"""The private place of a book: a folder that only its owner can open, on a disk of this machine.

    book.sqlite      the events and the tables
    registers/       every register that was read, by its digest, as it came
    locks/           one file a printer, held by the run that is using it
    made             the proofs and print streams that this station made (cheque.made)
    log/             one line a command (cheque.log)
    where, seen      where the book was last used, and the last event seen there

A book somebody else can open, one reached through a link (which can be turned to another book, and then the
same numbers are given twice), or one on another machine's disk (whose locks and syncs cannot be relied on) is
refused with what to do.
"""

import os
import stat
from pathlib import Path

from cheque import system
from cheque.book.store import remove
from cheque.errors import BookRefused, InputRefused
from cheque.tongue import tr

FILE = "book.sqlite"
FOLDERS = ("registers", "locks")
#: small files beside the book (`cheque.book.where`)
SMALL = ("where", "seen")
#: a book being begun has this name until its first event is on the disk
BEGINNING = ".beginning-"
#: file systems that are on another machine, as the kernel calls them
_REMOTE = frozenset(
    {"nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ceph", "lustre", "glusterfs", "fuse.sshfs", "network"}
)


def prepare(place: Path) -> None:
    """Make the folder for a book about to be begun, or take an empty one. BookRefused or InputRefused."""
    _local(place)
    if os.path.lexists(place):
        _folder(place)
        names = sorted(path.name for path in place.iterdir() if not path.name.startswith(BEGINNING))
        strange = [name for name in names if name not in (*FOLDERS, *SMALL)]
        if FILE in strange:
            raise BookRefused(
                tr("{place} holds a book already; use it, or name another place in the settings.", place=place)
            )
        if strange:
            raise InputRefused(
                tr(
                    "{place} is not empty ({strange} is in it); a book wants a folder of its own. Name another place.",
                    place=place,
                    strange=strange[0],
                )
            )
    new = [folder for folder in (place, *place.parents) if not folder.exists()]
    place.mkdir(mode=0o700, parents=True, exist_ok=True)
    place.chmod(0o700)  # whatever the umask
    furnish(place)
    for folder in new:
        system.sync_folder(folder.parent)


def furnish(place: Path) -> None:
    """Make the folders beside the book that are not there, as after a restored backup."""
    for name in FOLDERS:
        folder = place / name
        if not folder.is_dir():
            folder.mkdir(mode=0o700)
            folder.chmod(0o700)


def station(place: Path) -> None:
    """Make the folder of what a station keeps for itself, its book being on a server. BookRefused or OSError."""
    if os.path.lexists(place):
        _folder(place)
        if system.others_can_open(place.stat()):
            raise BookRefused(
                tr("others than its owner can open {place}. See who did, then: chmod 700 '{place}'", place=place)
            )
        return
    place.mkdir(mode=0o700, parents=True)
    place.chmod(0o700)


def settle(place: Path, beginning: Path) -> None:
    """Give a book that was begun its name, and put that on the disk. FileExistsError when there is one."""
    system.name_new(beginning, place / FILE)
    system.sync_folder(place)
    for left in place.glob(f"{BEGINNING}*"):
        remove(left)  # of a power cut before


def check(place: Path) -> Path:
    """The file of the book that is at a place. BookRefused when there is none, or it is not safe to use."""
    try:
        if os.path.lexists(place):
            _folder(place)
        if not os.path.lexists(place / FILE):
            raise BookRefused(tr("there is no book at {place}. `cheque setup` begins one.", place=place))
        if system.others_can_open(place.stat()):
            raise BookRefused(
                tr(
                    "others than its owner can open {place}, where the book is. See who did, then: chmod 700 '{place}'",
                    place=place,
                )
            )
        found = (place / FILE).lstat()
    except OSError as error:
        raise BookRefused(
            tr("the book at {place} cannot be opened: {strerror}.", place=place, strerror=error.strerror)
        ) from None
    if not stat.S_ISREG(found.st_mode):
        raise BookRefused(
            tr("{place} is no file of its own, so it is not a book. Put the book itself there.", place=place / FILE)
        )
    _local(place)
    return place / FILE


def _folder(place: Path) -> None:
    found = place.lstat()
    if stat.S_ISLNK(found.st_mode):
        raise BookRefused(
            tr(
                "{place} is a link to {readlink}, and a link can be turned to another book. Name the folder "
                "itself in the settings.",
                place=place,
                readlink=os.readlink(place),
            )
        )
    if not stat.S_ISDIR(found.st_mode):
        raise BookRefused(
            tr("{place} is not a folder; a book wants a folder of its own. Name another place.", place=place)
        )
    if not system.is_ours(found):
        raise BookRefused(tr("{place} belongs to somebody else, and only its owner may use a book.", place=place))


def _local(place: Path, mounts: str = "/proc/self/mountinfo") -> None:
    """BookRefused when a place is on another machine's disk, as far as the kernel says."""
    kind = file_system(place, mounts) or ("network" if system.on_another_machine(place) else "")
    if kind in _REMOTE:
        raise BookRefused(
            tr(
                "{place} is on another machine ({kind}), where locks and syncs cannot be relied on and two "
                "stations could give out the same number. Keep the book on a disk of this machine.",
                place=place,
                kind=kind,
            )
        )


def file_system(place: Path, mounts: str = "/proc/self/mountinfo") -> str:
    """The kernel's name of the file system that a path is on, or would be made on; "" when it does not say."""
    real = place.resolve()
    best, kind = -1, ""
    try:
        lines = Path(mounts).read_text("utf-8", errors="surrogateescape").splitlines()
    except OSError:
        return ""
    for line in lines:
        # "36 35 98:0 /root /mount/point options - type source …"; blanks in names are written \040
        mount, _, rest = line.partition(" - ")
        fields = mount.split(" ")
        if len(fields) < 5 or not rest:
            continue
        point = Path(fields[4].replace("\\040", " ").replace("\\011", "\t").replace("\\134", "\\"))
        if real.is_relative_to(point) and len(point.parts) >= best:
            best, kind = len(point.parts), rest.split(" ")[0]
    return kind
