"""A statement into the book: checked whole before anything is written, and every item entered once.

The entries go through a scratch database on disk, so that memory does not grow with the statement. An item that an
earlier statement brought is known again by its day, cheque number and amount (and by the bank's references, where both
have one); so statements may overlap, and the same one, in whatever kind of file, changes nothing.
"""

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from cheque.bank.statement import Foot, Head, Piece, StatementEntry, same_account
from cheque.book import statements
from cheque.book.book import Book, Reader
from cheque.book.statements import Item
from cheque.book.store import SqliteStore
from cheque.errors import FAULTS_SHOWN, Fault, InputRefused
from cheque.money import plain
from cheque.tongue import tr

_AT_ONCE = 1000


class Ours(NamedTuple):
    """The account that a statement has to be of. `known_as`: what the bank may call it; the first is for messages."""

    name: str
    currency: str
    known_as: tuple[str, ...] = ()


class Taken(NamedTuple):
    """One statement as it was taken. `fresh`: items that no statement before had; `seq`: its event, 0 for none.

    `before`: when it, or all that is in it, was read before, the event; `pending`: entries not booked yet.
    """

    name: str
    first: str
    last: str
    opening: int | None
    closing: int | None
    entries: int
    pending: int
    fresh: int
    digest: str
    seq: int = 0
    nought: int = 0


def take(
    book: Book,
    pieces: Iterable[Piece],
    ours: Ours,
    source: str,
    *,
    opening: int | None = None,
    closing: int | None = None,
) -> tuple[list[Taken], list[str]]:
    """Enter the statements of a file that are of one account, all of them or nothing; gives them, and what to say.

    `opening`, `closing`: balances keyed in, where the file has none. InputRefused with every fault.
    """
    spool = _Spool(source, ours)
    try:
        spool.fill(pieces)
        spool.balances(opening, closing)
        spool.refuse_faults()
        with book.change():
            return [spool.enter(book, index) for index in range(len(spool.statements))], spool.notes
    finally:
        spool.close()


def _line(text: str) -> str:
    """A text of the bank's in one line."""
    return text if text.isprintable() and "  " not in text else " ".join(text.split())


class _Open:
    """A statement being spooled."""

    def __init__(self, head: Head) -> None:
        self.head, self.closing = head, head.closing
        self.opening = head.opening
        self.total = self.entries = self.pending = self.nought = 0
        self.first, self.last = head.first, head.last

    def add(self, entry: StatementEntry) -> None:
        self.entries += 1
        self.total += entry.amount
        self.first = min(self.first or entry.booked, entry.booked)
        self.last = max(self.last, entry.booked)


class _Spool:
    """The booked entries of a file on disk, in its order."""

    def __init__(self, source: str, ours: Ours) -> None:
        self._source, self._ours = source, ours
        self._store = SqliteStore("")
        self._store.execute(
            "CREATE TABLE item (line INTEGER PRIMARY KEY, statement INTEGER NOT NULL, booked TEXT NOT NULL, "
            "number INTEGER NOT NULL, amount INTEGER NOT NULL, valued TEXT NOT NULL, reference TEXT NOT NULL, "
            "payee TEXT NOT NULL, about TEXT NOT NULL)"
        )
        self._store.execute("CREATE TABLE fresh (line INTEGER PRIMARY KEY, nth INTEGER NOT NULL)")
        self.statements: list[_Open] = []
        self.faults: list[Fault] = []
        self.notes: list[str] = []
        self._found = 0

    def close(self) -> None:
        self._store.close()

    def _fault(self, fault: Fault) -> None:
        self._found += 1
        if len(self.faults) < FAULTS_SHOWN:
            self.faults.append(fault)

    def refuse_faults(self) -> None:
        if self._found:
            counted = tr("{found} fault{more}", found=self._found, more="" if self._found == 1 else "s")
            raise InputRefused(
                tr("{source} is refused: {counted}.", source=self._source, counted=counted),
                self.faults,
                total=self._found,
            )

    def fill(self, pieces: Iterable[Piece]) -> None:
        """Spool every booked entry of the statements of our account."""
        with self._store.writing():
            self._store.many(
                "INSERT INTO item (statement, booked, number, amount, valued, reference, payee, about) "
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                self._wanted(pieces),
            )
        if not self.statements and not self._found:
            told = tr("of account {name}", name=self._ours.name) if self.notes else tr("with anything in it")
            self._fault(Fault(self._source, tr("no statement ") + told, tr("one"), " ".join(self.notes).rstrip(".")))

    def _wanted(self, pieces: Iterable[Piece]) -> Iterator[tuple[object, ...]]:
        now: _Open | None = None
        for piece in pieces:
            if isinstance(piece, Fault):
                self._fault(piece)
                if self._found >= 100 * FAULTS_SHOWN:  # it is another kind of file: reading on tells nothing
                    return
            elif isinstance(piece, Head):
                now = self._opened(piece)
            elif now is None:
                continue
            elif isinstance(piece, Foot):
                now.closing = piece.closing if now.closing is None else now.closing
            elif not piece.booked:
                now.pending += 1
            elif not piece.amount:
                now.nought += 1
            else:
                now.add(piece)
                yield self._row(piece)

    def _row(self, entry: StatementEntry) -> tuple[object, ...]:
        number, about = entry.number, entry.about
        if number:
            about = ""
        elif entry.cheque:
            about = "; ".join(
                filter(None, (f"cheque number {entry.cheque}", about))
            )  # kept: the same in every language
        told = (entry.valued, *map(_line, (entry.reference, entry.payee if number else "", about)))
        return (len(self.statements) - 1, entry.booked, number, entry.amount, *told)

    def _opened(self, head: Head) -> _Open | None:
        ours = self._ours
        if head.account and not ours.known_as:
            do = tr('add account_number or statement_account = "…" to [accounts.{name}]', name=ours.name)
            self._fault(Fault(head.where, tr("the account of a statement, and none in the settings"), tr("both"), do))
            return None
        if head.account and not any(same_account(head.account, known) for known in ours.known_as):
            self.notes.append(
                tr(
                    "{where}: a statement of another account, that ends in {account!r}, is passed over: {name} is "
                    "not it by the settings.",
                    where=head.where,
                    account=head.account[-4:],
                    name=ours.name,
                )
            )
            return None
        if head.currency and head.currency != ours.currency:
            found = tr("a statement in {currency!r}", currency=head.currency[:10])
            self._fault(
                Fault(
                    head.where,
                    found,
                    tr("{currency}, as account {name} in the settings", currency=ours.currency, name=ours.name),
                )
            )
        self.statements.append(_Open(head))
        return self.statements[-1]

    def balances(self, opening: int | None, closing: int | None) -> None:
        """Hold the opening balance and the entries against the closing balance; keyed ones fill the gaps."""
        for name, keyed in (("opening", opening), ("closing", closing)):
            if keyed is not None:
                self._keyed(name, keyed)
        for one in self.statements:
            if not one.last:
                self._fault(
                    Fault(one.head.where, tr("no entry and no day"), tr("a statement that says which days it covers"))
                )
            if one.opening is None or one.closing is None:
                continue
            off = one.closing - one.opening - one.total
            if off:
                found, wanted = (plain(n, self._ours.currency) for n in (one.opening + one.total, one.closing))
                gap = plain(abs(off), self._ours.currency)
                self._fault(
                    Fault(
                        one.head.where,
                        tr(
                            "an opening balance and {entries} entries that come to {found}",
                            entries=one.entries,
                            found=found,
                        ),
                        tr(
                            "the closing balance, {wanted}, which is {gap} {more}",
                            wanted=wanted,
                            gap=gap,
                            more=tr("more") if off > 0 else tr("less"),
                        ),
                        tr("the file is not whole: ask the bank for it again"),
                    )
                )

    def _keyed(self, name: str, keyed: int) -> None:
        """A balance keyed in: for a file of one statement that does not say another."""
        if len(self.statements) > 1:
            found = (
                tr("an {name} balance keyed in", name=name)
                if name == "opening"
                else tr("a {name} balance keyed in", name=name)
            )
            self._fault(
                Fault(
                    self._source,
                    tr("{found}, and {count} statements", found=found, count=len(self.statements)),
                    tr("one"),
                    tr("leave it out"),
                )
            )
            return
        for one in self.statements:
            said: int | None = getattr(one, name)
            if said not in (None, keyed):
                found, wanted = plain(keyed, self._ours.currency), plain(said or 0, self._ours.currency)
                self._fault(
                    Fault(
                        self._source,
                        tr("{name} balance {found} keyed in", name=name, found=found),
                        tr("{wanted}, as the statement says", wanted=wanted),
                    )
                )
            elif said is None:
                setattr(one, name, keyed)

    def enter(self, book: Book, index: int) -> Taken:
        """Enter one statement with what is new in it; nothing, when nothing is."""
        one = self.statements[index]
        digest, fresh = self._sift(book, index)
        taken = Taken(
            _line(one.head.name),
            one.first,
            one.last,
            one.opening,
            one.closing,
            one.entries,
            one.pending,
            fresh,
            digest,
            nought=one.nought,
        )
        if not fresh and not _says_more(book, self._ours.name, taken):
            return taken
        event = statements.enter(
            book,
            self._items(index),
            account=self._ours.name,
            name=_line(one.head.name),
            source=self._source,
            digest=digest,
            first=one.first,
            last=one.last,
            opening=one.opening,
            closing=one.closing,
            entries=one.entries,
        )
        return taken._replace(seq=event.seq)

    def _sift(self, book: Book, index: int) -> tuple[str, int]:
        """Note which items no statement before had; gives the digest of all, and how many are new."""
        one, account = self.statements[index], self._ours.name
        hasher = hashlib.sha256(f"cheque statement 1\n{one.opening} {one.closing}\n".encode())
        overlaps = statements.any_between(book, account, one.first, one.last)
        rows = self._store.rows(
            "SELECT booked, number, amount, line, reference FROM item WHERE statement = ? "
            "ORDER BY booked, number, amount, line",
            index,
        )
        count, noted = 0, list[tuple[int, int]]()
        for (booked, number, amount), group in groupby(rows, key=lambda row: row[:3]):
            alike = [(row[3], row[4]) for row in group]
            hasher.update(f"{booked} {number} {amount} {len(alike)}\n".encode())
            held = statements.references(book, account, booked, number, amount) if overlaps else []
            new = unseen(held, [reference for _, reference in alike])
            lines = [line for (line, _), fresh in zip(alike, new, strict=True) if fresh]
            noted += [(line, len(held) + nth) for nth, line in enumerate(lines, 1)]
            count += len(lines)
            if len(noted) >= _AT_ONCE:
                self._note(noted)
        self._note(noted)
        return hasher.hexdigest(), count

    def _note(self, noted: list[tuple[int, int]]) -> None:
        self._store.many("INSERT INTO fresh (line, nth) VALUES (?, ?)", noted)
        noted.clear()

    def _items(self, index: int) -> Iterator[Item]:
        rows = self._store.rows(
            "SELECT i.booked, i.number, i.amount, f.nth, i.valued, i.reference, i.payee, i.about "
            "FROM fresh f JOIN item i ON i.line = f.line WHERE i.statement = ? ORDER BY f.line",
            index,
        )
        return (Item(*row) for row in rows)


def unseen(held: Sequence[str], given: Sequence[str]) -> list[bool]:
    """Which of some items alike (same day, number and amount), by the bank's references, are not among those held.

    One with the same reference is the same; one without is any of them; two different references are two items.

    >>> unseen(["A"], ["A", "B"]), unseen(["A"], [""]), unseen([""], ["B", "C"]), unseen([], ["A"])
    ([False, True], [False], [False, True], [True])
    """
    if not held:
        return [True] * len(given)
    left = Counter(held)
    fresh = [True] * len(given)
    for place, reference in enumerate(given):
        if reference and left[reference]:
            left[reference] -= 1
            fresh[place] = False
    unnamed, rest = left.pop("", 0), sum(left.values())
    for place, reference in enumerate(given):
        if not fresh[place] or (reference and not unnamed):
            continue
        if unnamed:
            unnamed -= 1
        elif rest:
            rest -= 1
        else:
            continue
        fresh[place] = False
    return fresh


def _says_more(book: Book, account: str, taken: Taken) -> bool:
    """Whether a statement with nothing new among its items tells of days or balances that no other told of."""
    known = [
        one for one in statements.every(book, account) if one.first_day <= taken.first and one.last_day >= taken.last
    ]
    if not known:
        return True
    same_end = [one for one in known if one.last_day == taken.last]
    return taken.closing is not None and all(one.closing is None for one in same_end)


def doubts(reader: Reader, account: str, currency: str, taken: Taken) -> Iterator[str]:
    """What makes it doubtful whether the book has all that the bank booked: a gap before it, or another of its name."""
    every = statements.every(reader, account)
    before = [one for one in every if one.last_day < taken.first and one.closing is not None]
    if before and taken.opening is not None and before[-1].closing != taken.opening:
        last = before[-1]
        yield (
            tr(
                "The statement before it ends on {last_day} with {amount}, and this one begins on {first} with "
                "{amount2}: one between them may be missing.",
                last_day=last.last_day,
                amount=plain(last.closing or 0, currency),
                first=taken.first,
                amount2=plain(taken.opening, currency),
            )
        )
    alike = [
        one for one in every if one.name == taken.name and one.last_day >= taken.first and one.first_day <= taken.last
    ]
    if taken.name and any(one.digest != taken.digest for one in alike):
        yield (
            tr(
                "The bank gave another statement by the name of {name} before, with other entries: what stood on "
                "that one stays in the book. Ask the bank which is right.",
                name=taken.name,
            )
        )
