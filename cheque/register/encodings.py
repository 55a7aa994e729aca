"""Text encodings of registers: named, or detected where the bytes themselves tell; never guessed.

A byte-order mark tells UTF-8, UTF-16 and UTF-32 apart, and NUL bytes at every other place tell UTF-16 without a
mark. Eight-bit encodings cannot be told from each other (byte E9 hex is é in some and something else in others),
so they are named; what is not named is read as UTF-8, which hardly ever fits by chance, and refused where it is
not. Encodings that change their meaning midway, or hide text behind escapes, are not taken.

>>> named("Windows-1252"), family("cp1252"), family("cp037"), family("utf-16")
('cp1252', 'ascii', 'ebcdic', 'wide')
>>> detect(b"p\\0a\\0y\\0e\\0e\\0,\\0")
'utf-16-le'
"""

import codecs
import io
from functools import cache
from typing import BinaryIO, cast

from cheque.tongue import tr

UTF8 = "utf-8"
#: codecs that are no encoding of a file of text, or whose state runs on from line to line
_UNFIT = frozenset({"utf_7", "idna", "punycode", "unicode_escape", "raw_unicode_escape", "undefined", "hz"})
_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_ASCII = bytes(range(0x20, 0x7F)) + b"\n"
_CHUNK = 65_536
#: bytes that are looked at to detect an encoding or the ends of lines
HEAD = 4_096
_NEXT_LINE = "\x85"


@cache
def named(name: str) -> str:
    """The codec of an encoding a person named; ValueError when there is none or it is not for files.

    >>> named("latin-1")
    'iso8859-1'
    """
    try:
        found = codecs.lookup(name.strip()).name
        "0".encode(found)  # refused for codecs that are no encodings of text
    except (LookupError, UnicodeError, ValueError):
        found = ""
    if not found or found.replace("-", "_") in _UNFIT or found.startswith("iso2022"):
        raise ValueError(tr("{name!r}, no encoding of text files that is known here", name=name))
    return UTF8 if found == "utf-8-sig" else found


@cache
def family(encoding: str) -> str:
    """How a codec's bytes are laid: "ascii" (and what extends it), "ebcdic", or "wide".

    >>> family("utf-8"), family("cp500"), family("cp1140"), family("utf-16-le")
    ('ascii', 'ebcdic', 'ebcdic', 'wide')
    """
    try:
        if _ASCII.decode(encoding) == _ASCII.decode("ascii"):
            return "ascii"
        if bytes(range(0xF0, 0xFA)).decode(encoding) == "0123456789":
            return "ebcdic"
    except UnicodeError:
        pass
    return "wide"


def detect(head: bytes) -> str:
    """The encoding that the beginning of a file shows, or UTF-8."""
    for mark, name in _MARKS:
        if head.startswith(mark):
            return name
    pairs = head[: len(head) // 2 * 2]
    if len(pairs) >= 8:
        first, second = pairs[::2], pairs[1::2]
        if not second.strip(b"\0") and b"\0" not in first:
            return "utf-16-le"
        if not first.strip(b"\0") and b"\0" not in second:
            return "utf-16-be"
    return UTF8


def stated(encoding: str, *, by_name: bool) -> str:
    """What to say about the encoding, for a person: "UTF-8", "cp037 (as named)"."""
    shown = {UTF8: "UTF-8"}.get(encoding, encoding.upper() if encoding.startswith("utf") else encoding)
    return (
        tr("{shown} (as named)", shown=shown)
        if by_name
        else shown
        if encoding == UTF8
        else tr("{shown} (by its first bytes)", shown=shown)
    )


class Transcoded(io.RawIOBase):
    """A stream in any encoding as UTF-8, a piece at a time; what cannot be decoded becomes U+FFFD.

    `ends` are characters that end lines in it besides LF: they are made LF.
    """

    def __init__(self, stream: BinaryIO, encoding: str, ends: str = "") -> None:
        self._stream, self._ends = stream, str.maketrans(dict.fromkeys(ends, "\n"))
        self._decoder = codecs.getincrementaldecoder(encoding)("replace")
        self._ready = b""
        self._finished = False
        self._first = True

    def readable(self) -> bool:
        """It can be read."""
        return True

    def readinto(self, buffer: bytearray) -> int:  # type: ignore[override]
        """As many bytes of UTF-8 as there are and fit; 0 at the end."""
        while not self._ready and not self._finished:
            piece = self._stream.read(_CHUNK)
            self._finished = not piece
            try:
                text = self._decoder.decode(piece, self._finished)
            except UnicodeError:  # UTF-16 or UTF-32 named, and no byte-order mark: nothing of it can be told
                text, self._finished = "\ufffd", True
            if self._first and text:
                self._first = False
                text = text.removeprefix("\ufeff")
            self._ready = text.translate(self._ends).encode(errors="replace")
        some = self._ready[: len(buffer)]
        self._ready = self._ready[len(some) :]
        buffer[: len(some)] = some
        return len(some)


def transcoded(stream: BinaryIO, encoding: str, ends: str = "") -> BinaryIO:
    """The stream as UTF-8; in EBCDIC, NEL (15 hex) ends a line as LF does."""
    if family(encoding) == "ebcdic":
        ends += _NEXT_LINE
    return cast(BinaryIO, io.BufferedReader(Transcoded(stream, encoding, ends)))


def peeked(stream: BinaryIO) -> tuple[BinaryIO, bytes]:
    """The stream, and how it begins, without taking anything from it."""
    peekable = stream if hasattr(stream, "peek") else io.BufferedReader(cast(io.RawIOBase, stream))
    head = cast(io.BufferedReader, peekable).peek(HEAD)[:HEAD]
    return peekable, head
