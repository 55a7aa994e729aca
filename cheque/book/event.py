"""What happened, as a chain of events whose form is fixed for good.

An event is `seq, at, who, station, kind, body, prev, digest`. The body is text: canonical JSON (keys sorted by
code point, no spaces, nothing escaped but quotation mark, backslash and control characters; text, whole numbers
of 64 bits, lists and tables only). The digest is SHA-256 over a tag and the other seven, each as its length in
bytes and its UTF-8 bytes, so that no two different events are hashed alike; `prev` is the digest before.

>>> canonical({"reason": "torn", "first": 7, "last": 7})
'{"first":7,"last":7,"reason":"torn"}'
>>> digest_of(1, "", "", "", "", "ab", "") == digest_of(1, "", "", "", "a", "b", "")
False
"""

import hashlib
import json
from collections.abc import Iterable
from typing import Any, NamedTuple

from cheque.tongue import tr

FORMAT = 1
GENESIS = "0" * 64
_TAG = b"cheque event 1\n"
_LARGEST = 2**63 - 1


class Event(NamedTuple):
    """One event. `at` is UTC, ISO 8601, to the millisecond; `digest` and `prev` are 64 hexadecimal digits."""

    seq: int
    at: str
    who: str
    station: str
    kind: str
    body: str
    prev: str
    digest: str

    @property
    def data(self) -> dict[str, Any]:
        """The body, read."""
        found: dict[str, Any] = json.loads(self.body)
        return found


def canonical(body: dict[str, Any]) -> str:
    """The one text of a body.

    TypeError when it holds anything but text, whole numbers, lists and tables; ValueError when a text has half
    of a surrogate pair (bytes that were no text, let through by the system) or a number needs over 64 bits.
    """
    _only_plain(body)
    return json.dumps(body, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def digest_of(seq: int, at: str, who: str, station: str, kind: str, body: str, prev: str) -> str:
    """The digest that an event with these parts must have."""
    hasher = hashlib.sha256(_TAG)
    for part in (str(seq), at, who, station, kind, body, prev):
        data = part.encode()
        hasher.update(b"%d:" % len(data))
        hasher.update(data)
    return hasher.hexdigest()


class ListDigest:
    """SHA-256 over a tag and numbered texts in order, each with its length: what an event keeps of a list.

    An event does not hold the payments of a batch or the pages of a proof: they are written once, beside the
    chain, and the event keeps this digest of them.
    """

    def __init__(self, tag: str) -> None:
        self._hasher = hashlib.sha256(f"cheque {tag} 1\n".encode())

    def add(self, item: int, text: str) -> None:
        """Add one text."""
        data = text.encode()
        self._hasher.update(b"%d:%d:" % (item, len(data)))
        self._hasher.update(data)

    def hex(self) -> str:
        """The digest of what was added so far, 64 hexadecimal digits."""
        return self._hasher.hexdigest()


def payments_digest(rows: Iterable[tuple[int, str]]) -> str:
    """The digest that an accepted batch keeps of its payments: (item, canonical text), in register order."""
    return _list_digest("payments", rows)


def pages_digest(rows: Iterable[tuple[int, str]]) -> str:
    """The digest that a proof's event keeps of its page digests: (item, text), in register order."""
    return _list_digest("pages", rows)


def packed(digests: str) -> bytes:
    """SHA-256 digests in hexadecimal, blanks between, as their bytes. ValueError when it is anything else."""
    data = bytes.fromhex(digests)
    if not data or len(data) % 32 or unpacked(data) != digests:
        raise ValueError(
            tr("{digests!r} is not digests of 64 lower-case hexadecimal digits with blanks between", digests=digests)
        )
    return data


def unpacked(data: bytes) -> str:
    """The text that `packed` made bytes of."""
    return " ".join(data[place : place + 32].hex() for place in range(0, len(data), 32))


def _list_digest(tag: str, rows: Iterable[tuple[int, str]]) -> str:
    digest = ListDigest(tag)
    for item, text in rows:
        digest.add(item, text)
    return digest.hex()


def _only_plain(value: Any) -> None:
    if isinstance(value, dict):
        for key, inner in value.items():
            if not isinstance(key, str):
                raise TypeError(f"a key of an event's body is {key!r}, not text")
            _only_plain(key)
            _only_plain(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            _only_plain(inner)
    elif isinstance(value, str):
        if not value.isascii() and any("\ud800" <= letter <= "\udfff" for letter in value):
            raise ValueError(tr("{value!a} is not text: it holds bytes of another encoding", value=value))
    elif isinstance(value, bool) or not isinstance(value, int):
        raise TypeError(f"an event's body holds {value!r}; it may hold text and whole numbers only")
    elif not -_LARGEST <= value <= _LARGEST:
        raise ValueError(tr("{value} is too large a number for the book", value=value))
