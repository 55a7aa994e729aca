"""What this station made beside the book: proofs and print streams, which can be printed again and show pay.

A list in the book's private folder remembers each one; `plan` says which of them belong to batches that are closed,
and so may go. What is moved or renamed by hand is no longer known here, and has to be deleted by hand.
"""

import json
import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from cheque import system
from cheque.book import batches, runs
from cheque.book.book import Book, Reader
from cheque.errors import BookRefused
from cheque.tongue import mark, tr

FILE = "made"
#: what a file is: kept in the list in English, shown by `tr`
PROOF, STREAM = mark("proof"), mark("print stream")
#: how a file that is still being written is called, beside where it will be
UNFINISHED = ".cheque-"
#: seconds after which one that was left by a kill or a power cut is nobody's any more
STALE = 24 * 3600


class Made(NamedTuple):
    """One file: what it is, where, and the batches it shows."""

    what: str
    path: Path
    batches: tuple[int, ...]


class Fate(NamedTuple):
    """What is to happen to a file: `keep` is why it stays, "" when it may go."""

    made: Made
    keep: str


def remember(place: Path, what: str, path: Path, batch: int) -> None:
    """Note a file that shows a batch. `place`: the book's private folder. OSError when that cannot be written."""
    line = json.dumps({"what": what, "path": str(path.resolve()), "batch": batch}) + "\n"
    handle = os.open(place / FILE, os.O_WRONLY | os.O_APPEND | os.O_CREAT | system.NO_LINK, 0o600)
    try:
        os.write(handle, line.encode())
    finally:
        os.close(handle)


def known(place: Path) -> list[Made]:
    """The files that were noted, each once, with all its batches, in the order in which they were made."""
    found: dict[tuple[str, str], list[int]] = {}
    try:
        lines = (place / FILE).read_text("utf-8", errors="replace").splitlines()
    except FileNotFoundError:
        return []
    for line in lines:
        try:
            one = json.loads(line)
            shown = found.setdefault((str(one["what"]), str(one["path"])), [])
            shown.append(int(one["batch"]))
        except (ValueError, KeyError, TypeError):
            continue  # a line that a power cut left half-written: its file is found by hand
    return [Made(what, Path(path), tuple(sorted(set(shown)))) for (what, path), shown in found.items()]


def open_still(reader: Reader, batch: int) -> str:
    """Why a batch is not closed: payments without a form, or forms that nobody has answered for; "" when it is."""
    if batches.get(reader, batch).state == "withdrawn":
        return ""
    if any(run.batch == batch for run in runs.unfinished(reader, batch=batch)):
        return tr("batch {batch} has a run that nobody has answered for (`cheque confirm {batch}`)", batch=batch)
    if batches.left(reader, batch):
        return tr("batch {batch} has payments without a form (`cheque print {batch}`)", batch=batch)
    return ""


def plan(book: Book) -> Iterator[Fate]:
    """Every file that is still there, and whether it may go."""
    for made in known(book.place):
        try:
            found = made.path.lstat()
        except OSError:
            continue  # gone already
        yield Fate(made, _keep(book, made, found))


def _keep(reader: Reader, made: Made, found: os.stat_result) -> str:
    if not stat.S_ISREG(found.st_mode):
        return tr("it is no file of its own any more")
    if not system.is_ours(found):
        return tr("it belongs to somebody else")
    for batch in made.batches:
        try:
            if why := open_still(reader, batch):
                return why
        except BookRefused:
            return tr("batch {batch} is not in this book", batch=batch)
    return ""


def remove(made: Made) -> None:
    """Delete one file, and put that on the disk. OSError when it cannot be."""
    os.unlink(made.path)
    system.sync_folder(made.path.parent)


def forget(place: Path) -> None:
    """Write the list anew with what is still there."""
    left = [one for one in known(place) if os.path.lexists(one.path)]
    new = place / f"{FILE}.new"
    lines = [
        json.dumps({"what": one.what, "path": str(one.path), "batch": batch}) + "\n"
        for one in left
        for batch in one.batches
    ]
    handle = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | system.NO_LINK, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.writelines(lines)
        file.flush()
        os.fsync(file.fileno())
    os.replace(new, place / FILE)


def leftovers(folders: set[Path], now: float) -> list[Path]:
    """Files that a kill or a power cut left half-written: ours, and over a day old."""
    found = []
    for folder in sorted(folders):
        try:
            names = sorted(folder.glob(f"{UNFINISHED}*"))
        except OSError:
            continue
        for path in names:
            about = path.lstat()
            if stat.S_ISREG(about.st_mode) and system.is_ours(about, root=False) and now - about.st_mtime > STALE:
                found.append(path)
    return found
