"""Character tables: which letter stands at which byte, and so what can be printed where.

A table is 256 places. Only places that print one plain letter are kept: no control place (00-1F, 7F, and
80-9F of the ISO tables), no no-break space, no soft hyphen. The code pages and ISO 8859 parts are those of
Python's codecs. The seven-bit national sets are the United States' set with twelve places changed
(ESC/P Reference Manual, 1997, ESC R, from memory), named by the ISO 3166 code of the country.

>>> encode_text("Quillmere £5", "cp437")
b'Quillmere \\x9c5'
>>> unprintable("Łukasz, 5 €", "cp437")
[(0, 'Ł'), (10, '€')]
>>> decode_text(b"5$ {}", "national-de")
'5$ äü'
"""

import re
from functools import cache
from typing import NamedTuple

from cheque.tongue import tr

#: what stands in `Table.letters` where a byte prints nothing we would send
NOTHING = "\ufffd"

_CODECS = {
    "cp437": "cp437",
    "cp850": "cp850",
    "cp852": "cp852",
    "cp858": "cp858",
    "cp866": "cp866",
    "latin-1": "iso8859-1",
    "latin-2": "iso8859-2",
    "latin-9": "iso8859-15",
}
_CHANGED = "#$@[\\]^`{|}~"
#: n of ESC R and the letters at the twelve changed places, by table name
NATIONAL: dict[str, tuple[int, str]] = {
    "ascii": (0, _CHANGED),
    "national-fr": (1, "#$à°ç§^`éùè¨"),
    "national-de": (2, "#$§ÄÖÜ^`äöüß"),
    "national-gb": (3, "£$@[\\]^`{|}~"),
    "national-dk": (4, "#$@ÆØÅ^`æøå~"),
    "national-se": (5, "#¤ÉÄÖÅÜéäöåü"),
    "national-it": (6, "#$@°\\é^ùàòèì"),
    "national-es": (7, "₧$@¡Ñ¿^`¨ñ}~"),
    "national-jp": (8, "#$@[¥]^`{|}~"),
    "national-no": (9, "#¤ÉÆØÅÜéæøåü"),
    "national-dk-2": (10, "#$ÉÆØÅÜéæøåü"),
    "national-es-2": (11, "#$á¡Ñ¿é`íñóú"),
    "national-419": (12, "#$á¡Ñ¿éüíñóú"),
    "national-kr": (13, "#$@[₩]^`{|}~"),
}
#: table name -> what it is, for settings and the documents
TABLES: dict[str, str] = {
    "cp437": "code page 437, United States",
    "cp850": "code page 850, western Europe",
    "cp852": "code page 852, central Europe",
    "cp858": "code page 858, as 850 with the euro sign at D5",
    "cp866": "code page 866, Cyrillic",
    "latin-1": "ISO 8859-1, western Europe",
    "latin-2": "ISO 8859-2, central Europe",
    "latin-9": "ISO 8859-15, as ISO 8859-1 with the euro sign at A4",
    "ascii": "seven bits, United States",
    "national-fr": "seven bits, France",
    "national-de": "seven bits, Germany",
    "national-gb": "seven bits, United Kingdom",
    "national-dk": "seven bits, Denmark, first set",
    "national-se": "seven bits, Sweden",
    "national-it": "seven bits, Italy",
    "national-es": "seven bits, Spain, first set",
    "national-jp": "seven bits, Japan",
    "national-no": "seven bits, Norway",
    "national-dk-2": "seven bits, Denmark, second set",
    "national-es-2": "seven bits, Spain, second set",
    "national-419": "seven bits, Latin America",
    "national-kr": "seven bits, Korea",
}


class Table(NamedTuple):
    """One table, ready for use. `letters[b]` is the letter at byte b, or NOTHING."""

    letters: str
    #: letter -> the character whose number is its byte (what `str.translate` wants)
    places: dict[int, str]
    #: finds a letter that is not in the table
    missing: re.Pattern[str]
    #: True when 20-7E print as in ASCII
    ascii: bool


@cache
def table_of(name: str, national: str = "") -> Table:
    """The table of that name, its places below 80 as the national set has them; KeyError for no such table.

    A seven-bit set by name gives its own places, unless another `national` set is asked for.
    """
    codec = _CODECS.get(name)
    changes = NATIONAL[national or ("ascii" if codec else name)][1]
    low = {ord(place): letter for place, letter in zip(_CHANGED, changes, strict=True)}
    letters = "".join(
        low.get(b, chr(b)) if b < 0x80 else bytes([b]).decode(codec) if codec else NOTHING for b in range(256)
    )
    letters = "".join(c if c.isprintable() and c != NOTHING else NOTHING for c in letters)
    places: dict[int, str] = {}
    for place, letter in enumerate(letters):
        if letter != NOTHING:
            places.setdefault(ord(letter), chr(place))
    missing = re.compile("[^" + re.escape("".join(map(chr, places))) + "]")
    return Table(letters, places, missing, changes == _CHANGED)


def unprintable(text: str, table: str) -> list[tuple[int, str]]:
    """Every letter of `text` that `table` cannot print, with its place in the text (from 0)."""
    found = table_of(table)
    if found.ascii and text.isascii() and text.isprintable():
        return []
    return [(match.start(), match.group()) for match in found.missing.finditer(text)]


def encode_text(text: str, table: str) -> bytes:
    """The bytes that print `text`. ValueError, naming the letters, when some are not in the table."""
    return as_bytes(text, table_of(table)).encode("latin-1")


def decode_text(data: bytes, table: str) -> str:
    """What the bytes print. ValueError when one of them prints nothing we would send."""
    text = as_letters(data.decode("latin-1"), table_of(table))
    if NOTHING in text:
        raise ValueError(
            tr("byte {byte:02X} is no letter of table {table}", byte=data[text.index(NOTHING)], table=table)
        )
    return text


def as_bytes(text: str, table: Table) -> str:
    """Letters to characters numbered as their bytes. ValueError as `encode_text`."""
    wrong = table.missing.findall(text)
    if wrong:
        letters = ", ".join(map(repr, dict.fromkeys(wrong)))
        raise ValueError(tr("{letters} in {text!r} not in the table", letters=letters, text=text))
    return text.translate(table.places)


def as_letters(data: str, table: Table) -> str:
    """The inverse of `as_bytes`; NOTHING stands where a byte is no letter."""
    return data.translate(table.letters)
