"""Payments that are there twice in one register: the keys by which they are the same, and a lean memory of keys seen.

Two payments are the same when payee, amount, date and reference are (and the account, which the book adds).
Names that differ only in capital letters are the same name. They are nearly the same when payee and amount are.
"""

import heapq
from array import array
from collections.abc import Iterator
from hashlib import blake2b
from itertools import starmap
from struct import Struct

from cheque.payment import Payment
from cheque.spill import Spill

_START = 1 << 10
#: keys that are held at once; beyond, sorted pieces of them go to a file
_HELD = 1 << 13
_ENTRY = Struct(">QQ")
_BLOCK = _ENTRY.size * 512


def duplicate_key(payment: Payment) -> bytes:
    """Eight bytes that are the same for the same payment: BLAKE2b (RFC 7693) over its four facts.

    Unlike payments share a key once in about 2**64 pairs; a million payments hold a false duplicate with a
    chance of 3 in a hundred million, and then it can be allowed by name.
    """
    facts = (payment.payee.casefold(), str(payment.amount), payment.date, payment.reference)
    return blake2b("\0".join(facts).encode(errors="surrogatepass"), digest_size=8).digest()


def near_key(payment: Payment) -> bytes:
    """Eight bytes that are the same for the same payee and amount."""
    facts = f"{payment.payee.casefold()}\0{payment.amount}"
    return blake2b(facts.encode(errors="surrogatepass"), digest_size=8).digest()


class Seen:
    """Keys, and a whole number above nought with each: the first that was seen with it, or the `latest`.

    An open hash table of plain integers. When it is full (`held` keys), its keys go sorted into a file without a name,
    so that memory does not grow; what is the same in two pieces comes out at the end, from `across`.

    >>> seen = Seen()
    >>> seen.put(b"ABCDEFGH", 2), seen.put(b"ABCDEFGH", 7)
    (0, 2)
    """

    def __init__(self, *, latest: bool = False, held: int = _HELD) -> None:
        self._latest, self._held = latest, held
        self._pieces = Spill(block=_BLOCK)
        self._resize(_START)

    def _resize(self, size: int) -> None:
        self._keys = array("Q", bytes(8 * size))
        self._values = array("Q", bytes(8 * size))
        self._mask = size - 1
        self._count = 0

    def put(self, key: bytes, value: int) -> int:
        """The number that is held with the key, or 0 now that it is seen first (or again, since a piece was put by)."""
        number = int.from_bytes(key, "big") or 1  # 0 marks an empty place
        earlier = self._put(number, value)
        if self._count >= self._held:
            self._put_by()
        elif self._count * 2 > self._mask:
            self._grow()
        return earlier

    def _put(self, number: int, value: int) -> int:
        keys, mask = self._keys, self._mask
        place = number & mask
        while keys[place]:
            if keys[place] == number:
                earlier = self._values[place]
                if self._latest:
                    self._values[place] = value
                return earlier
            place = (place + 1) & mask
        keys[place] = number
        self._values[place] = value
        self._count += 1
        return 0

    def _grow(self) -> None:
        old_keys, old_values = self._keys, self._values
        self._resize(2 * (self._mask + 1))
        for number, value in zip(old_keys, old_values, strict=True):
            if number:
                self._put(number, value)

    def _put_by(self) -> None:
        self._pieces.add(b"".join(starmap(_ENTRY.pack, self._sorted())))
        self._resize(_START)

    def _sorted(self) -> list[tuple[int, int]]:
        return sorted((key, value) for key, value in zip(self._keys, self._values, strict=True) if key)

    def across(self) -> Iterator[tuple[int, int]]:
        """Pairs of numbers, later and earlier, with one key in two pieces; nothing where all was held at once."""
        if not self._pieces:
            return
        earlier_key = earlier_value = 0
        for key, value in heapq.merge(self._sorted(), *map(_entries, self._pieces.pieces())):
            if key == earlier_key:
                yield max(value, earlier_value), min(value, earlier_value)
                if not self._latest:
                    continue
            earlier_key, earlier_value = key, value


def _entries(blocks: Iterator[bytes]) -> Iterator[tuple[int, int]]:
    return (entry for block in blocks for entry in _ENTRY.iter_unpack(block))
