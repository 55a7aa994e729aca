"""Registers: one file per kind, each yielding the same Payments and the same kind of Faults.

A reader is a function of a binary stream; it never seeks, so that standard input works, and never holds
the whole file. `judge` (in `cheque.register.judge`) checks what any reader yields. A new kind of register is
one more module with the names of `RegisterKind` below, and one more line in `KINDS`.

What every reader promises, so that the same payments from any kind of file are the same batch:

- texts are in Unicode normalisation form C and have no blanks at either end;
- stub lines stand in the order of `cheque.payment.Kind` (earnings, deductions, employer's, invoices, notes)
  and, within a kind, in the order of the file; lines with nothing in them are left out;
- a payment of zero, or one paid by transfer, has the role of advice;
- `item` counts the payments from 1, those that could not be read included.
"""

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, BinaryIO, NamedTuple, Protocol, cast

from cheque.errors import Fault, InputRefused, UsageRefused
from cheque.payment import Payment
from cheque.tongue import mark, tr

if TYPE_CHECKING:
    from cheque.register.maps import Map
    from cheque.register.rows import Row

#: kind of register -> module of this package, in the order in which their contents are tried
KINDS = {"csv": "csvfile", "fixed-width": "fixedwidth", "pain.001": "pain001", "xlsx": "xlsxfile"}

_HEAD = 512
#: what a register is called that has no name
STANDARD_INPUT = mark("standard input")


def unsaid(statement: str) -> None:
    """What a reader states is not wanted."""


class Reading(NamedTuple):
    """What a reader must know: the file's name for messages, the account's currency, the hash column."""

    source: str
    currency: str
    #: the column summed for the hash total; "" for none
    hash_column: str = "employee"
    #: a date for lines that carry none (ISO), or ""
    date: str = ""
    #: columns that are known to be there and not wanted
    ignore: tuple[str, ...] = ()
    #: told what the reader found out by itself (the separator, the encoding), one sentence each
    state: Callable[[str], None] = unsaid
    #: the kind of register; "" to go by the map, the file's name or its beginning
    kind: str = ""
    #: how somebody else's file is to be read
    map: "Map | None" = None
    #: the sheet of a spreadsheet, when it is not the first
    sheet: str = ""
    #: the encoding of a file of text, when it is not told by its first bytes
    encoding: str = ""


@dataclass(frozen=True, slots=True)
class LineFault(Fault):
    """The last fault of a line, with what could be read of the line, so that the rest is still judged.

    Amounts that could not be read are 0 or missing in `rest`: only checks that look at no amount apply.
    """

    rest: Payment | None = None


#: A reader yields a Payment for each line that can be read and a Fault for each thing that cannot.
Reader = Callable[[BinaryIO, Reading], Iterator[Payment | Fault]]


class RegisterKind(Protocol):
    """A module of this package that reads one kind of register."""

    #: file name suffixes, in small letters: (".csv", …)
    suffixes: tuple[str, ...]

    def looks_like(self, head: bytes) -> bool:
        """Whether a file that begins with these bytes can be of this kind."""
        ...

    def read(self, stream: BinaryIO, reading: Reading) -> Iterator[Payment | Fault]:
        """The payments and faults of a register, one by one, in its order."""
        ...


def kind_of(source: str, head: bytes = b"", kind: str = "") -> RegisterKind:
    """The reader's module: by `kind` if given, else by the suffix of the file's name, else by its beginning.

    Raises UsageRefused, naming the kinds there are, when none fits.
    """
    if kind:
        if kind in KINDS:
            return _module(kind)
        raise UsageRefused(
            tr("There is no kind of register called {kind!r}; there are: {kinds}.", kind=kind, kinds=", ".join(KINDS))
        )
    suffix = source[source.rfind(".") :].lower() if "." in source else ""
    for name in KINDS:  # one after the other: a reader is imported only when it may be needed
        if suffix in _module(name).suffixes:
            return _module(name)
    for name in KINDS:
        if _module(name).looks_like(head):
            return _module(name)
    raise UsageRefused(
        tr(
            "{source} is no kind of register that can be read: neither its name nor its beginning tells. "
            "Kinds: {kinds}; name it with --kind if it is one of them.",
            source=source,
            kinds=", ".join(KINDS),
        )
    )


def _module(name: str) -> RegisterKind:
    return cast(RegisterKind, import_module(f"{__name__}.{KINDS[name]}"))


def name_of_kind(reading: Reading, head: bytes = b"") -> str:
    """The name of the kind of register that a reading is of: as it was named, by its map, or as `kind_of` finds it."""
    named, mapped = reading.kind, reading.map.kind if reading.map else ""
    if named and mapped and named != mapped:
        raise UsageRefused(
            tr(
                "{source} cannot be {named}: its map is for {mapped}.",
                source=reading.source,
                named=named,
                mapped=mapped,
            )
        )
    module = kind_of(reading.source, head, named or mapped)
    return next(name for name in KINDS if _module(name) is module)


def read_register(stream: BinaryIO, reading: Reading, kind: str = "") -> Iterator[Payment | Fault]:
    """Read a register of whatever kind from a binary stream, which may be standard input.

    >>> text = b"payee,amount,date\\nNiamh O'Dunmarrow,812.40,2026-11-27\\n"
    >>> next(read_register(io.BytesIO(text), Reading("payday.csv", "USD"))).amount
    81240
    """
    module, peekable, reading = _opened(stream, reading, kind)
    return module.read(peekable, reading)


def read_rows(stream: BinaryIO, reading: Reading) -> "Iterator[Row | Payment | Fault]":
    """As `read_register`, but a line that is not read yet is a Row, where the kind of register has rows.

    What `Row.items` then gives in its place is what `read_register` yields: it can be asked in another process.
    """
    module, peekable, reading = _opened(stream, reading)
    rows: Callable[[BinaryIO, Reading], Iterator[Row | Payment | Fault]] = getattr(module, "rows", module.read)
    return rows(peekable, reading)


def _opened(stream: BinaryIO, reading: Reading, kind: str = "") -> tuple[RegisterKind, BinaryIO, Reading]:
    """The reader's module, and what it is to read how."""
    peekable = stream if hasattr(stream, "peek") else io.BufferedReader(cast(io.RawIOBase, stream))
    head = cast(io.BufferedReader, peekable).peek(_HEAD)[:_HEAD]
    reading = reading._replace(kind=kind or reading.kind)
    if not head and reading.source == STANDARD_INPUT and not (reading.kind or reading.map):
        raise InputRefused(tr("{standard_input} is empty: no register came.", standard_input=tr(STANDARD_INPUT)))
    name = name_of_kind(reading, head)
    if reading.sheet and name != "xlsx":
        raise UsageRefused(
            tr("--sheet names a sheet of a spreadsheet, and {source} is {kind}.", source=reading.source, kind=name)
        )
    return _module(name), peekable, reading
