"""Registers: one file per kind, each yielding the same Payments and the same kind of Faults.

A reader is a function of a binary stream; it never seeks, so that standard input works, and never holds
the whole file. `judge` (in `cheque.register.judge`) checks what any reader yields.
"""

from collections.abc import Callable, Iterator
from typing import BinaryIO, NamedTuple

from cheque.errors import Fault
from cheque.payment import Payment


class Reading(NamedTuple):
    """What a reader must know: the file's name for messages, the account's currency, the hash column."""

    source: str
    currency: str
    hash_column: str = "employee"
    #: a date for lines that carry none (ISO), or ""
    date: str = ""


#: A reader yields a Payment for each line that can be read and a Fault for each thing that cannot.
Reader = Callable[[BinaryIO, Reading], Iterator[Payment | Fault]]
