"""The names that were ever paid, and a search through them: each once, by the database itself.

A name is found by any part of it, capitals or not (`str.casefold`: "strasse" finds "Straße"). A database knows the
capitals of ASCII only, and not every one the same of the others. So it is asked for the names in which every ASCII
letter of what is wanted stands as it should, with any letter where another one is wanted; those few are then compared
here. That misses no name, but for one with a letter of `ODD`, which becomes several when it is folded, or an ASCII one:
names with such a letter are all compared here.

Names are few beside payments, because the same people are paid again: each stands once under `fresh` 1 or 2 in the
index of `claim`. (An index of every three letters of every name would find them in no time, at 200 bytes a name: more
than the book has to spare for a payment.)
"""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cheque.book.book import Reader

#: ranges of the letters that fold into several, or into an ASCII one (Unicode's CaseFolding.txt, status F, and K, ſ)
_RANGES = (
    (0xDF, 0xDF),
    (0x130, 0x130),
    (0x149, 0x149),
    (0x17F, 0x17F),
    (0x1F0, 0x1F0),
    (0x390, 0x390),
    (0x3B0, 0x3B0),
    (0x587, 0x587),
    (0x1E96, 0x1E9A),
    (0x1E9E, 0x1E9E),
    (0x1F50, 0x1F50),
    (0x1F52, 0x1F52),
    (0x1F54, 0x1F54),
    (0x1F56, 0x1F56),
    (0x1F80, 0x1FAF),
    (0x1FB2, 0x1FB4),
    (0x1FB6, 0x1FB7),
    (0x1FBC, 0x1FBC),
    (0x1FC2, 0x1FC4),
    (0x1FC6, 0x1FC7),
    (0x1FCC, 0x1FCC),
    (0x1FD2, 0x1FD3),
    (0x1FD6, 0x1FD7),
    (0x1FE2, 0x1FE4),
    (0x1FE6, 0x1FE7),
    (0x1FF2, 0x1FF4),
    (0x1FF6, 0x1FF7),
    (0x1FFC, 0x1FFC),
    (0x212A, 0x212A),
    (0xFB00, 0xFB06),
    (0xFB13, 0xFB17),
)
ODD = "".join(chr(code) for first, last in _RANGES for code in range(first, last + 1))
_ODD = re.compile(f"[{ODD}\0]")
#: in SQL, a column of a payment being written: 0 when its payee was paid before; places: the values of `fresh` below
FRESH = "CASE WHEN EXISTS (SELECT 1 FROM claim o WHERE o.fresh IN (1, 2) AND o.payee = ?) THEN 0 ELSE ? END"
#: what is compared by the database is cut to this, or it may be too long for it
_LONGEST = 200


def fresh(payee: str) -> tuple[str, int]:
    """The two values that `FRESH` wants for a payee."""
    return payee, 1 if payee.isascii() or not _ODD.search(payee) else 2


def with_part(reader: "Reader", part: str) -> Iterator[str]:
    """Every name that has this part, capitals or not, each once."""
    wanted = part.casefold()
    rows = reader.stream(
        "SELECT payee FROM claim WHERE fresh = 1 AND lower(payee) LIKE ? ESCAPE '!' "
        "UNION ALL SELECT payee FROM claim WHERE fresh = 2",
        f"%{''.join(_pattern(letter) for letter in wanted[:_LONGEST])}%",
    )
    return (payee for (payee,) in rows if wanted in payee.casefold())


def _pattern(letter: str) -> str:
    """What stands for a letter in LIKE: itself when it is of ASCII, else any."""
    return f"!{letter}" if letter in "%_!" else letter if letter.isascii() else "_"
