"""The boatyard's office, for the tests of the book: stock, registers, runs and people who look at the paper."""

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from book.server import closed_later, on_server, shared, under_roles

from cheque.book import batches, runs, stock
from cheque.book.book import Book, create, open_book
from cheque.errors import Fault, Refusal
from cheque.payment import Payment, Role

FORM = "payroll-us"
CREW = ("Ada Thwaite", "Bryn Marlow", "Cora Selwick", "Dov Anstey", "Eilis Roe", "Fenn Harbottle")


class Clock:
    """A clock that goes on by a second whenever it is looked at."""

    def __init__(self, start: datetime = datetime(2026, 11, 27, 9, tzinfo=UTC)) -> None:
        self.now = start

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


def begin(folder: Path, **options: object) -> Book:
    """A book of Quillmere boatyard, kept by the pay clerk at the counter: on the server, where a test runs on both."""
    place = {"server": shared().url(), **options} if on_server() else options
    book = create(folder / "book", who="clerk", station="counter", clock=Clock(), **place)  # type: ignore[arg-type]
    return closed_later(gated(book) if under_roles() else book)


def gated(book: Book) -> Book:
    """A book on the server, put under roles; no duties are asked."""
    from cheque.book.gate import Asks, keeping
    from cheque.book.postgres import PostgresStore

    assert isinstance(book.store, PostgresStore)
    keeping.make(book.store, Asks(False, False, False, {}))
    book.who = book.store.me
    return book


def again(book: Book) -> Book:
    """The same book, opened once more."""
    return closed_later(open_book(book.place, server=book.server, who="clerk", station="counter", clock=book.clock))


def payday(count: int, start: int = 0) -> list[Payment]:
    """So many payments of a payday, each of its own amount and reference."""
    return [
        Payment(
            item=item,
            payee=CREW[(item - 1) % len(CREW)],
            amount=81_240 + 7 * (item + start),
            date="2026-11-27",
            reference=f"PR-{item + start:04}",
        )
        for item in range(1, count + 1)
    ]


def accept(book: Book, payments: Sequence[Payment], *, account: str = "main", form: str = FORM) -> int:
    """A register accepted as a batch."""
    with batches.accepting(book) as acceptance:
        for payment in payments:
            acceptance.add(payment)
        acceptance.finish(
            {
                "account": account,
                "form": form,
                "form_digest": acceptance.keep_form(f"the definition of {form}"),
                "currency": "USD",
                "items": len(payments),
                "total": sum(p.amount for p in payments if p.role is Role.CHEQUE),
                "hash": 0,
                "source": "payday.csv",
                "kind": "csv",
                "register": "",
                "pairs": "",
            }
        )
    return acceptance.batch


def proof_of(book: Book, batch: int) -> tuple[str, list[tuple[int, str]]]:
    """A proof's digest and its page digests: like the real ones, of what is on the page and not of the batch."""
    pages = [
        (p.item, hashlib.sha256(f"{p.payee} {p.amount} {p.date}".encode()).hexdigest())
        for p in batches.payments(book, batch)
    ]
    return hashlib.sha256("\n".join(page for _, page in pages).encode()).hexdigest(), pages


def prove(book: Book, batch: int) -> str:
    """The proof of a batch, made and looked at."""
    proof, pages = proof_of(book, batch)
    batches.proved(book, batch, proof, pages)
    return proof


def start(book: Book, batch: int, first: int, count: int = 0, printer: str = "payroom") -> tuple[int, list[int]]:
    """A run begun: the numbers are reserved. Gives the run and its numbers."""
    proof = batches.get(book, batch).proof or prove(book, batch)
    run, planned = runs.begin(
        book,
        batch=batch,
        printer=printer,
        address="file:payroom.prn",
        language="escp9",
        first=first,
        count=count,
        proof=proof,
    )
    return run, [number for number, _ in planned]


def send(book: Book, run: int, numbers: Iterable[int]) -> None:
    """Bytes of these forms are about to go, one form at a time."""
    for k, number in enumerate(numbers):
        runs.sent(book, run, number, number, digest=f"{number:064x}", length=1800, k=k)


def see(
    book: Book,
    run: int,
    *,
    good: Iterable[int] = (),
    spoiled: dict[int, str] | None = None,
    missing: dict[int, str] | None = None,
    blank: Iterable[int] = (),
) -> None:
    """Somebody has looked at the paper."""
    runs.seen(book, run, runs.Seen(tuple(good), spoiled or {}, missing or {}, tuple(blank)), how="confirm")


def print_good(book: Book, batch: int, first: int, count: int = 0) -> list[int]:
    """A batch printed without any trouble. Gives the numbers of its good cheques."""
    run, numbers = start(book, batch, first, count)
    send(book, run, numbers)
    runs.finished(book, run)
    see(book, run, good=numbers)
    return numbers


def printed(folder: Path, count: int = 6, first: str = "100501", last: str = "100600") -> tuple[Book, int, list[int]]:
    """A book with a box of forms and a batch of good cheques."""
    book = begin(folder)
    stock.receive(book, account="main", form=FORM, first=first, last=last)
    batch = accept(book, payday(count))
    return book, batch, print_good(book, batch, int(first))


@contextmanager
def refused(kind: type[Refusal], *words: str) -> Iterator[None]:
    """What is done inside is refused, in one message that has these words."""
    with pytest.raises(kind) as caught:
        yield
    message = str(caught.value)
    assert type(caught.value) is kind
    for word in words:
        assert word in message, f"{word!r} is not in: {message}"


def texts(faults: Iterable[Fault]) -> str:
    """Faults as they are shown."""
    return "\n".join(map(str, faults))
