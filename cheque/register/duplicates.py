"""Duplicate payments: the key by which payments are the same, and a lean memory of the keys seen.

Two payments are the same when payee, amount, date and reference are (and the account, which the book adds).
Names that differ only in capital letters are the same name.
"""

from array import array
from hashlib import blake2b

from cheque.payment import Payment

_START = 1 << 10


def duplicate_key(payment: Payment) -> bytes:
    """Eight bytes that are the same for the same payment: BLAKE2b (RFC 7693) over its four facts.

    Unlike payments share a key once in about 2**64 pairs; a million payments hold a false duplicate with a
    chance of 3 in a hundred million, and then it can be allowed by name.
    """
    facts = (payment.payee.casefold(), str(payment.amount), payment.date, payment.reference)
    return blake2b("\0".join(facts).encode(errors="surrogatepass"), digest_size=8).digest()


class Seen:
    """Keys and the line each was first seen on: an open hash table of plain integers, 24 to 48 bytes a key.

    >>> seen = Seen()
    >>> seen.first(b"ABCDEFGH", 2), seen.first(b"ABCDEFGH", 7)
    (0, 2)
    """

    def __init__(self) -> None:
        self._resize(_START)

    def _resize(self, size: int) -> None:
        self._keys = array("Q", bytes(8 * size))
        self._lines = array("I", bytes(4 * size))
        self._mask = size - 1
        self._count = 0

    def first(self, key: bytes, line: int) -> int:
        """The line on which the key was first seen, or 0 now that it is seen first, on this line."""
        number = int.from_bytes(key, "big") or 1  # 0 marks an empty place
        earlier = self._put(number, line)
        if self._count * 2 > self._mask:
            self._grow()
        return earlier

    def _put(self, number: int, line: int) -> int:
        keys, mask = self._keys, self._mask
        place = number & mask
        while keys[place]:
            if keys[place] == number:
                return self._lines[place]
            place = (place + 1) & mask
        keys[place] = number
        self._lines[place] = line
        self._count += 1
        return 0

    def _grow(self) -> None:
        old_keys, old_lines = self._keys, self._lines
        self._resize(2 * (self._mask + 1))
        for number, line in zip(old_keys, old_lines, strict=True):
            if number:
                self._put(number, line)
