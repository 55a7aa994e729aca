"""Cells of a spreadsheet, and what they hold as plain text: amounts, numbers and dates, exact or refused."""

import re
from datetime import date, timedelta
from decimal import Decimal
from typing import NamedTuple
from unicodedata import normalize

from cheque.register.characters import shown
from cheque.register.rows import Unread
from cheque.register.xlsxparts import Format
from cheque.tongue import tr

#: significant digits that a spreadsheet keeps of a number
KEPT_DIGITS = 15
_ISO = re.compile(r"(\d{4}-\d{2}-\d{2})(?:T00:00:00(?:\.0+)?Z?)?", re.ASCII)


class Cell(NamedTuple):
    """A cell: its type ("text", "number", "date", "iso", "truth", "error", "nothing"), its text, its format.

    The text of an error says what it is.
    """

    type: str
    text: str
    format: Format = Format()
    formula: bool = False


NOTHING = Cell("nothing", "")


def text_cell(text: str, *, formula: bool = False) -> Cell:
    """A cell of text; nothing for an empty one."""
    text = normalize("NFC", text).strip(" ")
    return Cell("text", text, formula=formula) if text else NOTHING


def unread(cell: Cell, wanted: str) -> Unread:
    """What a cell of the wrong type is refused as."""
    kinds = {
        "date": tr("a date"),
        "iso": tr("a date"),
        "truth": tr("the truth value {text}", text=cell.text),
        "number": tr("a number"),
    }
    return Unread(kinds.get(cell.type, cell.text), wanted, tr("correct the cell, or its format"))


def shortest_of(cell: Cell) -> Decimal:
    """The decimal of fewest digits that is the same number. Unread when a spreadsheet cannot have kept it."""
    number = float(cell.text)
    shortest = Decimal(repr(number)).normalize() if abs(number) < 1e30 else Decimal("NaN")
    if not shortest.is_finite() or len(shortest.as_tuple().digits) > KEPT_DIGITS or shortest.adjusted() > 20:
        found = tr("the number {text}", text=cell.text[:40])
        raise Unread(
            found,
            tr("at most {kept_digits} digits, all that a spreadsheet keeps", kept_digits=KEPT_DIGITS),
            tr("make the cell text"),
        )
    return shortest


def amount_of(cell: Cell, places: int, currency: str) -> str:
    """An amount with the currency's decimals. Unread when it has more."""
    shortest = shortest_of(cell)
    exponent = shortest.as_tuple().exponent
    assert isinstance(exponent, int)
    if -exponent > places:
        wanted = tr("an exact {currency} amount, with {places} decimals", currency=currency, places=places)
        raise Unread(f"{shortest:f}", wanted, tr("round it in the spreadsheet, or ask who made it"))
    return f"{shortest:.{places}f}"


def decimal_of(cell: Cell) -> str:
    """A number with the digits that its format shows, and any more that it has."""
    shortest = shortest_of(cell)
    exponent = shortest.as_tuple().exponent
    assert isinstance(exponent, int)
    text = f"{abs(shortest):.{max(-exponent, cell.format.places, 0)}f}"
    whole, point, part = text.partition(".")
    return ("-" if shortest < 0 else "") + whole.rjust(cell.format.whole, "0") + point + part


def day_of(cell: Cell, *, from_1904: bool) -> str:
    """A date by its number of days (ECMA-376, 18.17.4): 1900 had no 29 February, though it is counted as 60."""
    if cell.type == "iso":
        if match := _ISO.fullmatch(cell.text):
            return match[1]
        raise Unread(shown(cell.text), tr("a date"), tr("format the cell as a date"))
    if cell.type != "date":
        wanted = tr("a date, or text as the map says")
        raise Unread(
            tr("the number {text}", text=cell.text[:40]) if cell.type == "number" else unread(cell, "").found, wanted
        )
    days = float(cell.text)
    if not days.is_integer() or not 0 <= days < 2_958_466 or (not from_1904 and days in (0, 60)):
        raise Unread(
            tr("the day {text}", text=cell.text[:40]), tr("a real date, without a time"), tr("correct the cell")
        )
    begin = date(1904, 1, 1) if from_1904 else date(1899, 12, 31) if days < 60 else date(1899, 12, 30)
    try:
        return (begin + timedelta(int(days))).isoformat()
    except OverflowError:
        raise Unread(tr("the day {text}", text=cell.text[:40]), tr("a real date"), tr("correct the cell")) from None


def column_place(letters: str) -> int:
    """A column's place from 0 by its letters.

    >>> column_place("A"), column_place("AB")
    (0, 27)
    """
    place = 0
    for letter in letters:
        place = place * 26 + ord(letter) - 64
    return place - 1


def column_letters(place: int) -> str:
    """A column's letters by its place from 0."""
    letters = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
