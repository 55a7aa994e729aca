"""A notice to the bank, from the book and the settings to a file: judged whole, written, and entered, or nothing.

The file is there under its name before the book says that it was made, and is taken away again when the book refuses:
so the book never counts as told what is in no file. A kill between the two leaves a file that the book does not know;
the next notice, which would have the same name, says what to do with it. It is readable by its owner only and never
written over another.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from cheque import system
from cheque.bank import camt107, camt108
from cheque.bank.layoutfile import parse_layout
from cheque.bank.layoutmodel import Layout
from cheque.bank.notice import Account, Line, Notice
from cheque.bank.textlayout import Writer
from cheque.book import batches, notices
from cheque.book.book import Book, Change
from cheque.errors import BookRefused, Fault, InputRefused
from cheque.settings import Settings, mask
from cheque.tongue import tr

#: no layout is longer; what is longer is some other file
_LONGEST = 1_000_000


class Way(NamedTuple):
    """How a notice is written: text by a layout, or a message of ISO 20022 ("camt.107", "camt.108")."""

    written: str
    layout: Layout | None = None
    text: str = ""

    @property
    def suffix(self) -> str:
        """What its file's name ends in."""
        return ".txt" if self.layout else ".xml"


class Ready(NamedTuple):
    """A notice that can be written: how many cheques, what was cut (told by the layout), and its bytes."""

    items: int
    cuts: list[str]
    data: Callable[[], Iterator[bytes]]


class Outcome(NamedTuple):
    """A notice made: its number, its file, how many cheques, what was cut, and numbers that the bank was told of
    before with another payment."""

    notice: int
    path: Path
    telling: notices.Telling
    cuts: list[str]
    otherwise: list[str]


def read_layout(path: Path) -> tuple[Layout, str]:
    """A layout and its text. InputRefused with every fault, its key and its line."""
    try:
        data = path.read_bytes()
        if len(data) > _LONGEST:
            raise InputRefused(
                tr(
                    "{path} has {count} bytes; a layout has at most {longest}. Is it another file?",
                    path=path,
                    count=len(data),
                    longest=_LONGEST,
                )
            )
        text = data.decode()
    except OSError as error:
        raise InputRefused(
            tr("the layout {path} cannot be read: {strerror}.", path=path, strerror=error.strerror)
        ) from None
    except UnicodeDecodeError:
        raise InputRefused(tr("the layout {path} is not UTF-8 text: save it as that.", path=path)) from None
    return parse_layout(text, str(path)), text


def way_of(settings: Settings, accounts: Iterable[str], what: str, layout: str = "", as_: str = "") -> Way:
    """How a notice of some accounts is written, as their settings say or as was asked for. `what`: issued, stopped."""
    told = {name: settings.account(name).notice for name in accounts}
    ways = {as_ or ("text" if layout else rules.written) for rules in told.values()}
    if len(ways) > 1:
        raise InputRefused(tr("the accounts' settings say different ways of telling the bank: make a notice for each."))
    if ways == {"camt"}:
        return Way("camt.107" if what == "issued" else "camt.108")
    named = {Path(layout)} if layout else {rules.layout for rules in told.values() if rules.layout}
    lacking = [name for name, rules in told.items() if not layout and not rules.layout]
    if lacking:
        raise InputRefused(
            tr(
                "account {lacking} names no layout, so the tool does not know how its bank wants to be told: "
                'give --layout FILE, or add [accounts.{lacking}.notice] with layout = "…" to {source}. `cheque '
                "notice example` prints one to start from.",
                lacking=lacking[0],
                source=settings.source,
            )
        )
    if len(named) > 1:
        raise InputRefused(tr("the accounts name different layouts: make a notice for each."))
    return Way("text", *read_layout(named.pop()))


def bank_account(settings: Settings, name: str, *, hidden: bool = False) -> Account:
    """An account as its bank knows it; `hidden`: its number with all but its end as stars, for a screen."""
    of = settings.account(name)
    number = mask(of.number).replace("*", "X") if hidden else of.number  # letters pass where only those do
    return Account(name, number, of.routing, of.bank, of.drawer, of.country)


def judged(way: Way, notice: Notice) -> Ready:
    """A notice that can be written. InputRefused with everything that cannot be, each by number and field."""
    if way.layout is None:
        message = camt107 if way.written == "camt.107" else camt108
        looked = message.look(notice)
        _refuse(looked.faults, looked.more_faults)
        return Ready(looked.items, [], lambda: message.write(notice, looked))
    writer = Writer(way.layout, notice)
    found = writer.look()
    _refuse(found.faults, found.more_faults)
    return Ready(sum(found.file.items.values()), found.cuts, lambda: writer.records(found))


def _refuse(faults: list[Fault], more: int) -> None:
    if faults:
        raise InputRefused(
            tr("the notice is not made: nothing is left out or cut in silence."), faults, total=len(faults) + more
        )


def line_of(one: notices.Tell, reason: str = "", told: str = "") -> Line:
    """A cheque of the book as a line of a notice."""
    where = (one.mark, one.account, one.text, one.date, one.amount, one.currency, one.payee, one.reference)
    return Line(*where, reason, told, one.earlier)


Tells = Callable[[], Iterable[notices.Tell]]


def notice_of(
    book: Book, settings: Settings, tells: Tells, accounts: Sequence[str], reason: str = "", told: str = "",
    *, hidden: bool = False,
) -> Notice:  # fmt: skip
    """The notice that would be made next, as data."""
    made: datetime = book.clock().astimezone()
    whose = {name: bank_account(settings, name, hidden=hidden) for name in accounts}
    name = notices.name_of(book, notices.next_id(book))
    return Notice(name, made, whose, lambda: (line_of(one, reason, told) for one in tells()))


def issued(
    book: Book, settings: Settings, some: Sequence[int], way: Way, *, path: Path | None = None, again: str = ""
) -> Outcome:
    """Make the notice of what was issued in some batches. BookRefused when there is nothing to tell."""
    with _taken_away_again() as placed, book.change() as change:
        accounts = sorted({batches.get(book, batch).account for batch in some})

        def tells() -> Iterator[notices.Tell]:
            return notices.to_tell(book, some, again=bool(again))

        if next(tells(), None) is None:
            raise BookRefused(
                tr(
                    "there is nothing to tell the bank of {named}: {why_nothing}",
                    named=_named(some),
                    why_nothing=_why_nothing(book, some),
                )
            )
        notice = notice_of(book, settings, tells, _present(tells, accounts))
        return _made(book, change, way, "issued", notice, tells, path, again, placed)


def _named(some: Sequence[int]) -> str:
    return tr("batch {some}", some=some[0]) if len(some) == 1 else tr("these batches")


def _why_nothing(book: Book, some: Sequence[int]) -> str:
    if next(notices.to_tell(book, some, again=True), None):
        return tr("it was told of every cheque; --again, with the reason, tells it once more.")
    return tr("no cheque of it is good. Is it printed and confirmed?")


def _present(tells: Tells, accounts: Sequence[str]) -> list[str]:
    """The accounts that have something to tell."""
    if len(accounts) == 1:
        return list(accounts)
    return sorted({one.account for one in tells()})


def stop(
    book: Book, settings: Settings, one: notices.Tell, way: Way, *, reason: str, told: str,
    path: Path | None = None, again: str = "",
) -> Outcome:  # fmt: skip
    """Make the request to stop one cheque; the book keeps that the bank was asked."""
    from cheque.book import stops

    with _taken_away_again() as placed, book.change() as change:
        stops.check_request(book, one.account, one.number, again=bool(again))
        notice = notice_of(book, settings, lambda: [one], [one.account], reason, told)
        outcome = _made(book, change, way, "stopped", notice, lambda: [one], path, again, placed)
        stops.request(
            change,
            account=one.account,
            number=one.number,
            reason=reason,
            told=told,
            notice=outcome.notice,
            on=notice.day,
        )
        return outcome


@contextmanager
def _taken_away_again() -> Iterator[list[Path]]:
    """What was written is there no more when the book refuses."""
    placed: list[Path] = []
    try:
        yield placed
    except BaseException:
        for path in placed:
            path.unlink()
        raise


def _made(
    book: Book, change: Change, way: Way, what: str, notice: Notice, tells: Tells, path: Path | None, again: str,
    placed: list[Path],
) -> Outcome:  # fmt: skip
    number = notices.next_id(book)
    ready = judged(way, notice)
    place = path or Path(f"notice-{number}-{what}{way.suffix}")
    try:
        digest = _write(place, ready.data())
    except FileExistsError:
        raise InputRefused(_there_already(book, place)) from None
    placed.append(place)
    telling, otherwise = notices.Telling(), []
    for one in tells():
        telling.add(one)
        if one.mark == "issue" and notices.told_otherwise(book, one):
            otherwise.append(one.text)
    notices.make(change, number, what, telling, notices.File(way.written, place.name, digest, way.text), again)
    return Outcome(number, place, telling, ready.cuts, otherwise)


def _there_already(book: Book, place: Path) -> str:
    """What to do with a file that has the name of the notice to be made."""
    known = [one.id for one in notices.every(book) if one.file == place.name]
    if known:
        return tr(
            "{place} is there already: it is notice {known}. Nothing is written over; name another with -o.",
            place=place,
            known=known[-1],
        )
    return tr(
        "{place} is there already, and the book knows of no notice in it. Nothing is written over. If "
        "making one was cut off (a power cut, a kill), this is what is left of it: nothing in it counts "
        "as told. Do not send it; delete it, and make the notice again. If it went to the bank all the "
        "same, tell the bank so. If it is something else, name another file with -o.",
        place=place,
    )


def _write(place: Path, data: Iterator[bytes]) -> str:
    """A new file, its owner's only, there under its name when it is whole; gives its SHA-256.

    FileExistsError when there is one of that name.
    """
    hasher = hashlib.sha256()
    try:
        handle, name = tempfile.mkstemp(dir=place.parent, prefix=".cheque-")
        try:
            with os.fdopen(handle, "wb") as file:
                for piece in data:
                    hasher.update(piece)
                    file.write(piece)
                file.flush()
                os.fsync(file.fileno())
            system.name_new(name, place)
        finally:
            with suppress(FileNotFoundError):
                os.unlink(name)
    except FileExistsError:
        raise
    except OSError as error:
        raise InputRefused(
            tr(
                "{place} cannot be written: {strerror}. Name another place with -o.",
                place=place,
                strerror=error.strerror,
            )
        ) from None
    return hasher.hexdigest()
