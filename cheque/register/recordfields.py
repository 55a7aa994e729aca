"""One field of a record to plain text, and back: what `cheque.register.layout` describes, as functions.

A reader of a field is given the record twice, as bytes and as text, with the same positions in both; it gives plain
text (digits, a point, a leading minus; a date of ISO 8601; a text without outer blanks), or raises Unread.
"""

from collections.abc import Callable
from unicodedata import normalize

from cheque.money import AmountError, digits
from cheque.register.characters import shown
from cheque.register.dates import ISO, date_pattern
from cheque.register.layout import Field, holds
from cheque.register.mapped import amount_text, date_text, decimal_text
from cheque.register.maps import Map
from cheque.register.rows import Unread
from cheque.register.zoned import read_packed, read_zoned, write_packed, write_zoned, zoned_bytes, zoned_text
from cheque.tongue import tr

#: a record's bytes and its text to the plain text of a field
ReadField = Callable[[bytes, str], str]
_COMMA_IS_POINT = str.maketrans(",.", ".,")
_MINUS = {"-": True, "+": False, " ": False}


def field_reader(field: Field, by: Map, currency: str, *, ebcdic: bool) -> ReadField:
    """The function that reads a field."""
    sort = holds(field.column)
    picture = field.picture
    if picture is None or picture.kind == "text":
        return _text_reader(field, by, currency, sort)
    taken = _digits_taken(field, by, ebcdic=ebcdic)
    to_plain = _plain_of(field, sort, currency)
    # a number that is blank is nothing, unless blank is how the file writes zero
    blank = to_plain("0" * picture.digits, False) if field.blank_when_zero and sort != "date" else ""

    def read(raw: bytes, text: str) -> str:
        number = taken(raw, text)
        return blank if number is None else to_plain(*number)

    return read


def _text_reader(field: Field, by: Map, currency: str, sort: str) -> ReadField:
    start, end = field.at, field.at + field.width
    if sort == "text":

        def read_text(raw: bytes, text: str) -> str:
            found = text[start:end].strip(" ")
            if found.isascii():
                return found
            if "\ufffd" in found:
                raise Unread(
                    tr("bytes that are no character there"), tr("text in the encoding of the map"), tr("correct either")
                )
            return normalize("NFC", found)

        return read_text
    zero = "0" if field.blank_when_zero and sort != "date" else ""
    convert = {
        "money": amount_text(by.marks, currency),
        "decimal": decimal_text(by.marks),
        "date": date_text(field.date or date_pattern(ISO)),
        "count": _count,
    }[sort]

    def read(raw: bytes, text: str) -> str:
        found = text[start:end].strip(" ")
        if not found:
            return zero
        return "" if sort == "date" and not found.strip("0") else convert(found)

    return read


def _count(text: str) -> str:
    if not (text.isascii() and text.isdigit() and len(text) <= 18):
        raise Unread(shown(text), tr("a whole number of at most 18 digits"), tr("correct it, or the map"))
    return text


def _digits_taken(field: Field, by: Map, *, ebcdic: bool) -> Callable[[bytes, str], tuple[str, bool] | None]:
    """The function that takes the digits out of a record, and their sign; None where all is blank."""
    picture = field.picture
    assert picture
    start, end, width = field.at, field.at + field.width, field.width
    as_zoned = ebcdic and picture.kind == "number"

    def take(raw: bytes, text: str) -> tuple[str, bool] | None:
        if field.packed:
            if not raw[start:end].strip(b"\x40" if ebcdic else b" "):
                return None
            return read_packed(raw[start:end])
        found = zoned_text(raw[start:end].ljust(width, b"\x40")) if as_zoned else text[start:end].ljust(width)
        if not found.strip(" "):
            return None
        if picture.kind == "edited":
            return picture.read(_edited_text(found, by))
        return _signed(found, field.sign or "trailing", signed=picture.signed)

    def told(raw: bytes, text: str) -> tuple[str, bool] | None:
        try:
            number = take(raw, text)
            if number and field.packed:
                number = _packed_digits(number[0], picture.digits), number[1]
            if number and number[1] and not picture.signed:
                raise ValueError
        except ValueError:
            found = (
                tr("bytes {hex}", hex=raw[start:end].hex(" ")) if field.packed or as_zoned else shown(text[start:end])
            )
            found = tr("{found} at positions {start} to {end}", found=found, start=start + 1, end=end)
            wanted = f"{picture.text}, {(tr('packed') if field.packed else tr('as the map says'))}"
            raise Unread(found, wanted, tr("correct it, or the map")) from None
        return number

    return told


def _signed(text: str, sign: str, *, signed: bool) -> tuple[str, bool]:
    """Plain digits with their sign, wherever it is."""
    if not signed:
        if not (text.isdigit() and text.isascii()):
            raise ValueError(tr("not digits"))
        return text, False
    if sign.endswith("separate"):
        mark, body = (text[0], text[1:]) if sign.startswith("leading") else (text[-1], text[:-1])
        if mark not in _MINUS or not (body.isdigit() and body.isascii()):
            raise ValueError(tr("not digits with a sign"))
        return body, _MINUS[mark]
    return read_zoned(text, leading=sign == "leading")


def _packed_digits(found: str, wanted: int) -> str:
    """Packed digits come in odd numbers; the one too many is zero."""
    if len(found) > wanted and found[0] != "0":
        raise ValueError(tr("too many digits"))
    return found[-wanted:]


def _edited_text(text: str, by: Map) -> str:
    """A number edited for people, as the picture has it: the currency's sign a dollar's, the point a point."""
    if by.marks.currency_sign:
        text = text.replace(by.marks.currency_sign, "$")
    return text.translate(_COMMA_IS_POINT) if by.marks.point == "," else text


def _plain_of(field: Field, sort: str, currency: str) -> Callable[[str, bool], str]:
    """The function that makes plain text of digits and sign."""
    picture = field.picture
    assert picture
    places = picture.places
    decimals = digits(currency) if sort == "money" else places

    def number(found: str, negative: bool) -> str:
        whole, part = (found[:-places], found[-places:]) if places else (found, "")
        if len(part) > decimals and part[decimals:].strip("0"):
            wanted = tr("an exact {currency} amount, with {decimals} decimals", currency=currency, decimals=decimals)
            raise Unread(f"{whole.lstrip('0') or '0'}.{part}", wanted, tr("ask who made the file"))
        part = part[:decimals].ljust(decimals, "0")
        sign = "-" if negative and found.strip("0") else ""
        return f"{sign}{whole.lstrip('0') or '0'}.{part}" if decimals else f"{sign}{whole.lstrip('0') or '0'}"

    def whole_number(found: str, negative: bool) -> str:
        if negative and found.strip("0"):
            raise Unread(f"-{found}", tr("a number that is not negative"), tr("ask who made the file"))
        return found.lstrip("0") or "0"

    def day(found: str, negative: bool) -> str:
        pattern = field.date
        assert pattern
        if not found.strip("0"):
            return ""
        if found[: -pattern.width].strip("0"):
            raise Unread(found, tr("a date as {text}", text=pattern.text), tr("correct it, or the map"))
        return date_text(pattern)(found[-pattern.width :])

    return number if sort in ("money", "decimal") else day if sort == "date" else whole_number


def write_field(field: Field, text: str, by: Map, currency: str, *, ebcdic: bool) -> str | bytes:
    """The field's characters, or its bytes where they are no characters, for plain text. ValueError when it cannot."""
    sort = holds(field.column)
    picture = field.picture
    if picture is None or picture.kind == "text":
        return _written_text(field, text, by, currency, sort)
    if not text or (field.blank_when_zero and not text.strip("-0.") and sort != "date"):
        return (b"\x40" if ebcdic else b" ") * field.width if field.packed else " " * field.width
    negative, found = _digits_of(field, text, sort)
    if field.packed:
        return write_packed(found.rjust(field.width * 2 - 1, "0"), negative, signed=picture.signed)
    if picture.kind == "edited":
        made = picture.write(found, negative)
        made = made.translate(_COMMA_IS_POINT) if by.marks.point == "," else made
        return made.replace("$", by.marks.currency_sign) if by.marks.currency_sign else made
    if field.sign.endswith("separate"):
        mark = "-" if negative else "+"
        made = mark + found if field.sign.startswith("leading") else found + mark
    else:
        made = write_zoned(found, negative, leading=field.sign == "leading", signed=picture.signed)
    return zoned_bytes(made) if ebcdic else made


def _digits_of(field: Field, text: str, sort: str) -> tuple[bool, str]:
    """Sign and digits of plain text, as many as the picture has. ValueError when they do not fit exactly."""
    picture = field.picture
    assert picture
    if sort == "date":
        assert field.date
        text = field.date.write(text)
    whole, _, part = text.removeprefix("-").partition(".")
    whole = whole.lstrip("0")
    extra = part[picture.places :]
    found = (whole + part[: picture.places].ljust(picture.places, "0")).rjust(picture.digits, "0")
    if extra.strip("0") or len(found) > picture.digits or not found.isdigit():
        raise ValueError(tr("{text!r} does not fit {picture}", text=text, picture=picture.text))
    return text.startswith("-"), found


def _written_text(field: Field, text: str, by: Map, currency: str, sort: str) -> str:
    try:
        if text and sort == "money":
            from cheque.money import parse

            text = by.marks.write_amount(parse(text, currency), currency).rjust(field.width)
        elif text and sort == "decimal":
            text = by.marks.write_decimal(text).rjust(field.width)
        elif text and sort == "date":
            text = (field.date or date_pattern(ISO)).write(text)
        elif sort == "count":
            text = text.rjust(field.width)
    except AmountError as error:
        raise ValueError(str(error)) from None
    if len(text) > field.width:
        raise ValueError(tr("{text!r} is longer than {width}", text=text, width=field.width))
    return text.ljust(field.width)
