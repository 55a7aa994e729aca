"""A book holds the same whatever language it was written in: only what is said for people may differ."""

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from journeys.firm import REGISTER, TOTALS, Firm
from journeys.quarter import lived
from journeys.test_stubs_that_go_on import accept
from tongues.brackets import Brackets

from cheque import tongue, tongues

#: what a body holds for people to read, in the language of who was at work; nothing in the tool reads or compares it
FOR_PEOPLE = {
    ("batch.refused", "why"),  # what was said to them
    ("run.stopped", "cause"),  # why the tool itself stopped, or the operator
    ("paper.seen", "spoiled"),  # the reason of a form that goes down with another of its payment: [first, last, reason]
}
#: what is another's in every book, or of its folder
ITS_OWN = {("book.begun", "book"), ("run.begun", "address"), ("notice.made", "name")}


@pytest.fixture
def brackets(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], None]]:
    """From when it is called, the command line speaks that language."""

    def choose(language: str | None = None) -> str:
        tongue.speak(Brackets())
        return "fr"

    yield lambda: monkeypatch.setattr(tongues, "choose", choose)
    tongue.speak(None)


def mishaps(firm: Firm) -> None:
    """A payday on which everything goes wrong: its forms, its cheques, and what the bank is told."""
    wrong = firm.write("wrong.csv", "Mara Quill,12.00,2026-11-27,W1,1")
    slip = ("--control-total", "13.00", "--item-count", "1")
    firm.run("batch", "accept", wrong, "--form", "payroll-us", *slip, expect=3)
    data = (firm.folder / firm.register()).read_bytes()
    firm.run("batch", "accept", "-", "--form", "payroll-us", *TOTALS, stdin=data)
    firm.run("batch", "withdraw", "1", "--reason", "to be read from its file")
    firm.run("batch", "accept", REGISTER, "--form", "payroll-us", *TOTALS, "--order", "payee")
    pieces = ("print", "2", "--first-number", "100501", "--proof-code", firm.proof(2), "--paper-loaded")
    firm.run(*pieces, "--after-first", "stop", expect=4)
    firm.resume("100501", "100502", batch=2)
    firm.run("confirm", "2", "--good-count", "21", "--spoiled", "100503=torn", "--missing", "100509=not in the tray")
    firm.print(2, 100525)
    firm.run("confirm", "2", "--good-count", "1")
    firm.run("void", "100505", "--reason", "wrong amount", "--paper", "in-hand")
    firm.run("reprint", "100505")
    firm.print(3, 100527)
    firm.run("confirm", "3", "--good-count", "1")
    firm.run("custody", "100501-100502", "--place", "handed-over", "--to", "Ilse Tidewater")
    firm.run("void", "100502", "--reason", "lost in the post", "--paper", "not-in-hand")
    firm.run("disposition", "100502", "still-owed", "--reason", "nobody claimed it")
    (firm.folder / "bank.toml").write_text(firm.run("notice", "example", "delimited").out)
    firm.change('# notice.layout = "bank-notice.toml"', 'notice.layout = "bank.toml"')
    firm.run("notice", "issued", "2")
    firm.run("notice", "sent", "1", "--by", "the portal")
    firm.run("notice", "stopped", "100502", "--reason", "lost")
    firm.run("notice", "stopped", "100502", "--confirmed-by", "N. Vault")
    firm.run("spoil", "100600", "--reason", "dropped")
    firm.run("missing", "100601", "--reason", "not in the box")
    firm.run("found", "100601", "--reason", "under the box")
    firm.run("stock", "count", "100501-101000", "--forms", "470", expect=1)
    firm.run("stock", "destroy", "100990-101000", "--witness", "Ay Li", "--reason", "old address")
    firm.run("align", "payroll-us", "--reading", "2 dots low")


def stubs_that_go_on(firm: Firm) -> None:
    """Suppliers with more invoices than a stub holds; a form of one of them is torn."""
    accept(firm)
    firm.print(1, 200501)
    firm.run("confirm", "1", "--good-count", "6", "--spoiled", "200504=torn", "--incomplete", "again")


def quarter(firm: Firm) -> None:
    """The boatyard's quarter, and its bank's statement."""
    lived(firm)
    firm.run("reconcile", "bank", firm.register("statement-2026-q4.xml"), expect=1)


def events(firm: Firm) -> list[tuple[str, Any]]:
    """Every event: its kind and its body, without what is another's in every book."""
    return [
        (kind, {key: value for key, value in body.items() if (kind, key) not in ITS_OWN})
        for kind, body in firm.events()
    ]


def written_beside(firm: Firm) -> list[Any]:
    """What the chain refers to by its digest."""
    with contextlib.closing(sqlite3.connect(firm.folder / "book" / "book.sqlite")) as db:
        return [
            *db.execute("SELECT digest FROM content ORDER BY 1"),
            *db.execute("SELECT body FROM payment ORDER BY 1"),
        ]


@pytest.mark.parametrize("life", [mishaps, stubs_that_go_on, quarter])
def test_what_a_book_holds_does_not_depend_on_the_language_it_was_written_in(
    life: Callable[[Firm], None], tmp_path: Path, brackets: Callable[[], None]
) -> None:
    books = []
    for name in ("english", "brackets"):
        (tmp_path / name).mkdir()
        firm = Firm(tmp_path / name).set_up()
        life(firm)
        books.append((events(firm), written_beside(firm)))
        brackets()
    (plain, plain_beside), (other, other_beside) = books
    assert [kind for kind, _ in other] == [kind for kind, _ in plain]
    assert plain_beside == other_beside
    differing = {
        (kind, key)
        for (kind, one), (_, two) in zip(plain, other, strict=True)
        for key in one.keys() | two.keys()
        if one.get(key) != two.get(key)
    }
    assert differing <= FOR_PEOPLE
    if life is not quarter:  # a language was spoken at all
        assert differing
