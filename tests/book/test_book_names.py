"""A payee is found by any part of the name, capitals or not: held against plain Python going through all of them."""

import re
from pathlib import Path

import pytest
from book.quillmere import accept, begin, payday
from book.server import on_both as on_both
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cheque.book import names, story, verify
from cheque.book.book import Book
from cheque.payment import Payment

PEOPLE = (
    *("Ada Thwaite", "ADA THWAITE", "ada thwaite", "Bryn 100% Marlow", "Cora_Selwick!", "back\\slash"),
    *("Straße & Söhne", "STRASSE & SÖHNE", "Müller", "MÜLLER", "Mu\u0308ller", "İpek Ağaç", "IPEK", "ıpek"),
    *("ﬁne ﬀ works", "Fine FF Works", "\u212aelvin", "Kelvin", "ſee", "See", "ΣΟΦΊΑ ΜΆΡΚΟΣ", "σοφία μάρκος"),
    *("Ивана", "ИВАНА", "東海 造船", "ŉorth", "ǰet", "Aʼnorth", "%", "_", "!", "''", "ᾳ", "αι", "🚢 Yard"),
)
LETTERS = st.sampled_from(sorted({*"".join(PEOPLE), *"aAbBsSkKiI%_!\\'", *names.ODD[:12]}))
ANY = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=8)
NAME = st.one_of(st.sampled_from(PEOPLE), st.text(LETTERS, min_size=1, max_size=10), ANY).filter(str.strip)


def paid(book: Book, people: list[str]) -> int:
    """A batch of one payment to each."""
    return accept(book, [one._replace(payee=name) for one, name in zip(payday(len(people)), people, strict=True)])


def found(book: Book, part: str) -> list[str]:
    return sorted(names.with_part(book, part))


def has(part: str, people: list[str]) -> list[str]:
    """The oracle: every name once, folded here."""
    return sorted({name for name in people if part.casefold() in name.casefold()})


@pytest.fixture
def book(tmp_path: Path) -> Book:
    book = begin(tmp_path)
    half = len(PEOPLE) // 2
    paid(book, [*PEOPLE[:half], *PEOPLE[:3]])
    paid(book, [*PEOPLE, "Ada Thwaite"])
    return book


@given(part=st.one_of(NAME, st.sampled_from(PEOPLE).flatmap(lambda name: st.sampled_from([name[1:4], name[-2:]]))))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_names_found_are_those_that_have_the_part_folded(book: Book, part: str) -> None:
    if part:
        assert found(book, part) == has(part, list(PEOPLE))


@given(people=st.lists(NAME, min_size=1, max_size=6), part=NAME)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_names_that_are_added_are_found_as_well(book: Book, people: list[str], part: str) -> None:
    paid(book, people)
    everybody = [row[0] for row in book.rows("SELECT DISTINCT payee FROM claim")]
    for wanted in (part, people[0], people[0].swapcase(), people[0][:2]):
        if wanted:
            assert found(book, wanted) == has(wanted, everybody)


def test_each_name_stands_once_however_often_it_was_paid(book: Book) -> None:
    once = [row[0] for row in book.rows("SELECT payee FROM claim WHERE fresh IN (1, 2)")]
    assert sorted(once) == sorted(PEOPLE)
    assert verify.verify(book) == []


def test_a_search_finds_every_payment_to_whom_it_finds(book: Book) -> None:
    assert [(one.batch, one.payee) for one in story.search(book, "aDa tHW")] == [
        *((1, name) for name in (*PEOPLE[:3], *PEOPLE[:3])),
        *((2, name) for name in (*PEOPLE[:3], "Ada Thwaite")),
    ]
    assert {one.payee for one in story.search(book, "strasse")} == {"Straße & Söhne", "STRASSE & SÖHNE"}
    assert story.search(book, "x" * 60_000) == []


def test_a_long_name_is_found_by_a_long_part(book: Book) -> None:
    name = "Harbottle " * 40
    paid(book, [f"{name}North", f"{name}South"])
    assert found(book, f"{name}s") == [f"{name}South"]


def test_a_payment_of_a_batch_is_fresh_only_the_first_time(tmp_path: Path) -> None:
    book = begin(tmp_path)
    for _ in range(2):
        accept(book, [Payment(item, name, 100, "2026-11-27", f"PR-{item}") for item, name in enumerate("ABAB", 1)])
    kept = list(book.rows("SELECT batch, item, fresh FROM claim ORDER BY batch, item"))
    assert [fresh for _, _, fresh in kept] == [1, 1, 0, 0, 0, 0, 0, 0]


def test_the_letters_that_fold_oddly_are_those_of_this_python() -> None:
    letters = (chr(code) for code in range(128, 0x110000) if not 0xD800 <= code < 0xE000)
    odd = [one for one in letters if len(one.casefold()) != 1 or one.casefold().isascii()]
    assert set(odd) == set(names.ODD)
    assert all(len(chr(code).casefold()) == 1 for code in range(128))
    assert not re.search("['%@\\\\]", names.ODD)  # it stands in the gate's own text
