"""The parts of a spreadsheet file (ECMA-376, SpreadsheetML) that a register needs, opened with bounds.

A spreadsheet is a zip of XML parts. What a part may unpack to is bounded, absolutely and by how much it was packed, so
that a small file cannot become an endless one; so are the number of parts, the texts shared between cells, and the
formats. Nothing outside the file is followed, and no formula is computed.
"""

import io
import re
import struct
import tempfile
import zipfile
import zlib
from array import array
from collections.abc import Iterator, Sized
from typing import BinaryIO, NamedTuple, cast

from cheque.register.characters import shown
from cheque.register.xmlread import Event, Node, XmlRefused, events
from cheque.tongue import tr

#: bytes of a file, and of one part unpacked; a part may also be so many times as long as it was packed
LARGEST_FILE, LARGEST_PART, MOST_TIMES = 1 << 29, 1 << 32, 250
_ALWAYS_ALLOWED = 1 << 20
MOST_PARTS, LARGEST_DIRECTORY = 2_000, 1 << 20
#: bytes of all the texts shared between cells, and how many formats of cells
MOST_SHARED, MOST_FORMATS = 1 << 28, 65_536
_CHUNK = 1 << 16
_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_")
_DATES = frozenset({14, 15, 16, 17, 22, *range(27, 37), *range(50, 59)})
_BUILT_IN = {1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00"}
_PLAIN_FORMAT = re.compile(r"(#,##)?(0+)(?:\.(0{1,10}))?")
_QUOTED = re.compile(r'"[^"]*"|\\.|_.|\*.|\[[^\]]*\]')
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    OSError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    struct.error,
)


class NotXlsx(Exception):
    """The file is not a spreadsheet that can be read: what was found, wanted, and what to do."""

    def __init__(self, found: str, wanted: str = "", do: str = "") -> None:
        super().__init__(found)
        self.found = found
        self.wanted, self.do = wanted or tr("a spreadsheet (.xlsx)"), do or tr("save it again as .xlsx")


class Format(NamedTuple):
    """How a cell shows its number: as a date, or with so many digits at least before and after the point."""

    date: bool = False
    whole: int = 1
    places: int = 0


class Sheet(NamedTuple):
    """A sheet's name and the part it is in."""

    name: str
    part: str


class _Part(io.RawIOBase):
    """A part of the zip, unpacked as it is read, and no further than is allowed."""

    def __init__(self, stream: BinaryIO, name: str, allowed: int) -> None:
        self._stream, self._name, self._left = stream, name, allowed

    def readable(self) -> bool:
        """It can be read."""
        return True

    def read(self, size: int = -1) -> bytes:
        """Some of it. NotXlsx when it is too much, or damaged."""
        try:
            piece = self._stream.read(_CHUNK if size < 0 else size)
        except _BROKEN:
            raise NotXlsx(tr("a damaged part {name}", name=self._name)) from None
        self._left -= len(piece)
        if self._left < 0:
            raise NotXlsx(
                tr("a part {name} that unpacks to far more than it should", name=self._name),
                tr("an ordinary spreadsheet"),
            )
        return piece


class Workbook:
    """A spreadsheet file, open."""

    def __init__(self, stream: BinaryIO) -> None:
        self._copy = None if stream.seekable() else _copied(stream)
        self._zip = _opened(self._copy or stream)
        self._names = {info.filename.lstrip("/"): info for info in self._zip.infolist()}
        book = self._target("_rels/.rels", "officeDocument", "")
        self._folder = book.rpartition("/")[0]
        self._relations = self._related(
            f"{self._folder}/_rels/{book.rpartition('/')[2]}.rels".lstrip("/"), self._folder
        )
        self.sheets: list[Sheet] = []
        self.from_1904 = False
        for event in self._events(book, ("workbook",), ("workbook", "sheets")):
            if event.node and event.node.name == "sheet" and event.inside == "sheets":
                self.sheets.append(self._sheet(event.node))
                _few(self.sheets, tr("more than {count} sheets", count=MOST_PARTS))
            elif event.node and event.node.name == "workbookPr":
                self.from_1904 = event.node.attributes.get("date1904", "0") in ("1", "true", "on")

    def close(self) -> None:
        """Let go of what was opened here."""
        self._zip.close()
        if self._copy:
            self._copy.close()

    def _sheet(self, node: Node) -> Sheet:
        key = next((value for name, value in node.attributes.items() if name.endswith(" id")), "")
        return Sheet(node.attributes.get("name", ""), self._relations.get(key, ("", ""))[1])

    def part(self, name: str) -> BinaryIO:
        """A part, to be read. NotXlsx when there is none, or it is packed in a way that is not taken."""
        info = self._names.get(name)
        if info is None:
            raise NotXlsx(tr("no part {name}", name=shown(name)))
        if info.flag_bits & 1:
            raise NotXlsx(
                tr("a file locked by a password"), tr("one that can be read"), tr("save it without a password")
            )
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise NotXlsx(tr("a part {name} packed in an unusual way", name=shown(name)))
        allowed = min(LARGEST_PART, max(_ALWAYS_ALLOWED, info.compress_size * MOST_TIMES))
        try:
            return cast(BinaryIO, _Part(cast(BinaryIO, self._zip.open(info)), shown(name), allowed))
        except (*_BROKEN, KeyError):
            raise NotXlsx(tr("a damaged part {name}", name=shown(name))) from None

    def _events(self, name: str, *containers: tuple[str, ...]) -> Iterator[Event]:
        try:
            yield from events(self.part(name), frozenset(containers))
        except XmlRefused as refused:
            raise NotXlsx(
                tr("a part {name} with {found}", name=shown(name), found=refused.found), refused.wanted
            ) from None

    def _related(self, name: str, folder: str) -> dict[str, tuple[str, str]]:
        """Relations of a part by their identifiers: the last word of their type, and the part they lead to."""
        found: dict[str, tuple[str, str]] = {}
        if name not in self._names:
            return found
        for event in self._events(name, ("Relationships",)):
            if event.node and event.node.attributes.get("TargetMode", "Internal") == "Internal":
                target = event.node.attributes.get("Target", "")
                path = target.lstrip("/") if target.startswith("/") else f"{folder}/{target}".lstrip("/")
                kind = event.node.attributes.get("Type", "").rpartition("/")[2]
                found[event.node.attributes.get("Id", "")] = (kind, path)
                _few(found, tr("more than {count} relations", count=MOST_PARTS))
        return found

    def _target(self, relations: str, kind: str, folder: str) -> str:
        parts = [path for what, path in self._related(relations, folder).values() if what == kind]
        if not parts:
            raise NotXlsx(tr("a zip file that holds no workbook"))
        return parts[0]

    def _other(self, kind: str) -> str:
        return next((path for what, path in self._relations.values() if what == kind), "")

    def shared(self) -> "Shared":
        """The texts that cells share."""
        found = Shared()
        if name := self._other("sharedStrings"):
            for event in self._events(name, ("sst",)):
                if event.node and event.node.name == "si":
                    found.add(rich_text(event.node))
        return found

    def formats(self) -> list[Format]:
        """The format of every style of cells, by its number."""
        codes: dict[int, str] = {}
        found: list[Format] = []
        if not (name := self._other("styles")):
            return found
        inside = (("styleSheet",), ("styleSheet", "numFmts"), ("styleSheet", "cellXfs"))
        for event in self._events(name, *inside):
            if event.node and event.inside == "numFmts":
                codes[_number(event.node.attributes.get("numFmtId", ""))] = event.node.attributes.get("formatCode", "")
            elif event.node and event.inside == "cellXfs":
                number = _number(event.node.attributes.get("numFmtId", ""))
                found.append(format_of(number, codes.get(number, "")))
            if len(found) > MOST_FORMATS or len(codes) > MOST_FORMATS:
                raise NotXlsx(
                    tr("more than {most_formats} formats of cells", most_formats=MOST_FORMATS),
                    tr("an ordinary spreadsheet"),
                )
        return found


class Shared:
    """Texts by number, held closely: their bytes in one piece, and where each ends."""

    def __init__(self) -> None:
        self._bytes = bytearray()
        self._ends = array("Q")

    def add(self, text: str) -> None:
        """One more text."""
        self._bytes += text.encode(errors="replace")
        self._ends.append(len(self._bytes))
        if len(self._bytes) + 8 * len(self._ends) > MOST_SHARED:
            raise NotXlsx(
                tr("more than {most_shared} bytes of text", most_shared=MOST_SHARED),
                tr("a smaller file"),
                tr("divide the register"),
            )

    def get(self, number: int) -> str | None:
        """The text of a number, or None."""
        if not 0 <= number < len(self._ends):
            return None
        begin = self._ends[number - 1] if number else 0
        return self._bytes[begin : self._ends[number]].decode()


def rich_text(node: Node) -> str:
    """The text of a shared or an inline string, without what is only its pronunciation."""
    parts = []
    for child in node.children:
        if child.name == "t":
            parts.append(child.text)
        elif child.name == "r":
            parts += [part.text for part in child.children if part.name == "t"]
    return unescaped("".join(parts))


def unescaped(text: str) -> str:
    """Characters that XML cannot hold stand as _xHHHH_ (ECMA-376, ST_Xstring)."""
    return _ESCAPE.sub(lambda match: chr(int(match[1], 16)), text) if "_x" in text else text


def format_of(number: int, code: str) -> Format:
    """A format by its number (those below 164 are the same everywhere) and its code.

    >>> format_of(14, ""), format_of(164, "0.00"), format_of(165, 'dd"."mm"."yyyy').date
    (Format(date=True, whole=1, places=0), Format(date=False, whole=1, places=2), True)
    """
    code = code or _BUILT_IN.get(number, "")
    if number in _DATES:
        return Format(date=True)
    bare = _QUOTED.sub("", code.partition(";")[0])
    if any(letter in bare.lower() for letter in "yd"):
        return Format(date=True)
    match = _PLAIN_FORMAT.fullmatch(code.partition(";")[0])
    return Format(whole=len(match[2]), places=len(match[3] or "")) if match else Format()


def _few(listed: Sized, found: str) -> None:
    """NotXlsx for more of something than there can be parts."""
    if len(listed) > MOST_PARTS:
        raise NotXlsx(found, tr("an ordinary spreadsheet"))


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else -1


def _copied(stream: BinaryIO) -> BinaryIO:
    """A copy of a stream that cannot go back, on disk."""
    copy = tempfile.TemporaryFile()  # noqa: SIM115 (it is closed with the workbook)
    left = LARGEST_FILE
    while piece := stream.read(_CHUNK):
        left -= len(piece)
        if left < 0:
            copy.close()
            raise NotXlsx(
                tr("more than {largest_file} bytes", largest_file=LARGEST_FILE),
                tr("a smaller file"),
                tr("divide the register"),
            )
        copy.write(piece)
    copy.seek(0)
    return cast(BinaryIO, copy)


def _opened(stream: BinaryIO) -> zipfile.ZipFile:
    """The zip, after a look at how long its list of parts says that it is."""
    try:
        _look_at_directory(stream)
        stream.seek(0)
        return zipfile.ZipFile(stream)
    except _BROKEN:
        raise NotXlsx(tr("no zip file, or a damaged one")) from None


def _look_at_directory(stream: BinaryIO) -> None:
    size = stream.seek(0, io.SEEK_END)
    stream.seek(max(0, size - 66_000))
    tail = stream.read()
    at = tail.rfind(b"PK\x05\x06")
    if at < 0 or len(tail) < at + 22:
        stream.seek(0)
        if stream.read(4) == b"\xd0\xcf\x11\xe0":
            raise NotXlsx(tr("an older spreadsheet (.xls), or one locked by a password"))
        raise zipfile.BadZipFile
    parts, length = struct.unpack("<H", tail[at + 10 : at + 12])[0], struct.unpack("<L", tail[at + 12 : at + 16])[0]
    if tail[max(0, at - 20) : at].startswith(b"PK\x06\x07"):
        where = struct.unpack("<Q", tail[at - 12 : at - 4])[0]
        stream.seek(min(where, size))
        record = stream.read(56)
        if len(record) < 56:
            raise zipfile.BadZipFile
        parts, length = struct.unpack("<QQ", record[32:48])
    if parts > MOST_PARTS or length > LARGEST_DIRECTORY:
        raise NotXlsx(tr("a list of {parts} parts", parts=parts), tr("at most {most_parts}", most_parts=MOST_PARTS))
