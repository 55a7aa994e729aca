"""Random books and random statements against a plain model: no exception missed, none invented, and it all adds up.

The model knows the rules by itself, from the trade's words: a list of cheques with what became of each, and a list of
what the bank booked. `cleared + outstanding + void = issued`, in number and in money, whatever the bank did.
"""

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import pytest
from book.quillmere import FORM, accept, begin, payday, print_good
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.bank.statement import Foot, Head, Piece, StatementEntry
from cheque.book import cheques, statements, stock, stops, verify
from cheque.book.book import Book
from cheque.book.opening import Out
from cheque.book.opening import enter as opening
from cheque.errors import InputRefused
from cheque.reconcile.balance import sheet
from cheque.reconcile.bank import find
from cheque.reconcile.intake import Ours, doubts, take, unseen
from cheque.reconcile.judge import Rules

FIRST, STALE, DATED = 100501, 30, date(2026, 11, 27)
OURS = Ours("main", "USD", ("QM01",))


@dataclass
class Cheque:
    """What the boatyard knows of one number."""

    state: str
    amount: int = 0
    dated: str = ""
    payee: str = ""
    stopped: str = ""


@dataclass(frozen=True, order=True)
class Booked:
    """What the bank booked on one day: less than 0 when paid."""

    day: str
    number: int
    amount: int
    payee: str = ""


def day(after: int) -> str:
    return (DATED + timedelta(after)).isoformat()


def office(
    folder: Path, voided: list[int], spoiled: list[int], stopped: dict[int, int]
) -> tuple[Book, dict[int, Cheque]]:
    """A book with eight cheques of a payday, two of an opening list, and forms on hand; and the model of it."""
    book = begin(folder)
    stock.receive(book, account="main", form=FORM, first=str(FIRST), last=str(FIRST + 19))
    payments = payday(8)
    print_good(book, accept(book, payments), FIRST)
    out = [Out("100490", "2026-10-30", "Ada Thwaite", 5_000), Out("100491", "2026-11-13", "Dov Anstey", 7_001)]
    told = {"form": FORM, "definition": "x", "currency": "USD", "source": "out.csv"}
    opening(book, out, account="main", **told)
    model = {FIRST + at: Cheque("good", p.amount, p.date, p.payee) for at, p in enumerate(payments)}
    model |= {int(one.number): Cheque("good", one.amount, one.date, one.payee) for one in out}
    model |= {FIRST + at: Cheque("on hand") for at in range(8, 20)}
    for at, after in stopped.items():
        stops.confirm(book, account="main", number=FIRST + at, what=stops.Confirmed("Bank", day(after)))
        model[FIRST + at].stopped = day(after)
    for at in voided:
        cheques.void(book, account="main", number=FIRST + at, reason="wrong", paper="in hand")
        model[FIRST + at].state = "voided"
    for at in spoiled:
        stock.spoil(book, account="main", first=FIRST + at, last=FIRST + at, reason="torn")
        model[FIRST + at] = Cheque("spoiled")
    return book, model


def judged(model: dict[int, Cheque], booked: list[Booked]) -> dict[tuple[str, int, int], list[set[str]]]:
    """What is wrong with each item, by day, number and amount; those alike in the order in which they count."""
    found: dict[tuple[str, int, int], list[set[str]]] = {}
    for number in {one.number for one in booked}:
        cheque = model.get(number, Cheque("never issued"))
        mine = [one for one in booked if one.number == number]
        mine.sort(key=lambda b: (b.day, b.amount > 0, -b.amount != cheque.amount, b.amount))
        standing: list[int] = []
        for one in mine:
            wrong: set[str] = set()
            if one.amount > 0:
                wrong.add("taken back")
                if one.amount in standing:
                    standing.remove(one.amount)
                elif standing:
                    standing.pop()
            else:
                if cheque.state != "good":
                    wrong.add(cheque.state)
                else:
                    age = (date.fromisoformat(one.day) - date.fromisoformat(cheque.dated)).days
                    wrong |= {"amount"} if -one.amount != cheque.amount else set()
                    wrong |= {"early"} if age < 0 else set()
                    wrong |= {"stale"} if age > STALE else set()
                    wrong |= {"payee"} if one.payee == "Somebody Else" else set()
                if cheque.stopped and (cheque.stopped <= one.day or cheque.state == "good"):
                    wrong.add("stopped")
                wrong |= {"twice"} if standing else set()
                standing.append(-one.amount)
            found.setdefault((one.day, one.number, one.amount), []).append(wrong)
    return found


def pieces(booked: list[Booked], name: str = "", balance: int | None = None) -> Iterator[Piece]:
    total = sum(one.amount for one in booked)
    closing = None if balance is None else balance + total
    yield Head(name, "QM01", "USD", opening=balance, closing=closing, where="statement")
    for one in booked:
        cheque = str(one.number) if one.number else ""
        yield StatementEntry(one.day, one.amount, cheque, payee=one.payee, reversal=one.number > 0 and one.amount > 0)
    yield Foot()


days = (st.sampled_from([-1, 0, 1, 29, 30, 31]) | st.integers(-40, 70)).map(day)
numbers = st.integers(0, 13).map(lambda at: FIRST + at) | st.sampled_from([100490, 100491, 77])


@st.composite
def histories(draw: st.DrawFn) -> tuple[list[int], list[int], dict[int, int], list[tuple[str, int, str, str]]]:
    voided = draw(st.lists(st.integers(0, 7), unique=True, max_size=2))
    spoiled = draw(st.lists(st.integers(8, 13), unique=True, max_size=2))
    stopped = draw(st.dictionaries(st.integers(0, 7), st.sampled_from([-1, 0, 1, 30]), max_size=3))
    kinds = st.sampled_from(["issued", "issued", "issued", "more", "swapped", "back"])
    payees = st.sampled_from(["", "right", "Somebody Else"])
    return voided, spoiled, stopped, draw(st.lists(st.tuples(days, numbers, kinds, payees), max_size=14))


def books(model: dict[int, Cheque], rows: list[tuple[str, int, str, str]]) -> list[Booked]:
    """What the bank books, from what was drawn."""
    made = []
    for when, number, kind, payee in rows:
        cheque = model.get(number, Cheque("never issued"))
        amount = cheque.amount or 1_234
        paid = {"more": amount + 5, "swapped": amount + 9}.get(kind, amount)
        named = cheque.payee.upper() if payee == "right" else payee
        made.append(Booked(when, number, amount if kind == "back" else -paid, "" if kind == "back" else named))
    return sorted(made)


@settings(max_examples=30, deadline=None)
@given(histories(), st.integers(0, 14), st.integers(0, 3))
def test_no_exception_is_missed_or_invented_and_it_all_adds_up(
    history: tuple[list[int], list[int], dict[int, int], list[tuple[str, int, str, str]]], cut: int, overlap: int
) -> None:
    voided, spoiled, stopped, rows = history
    with tempfile.TemporaryDirectory() as folder:
        book, model = office(Path(folder), voided, spoiled, stopped)
        with book:
            booked = books(model, rows)
            one, two = booked[:cut], booked[max(0, cut - overlap) :]
            # a statement has whole days, so that what they share is on both
            two = [*[b for b in one if two and b.day >= two[0].day], *booked[cut:]]
            for part in (one, two, booked):
                if part:
                    take(book, pieces(part), OURS, "statement")
            head = book.head
            if booked:
                taken, _ = take(book, pieces(booked), OURS, "statement")
                assert (taken[0].fresh, book.head) == (0, head)
            finding = find(book, "main", Rules("USD", STALE), day(-40), day(70))
            expected = judged(model, booked)
            found: dict[tuple[str, int, int], list[set[str]]] = {}
            for line in finding.lines:
                key = (line.item.booked, line.item.number, line.item.amount)
                found.setdefault(key, []).append({wrong.kind for wrong in line.wrong})
            wanted = {key: [w for w in wrongs if w] for key, wrongs in expected.items() if any(wrongs)}
            assert {k: sorted(map(sorted, v)) for k, v in found.items()} == {
                k: sorted(map(sorted, v)) for k, v in wanted.items()
            }
            assert finding.as_issued == sum(not w for wrongs in expected.values() for w in wrongs)
            _adds_up(book, model, booked)
            assert verify.verify(book) == []


def _adds_up(book: Book, model: dict[int, Cheque], booked: list[Booked]) -> None:
    net = {n: sum(1 if b.amount < 0 else -1 for b in booked if b.number == n) for n in {b.number for b in booked}}
    cleared = {row[0] for row in book.rows("SELECT number FROM cleared WHERE account = 'main'")}
    assert cleared == {number for number, times in net.items() if times > 0}
    good = {n for n, c in model.items() if c.state == "good"}
    void = {n for n, c in model.items() if c.state == "voided"}
    out = good - cleared
    made = sheet(book, "main", "USD", day(70), bank=sum(b.amount for b in booked), ledger=None)
    assert made.cheques_out == len(out)
    assert {int(one.number) for one in made.cheques} == out

    def money(some: set[int]) -> int:
        return sum(model[n].amount for n in some)

    issued = good | void
    assert len(good & cleared) + made.cheques_out + len(void) == len(issued) == 10
    assert money(good & cleared) + made.outstanding + money(void) == money(issued)
    # the bank's side, put right, is what the good cheques took: the ledger's side
    assert made.adjusted_bank == -money(good)


# one by one: what the intake refuses and remembers


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    made, _ = office(tmp_path, [], [], {})
    with made:
        yield made


def test_a_statement_that_does_not_add_up_is_refused_whole(book: Book) -> None:
    head = book.head
    bad = [*pieces([Booked(day(1), FIRST, -81_247)], balance=100_000)]
    bad[0] = bad[0]._replace(closing=18_000)  # type: ignore[union-attr, call-arg]
    with pytest.raises(InputRefused) as caught:
        take(book, bad, OURS, "statement")
    assert "1 entries that come to 187.53; wanted the closing balance, 180.00, which is 7.53 less" in str(caught.value)
    assert book.head == head


def test_a_balance_keyed_in_fills_a_gap_and_contradicts_nothing(book: Book) -> None:
    one = [Booked(day(1), FIRST, -81_247)]
    (taken,), _ = take(book, pieces(one), OURS, "s", opening=100_000, closing=18_753)
    assert (taken.opening, taken.closing) == (100_000, 18_753)
    for keyed, words in (
        ({"closing": 18_000}, "closing balance 180.00 keyed in; wanted 187.53, as the statement says"),
        ({"opening": 1}, "opening balance 0.01 keyed in; wanted 1000.00"),
    ):
        with pytest.raises(InputRefused) as caught:
            take(book, pieces(one, balance=100_000), OURS, "s", **keyed)
        assert words in str(caught.value)
    with pytest.raises(InputRefused) as caught:
        take(book, [*pieces(one), *pieces(one)], OURS, "s", closing=1)
    assert "a closing balance keyed in, and 2 statements" in str(caught.value)


def test_references_tell_items_alike_apart_where_both_have_one(book: Book) -> None:
    entry = StatementEntry(day(1), -1500, about="fee", reference="A")
    head = Head("", "", "", where="s")
    take(book, [head, entry, Foot()], OURS, "s")
    for given_, fresh in (("A", 0), ("", 0), ("B", 1), ("B", 0), ("A", 0)):
        (taken,), _ = take(book, [head, entry._replace(reference=given_), Foot()], OURS, "s")
        assert taken.fresh == fresh
    (taken,), _ = take(book, [head, *[entry._replace(reference="")] * 3, Foot()], OURS, "s")
    assert taken.fresh == 1
    assert [item.nth for item in statements.items(book, "main", day(1), day(1))] == [1, 2, 3]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from("AB") | st.just("")), st.lists(st.sampled_from("ABC") | st.just("")))
def test_what_is_held_is_never_new_and_what_is_new_is_never_held(held: list[str], given_: list[str]) -> None:
    fresh = unseen(held, given_)
    assert sum(not new for new in fresh) <= len(held)
    assert not any(unseen(given_, given_))
    for reference in "ABC":
        both = min(held.count(reference), given_.count(reference))
        known = sum(r == reference and not new for r, new in zip(given_, fresh, strict=True))
        assert known >= both


def test_a_gap_between_statements_and_another_of_the_same_name_are_told(book: Book) -> None:
    one, two = [Booked(day(1), 0, -100)], [Booked(day(9), 0, -200)]
    (taken,), _ = take(book, pieces(one, "A", 1_000), OURS, "s")
    assert list(doubts(book, "main", "USD", taken)) == []
    (taken,), _ = take(book, pieces(two, "B", 900), OURS, "s")
    assert list(doubts(book, "main", "USD", taken)) == []
    (taken,), _ = take(book, pieces([Booked(day(20), 0, -1)], "C", 800), OURS, "s")
    (told,) = doubts(book, "main", "USD", taken)
    assert "one between them may be missing" in told
    (taken,), _ = take(book, pieces([Booked(day(20), 0, -7)], "C", 700), OURS, "s")
    assert any("another statement by the name of C" in told for told in doubts(book, "main", "USD", taken))


@pytest.mark.parametrize(
    ("head", "words"),
    [
        (Head("", "QM02", "USD", where="s line 3"), "s line 3: a statement of another account, that ends in 'QM02'"),
        (Head("", "QM01", "EUR", where="s line 3"), "found a statement in 'EUR'; wanted USD"),
        (Head("", "", "", where="s"), "found no entry and no day"),
    ],
)
def test_another_account_or_currency_is_refused(book: Book, head: Head, words: str) -> None:
    with pytest.raises(InputRefused) as caught:
        take(book, [head, Foot()], OURS, "s")
    assert words in str(caught.value)


def test_a_statement_that_names_an_account_needs_one_in_the_settings(book: Book) -> None:
    with pytest.raises(InputRefused) as caught:
        take(book, [Head("", "QM01", "USD", where="s"), Foot()], Ours("main", "USD"), "s")
    assert "add account_number or statement_account" in str(caught.value)
