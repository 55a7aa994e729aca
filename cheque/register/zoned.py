"""Signed digits of host files: zoned (one digit a character, the sign punched over one) and packed decimal.

Zoned: the last digit (or the first) carries the sign in its zone. +0 … +9 are `{ABCDEFGHI` (C0–C9 in EBCDIC), -0 …
-9 are `}JKLMNOPQR` (D0–D9), and a plain digit (F0–F9) is unsigned. In EBCDIC the bytes are read, not the letters:
some code pages show C0 and D0 as other characters. Packed: two digits a byte, the sign in the low half of the
last: A, C, E and F are plus, B and D minus; C and D are what is written for signed numbers, F for unsigned.
Source: manuals of the host languages.

>>> read_zoned("0008637I"), read_zoned("0000860}"), write_zoned("00008600", True)
(('00086379', False), ('00008600', True), '0000860}')
>>> read_packed(bytes.fromhex("086379"+"0C")), write_packed("0086379", True, signed=True).hex()
(('0863790', False), '0086379d')
"""

from cheque.tongue import tr

POSITIVE = "{ABCDEFGHI"
NEGATIVE = "}JKLMNOPQR"
_SIGNED = {letter: (str(digit), False) for digit, letter in enumerate(POSITIVE)}
_SIGNED |= {letter: (str(digit), True) for digit, letter in enumerate(NEGATIVE)}
_SIGNED |= {digit: (digit, False) for digit in "0123456789"}
_MINUS_NIBBLES = "bd"
_SIGN_NIBBLES = "abcdef"


def _zones() -> bytes:
    """EBCDIC bytes to the characters above, whatever the code page; anything else to a question mark."""
    table = bytearray(b"?" * 256)
    for digit in range(10):
        table[0xC0 + digit] = ord(POSITIVE[digit])
        table[0xD0 + digit] = ord(NEGATIVE[digit])
        table[0xF0 + digit] = ord("0") + digit
    table[0x40] = ord(" ")
    table[0x4E], table[0x60] = ord("+"), ord("-")
    return bytes(table)


ZONES = _zones()


def zoned_text(raw: bytes) -> str:
    """EBCDIC bytes of a zoned field as the characters of this module."""
    return raw.translate(ZONES).decode("ascii")


def zoned_bytes(text: str) -> bytes:
    """The characters of this module as EBCDIC bytes."""
    table = {character: byte for byte, character in enumerate(ZONES.decode("ascii")) if character != "?"}
    return bytes(table[character] for character in text)


def read_zoned(text: str, *, leading: bool = False) -> tuple[str, bool]:
    """The digits, and whether they are negative. ValueError when a character is neither digit nor sign."""
    if not text:
        raise ValueError(tr("no digits"))
    signed, rest = (text[0], text[1:]) if leading else (text[-1], text[:-1])
    if signed not in _SIGNED or (rest and not (rest.isascii() and rest.isdigit())):
        raise ValueError(tr("not zoned digits"))
    digit, negative = _SIGNED[signed]
    return (digit + rest if leading else rest + digit), negative


def write_zoned(digits: str, negative: bool, *, leading: bool = False, signed: bool = True) -> str:
    """Digits with the sign punched over the last (or first). ValueError for a negative where there is no sign."""
    if not signed:
        if negative:
            raise ValueError(tr("a negative number in a field without a sign"))
        return digits
    marks = NEGATIVE if negative else POSITIVE
    if leading:
        return marks[int(digits[0])] + digits[1:]
    return digits[:-1] + marks[int(digits[-1])]


def read_packed(raw: bytes) -> tuple[str, bool]:
    """The digits of a packed number, and whether it is negative. ValueError when a half byte is neither."""
    text = raw.hex()
    digits, sign = text[:-1], text[-1:]
    if not digits.isdigit() or sign not in _SIGN_NIBBLES or not sign:
        raise ValueError(tr("not packed digits"))
    return digits, sign in _MINUS_NIBBLES


def write_packed(digits: str, negative: bool, *, signed: bool) -> bytes:
    """An odd number of digits as packed decimal. ValueError for a negative where there is no sign."""
    if negative and not signed:
        raise ValueError(tr("a negative number in a field without a sign"))
    return bytes.fromhex(digits + ("d" if negative else "c" if signed else "f"))
