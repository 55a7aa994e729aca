"""`book verify` finds what was altered; what a forger made to fit again is found by the digest on the paper."""

import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from book.quillmere import (
    FORM,
    Clock,
    accept,
    again,
    begin,
    payday,
    print_good,
    refused,
    see,
    send,
    start,
    texts,
)

from cheque.book import (
    batches,
    cheques,
    duties,
    notices,
    opening,
    renumber,
    runs,
    shifts,
    statements,
    stock,
    stops,
    verify,
    where,
)
from cheque.book.apply import KINDS
from cheque.book.book import Book, open_book
from cheque.book.event import digest_of
from cheque.book.schema import BUCKET, DERIVED, DERIVED_VERSION, WRITTEN_ONCE
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused
from cheque.page import Shift
from cheque.payment import Kind, StubLine


def full(folder: Path) -> Book:
    """A book in which every table has rows and every kind of event was appended."""
    book = begin(folder)
    stock.receive(book, account="main", form=FORM, first="000501", last="003500")
    stock.receive(book, account="petty", form=FORM, first="1", last="50")
    shifts.keep(book, "payroom", FORM, Shift(100, -200))
    batches.refused(book, {"source": "payday.csv", "why": "two digits exchanged", "given_control_total": 1821477})
    batch = accept(book, payday(8))
    batches.pull(book, batch, 8, "left the firm")
    invoices = [paid._replace(stub=(StubLine(Kind.INVOICE, "Q-1042", 5000),)) for paid in payday(2, start=20)]
    withdrawn = accept(book, invoices)
    batches.withdraw(book, withdrawn, "the wrong week")
    run, numbers = start(book, batch, 501)
    send(book, run, numbers[:5])
    runs.stopped(book, run, "the cable came loose")
    see(book, run, good=numbers[:3], spoiled={504: "torn"}, missing={505: "not there"}, blank=numbers[5:])
    print_good(book, batch, 506)
    cheques.move(book, account="main", first=501, last=502, place="handed over", to="the crew")
    cheques.void(book, account="main", number=502, reason="wrong hours", paper="not in hand")
    cheques.confirm_stop(book, account="main", number=502, by="Tidewrack Savings", on="2026-11-30")
    again_ = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 502))
    print_good(book, again_, 520)
    cheques.void(book, account="main", number=503, reason="lost in the post", paper="not in hand")
    by_hand = cheques.accept_reprint(book, cheques.reprint_source(book, "main", 503), stop_override="known to be burnt")
    cheques.by_hand(book, account="main", number=530, batch=by_hand, item=1, reason="the printer is away")
    stock.spoil(book, account="main", first=540, last=542, reason="lead-in")
    stock.missing(book, account="main", first=550, last=551, reason="not in the box")
    stock.found(book, account="main", first=550, last=550, spoiled=False, reason="under the bench")
    stock.destroy(book, account="petty", first=40, last=50, witness="Cora Selwick", reason="old address")
    stock.count(book, account="main", first=501, last=3500, counted=2979)
    out = [opening.Out("0480", "2026-10-30", "Ada Thwaite", 5000), opening.Out("0481", "2026-10-30", "Eilis Roe", 70)]
    told = {"account": "main", "form": FORM, "definition": f"the definition of {FORM}", "currency": "USD"}
    opening.enter(book, out, source="opening.csv", **told)
    items = [statements.Item("2026-12-03", 501, -81_247), statements.Item("2026-12-31", 0, -1500, about="fee")]
    days = {"first": "2026-12-01", "last": "2026-12-31", "opening": 100_000, "closing": 17_253, "entries": 2}
    statements.enter(book, items, account="main", name="2026-12", source="s.xml", digest="", **days)
    off: dict[str, Any] = {"first": 520, "last": 520, "by": 1, "left": State.SPOILED}
    renumber.move(book, account="main", **off, reason="a form was skipped", approved="Cora Selwick")
    _tell_the_bank(book)
    _by_two(book, batch)
    with book.change() as change:
        change.append("book.moved", {"to": "elsewhere"})
        change.append("book.arrived", {"from": "here", "to": "elsewhere"})
        change.append("book.placed", {"from": "elsewhere", "to": "here"})
        change.append("book.restored", {"to": "here", "digest": "", "gaps": [["main", 560, 569]]})
    return book


def _by_two(book: Book, batch: int) -> None:
    """A proof that another approved; a void that waits for a second person, one that was dropped; a debt judged."""
    first, book.who = book.who, "somebody else"
    duties.approve(book, batch)
    book.who = first
    for number in (506, 507):
        cheques.void(book, account="main", number=number, reason="hours", paper="in hand", hands=duties.ASK)
    duties.drop(book, "main", 507)
    what = {"reason": "wrong hours", "paper": "in hand", "disposition": "still owed"}
    cheques.void(book, account="main", number=508, **what)


def _tell_the_bank(book: Book) -> None:
    """Notices in every state, and a stop in each."""
    for how in ("accepted", "refused"):
        telling = notices.Telling()
        with book.change() as change:
            notice = notices.next_id(book)
            for one in notices.to_tell(book, [1], again=True):
                telling.add(one)
            notices.make(change, notice, "issued", telling, notices.File("text", "n.txt", "0" * 64, "kind"))
        notices.settle(book, notice, "sent", by="the portal", on="2026-12-01")
        notices.settle(book, notice, how, by="Tidewrack Savings", on="2026-12-01", reason="a wrong total")
    asked = {"account": "main", "reason": "lost", "told": "", "notice": 0, "on": "2026-12-01"}
    for number in (505, 506):
        with book.change() as change:
            stops.request(change, number=number, **asked)
    stops.refuse(book, account="main", number=506, by="Tidewrack Savings", on="2026-12-02", told="no account")
    what = stops.Confirmed("Tidewrack Savings", "2026-12-02", spoken=True, lapses="2027-12-16")
    stops.confirm(book, account="main", number=505, what=what)
    stops.renew(book, account="main", number=505, by="Tidewrack Savings", on="2026-12-03", lapses="2028-06-02")


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The full book, made once."""
    folder = tmp_path_factory.mktemp("full")
    full(folder).close()
    return folder / "book"


@pytest.fixture
def book(kept: Path, tmp_path: Path) -> Iterator[Book]:
    """A copy of the full book."""
    shutil.copytree(kept, tmp_path / "book")
    where.settle_file(tmp_path / "book", tmp_path / "book" / "book.sqlite")
    with open_book(tmp_path / "book", who="clerk", station="counter", clock=Clock()) as book:
        yield book


def forge(book: Book, *statements: str | tuple[str, tuple[object, ...]]) -> None:
    """Write into the file past every guard, and set the guards up again as if nothing had happened."""
    database = sqlite3.connect(book.place / "book.sqlite", isolation_level=None)
    database.execute("PRAGMA synchronous = OFF")
    database.execute("BEGIN")
    guards = database.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    unique = database.execute("SELECT name, sql FROM sqlite_master WHERE name = 'one_live_cheque'").fetchall()
    for name, _ in guards:
        database.execute(f"DROP TRIGGER {name}")
    database.execute("DROP INDEX one_live_cheque")
    for statement in statements:
        database.execute(*((statement,) if isinstance(statement, str) else statement))
    for _, sql in (*guards, *unique):
        database.execute(sql)
    database.execute("COMMIT")
    database.close()


def chained(book: Book) -> None:
    """What a forger does who knows the format: make the chain fit what was altered."""
    prev, chain = "0" * 64, []
    for event in list(verify.events(book)):
        made = event._replace(prev=prev)
        prev = digest_of(*made[:-1])
        chain.append((made.prev, prev, made.seq))
    forge(book, *(("UPDATE event SET prev = ?, digest = ? WHERE seq = ?", row) for row in chain))


def test_a_book_that_nobody_altered_is_whole(book: Book) -> None:
    assert verify.verify(book) == []
    assert {event.kind for event in verify.events(book)} == set(KINDS)
    for table in (*DERIVED, "event", "payment", "content", "proof_page"):
        assert book.value(f"SELECT count(*) FROM {table}") > 0, table


def test_the_digest_on_the_paper_is_found_whole_or_by_its_beginning(book: Book) -> None:
    paper = book.head.digest
    stock.spoil(book, account="petty", first=1, last=1, reason="torn")
    for shown in (paper, paper[:8], paper.upper(), f"{paper[:4]} {paper[4:8]}-{paper[8:12]}"):
        assert verify.verify(book, digest=shown) == []
    said = texts(verify.verify(book, digest="0123456789abcdef"))
    assert "no event with it" in said
    assert "altered or cut short after that paper was printed, or a digit was miskeyed" in said


@pytest.mark.parametrize("digest", ["abc", "1234567", "0123456789abcdeg", "0" * 65, "   "])
def test_what_is_no_digest_is_refused_and_not_found_by_chance(book: Book, digest: str) -> None:
    with refused(UsageRefused, "wanted the one on the control report, or at least its first 8 characters"):
        verify.verify(book, digest=digest)


EDITS = {
    "event": "UPDATE event SET who = 'somebody' WHERE seq = 9",
    "payment": "UPDATE payment SET body = replace(body, 'Ada Thwaite', 'Ida Thwaite') WHERE batch = 1 AND item = 1",
    "content": "UPDATE content SET body = 'another form'",
    "proof_page": "UPDATE proof_page SET digest = zeroblob(32) WHERE item = 2",
    "stock": "UPDATE stock SET digits = 7 WHERE account = 'main'",
    "number": "UPDATE number SET reason = 'nothing' WHERE number = 504",
    "tally": "UPDATE tally SET forms = forms + 1 WHERE state = 'spoiled'",
    "free": "UPDATE free SET last = last - 1 WHERE first = (SELECT min(first) FROM free)",
    "batch": "UPDATE batch SET total = total + 1 WHERE id = 1",
    "claim": "UPDATE claim SET amount = 9999 WHERE batch = 1 AND item = 2",
    "run": "UPDATE run SET cause = 'nothing' WHERE id = 1",
    "shift": "UPDATE shift SET down_by = 0",
    "touch": "UPDATE touch SET last = last + 1 WHERE seq = 42",
    "gap": "UPDATE gap SET last = last - 1",
    "struck": "UPDATE struck SET struck = struck - 1",
    "statement": "UPDATE statement SET closing = closing + 1",
    "bank_item": "UPDATE bank_item SET payee = 'somebody' WHERE number = 501",
    "notice": "UPDATE notice SET state = 'sent' WHERE id = 2",
    "notified": "UPDATE notified SET live = 1 WHERE notice = 2",
    "stop_order": "UPDATE stop_order SET lapses = '2029-01-01' WHERE number = 505",
    "approval": "UPDATE approval SET who = 'mara'",
    "asked": "UPDATE asked SET done = 1",
    "disposition": "UPDATE disposition SET disposition = 'not owed'",
    "invoice": "UPDATE invoice SET key = key + 1 WHERE item = 1",
    "cleared": "UPDATE cleared SET booked = '2026-12-04'",
    "batch_event": "UPDATE batch_event SET seq = seq + 100 WHERE seq = 8",
}


def test_every_table_has_its_forgery() -> None:
    assert set(EDITS) == {*DERIVED, "event", "payment", "content", "proof_page"}


@pytest.mark.parametrize("table", sorted(EDITS))
def test_an_edited_row_is_found_in_every_table(book: Book, table: str) -> None:
    before = list(book.rows(f"SELECT * FROM {table}"))
    forge(book, EDITS[table])
    assert list(book.rows(f"SELECT * FROM {table}")) != before
    assert verify.verify(book) != []


@pytest.mark.parametrize("table", sorted(EDITS))
def test_a_lost_row_is_found_in_every_table(book: Book, table: str) -> None:
    key = "rowid" if table in ("event", "content", "stock", "batch", "run") else ""
    where = f"{key} = (SELECT max({key}) FROM {table})" if key else _first_row(book, table)
    forge(book, f"DELETE FROM {table} WHERE {where}")
    assert verify.verify(book) != []


def _first_row(book: Book, table: str) -> str:
    keys = [row[1] for row in book.rows(f"PRAGMA table_info({table})") if row[5]]
    row = book.row(f"SELECT {', '.join(keys)} FROM {table}")
    return " AND ".join(f"{key} = {value!r}" for key, value in zip(keys, row or (), strict=True))


ADDED = {
    "payment": "INSERT INTO payment VALUES (77, 1, '{}')",
    "content": "INSERT INTO content VALUES ('2c26b46b68ffc68ff99b453c1d30413413422d706483bfa0f98a5e886266e7ae', 'foo')",
    "proof_page": "INSERT INTO proof_page VALUES (3, 1, x'00')",
    "claim": "INSERT INTO claim VALUES (1, 99, 1, 99, 'main', 'Nobody', 5, '2026-11-27', '', 'cheque', '', '', 1)",
    "number": "INSERT INTO number VALUES ('main', 3000, 2, 'spoiled', '', 0,0,0,0,0,0,0, '', '', '', 2)",
    "tally": "INSERT INTO tally VALUES (2, 'eaten', 0)",
    "touch": "INSERT INTO touch VALUES ('main', 0, 501, 501, 1)",
}


@pytest.mark.parametrize("table", sorted(ADDED))
def test_a_row_put_in_is_found(book: Book, table: str) -> None:
    forge(book, ADDED[table])
    assert table in texts(verify.verify(book)) or "speaks" in texts(verify.verify(book))


def test_the_fault_says_where_and_what(book: Book) -> None:
    forge(book, EDITS["event"], EDITS["payment"], EDITS["content"], EDITS["proof_page"])
    said = texts(verify.verify(book))
    assert "event 9: found text that was altered; wanted text that gives its digest." in said
    assert "batch 1: found altered payments; wanted those that were accepted." in said
    assert "found altered text; wanted the text that gives that digest." in said
    assert "proof of batch 1, event 10: found altered pages; wanted those of the proof." in said


def test_a_derived_table_that_differs_is_named_with_how_many_rows(book: Book) -> None:
    forge(book, EDITS["claim"])
    assert texts(verify.verify(book)) == (
        "table claim: found 1 rows that the events do not give, 1 lost; wanted no difference."
    )


def test_a_dropped_event_is_found(book: Book) -> None:
    forge(book, "DELETE FROM event WHERE seq = 12")
    said = texts(verify.verify(book))
    assert "event 13: found it in the place of event 12; wanted no gap in the chain." in said
    assert "event 13: found a break in the chain" in said


def test_events_that_changed_places_are_found(book: Book) -> None:
    forge(
        book,
        "UPDATE event SET seq = -1 WHERE seq = 12",
        "UPDATE event SET seq = 12 WHERE seq = 13",
        "UPDATE event SET seq = 13 WHERE seq = -1",
    )
    said = texts(verify.verify(book))
    assert "event 12: found a break in the chain" in said
    assert "event 13: found text that was altered" in said


def test_a_dropped_last_event_leaves_tables_that_do_not_fit(book: Book) -> None:
    forge(book, "DELETE FROM event WHERE seq = (SELECT max(seq) FROM event)")
    assert "table touch: found" in texts(verify.verify(book))


def test_a_dropped_last_event_made_to_fit_is_found_by_the_paper_alone(book: Book) -> None:
    paper = book.head.digest
    forge(book, "DELETE FROM event WHERE seq = (SELECT max(seq) FROM event)")
    verify.rebuild(book)
    assert verify.verify(book) == []
    assert "no event with it" in texts(verify.verify(book, digest=paper))


def test_an_event_forged_and_the_chain_made_to_fit_is_found_by_the_paper_alone(book: Book) -> None:
    paper = book.head.digest
    forge(book, "UPDATE event SET body = replace(body, 'wrong hours', 'wrong house') WHERE kind = 'cheque.voided'")
    chained(book)
    verify.rebuild(book)
    assert verify.verify(book) == []
    assert cheques.get(book, "main", 502).reason == "wrong house"  # type: ignore[union-attr]
    assert "no event with it" in texts(verify.verify(book, digest=paper))


def test_a_guard_taken_away_is_found(book: Book) -> None:
    database = sqlite3.connect(book.place / "book.sqlite", isolation_level=None)
    database.execute("DROP INDEX one_live_cheque")
    database.execute("DROP TRIGGER event_never_updated")
    database.execute("CREATE TRIGGER mischief AFTER INSERT ON event BEGIN DELETE FROM touch; END")
    database.close()
    said = texts(verify.verify(book))
    assert "the tables: found no UNIQUE INDEX one_live_cheque; wanted it as this tool makes it." in said
    assert "the tables: found no TRIGGER event_never_updated" in said
    assert "the tables: found TRIGGER mischief that this tool does not make so; wanted none." in said


BODIES = [
    '{"account":"main"}',
    "not JSON",
    "[]",
    '"text"',
    "{}",
    '{"batch":"one","item":[],"reason":{}}',
    "[" * 5000,
    '{"account":"main","account":"main"}',
    '{"reason": "spaces"}',
]


@pytest.mark.parametrize("body", BODIES, ids=range(len(BODIES)))
def test_a_body_that_cannot_be_read_is_a_fault_and_no_traceback(book: Book, body: str) -> None:
    for kind in ("batch.accepted", "proof.made", "paper.seen", "run.begun", "cheque.voided"):
        forge(book, ("UPDATE event SET body = ? WHERE kind = ?", (body, kind)))
        assert verify.verify(book) != []
    chained(book)  # and so it is when the forger made the chain fit
    assert verify.verify(book) != []


@pytest.mark.parametrize("value", ["CAST(x'ff41' AS TEXT)", "''", "'{'"])
def test_a_payment_that_cannot_be_read_is_a_fault(book: Book, value: str) -> None:
    forge(book, f"UPDATE payment SET body = {value} WHERE batch = 1 AND item = 1")
    assert verify.verify(book) != []


def test_events_that_break_the_law_are_a_fault(book: Book) -> None:
    """A forger who makes a spoiled form good again, chain and all, meets the law when the tables are rebuilt."""
    forge(book, "UPDATE event SET body = replace(body, '[[501,503]]', '[[501,509]]') WHERE kind = 'paper.seen'")
    chained(book)
    assert "events that break the law of the book (numbers 501-509 are not all in doubt" in texts(verify.verify(book))


def test_many_faults_are_told_up_to_a_hundred(tmp_path: Path) -> None:
    book = begin(tmp_path)
    stock.receive(book, account="main", form=FORM, first="1", last="900")
    with book.change():
        for number in range(1, 151):
            stock.spoil(book, account="main", first=number, last=number, reason="torn")
    forge(book, "UPDATE event SET who = 'somebody' WHERE seq > 1")
    assert len(verify.verify(book)) == verify.MOST


def test_a_book_without_its_first_event_is_not_opened(book: Book) -> None:
    for statement in (
        "UPDATE event SET who = 'somebody' WHERE seq = 1",
        "UPDATE event SET body = 'no JSON' WHERE seq = 1",
        "DELETE FROM event WHERE seq = 1",
    ):
        forge(book, statement)
        with refused(BookRefused, "is damaged: its first event is not what was written", "restore a backup"):
            open_book(book.place)


def test_every_derived_table_is_rebuilt_exactly(book: Book) -> None:
    before = {name: list(book.rows(f"SELECT * FROM {name}")) for name in DERIVED}
    events = list(verify.events(book))
    verify.rebuild(book)
    assert {name: list(book.rows(f"SELECT * FROM {name}")) for name in DERIVED} == before
    assert list(verify.events(book)) == events
    assert verify.verify(book) == []


def test_a_book_of_an_older_version_has_its_tables_rebuilt_when_it_is_opened(book: Book) -> None:
    before = {name: list(book.rows(f"SELECT * FROM {name}")) for name in DERIVED}
    database = sqlite3.connect(book.place / "book.sqlite", isolation_level=None)
    for name in DERIVED:
        database.execute(f"DROP TABLE {name}")
    database.execute("CREATE TABLE forms_of_old (number INTEGER)")
    database.execute(f"PRAGMA user_version = {DERIVED_VERSION - 1}")
    database.close()
    with again(book) as newer:
        assert {name: list(newer.rows(f"SELECT * FROM {name}")) for name in DERIVED} == before
        assert newer.store.derived_version == DERIVED_VERSION
        assert verify.verify(newer) == []


def test_a_rebuild_that_fails_changes_nothing(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    forge(book, "UPDATE event SET body = '{}' WHERE kind = 'stock.counted'")
    before = {name: list(book.rows(f"SELECT * FROM {name}")) for name in DERIVED}
    with refused(BookRefused, "has a body that stock.counted does not have"):
        verify.rebuild(book)
    assert {name: list(book.rows(f"SELECT * FROM {name}")) for name in DERIVED} == before


def test_a_book_is_verified_as_it_was_while_others_write(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another station writes between the steps of a verification; that is no fault."""
    other = again(book)
    build = verify._build

    def meanwhile(reader: verify.Reader, store: verify.SqliteStore, upto: int = 0) -> None:
        stock.spoil(other, account="petty", first=2, last=2, reason="torn")
        build(reader, store, upto)
        stock.spoil(other, account="petty", first=3, last=3, reason="torn")

    monkeypatch.setattr(verify, "_build", meanwhile)
    seq = book.head.seq
    assert verify.verify(book) == []
    assert book.head.seq == seq + 2


def test_verifying_leaves_nothing_behind_and_changes_nothing(book: Book) -> None:
    names = sorted(path.name for path in book.place.rglob("*"))
    verify.verify(book)
    assert sorted(path.name for path in book.place.rglob("*")) == names


def test_the_identity_is_checked_box_by_box(book: Book) -> None:
    assert verify.identities(book) == []
    box = stock.range_of(book, "main", 501)
    counts = dict(book.rows("SELECT state, forms FROM tally WHERE stock = ?", box.id))
    assert counts.pop("received") == 3000 == sum(counts.values())
    assert counts == {
        "on hand": 2985,
        "reserved": 0,
        "sent": 0,
        "printed": 5,
        "spoiled": 5,
        "voided": 3,
        "missing": 2,
    }
    with book.store.writing():
        book.store.execute("UPDATE tally SET forms = forms + 1 WHERE stock = ? AND state = 'spoiled'", (box.id,))
    said = texts(verify.identities(book))
    assert "main:501-3500: found 3001 forms in all; wanted 3000 received." in said
    assert "main:501-3500: found numbers that stand as" in said


def test_ranges_that_touch_many_buckets_are_found_from_every_number(book: Book) -> None:
    event = stock.destroy(book, account="main", first=1000, last=3400, witness="Dov Anstey", reason="old bank")
    rows = {row[0] for row in book.rows("SELECT bucket FROM touch WHERE seq = ?", event.seq)}
    assert rows == set(range(1000 // BUCKET, 3400 // BUCKET + 1))


def test_what_is_written_once_has_no_more_tables_than_are_checked() -> None:
    made = {text.split()[2] for text in WRITTEN_ONCE if text.startswith("CREATE TABLE")}
    assert made == {"event", "payment", "content", "proof_page"}
