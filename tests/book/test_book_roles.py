"""A book under roles: who has which role does what the role may, and the database holds the duties by itself."""

from pathlib import Path

import pytest
from book.quillmere import FORM, accept, payday, print_good, prove, refused, start
from book.roles import Harbour, store_of

from cheque.book import batches, cheques, duties, stock, verify
from cheque.book.gate import ALLOWED, HANDS, Asks, keeping
from cheque.errors import BookRefused, UsageRefused

KEPT_APART = Asks(True, True, True, {"main": 90_000})


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Harbour:
    """A yard with one of each; duties are asked, and an amount over 900.00 takes two to approve."""
    return Harbour(
        tmp_path_factory.mktemp("yard"),
        KEPT_APART,
        rea="reader",
        pru="preparer",
        ada="approver",
        abe="approver",
        pip="printer reconciler",
        rex="reconciler",
        aud="auditor",
        all="preparer approver printer reconciler",
    )


@pytest.fixture(scope="module")
def stocked(office: Harbour) -> Harbour:
    with office.open("ada") as book:
        stock.receive(book, account="main", form=FORM, first="100501", last="100900")
    return office


def accepted(office: Harbour, count: int = 4, start_at: int = 0, person: str = "pru") -> tuple[int, str]:
    with office.open(person) as book:
        batch = accept(book, payday(count, start=start_at))
        return batch, prove(book, batch)


def test_who_and_when_are_the_servers_own(stocked: Harbour) -> None:
    with stocked.open("pru") as book:
        assert book.who == stocked.login("pru")
        batch = accept(book, payday(2, start=500))
        event = book.head
    assert event.who == stocked.login("pru")
    assert not event.at.startswith("2026-11-27T09:00")  # where the tests' own clock stands
    with stocked.open("pru") as book:
        assert duties.acceptor(book, batch) == stocked.login("pru")
        batches.withdraw(book, batch, "only tried")


def test_each_hand_does_what_it_may_and_nothing_else(stocked: Harbour) -> None:
    with stocked.open("rea") as book:
        assert stock.ranges(book)
        with refused(BookRefused, "no role in", "a reader only looks"):
            stock.count(book, account="main", first=100501, last=100900, counted=400)
    with stocked.open("aud") as book:
        assert stock.count(book, account="main", first=100801, last=100810, counted=9) == -1
        with refused(BookRefused, "may not do this (form.spoiled): it wants the role printer. Nothing changed."):
            stock.spoil(book, account="main", first=100899, last=100899, reason="torn")
    with stocked.open("pip") as book, refused(BookRefused, "may not do this (batch.accepted)", "preparer"):
        accept(book, payday(2, start=600))
    with stocked.open("pru") as book, refused(BookRefused, "may not do this (stock.received)", "approver"):
        stock.receive(book, account="main", form=FORM, first="200001", last="200100")


def test_a_batch_is_printed_once_as_many_as_are_asked_approved_it(stocked: Harbour) -> None:
    batch, _ = accepted(stocked, 4, 0)
    with stocked.open("pip") as book, refused(BookRefused, f"batch {batch} is printed once somebody other", "0 did"):
        start(book, batch, 100501)
    with stocked.open("ada") as book:
        assert duties.approve(book, batch) == 1
    with stocked.open("pip") as book:
        print_good(book, batch, 100501)
        assert verify.verify(book) == []


def test_an_amount_over_the_limit_takes_two(stocked: Harbour) -> None:
    batch, _ = accepted(stocked, 2, 1500)  # 917.40 and 917.47
    with stocked.open("ada") as book:
        duties.approve(book, batch)
    with stocked.open("pip") as book, refused(BookRefused, "two people other than who accepted it", "1 did"):
        start(book, batch, 100510)
    with stocked.open("abe") as book:
        duties.approve(book, batch)
    with stocked.open("pip") as book:
        print_good(book, batch, 100510)


def test_who_accepted_does_not_approve_whatever_roles_he_has(stocked: Harbour) -> None:
    batch, _ = accepted(stocked, 2, 700, "all")
    with stocked.open("all") as book, refused(BookRefused, "somebody else has to approve it"):
        duties.approve(book, batch)
    with stocked.open("ada") as book:
        batches.withdraw(book, batch, "only tried")


def test_a_void_takes_two(stocked: Harbour) -> None:
    batch, _ = accepted(stocked, 2, 800)
    with stocked.open("ada") as book:
        duties.approve(book, batch)
    with stocked.open("pip") as book:
        print_good(book, batch, 100520)
    with stocked.open("ada") as book:
        with refused(BookRefused, "this takes two people"):
            cheques.void(book, account="main", number=100520, reason="wrong hours", paper="in hand")
        cheques.void(book, account="main", number=100520, reason="wrong hours", paper="in hand", hands=duties.ASK)
        asked = duties.waiting(book, "main", 100520)[0]
        with refused(BookRefused, "a second person is another one"):
            cheques.void(book, account="main", number=100520, reason="wrong hours", paper="in hand", hands=asked.seq)
    with stocked.open("abe") as book:
        cheques.void(book, account="main", number=100520, reason="wrong hours", paper="in hand", hands=asked.seq)
        assert verify.verify(book) == []


def test_who_printed_does_not_read_the_banks_statement(stocked: Harbour) -> None:
    body = {"account": "main", "statement": "one", "source": "one.csv", "digest": "ab", "first": "2026-12-01",
            "last": "2026-12-02", "entries": 0}  # fmt: skip
    with stocked.open("pip") as book, refused(BookRefused, "printed from main within a year"), book.change() as change:
        change.append("statement.read", {**body, "fresh": 0, "lists": []})
    with stocked.open("rex") as book:
        with book.change() as change:
            change.append("statement.read", {**body, "fresh": 0, "lists": []})
        assert verify.verify(book) == []


def test_an_invoice_paid_again_is_found_under_roles_too(stocked: Harbour) -> None:
    from cheque.likeness import invoice_key
    from cheque.payment import Kind, StubLine

    bill = payday(1, start=2000)[0]._replace(stub=(StubLine(Kind.INVOICE, "INV-00417", 94_247),))
    with stocked.open("pru") as book:
        batch = accept(book, [bill])
        key = invoice_key(bill.payee, "inv 417")
        assert book.row("SELECT batch, item FROM invoice WHERE key = ?", key) == (batch, 1)
        assert verify.verify(book) == []
        batches.withdraw(book, batch, "only tried")


def test_a_part_that_fails_leaves_nothing_and_the_rest_stands(stocked: Harbour) -> None:
    with stocked.open("pip") as book:
        with book.change():
            stock.spoil(book, account="main", first=100890, last=100890, reason="torn")
            with refused(BookRefused, "it cannot become spoiled"):
                stock.spoil(book, account="main", first=100890, last=100890, reason="torn again")
            stock.spoil(book, account="main", first=100891, last=100891, reason="torn")
        head = book.head
        assert head.data["first"] == 100891
    with stocked.open("pip") as book:
        assert (book.head.seq, book.head.digest) == (head.seq, head.digest)
        assert verify.verify(book) == []


def test_a_line_that_is_lost_in_a_step_is_made_anew_and_the_step_taken_once(stocked: Harbour) -> None:
    with stocked.open("pip") as book:
        before = book.head.seq
        with book.change():
            stock.spoil(book, account="main", first=100892, last=100892, reason="torn")
            store_of(book).line.db.close()
            stock.spoil(book, account="main", first=100893, last=100893, reason="torn")
            store_of(book).line.db.close()
        assert book.head.seq == before + 2
        assert book._seen == (book.head.seq, book.head.digest)  # what this station notes is what the server has
        assert verify.verify(book) == []


def test_a_commit_of_which_no_answer_came_is_looked_up(stocked: Harbour, monkeypatch: pytest.MonkeyPatch) -> None:
    with stocked.open("pip") as book:
        store, before = store_of(book), book.head.seq
        raw = store._raw

        def lost(sql: str, given: object = ()) -> object:
            if sql == "COMMIT":
                monkeypatch.setattr(store, "_raw", raw)
                raw(sql)
                store.line.db.close()
            return raw(sql, given)  # type: ignore[arg-type]

        monkeypatch.setattr(store, "_raw", lost)
        stock.spoil(book, account="main", first=100894, last=100894, reason="torn")
        assert book.head.seq == before + 1
        assert verify.verify(book) == []


def test_the_gate_is_made_anew_and_everybody_keeps_what_he_has(stocked: Harbour) -> None:
    with stocked.open("owner") as book:
        store = store_of(book)
        keeping.allow(store, "preparer", "stock.received")
        keeping.allow(store, "printer", "form.found", deny=True)
        before = keeping.hands(store), store.asks()
        keeping.make(store, Asks(False, False, False, {}))
        assert (keeping.hands(store), store.asks()) == before
        verify.rebuild(book)
        assert (keeping.hands(store), store.asks()) == before
        assert verify.verify(book) == []
    with stocked.open("pru") as book:
        stock.receive(book, account="petty", form=FORM, first="1", last="10")


def test_roles_are_the_owners_to_give(stocked: Harbour) -> None:
    with stocked.open("pru") as book:
        store = store_of(book)
        with refused(BookRefused, "belongs to", f"only {stocked.owner} does this"):
            keeping.grant(store, "approver", [stocked.login("pru")])
        with refused(BookRefused, "belongs to"):
            keeping.ask(store, Asks(False, False, False, {}))
        with refused(BookRefused, "belongs to"):
            keeping.make(store, Asks(False, False, False, {}))
    with stocked.open("owner") as book:
        store = store_of(book)
        with refused(BookRefused, "nobody_at_all", "have it made at the server first"):
            keeping.grant(store, "printer", ["nobody_at_all"])
        with refused(UsageRefused, "wanted one of reader, preparer"):
            keeping.grant(store, "boss", [stocked.login("pru")])
        with refused(UsageRefused, "owns the book"):
            keeping.grant(store, "printer", [stocked.owner])
        with refused(UsageRefused, "a kind of event"):
            keeping.allow(store, "printer", "run.away")
        with refused(UsageRefused, "a reader writes nothing"):
            keeping.allow(store, "reader", "run.begun")


def test_every_kind_of_event_is_somebodys_and_every_role_is_told(stocked: Harbour) -> None:
    from cheque.book.apply import KINDS

    assert {kind for kinds in ALLOWED.values() for kind in kinds} == set(KINDS) - {"book.begun"}
    assert set(ALLOWED) == {"owner", *HANDS}


def test_a_right_beyond_the_roles_is_found(stocked: Harbour) -> None:
    with stocked.open("owner") as book:
        store = store_of(book)
        db, schema, gate, pru = store.line.db, store.line.schema, store.gate, stocked.login("pru")
        db.execute("SET default_transaction_read_only = off")

        def found(told: str, done: str, undone: str = "") -> None:
            db.execute(done)
            assert told in " ".join(map(str, verify.verify(book)))
            if undone:
                db.execute(undone)

        payment, event, append = f"ON {schema}.payment", f"ON {schema}.event", f"{gate}.append(text, text, text)"
        found(
            "update table payment of everybody",
            f"GRANT UPDATE {payment} TO PUBLIC",
            f"REVOKE ALL {payment} FROM PUBLIC",
        )
        found("insert table event", f"GRANT INSERT (body) {event} TO {pru}", f"REVOKE ALL {event} FROM {pru}")
        create = f"CREATE ON SCHEMA {schema}"
        found("create schema", f"GRANT {create} TO {pru}", f"REVOKE {create} FROM {pru}")
        refuse = f"EXECUTE ON FUNCTION {gate}.refuse(text)"
        found("function refuse open to others", f"GRANT {refuse} TO PUBLIC", f"REVOKE {refuse} FROM PUBLIC")
        spare = f"FUNCTION {gate}.spare()"
        found("spare beyond", f"CREATE {spare} RETURNS int LANGUAGE sql AS 'SELECT 1'", f"DROP {spare}")
        guard = f"ALTER TABLE {gate}.loose %s TRIGGER loose_ends"
        found("no guard over", guard % "DISABLE", guard % "ENABLE")
        found("function append", f"ALTER FUNCTION {append} SET search_path = pg_temp")
        keeping.make(store, KEPT_APART)
        found("function append", f"ALTER FUNCTION {append} SECURITY INVOKER")
        keeping.make(store, KEPT_APART)
        assert verify.verify(book) == []


def test_a_book_comes_out_from_under_roles(tmp_path: Path) -> None:
    yard = Harbour(tmp_path, ann="printer")
    with yard.open("owner") as book:
        keeping.drop(store_of(book))
        assert not store_of(book).me
        with refused(BookRefused, "not under roles"):
            keeping.hands(store_of(book))
        assert verify.verify(book) == []
    with pytest.raises(BookRefused):
        yard.open("ann")
    with yard.open("owner") as book:
        keeping.make(store_of(book), Asks(False, False, False, {}))
        assert not any(one.people for one in keeping.hands(store_of(book)) if one.name == "printer")
