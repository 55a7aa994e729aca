"""A book on the tests' own server, under roles: its owner, its people, and a client of theirs written by hand.

The owner is no superuser, for a superuser can do everything. People are roles of the server that log in.
"""

import uuid
from pathlib import Path
from typing import Any

import psycopg
from book.quillmere import Clock
from book.server import shared

from cheque.book import gate
from cheque.book.book import Book, create, open_book
from cheque.book.gate import keeping
from cheque.book.postgres import PostgresStore

NO_DUTIES = gate.Asks(False, False, False, {})


class Harbour:
    """A book under roles. `people`: name -> the book's roles that they have."""

    def __init__(self, folder: Path, asks: gate.Asks = NO_DUTIES, **people: str) -> None:
        self._begin(folder, *people)
        create(folder / "station", server=self.url(self.owner), clock=Clock()).close()
        with self.open(self.owner) as book:
            keeping.make(store_of(book), asks)
            for name, hands in people.items():
                for hand in hands.split():
                    keeping.grant(store_of(book), hand, [self.login(name)])

    @classmethod
    def bare(cls, folder: Path, *people: str) -> "Harbour":
        """The owner and the people alone, and no book yet."""
        harbour = cls.__new__(cls)
        harbour._begin(folder, *people)
        return harbour

    def _begin(self, folder: Path, *people: str) -> None:
        self.mark = uuid.uuid4().hex[:8]
        self.folder, self.schema = folder, f"yard_{self.mark}"
        self.owner = f"owner_{self.mark}"
        self._as_keeper(
            f"CREATE ROLE {self.owner} LOGIN CREATEROLE", f"GRANT CREATE ON DATABASE cheques TO {self.owner}"
        )
        for name in people:
            self._as_keeper(f"CREATE ROLE {self.login(name)} LOGIN")

    def _as_keeper(self, *statements: str) -> None:
        with psycopg.connect(f"host={shared().socket} user=keeper dbname=cheques", autocommit=True) as db:
            for statement in statements:
                db.execute(statement)

    def login(self, name: str) -> str:
        """What somebody is called at the server, which this test session shares."""
        return self.owner if name == "owner" else f"{name}_{self.mark}"

    def url(self, login: str) -> str:
        """The book's place, as somebody."""
        return f"postgresql:///cheques?host={shared().socket}&user={login}&schema={self.schema}"

    def open(self, name: str) -> Book:
        """The book, opened by somebody with the tool's own hands."""
        login = name if name == self.owner else self.login(name)
        return open_book(self.folder / "station", server=self.url(login), station="counter", clock=Clock())

    def forger(self, name: str) -> "psycopg.Connection[Any]":
        """A client of somebody's own making."""
        return psycopg.connect(
            f"host={shared().socket} user={self.login(name)} dbname=cheques options='-c search_path={self.schema}'",
            autocommit=True,
        )


def store_of(book: Book) -> PostgresStore:
    """The store of a book on a server."""
    assert isinstance(book.store, PostgresStore)
    return book.store
