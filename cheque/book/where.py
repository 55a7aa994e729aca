"""Where a book lives, and whether it is somewhere else now: a copy, or a backup put back, gives the same numbers twice.

Outside the chain a mark says where the book was last used: for a book in a folder the file `where` beside it, with the
machine, the path and the file's own number on the disk (which a copy does not have); for one on a server a row beside
its tables, with the server's and the schema's own numbers (which a dump read in again does not have). And a station
keeps in the file `seen` the last event that it saw: a book that lacks it is older than that.

What does not agree is told, and nothing is written until a person has said what happened: `cheque book here`.
"""

import hashlib
import json
import os
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from cheque import system
from cheque.book.schema import COPIED
from cheque.book.store import SqliteStore, Store
from cheque.tongue import mark, tr

if TYPE_CHECKING:
    from cheque.book.postgres import PostgresStore

WHERE, SEEN = "where", "seen"
_ANSWER = mark(
    "If it was moved here, and nobody uses it where it was: `cheque book here --moved`. If it is a copy, or a backup "
    "put back: `cheque book here --restored`, with the number now at the head of each printer."
)


def machine() -> str:
    """What this machine is called among machines: a digest of its own number, or of its name where it has none."""
    return hashlib.sha256(f"cheque {system.own_number() or system.node()}".encode()).hexdigest()[:16]


def _mark(place: Path, file: Path) -> dict[str, str]:
    """What a book in a file must have as its mark where it is now."""
    return {"machine": machine(), "path": os.path.realpath(place), "file": str(file.stat().st_ino)}


def keep(place: Path, name: str, text: str) -> None:
    """Write one of the small files whole, or leave the one before. OSError when it cannot be written."""
    fresh = place / f".{name}-{os.urandom(8).hex()}"
    handle = os.open(fresh, os.O_CREAT | os.O_EXCL | os.O_WRONLY | system.PLAIN, 0o600)
    try:
        system.make_private(handle)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        os.replace(fresh, place / name)
    except BaseException:
        with suppress(OSError):
            os.unlink(fresh)
        raise


def _kept(place: Path, name: str) -> str:
    try:
        return (place / name).read_text("utf-8")
    except (OSError, UnicodeDecodeError):
        return ""


def settle_file(place: Path, file: Path) -> None:
    """Note that the book in a file lives in this folder."""
    keep(place, WHERE, json.dumps(_mark(place, file), sort_keys=True))


def is_said(place: Path) -> bool:
    """Whether something says where the book in a folder lives."""
    return bool(_kept(place, WHERE))


def settle(place: Path, store: Store) -> None:
    """Note that an open book lives here, inside a writing transaction of it."""
    if isinstance(store, SqliteStore):
        settle_file(place, Path(store.path))
        return
    server = _server(store)
    server.where = server.own_numbers()


def _server(store: Store) -> "PostgresStore":
    from cheque.book.postgres import PostgresStore

    assert isinstance(store, PostgresStore)
    return store


def elsewhere(place: Path, store: Store) -> str:
    """What does not agree with where the book was last used, and what to do; "" when all does."""
    told = _copied(store) or _strange(place, store) or _older(place, store)
    return f"{told} {tr(_ANSWER)}" if told else ""


def _copied(store: Store) -> str:
    if store.application != COPIED:
        return ""
    return tr("the book at {path} is a copy, made as a backup or on the way to another place.", path=store.path)


def _strange(place: Path, store: Store) -> str:
    twice = tr("the same numbers could be given out in two places.")
    if not isinstance(store, SqliteStore):
        server = _server(store)
        if server.where == server.own_numbers():
            return ""
        return tr(
            "the book at {path} was read into this server, or this schema, from a copy: {twice}",
            path=store.path,
            twice=twice,
        )
    try:
        was: dict[str, str] = dict(json.loads(_kept(place, WHERE) or "{}"))
    except (ValueError, TypeError):
        was = {}
    now = _mark(place, Path(store.path))
    if not was:
        return tr("nothing says that the book at {place} was used there before: {twice}", place=place, twice=twice)
    if was.get("machine") != now["machine"]:
        return tr(
            "the book at {place} was last used on another machine, at {get}: {twice}",
            place=place,
            get=was.get("path"),
            twice=twice,
        )
    if not _same_place(was.get("path", ""), now["path"]):
        return tr("the book at {place} was last used at {get}: {twice}", place=place, get=was.get("path"), twice=twice)
    if was.get("file") != now["file"]:
        return tr(
            "the file of the book at {place} is not the one that was used there: {twice}", place=place, twice=twice
        )
    return ""


def _same_place(was: str, now: str) -> bool:
    """One path, or another spelling of it where capitals make no difference; never one that leads there by a link."""
    return was == now or (os.path.realpath(was) == was and system.same(was, now))


def _older(place: Path, store: Store) -> str:
    seq, _, digest = _kept(place, SEEN).strip().partition(" ")
    if not seq.isascii() or not seq.isdigit() or len(seq) > 18:
        return ""
    found = store.row("SELECT digest FROM event WHERE seq = ?", int(seq))
    if found == (digest,):
        return ""
    return tr(
        "the book at {path} lacks event {seq}, which was seen here: it is an older copy, and numbers "
        "that it has on hand may have been printed, or another book than this station's.",
        path=store.path,
        seq=seq,
    )


def note_seen(place: Path, seq: int, digest: str) -> None:
    """Keep what event was seen last. That it cannot be written is borne: then less is found out later."""
    text = f"{seq} {digest}\n"
    if _kept(place, SEEN) != text:
        with suppress(OSError):
            keep(place, SEEN, text)
