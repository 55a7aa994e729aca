"""What happened, as a chain of events whose form is fixed for good.

An event is `seq, at, who, station, kind, body, prev, digest`. The body is text: canonical JSON (keys sorted,
no spaces, strings, whole numbers, lists and tables only). The digest is SHA-256 over the other seven, each as
its length and its bytes, so that no two different events are hashed alike; `prev` is the digest before.
"""

import hashlib
import json
from typing import Any, NamedTuple

FORMAT = 1
_TAG = b"cheque-event-1"
GENESIS = "0" * 64


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
    """The one text of a body. TypeError when it holds anything but strings, whole numbers, lists, tables."""
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


def _only_plain(value: Any) -> None:
    if isinstance(value, dict):
        for key, inner in value.items():
            if not isinstance(key, str):
                raise TypeError(f"a key of an event's body is {key!r}, not text")
            _only_plain(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            _only_plain(inner)
    elif isinstance(value, bool) or not isinstance(value, str | int):
        raise TypeError(f"an event's body holds {value!r}; it may hold text and whole numbers only")
