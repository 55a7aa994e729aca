"""What does not fit in memory: pieces of bytes in a file without a name, gone with the one who wrote them."""

import os
import tempfile
import weakref
from collections.abc import Iterator
from pathlib import Path


class Spill:
    """Pieces, each written whole and read back in blocks, several side by side.

    The file has no name, so that nobody else reads it and nothing is left behind, not even by a kill; it lies in
    `folder`, or where the system keeps temporary files. It is made when it is first needed.

    >>> spill = Spill()
    >>> spill.add(b"one"), spill.add(b"two")
    (None, None)
    >>> [b"".join(piece) for piece in spill.pieces()]
    [b'one', b'two']
    """

    def __init__(self, folder: Path | None = None, block: int = 8_192) -> None:
        self._folder, self._block = folder, block
        self._descriptor = -1
        self._ends = [0]

    def __len__(self) -> int:
        return len(self._ends) - 1

    def add(self, piece: bytes) -> None:
        """Put a piece by."""
        if self._descriptor < 0:
            file = tempfile.TemporaryFile(dir=self._folder)  # noqa: SIM115 - closed when this object goes
            weakref.finalize(self, file.close)
            self._descriptor = file.fileno()
        place = self._ends[-1]
        left = memoryview(piece)
        while left:
            written = _write_at(self._descriptor, left, place)
            left, place = left[written:], place + written
        self._ends.append(place)

    def pieces(self) -> list[Iterator[bytes]]:
        """Every piece, as its blocks; none of the blocks is empty."""
        return [self._blocks(first, end) for first, end in zip(self._ends[:-1], self._ends[1:], strict=True)]

    def _blocks(self, place: int, end: int) -> Iterator[bytes]:
        while place < end:
            block = _read_at(self._descriptor, min(self._block, end - place), place)
            yield block
            place += len(block)

    def lines(self) -> Iterator[str]:
        """The lines of all pieces, one piece after the other; each piece is text in UTF-8 of whole lines."""
        for piece in self.pieces():
            yield from lines_of(piece)


def _write_at(descriptor: int, data: memoryview, place: int) -> int:
    if hasattr(os, "pwrite"):
        return os.pwrite(descriptor, data, place)
    os.lseek(descriptor, place, os.SEEK_SET)  # nobody but us has it open
    return os.write(descriptor, data)


def _read_at(descriptor: int, size: int, place: int) -> bytes:
    if hasattr(os, "pread"):
        return os.pread(descriptor, size, place)
    os.lseek(descriptor, place, os.SEEK_SET)
    return os.read(descriptor, size)


def lines_of(blocks: Iterator[bytes]) -> Iterator[str]:
    """The lines of one piece, without their ends; its text holds no line end but the one after each."""
    rest = b""
    for block in blocks:
        *lines, rest = (rest + block).split(b"\n")
        for line in lines:
            yield line.decode()
