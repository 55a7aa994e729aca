"""A PDF file written as it grows: numbered objects, a table of where they stand, nothing kept but that table.

ISO 32000-1: objects (7.3), cross-reference table (7.5.4), trailer (7.5.5). No clock and no random number goes
into a file, so that the same pictures give the same bytes.
"""

import zlib
from array import array
from typing import BinaryIO


class PdfFile:
    """Objects go to `out` as they are added; `out` is written forwards only, and never closed here."""

    def __init__(self, out: BinaryIO) -> None:
        self._out = out
        self._at = 0
        self._places = array("Q", [0])
        self._put(b"%PDF-1.7\n%\xc3\xa4\xc3\xb6\n")

    def _put(self, data: bytes) -> None:
        self._out.write(data)
        self._at += len(data)

    def number(self) -> int:
        """A number for an object that will be added later."""
        self._places.append(0)
        return len(self._places) - 1

    def add(self, body: bytes, number: int = 0) -> int:
        """Write an object, under a number got before or a new one; its number."""
        number = number or self.number()
        self._places[number] = self._at
        self._put(b"%d 0 obj\n%b\nendobj\n" % (number, body))
        return number

    def stream(self, data: bytes, entries: bytes = b"", number: int = 0) -> int:
        """Write a stream, compressed; `entries` are more of its dictionary."""
        packed = zlib.compress(data, 6)
        head = b"<</Length %d/Filter/FlateDecode%b>>" % (len(packed), entries)
        return self.add(head + b"\nstream\n" + packed + b"\nendstream", number)

    def finish(self, root: int, info: int) -> None:
        """Write the table and the trailer. Every number given out must have been used."""
        start = self._at
        count = len(self._places)
        self._put(b"xref\n0 %d\n0000000000 65535 f \n" % count)
        for first in range(1, count, 4096):
            self._put(b"".join(b"%010d 00000 n \n" % place for place in self._places[first : first + 4096]))
        self._put(b"trailer\n<</Size %d/Root %d 0 R/Info %d 0 R>>\n" % (count, root, info))
        self._put(b"startxref\n%d\n%%%%EOF\n" % start)


def text_string(text: str) -> bytes:
    """A text string object (ISO 32000-1, 7.9.2.2), as UTF-16 in hexadecimal."""
    return b"<FEFF" + text.encode("utf-16-be", "replace").hex().upper().encode() + b">"
