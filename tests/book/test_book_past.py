"""The book as of a moment: what it said then, whatever the zone of the one who asks and the health of clocks."""

import os
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from book.quillmere import FORM, Clock, begin, print_good, printed, refused
from book.server import on_both_by_our_clock as on_both_by_our_clock
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.book import batches, cheques, runs, stock, story, verify
from cheque.book.book import Book, written
from cheque.errors import BookRefused


class Set(Clock):
    """A clock that says what it is set to."""

    def __call__(self) -> datetime:
        return self.now


def kept(folder: Path, *moments: datetime) -> Book:
    """A book with one spoiled form for each moment, in this order: forms 1, 2, 3 …"""
    clock = Set(moments[0])
    book = begin(folder)
    book.clock = clock
    stock.receive(book, account="main", form=FORM, first="1", last="99")
    with book.change():
        for number, moment in enumerate(moments, 1):
            clock.now = moment
            stock.spoil(book, account="main", first=number, last=number, reason="torn")
    return book


def spoiled(reader: verify.Reader) -> int:
    return int(reader.value("SELECT coalesce(sum(forms), 0) FROM tally WHERE state = 'spoiled'"))


def at(hour: int, minute: int = 0, second: int = 0, micro: int = 0) -> datetime:
    return datetime(2026, 11, 27, hour, minute, second, micro, tzinfo=UTC)


def test_the_book_as_of_a_moment_is_what_it_said_then(tmp_path: Path) -> None:
    book, batch, numbers = printed(tmp_path)
    then = datetime.fromisoformat(book.head.at)
    identity, head = book.identity, book.head
    cheques.void(book, account="main", number=numbers[1], reason="wrong hours", paper="in hand")
    reprint = cheques.accept_reprint(book, cheques.reprint_source(book, "main", numbers[1]))
    print_good(book, reprint, 100520)
    past = verify.as_of(book, then)
    assert past.head == head
    assert past.identity == identity
    assert cheques.get(past, "main", numbers[1]).state == "printed"  # type: ignore[union-attr]
    assert cheques.get(past, "main", 100520) is None
    assert [b.id for b in batches.every(past)] == [batch]
    assert runs.of_batch(past, reprint) == []
    assert batches.page_digests(past, batch) == batches.page_digests(book, batch)
    assert past.content(batches.get(past, batch).form_digest) == book.content(batches.get(book, batch).form_digest)
    assert [e.kind for e in story.history(past, "main", numbers[1])][-1] == "paper.seen"
    assert story.links(past, "main", numbers[1]) == (None, None)
    assert len(story.search(past, "Bryn Marlow")) == 1
    assert verify.identities(past) == []


def test_now_is_the_book_itself(tmp_path: Path) -> None:
    book = kept(tmp_path, at(9), at(10))
    assert spoiled(verify.as_of(book, at(11))) == 2
    assert verify.as_of(book, at(11)).head == book.head


def test_before_the_book_was_begun_there_is_nothing_to_show(tmp_path: Path) -> None:
    book = kept(tmp_path, at(9))
    with refused(BookRefused, "the book was not begun by 2026-11-26T08:00:00.000Z"):
        verify.as_of(book, at(8) - timedelta(days=1))


@pytest.mark.parametrize("hours", [-11, -5, 0, 5.5, 13])
def test_a_moment_is_the_same_in_every_zone(tmp_path: Path, hours: float) -> None:
    book = kept(tmp_path, at(9), at(10), at(11))
    zone = timezone(timedelta(hours=hours))
    assert spoiled(verify.as_of(book, at(10).astimezone(zone))) == 2
    assert spoiled(verify.as_of(book, (at(10) - timedelta(milliseconds=1)).astimezone(zone))) == 1


def test_what_happened_in_the_millisecond_asked_for_is_in(tmp_path: Path) -> None:
    book = kept(tmp_path, at(10, 0, 0, 499_900), at(10, 0, 0, 500_000), at(10, 0, 0, 500_900), at(10, 0, 0, 501_000))
    assert spoiled(verify.as_of(book, at(10, 0, 0, 500_000))) == 3
    assert spoiled(verify.as_of(book, at(10, 0, 0, 499_999))) == 1


@pytest.fixture
def in_quillmere() -> Iterator[None]:
    """A machine whose local time is five hours behind UTC, four in summer."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = "QST5QDT4,M3.2.0,M11.1.0"  # the form is that of POSIX, Base Definitions, 8.3
    time.tzset()
    yield
    if before is None:
        del os.environ["TZ"]
    else:
        os.environ["TZ"] = before
    time.tzset()


@pytest.mark.usefixtures("in_quillmere")
def test_a_moment_of_no_zone_is_this_machines_local_time(tmp_path: Path) -> None:
    assert written(datetime(2026, 11, 27, 23, 59, 59)) == "2026-11-28T04:59:59.000Z"
    assert written(datetime(2026, 7, 1, 12)) == "2026-07-01T16:00:00.000Z"
    book = kept(tmp_path, datetime(2026, 11, 28, 3, tzinfo=UTC), datetime(2026, 11, 28, 5, 30, tzinfo=UTC))
    assert spoiled(verify.as_of(book, datetime(2026, 11, 27, 23, 59, 59))) == 1
    assert spoiled(verify.as_of(book, datetime(2026, 11, 28, 0, 30))) == 2


@pytest.mark.usefixtures("in_quillmere")
def test_the_hour_that_comes_twice_in_autumn_is_two_hours() -> None:
    assert written(datetime(2026, 11, 1, 1, 30)) == "2026-11-01T05:30:00.000Z"
    assert written(datetime(2026, 11, 1, 1, 30, fold=1)) == "2026-11-01T06:30:00.000Z"


def test_a_clock_that_was_ahead_for_a_while_hides_nothing_that_came_after(tmp_path: Path) -> None:
    """Form 2 was entered while the clock said 2062; what followed is there all the same."""
    book = kept(tmp_path, at(9), at(9).replace(year=2062), at(10), at(11), at(12))
    assert spoiled(verify.as_of(book, at(11, 30))) == 4
    assert spoiled(verify.as_of(book, at(9, 30))) == 1


def test_a_clock_that_was_behind_for_a_while_shows_nothing_before_its_time(tmp_path: Path) -> None:
    """Form 4 was entered while the clock said 1970, as it does when its battery is empty."""
    book = kept(tmp_path, at(9), at(10), at(11), datetime(1970, 1, 1, tzinfo=UTC), at(12))
    assert spoiled(verify.as_of(book, at(9, 30))) == 1
    assert spoiled(verify.as_of(book, at(12, 30))) == 5


@settings(deadline=None, max_examples=15)
@given(st.lists(st.integers(0, 600), min_size=1, max_size=8), st.integers(0, 605))
def test_with_good_clocks_the_cut_is_between_what_is_not_later_and_what_is(
    tmp_path_factory: pytest.TempPathFactory, minutes: list[int], asked: int
) -> None:
    times = [at(9) + timedelta(minutes=m) for m in (0, *sorted(minutes))]
    moment = at(9) + timedelta(minutes=asked)
    with kept(tmp_path_factory.mktemp("past"), *times) as book:
        assert spoiled(verify.as_of(book, moment)) == sum(t <= moment for t in times)


def test_the_past_is_not_written_to(tmp_path: Path) -> None:
    book = kept(tmp_path, at(9), at(10))
    past = verify.as_of(book, at(9))
    if book.server:  # what is looked at is a copy
        past.store.execute("DELETE FROM source.event")
    else:
        with refused(BookRefused, "cannot be written"):
            past.store.execute("DELETE FROM source.touch")
    assert verify.verify(book) == []
