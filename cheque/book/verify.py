"""Is the record whole? The chain is recomputed, the tables are rebuilt from it, and the two are compared.

Whoever can write the file of a SQLite book can forge all of it: this finds what was altered by accident or by
hand, and, given the digest that a control report printed, what was altered or removed since that paper was
printed. It does not prevent it.

All of it is read in one view of the book, while others work, and with memory that does not grow with the book.
"""

import hashlib
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime

from cheque.book.apply import apply
from cheque.book.book import COLUMNS, Book, Reader, written
from cheque.book.event import GENESIS, Event, canonical, digest_of, pages_digest, payments_digest, unpacked
from cheque.book.schema import DERIVED, DERIVED_VERSION, WRITTEN_ONCE, everything
from cheque.book.store import SqliteStore, Store
from cheque.errors import BookRefused, Fault, Refusal, UsageRefused
from cheque.payment import text_of_kept
from cheque.tongue import mark, tr

MOST = 100  # faults of a chain that are told one by one
SHORTEST = 8  # digits of a digest that are enough to look for it
_DIGEST = re.compile('"([0-9a-f]{64})"')
#: what a body, a payment or a table that was tampered with may raise when it is read
_UNREADABLE = (KeyError, TypeError, ValueError, AttributeError, IndexError, RecursionError)
_WRITTEN = ("event", "payment", "content", "proof_page")


def events(reader: Reader) -> Iterator[Event]:
    """Every event in order."""
    for row in reader.stream(f"SELECT {COLUMNS} FROM event ORDER BY seq"):
        yield Event(*row)


def verify(book: Book, *, digest: str = "") -> list[Fault]:
    """Everything that is wrong with a book; an empty list when it is whole.

    `digest`: a digest from a printed control report, all of it or its first characters (at least 8; blanks and
    capitals as liked). UsageRefused when it is not one.
    """
    wanted = wanted_digest(digest)
    place = str(book.store.path)
    damage = [
        Fault(place, tr("a damaged file ({text})", text=text), tr("a sound one"), tr(_RESTORE)) for text in _sound(book)
    ]
    if damage:
        return damage
    with _scratch(book) as scratch:
        try:
            faults = [*_chain(scratch, place, wanted), *_contents(scratch), *_schema(book), *_gate(book)]
            return faults or [*_tables(scratch, place), *identities(scratch)]
        except Refusal as error:
            return [Fault(place, error.message, tr("a book that can be read"), tr(_RESTORE))]


_RESTORE = mark("keep the file as it is, and restore a backup beside it")


def wanted_digest(digest: str) -> str:
    """A digest as it is keyed in from paper: its first characters at least. UsageRefused when it is none."""
    wanted = "".join(digest.split()).replace("-", "").lower()
    if digest and not re.fullmatch(rf"[0-9a-f]{{{SHORTEST},64}}", wanted):
        raise UsageRefused(
            tr(
                "found digest {digest!r}; wanted the one on the control report, or at least its first {shortest} "
                "characters (0-9, a-f).",
                digest=digest,
                shortest=SHORTEST,
            )
        )
    return wanted


def _sound(book: Book) -> list[str]:
    try:
        return book.store.sound()
    except Refusal as error:
        return [error.message]


@contextmanager
def _scratch(book: Reader) -> Iterator[Reader]:
    """A scratch database beside which the book is open for reading, as `source`, in one unchanging view."""
    store = SqliteStore("")
    try:
        book.store.beside(store, "source", (*_WRITTEN, *DERIVED), everything())
        for name in _WRITTEN:
            store.execute(f"CREATE TEMP VIEW {name} AS SELECT * FROM source.{name}")
        with store.writing():
            yield Reader(store)
    finally:
        store.close()


def _chain(reader: Reader, place: str, wanted: str) -> list[Fault]:
    """Every event follows the one before, and gives its digest; what events refer to is there."""
    faults: list[Fault] = []
    seq, prev, seen = 0, GENESIS, not wanted
    texts = {row[0] for row in reader.rows("SELECT digest FROM content")}
    unmentioned = set(texts)
    for event in events(reader):
        where, seq = tr("event {seq}", seq=event.seq), seq + 1
        if event.seq != seq:
            faults.append(Fault(where, tr("it in the place of event {seq}", seq=seq), tr("no gap in the chain")))
            seq = event.seq
        if event.prev != prev:
            faults.append(Fault(where, tr("a break in the chain"), tr("the digest before, {prev}…", prev=prev[:16])))
        if digest_of(*event[:-1]) != event.digest:
            faults.append(Fault(where, tr("text that was altered"), tr("text that gives its digest")))
        elif not _is_canonical(event.body):
            faults.append(Fault(where, tr("a body that is not the one text of what it says"), tr("canonical JSON")))
        unmentioned.difference_update(_DIGEST.findall(event.body))
        prev = event.digest
        seen = seen or event.digest.startswith(wanted)
        if len(faults) >= MOST:
            return faults
    if not seq:
        faults.append(Fault(place, tr("no events"), tr("a chain that begins with the book's first event")))
    if not seen:
        faults.append(
            Fault(
                tr("digest {wanted}", wanted=wanted),
                tr("no event with it"),
                tr("the event that the paper shows"),
                tr("the record was altered or cut short after that paper was printed, or a digit was miskeyed"),
            )
        )
    faults += [
        Fault(tr("text {d}…", d=d[:16]), tr("a text of which no event speaks"), tr("none")) for d in sorted(unmentioned)
    ]
    return faults


def _is_canonical(body: str) -> bool:
    try:
        return canonical(Event(0, "", "", "", "", body, "", "").data) == body
    except _UNREADABLE:
        return False


def _contents(reader: Reader) -> Iterator[Fault]:
    """What events refer to by digest is there, is what it was, and there is nothing else."""
    for digest, body in reader.rows("SELECT digest, body FROM content"):
        if hashlib.sha256(body.encode()).hexdigest() != digest:
            yield Fault(
                tr("text {digest}…", digest=digest[:16]), tr("altered text"), tr("the text that gives that digest")
            )
    payments = 0
    for event in _of_kinds(reader, "batch.accepted", "proof.made"):
        try:
            if event.kind == "batch.accepted":
                payments += event.data["items"]
                yield from _batch(reader, event)
            else:
                yield from _proof(reader, event)
        except _UNREADABLE:
            yield _unreadable(event)
    extra = reader.value("SELECT count(*) FROM payment") - payments
    if extra > 0:
        yield Fault("table payment", tr("{extra} payments that no batch has", extra=extra), tr("none"))
    proofs = "SELECT seq FROM event WHERE kind = 'proof.made'"
    extra = reader.value(f"SELECT count(*) FROM proof_page WHERE seq NOT IN ({proofs})")
    if extra:
        yield Fault("table proof_page", tr("{extra} pages that no proof has", extra=extra), tr("none"))


def _of_kinds(reader: Reader, *kinds: str) -> Iterator[Event]:
    marks = ", ".join("?" * len(kinds))
    for row in reader.rows(f"SELECT {COLUMNS} FROM event WHERE kind IN ({marks}) ORDER BY seq", *kinds):
        yield Event(*row)


def _unreadable(event: Event) -> Fault:
    return Fault(
        tr("event {seq}", seq=event.seq),
        tr("a body that {kind} does not have", kind=event.kind),
        tr("one that can be read"),
    )


def _batch(reader: Reader, event: Event) -> Iterator[Fault]:
    data, batch = event.data, event.data["batch"]
    rows = reader.rows("SELECT item, body FROM payment WHERE batch = ? ORDER BY item", batch)
    try:
        told = payments_digest((item, text_of_kept(item, body)) for item, body in rows)
    except _UNREADABLE:
        told = ""
    if told != data["payments"]:
        yield Fault(tr("batch {batch}", batch=batch), tr("altered payments"), tr("those that were accepted"))
    if not reader.row("SELECT 1 FROM content WHERE digest = ?", data["form_digest"]):
        yield Fault(tr("batch {batch}", batch=batch), tr("no form definition"), tr("the one accepted with it"))


def _proof(reader: Reader, event: Event) -> Iterator[Fault]:
    rows = reader.rows("SELECT item, digest FROM proof_page WHERE seq = ? ORDER BY item", event.seq)
    if pages_digest((item, unpacked(data)) for item, data in rows) != event.data["pages"]:
        yield Fault(
            tr("proof of batch {batch}, event {seq}", batch=event.data["batch"], seq=event.seq),
            tr("altered pages"),
            tr("those of the proof"),
        )


def _schema(reader: Reader) -> list[Fault]:
    """The tables, indexes and guards are those that this tool makes."""
    beyond, lacking = reader.store.schema(everything())
    lost = [
        Fault(tr("the tables"), tr("no {first}", first=_first(sql)), tr("it as this tool makes it")) for sql in lacking
    ]
    odd = [
        Fault(tr("the tables"), tr("{first} that this tool does not make so", first=_first(sql)), tr("none"))
        for sql in beyond
    ]
    return sorted([*lost, *odd], key=str)


def _gate(reader: Reader) -> list[Fault]:
    """On a server, under roles: nobody has a right beyond them, and the doors are those that this tool makes."""
    if reader.store.asks() is None:
        return []
    from cheque.book.gate.keeping import faults
    from cheque.book.postgres import PostgresStore

    return faults(reader.store) if isinstance(reader.store, PostgresStore) else []


def _first(sql: str) -> str:
    """What a statement makes: "TABLE event"."""
    words = sql.removeprefix("CREATE ").replace("(", " ").split()
    return " ".join(words[: 3 if words[:1] == ["UNIQUE"] else 2])


def _build(reader: Reader, store: Store, upto: int = 0) -> None:
    """Make the derived tables anew in a store, from the events; with `upto`, only to that one."""
    store.make(statement for statements in DERIVED.values() for statement in statements)
    for event in events(reader):
        if upto and event.seq > upto:
            break
        try:
            apply(store, event, event.data)
        except _UNREADABLE:
            raise BookRefused(
                tr("event {seq} has a body that {kind} does not have.", seq=event.seq, kind=event.kind)
            ) from None


def _tables(scratch: Reader, place: str) -> list[Fault]:
    """Each derived table holds exactly what the events give."""
    try:
        _build(scratch, scratch.store)
    except Refusal as error:
        return [
            Fault(
                place,
                tr("events that break the law of the book ({message})", message=error.message),
                tr("lawful events"),
            )
        ]
    return [
        Fault(
            tr("table {name}", name=name),
            tr("{extra} rows that the events do not give, {lost} lost", extra=extra, lost=lost),
            tr("no difference"),
        )
        for name in DERIVED
        for extra, lost in [_difference(scratch, name)]
        if extra or lost
    ]


def _difference(scratch: Reader, name: str) -> tuple[int, int]:
    """Rows that only the book has, and rows that only the rebuilt table has. Every table has a primary key."""
    one, other = f"source.{name}", f"main.{name}"
    extra = scratch.value(f"SELECT count(*) FROM (SELECT * FROM {one} EXCEPT SELECT * FROM {other})")
    lost = scratch.value(f"SELECT count(*) FROM (SELECT * FROM {other} EXCEPT SELECT * FROM {one})")
    return int(extra), int(lost)


def identities(reader: Reader) -> list[Fault]:
    """received = on hand + reserved + sent + printed + spoiled + voided + missing + destroyed, each range."""
    faults = []
    for stock, account, first, last in list(
        reader.rows("SELECT id, account, first, last FROM stock ORDER BY account, first")
    ):
        states: dict[str, int] = dict(reader.rows("SELECT state, forms FROM tally WHERE stock = ?", stock))
        received = states.pop("received", 0)
        where = f"{account}:{first}-{last}"
        if received != last - first + 1 or received != sum(states.values()):
            faults.append(
                Fault(
                    where,
                    tr("{sum} forms in all", sum=sum(states.values())),
                    tr("{received} received", received=received),
                )
            )
        on_hand = states.pop("on hand", 0)
        rows: dict[str, int] = dict(
            reader.rows(
                "SELECT state || '', count(*) FROM number WHERE account = ? AND number BETWEEN ? AND ? "
                "GROUP BY state || ''",
                account,
                first,
                last,
            )
        )
        if {s: n for s, n in states.items() if n} != rows or on_hand != received - sum(rows.values()):
            faults.append(
                Fault(where, tr("numbers that stand as {rows}", rows=rows), tr("the counts {states}", states=states))
            )
    return faults


def rebuild(book: Book) -> None:
    """Make the derived tables anew from the events, in one transaction; the events are never rewritten."""
    with book.store.writing():
        book.store.clear(_WRITTEN)
        _build(book, book.store)
        book.store.derived_version = DERIVED_VERSION


class _Past(Reader):
    """The book as it stood; its scratch tables go when it is let go of."""

    def __del__(self) -> None:
        self.store.close()


def as_of(book: Reader, moment: datetime) -> Reader:
    """The book as it stood at a moment: its tables rebuilt from the events up to then.

    A moment of no zone is this machine's local time. Events are in the order in which they happened, which is
    the order of the chain; where a clock was wrong for a while the two disagree, and the cut is made where it
    contradicts the fewest readings of the clock. BookRefused when the book was not begun yet.
    """
    until = written(moment)
    row = book.row(
        "SELECT seq FROM (SELECT seq, sum(CASE WHEN at > ? THEN 1 ELSE -1 END) OVER (ORDER BY seq) AS against "
        "FROM event UNION ALL SELECT 0, 0) AS cuts ORDER BY against, seq DESC LIMIT 1",
        until,
    )
    upto = row[0] if row else 0
    if not upto:
        raise BookRefused(tr("the book was not begun by {until}: there is nothing to show.", until=until))
    if upto == book.head.seq:
        return Reader(book.store)
    store = SqliteStore("")
    past = _Past(store)
    book.store.beside(store, "source", _WRITTEN, WRITTEN_ONCE)
    for name in _WRITTEN:
        where = f" WHERE seq <= {upto}" if name in ("event", "proof_page") else ""
        store.execute(f"CREATE TEMP VIEW {name} AS SELECT * FROM source.{name}{where}")
    with store.writing():
        _build(past, store, upto)
    return past
