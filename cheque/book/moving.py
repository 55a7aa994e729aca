"""A book carried to another place, event by event, and proved there by its chain: from a folder to a server, or back.

    1. the book is verified where it is, and its last event there says where it goes (`book.moved`)
    2. everything written once, and every event, is copied and brought up to date there; each digest is recomputed
    3. the copy is verified, and its first event there says that it arrived (`book.arrived`)

From 1 on nothing else can be appended where it was, and before 3 nothing where it goes: at no moment do two books
give out numbers. Cut off anywhere, the same command goes on from where it was; and where nothing came to be at the
other place, the book stays.
"""

import shutil
import uuid
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from cheque import system
from cheque.book import place as places
from cheque.book import verify as verifying
from cheque.book.apply import apply
from cheque.book.apply.places import ARRIVED, MOVED
from cheque.book.book import COLUMNS, Book, Clock, Reader, is_there, now, on_server, open_book
from cheque.book.event import GENESIS, Event, digest_of
from cheque.book.schema import COPIED, DERIVED_VERSION, everything
from cheque.book.store import SqliteStore, Store, remove
from cheque.errors import BookRefused, InputRefused, Refusal
from cheque.tongue import tr

#: what is written once beside the chain, in the order in which it is copied
_KEPT = {"content": "digest, body", "payment": "batch, item, body", "proof_page": "seq, item, digest"}
Progress = Callable[[int], None]


class Place(NamedTuple):
    """A folder; and the URL of a server, or "", when the folder is what a station keeps for itself."""

    folder: Path
    server: str = ""

    @property
    def text(self) -> str:
        """The place as it is told."""
        return self.server or str(self.folder)


def _quiet(seq: int) -> None:
    """Nobody watches."""


def move(source: Place, target: Place, *, clock: Clock = now, progress: Progress = _quiet) -> Event:
    """Carry the book at one place to another, where none is; gives its first event there.

    BookRefused when it is not whole, was moved elsewhere, or another book is there.
    """
    if source.text == target.text or (not source.server and not target.server and _same(source, target)):
        raise InputRefused(
            tr("{text} and {text2} are the same place: there is nothing to move.", text=source.text, text2=target.text)
        )
    with open_book(source.folder, server=source.server, clock=clock) as book:
        there = is_there(target.folder, target.server)
        leaving = _leave(book, target, there)
        if not there:
            _carried(book, target, progress)
        _registers(source.folder, target.folder)
        with open_book(target.folder, server=target.server, clock=clock) as other:
            if other.head.digest != leaving.digest:
                if other.row("SELECT 1 FROM event WHERE digest = ?", leaving.digest):
                    raise BookRefused(tr("the book has arrived at {text} already: use it there.", text=target.text))
                raise BookRefused(tr("{text} holds another book. Name another place.", text=target.text))
            faults = verifying.verify(other)
            if faults:
                raise BookRefused(
                    tr("what came to {text} is not whole; the book goes nowhere.", text=target.text), faults
                )
            with other.change(strange=True) as change:
                arrived = change.append(ARRIVED, {"from": source.text, "to": target.text})
            other.settle()
            return arrived


def _carried(book: Book, target: Place, progress: Progress) -> None:
    """Copy the book; when that fails and nothing is there, the book stays where it is."""
    try:
        copy(book, target, progress)
    except (Refusal, OSError):
        with suppress(Refusal, OSError):  # who cannot look there does not know that nothing is: then it waits
            if not is_there(target.folder, target.server):
                _stay(book)
        raise


def _stay(book: Book) -> None:
    here = book.server or str(book.place)
    with book.change(strange=True) as change:
        change.append(ARRIVED, {"from": here, "to": here})


def stay(book: Book, *, looked: bool = True) -> None:
    """The book was to move and never arrived: it stays. `looked`: whether the place it was to go to can be looked at.

    BookRefused when it was not to move, or is there.
    """
    head = book.head
    if head.kind != MOVED:
        raise BookRefused(tr("the book was not on its way to another place, so there is nothing to take back."))
    to = str(head.data["to"])
    if looked and is_there(*((book.place, to) if "://" in to else (Path(to), ""))):
        raise BookRefused(
            tr(
                "a book is at {to}, so this one may have arrived there: give `cheque book move` again, which "
                "ends it; or remove what is there, if it is this book's unfinished copy and nobody uses it.",
                to=to,
            )
        )
    _stay(book)


def _same(one: Place, other: Place) -> bool:
    return system.same(one.folder, other.folder)


def _leave(book: Book, target: Place, there: bool) -> Event:
    """The book's last event where it is: it goes to the target."""
    head = book.head
    if head.kind == MOVED:
        if head.data["to"] != target.text:
            raise BookRefused(
                tr(
                    "the book was on its way to {to}: `cheque book move` it there, or take it from there.",
                    to=head.data["to"],
                )
            )
        return head
    if there:
        raise BookRefused(tr("{text} holds a book already. Name a place where none is.", text=target.text))
    if not target.server:
        places.prepare(target.folder)
    faults = verifying.verify(book)
    if faults:
        raise BookRefused(tr("the book is not whole, so it is not moved: see `cheque book verify`."), faults)
    with book.change() as change:
        return change.append(MOVED, {"to": target.text})


def copy(book: Reader, target: Place, progress: Progress = _quiet) -> None:
    """A whole copy of a book at a place where none is, there under its name when it is whole, or not at all.

    Nothing says as yet that it lives there.
    """
    if target.server:
        store = on_server(target.server, fresh=True)
        try:
            with store.founding():
                copy_into(book, store, progress)
        finally:
            store.close()
        places.station(target.folder)
        places.furnish(target.folder)
        return
    places.prepare(target.folder)
    beginning = target.folder / f"{places.BEGINNING}{uuid.uuid4().hex}"
    try:
        into_file(book, beginning, progress)
        places.settle(target.folder, beginning)
    finally:
        remove(beginning)


def into_file(book: Reader, path: Path, progress: Progress = _quiet) -> None:
    """A whole copy of a book in one new file of SQLite, closed. FileExistsError when something is there."""
    store = SqliteStore(path, create=True)
    try:
        with store.writing():
            copy_into(book, store, progress)
        store.row("PRAGMA wal_checkpoint(TRUNCATE)")
        store.row("PRAGMA journal_mode = DELETE")
    finally:
        store.close()


def copy_into(book: Reader, store: Store, progress: Progress = _quiet) -> None:
    """Copy a book, event by event, in one view of it, into a store where nothing is, inside its transaction.

    It is marked as a copy, until somebody says that it is the book (`Book.settle`).
    BookRefused where the chain breaks or an event breaks a law.
    """
    store.make(everything())
    store.application = COPIED
    store.derived_version = DERIVED_VERSION
    with book.store.reading():
        for table, columns in _KEPT.items():
            marks = ", ".join("?" * len(columns.split(",")))
            rows = book.stream(f"SELECT {columns} FROM {table} ORDER BY {', '.join(columns.split(', ')[:-1])}")
            store.many(f"INSERT INTO {table} ({columns}) VALUES ({marks})", rows)
        prev = GENESIS
        for event in verifying.events(book):
            if event.prev != prev or digest_of(*event[:-1]) != event.digest:
                raise BookRefused(tr("the chain breaks at event {seq}: see `cheque book verify`.", seq=event.seq))
            store.execute(f"INSERT INTO event ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)", event)
            apply(store, event, event.data)
            prev = event.digest
            progress(event.seq)


def _registers(source: Path, target: Path) -> None:
    """The registers as they came go with the book: those that are not there yet."""
    there = target / "registers"
    for path in sorted((source / "registers").glob("*")):
        if path.is_file() and not (there / path.name).exists():
            shutil.copyfile(path, there / path.name)
            (there / path.name).chmod(0o600)
