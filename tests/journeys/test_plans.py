"""No command that asks one question of the book reads through it: every statement it gives the database is planned
by an index. (Timed, in a book of a million cheques, by `tests/bench/bench_queries.py`.)"""

import re
import sqlite3

import pytest
from journeys.firm import Firm

from cheque.book import store
from cheque.book.book import FILE, open_book
from cheque.guide import facts

#: the tables that grow with every payment; the others have a row for each box, batch, run or printer
LARGE = ("event", "payment", "proof_page", "number", "claim", "touch", "invoice", "bank_item", "cleared", "struck")
#: partial indexes that hold only what is out of the ordinary, and are read from end to end
FEW = ("number_lost", "number_doubt", "number_house", "number_stop", "number_waste")
QUESTIONS = (
    ("show", "100507"),
    ("show", "main:100507", "--json"),
    ("find", "W48-2107"),
    ("find", "100507"),
    ("find", "607.43"),
    ("find", "Barnacle"),
    ("find", "nobody at all"),
    ("stock", "list"),
    ("stock", "list", "--json"),
    ("batch", "list"),
    ("batch", "list", "--all", "--json"),
    ("batch", "show", "2"),
    ("stock", "count", "100601-101000", "--forms", "400"),
    ("report", "stops"),
    ("report", "owed"),
    ("report", "voids"),
    ("notice", "list"),
    ("void", "100507", "--reason", "wrong hours", "--paper", "in-hand"),
    ("reprint", "100507"),
    ("custody", "100508", "--place", "handed-over"),
    ("spoil", "100600", "--reason", "torn"),
    ("missing", "100601", "--reason", "gone"),
    ("found", "100601", "--reason", "behind the printer"),
    ("batch", "pull", "2", "1", "--reason", "left"),
)


def scanned(book: sqlite3.Connection, sql: str) -> list[str]:
    """The large tables that a statement reads through from end to end, by the plan that the database has for it."""
    if not re.match(r"\s*(SELECT|WITH|UPDATE|DELETE|INSERT)\b", sql, re.IGNORECASE):
        return []
    steps = [row[3] for row in book.execute(f"EXPLAIN QUERY PLAN {sql}")]
    aliases = {alias: table for table, alias in re.findall(r"\b(?:FROM|JOIN)\s+(\w+)\s+(?:AS\s+)?(\w+)\b", sql)}
    few = re.compile(rf"SCAN \w+ USING (COVERING )?INDEX ({'|'.join(FEW)})\b")
    found = [re.match(r"SCAN (\w+)(?! USING VIRTUAL)", step) for step in steps if not few.match(step)]
    tables = [aliases.get(match.group(1), match.group(1)) for match in found if match]
    # a LIMIT without an order takes the first row there is; the head of the chain is the last row by its key
    return [table for table in tables if table in LARGE and not re.search(r"ORDER BY seq DESC LIMIT 1\b", sql)]


@pytest.fixture
def traced(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every statement that the book is given."""
    said: list[str] = []
    connect = sqlite3.connect

    def listening(*arguments: object, **named: object) -> sqlite3.Connection:
        found = connect(*arguments, **named)  # type: ignore[call-overload]
        found.set_trace_callback(said.append)
        return found  # type: ignore[no-any-return]

    monkeypatch.setattr(store.sqlite3, "connect", listening)
    return said


def all_scanned(firm: Firm, statements: list[str]) -> list[str]:
    """Of these statements, those that read a large table through, each with which."""
    with sqlite3.connect(firm.folder / "book" / FILE) as book:
        return [f"{', '.join(tables)}: {sql[:200]}" for sql in statements if (tables := scanned(book, sql))]


def test_a_question_is_answered_by_an_index_and_not_by_reading_the_book_through(paid: Firm, traced: list[str]) -> None:
    wrong: dict[str, list[str]] = {}
    for question in QUESTIONS:
        del traced[:]
        paid.run(*question, expect=None if question[0] == "batch" or "nobody at all" in question else 0)
        assert traced, question
        if found := all_scanned(paid, traced[:]):
            wrong[" ".join(question)] = found
    assert wrong == {}


def test_what_the_guided_payday_begins_with_is_answered_by_an_index(paid: Firm, traced: list[str]) -> None:
    with open_book(paid.folder / "book") as book:
        del traced[:]
        assert facts.unfinished(book) == []
        assert len(facts.before_handover(book, {"main"})) == 2
    assert len(traced) > 5
    assert all_scanned(paid, traced[:]) == []


def test_a_statement_that_reads_the_book_through_would_be_seen(paid: Firm) -> None:
    with sqlite3.connect(paid.folder / "book" / FILE) as book:
        assert scanned(book, "SELECT count(*) FROM number WHERE reason = 'torn'") == ["number"]
        assert scanned(book, "SELECT 1 FROM claim c WHERE c.role = 'cheque'") == ["claim"]
        assert scanned(book, "SELECT 1 FROM number WHERE account = 'main' AND number = 5") == []
