"""The pairs digest: one number for who gets how much, whatever the order of the lines.

Sums ignore who gets what: two amounts exchanged between payees pass item count, control total and hash
total. The pairs digest does not. It is SHA-256 (FIPS 180-4) over one line a payment,

    payee TAB amount LF

in UTF-8, payee in Unicode form C, amount in plain digits with the currency's decimals (`812.40`), the lines
sorted by their bytes. So anyone can compute it from a file of such lines with everyday tools:

    LC_ALL=C sort pairs.txt | sha256sum

No payee holds a tab or a line end (a register with one is refused), so two different sets of payments never
give the same lines. A line that is there twice counts twice. A million payments are held as sorted,
compressed pieces, put by in a file without a name, and merged.
"""

import heapq
import zlib
from collections.abc import Iterator
from hashlib import sha256
from itertools import islice

from cheque.money import plain
from cheque.spill import Spill

_PIECE = 8_192
_BLOCK = 8_192


class Pairs:
    """Gathers payee-and-amount pairs in any order; `digest` may be asked at any time.

    >>> pairs = Pairs("USD")
    >>> pairs.add("Niamh O'Dunmarrow", 81240)
    >>> pairs.add("Ay Li", 77)
    >>> pairs.digest() == sha256(b"Ay Li\\t0.77\\nNiamh O'Dunmarrow\\t812.40\\n").hexdigest()
    True
    """

    def __init__(self, currency: str) -> None:
        self._currency = currency
        self._lines: list[bytes] = []
        self._pieces = Spill(block=_BLOCK)

    def add(self, payee: str, amount: int) -> None:
        """Count one payment, in minor units."""
        if not payee.isprintable():  # only in a register that is refused; it must not break the lines
            payee = ascii(payee)
        self._lines.append(f"{payee}\t{plain(amount, self._currency)}".encode())
        if len(self._lines) == _PIECE:
            self._lines.sort()
            self._pieces.add(zlib.compress(b"\n".join(self._lines) + b"\n", 1))
            self._lines = []

    def digest(self) -> str:
        """The digest as 64 hexadecimal digits."""
        lines = heapq.merge(sorted(self._lines), *map(_unpacked, self._pieces.pieces()))
        total = sha256()
        while some := list(islice(lines, 1024)):
            total.update(b"\n".join(some) + b"\n")
        return total.hexdigest()


def _unpacked(blocks: Iterator[bytes]) -> Iterator[bytes]:
    """The lines of a compressed piece, a block at a time, so that all pieces can be open at once."""
    unpacker = zlib.decompressobj()
    rest = b""
    for block in blocks:
        while block:
            *lines, rest = (rest + unpacker.decompress(block, _BLOCK)).split(b"\n")
            block = unpacker.unconsumed_tail
            yield from lines
    yield from (rest + unpacker.flush()).split(b"\n")[:-1]
