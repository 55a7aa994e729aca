"""What reports ask of the book besides its numbered forms: its events."""

from collections.abc import Iterable, Iterator

from cheque.book.book import Reader
from cheque.book.event import Event
from cheque.book.schema import BUCKET
from cheque.errors import BookRefused
from cheque.tongue import tr

_EVENT = "e.seq, e.at, e.who, e.station, e.kind, e.body, e.prev, e.digest"


def event(reader: Reader, seq: int) -> Event:
    """One event. BookRefused when it is not there."""
    row = reader.row(f"SELECT {_EVENT} FROM event e WHERE e.seq = ?", seq)
    if row is None:
        raise BookRefused(tr("the book lacks event {seq}: see `cheque book verify`.", seq=seq))
    return Event(*row)


def batch_events(reader: Reader, batch: int, kind: str) -> Iterator[Event]:
    """The events of one kind that speak of a batch, in order."""
    for row in reader.rows(
        f"SELECT {_EVENT} FROM batch_event t JOIN event e ON e.seq = t.seq WHERE t.batch = ? AND e.kind = ? "
        "ORDER BY e.seq",
        batch,
        kind,
    ):
        yield Event(*row)


def number_events(reader: Reader, account: str, number: int, kinds: Iterable[str]) -> Iterator[Event]:
    """The events of some kinds that speak of a number, in order."""
    wanted = list(kinds)
    for row in reader.rows(
        f"SELECT {_EVENT} FROM touch t JOIN event e ON e.seq = t.seq WHERE t.account = ? AND t.bucket = ? "
        f"AND t.first <= ? AND t.last >= ? AND e.kind IN ({', '.join('?' * len(wanted))}) ORDER BY e.seq",
        account,
        number // BUCKET,
        number,
        number,
        *wanted,
    ):
        yield Event(*row)
