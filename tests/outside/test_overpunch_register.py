"""Signed digits of host files against the published tables, and EBCDIC code pages against another library.

Zoned and packed decimal: "+0 … +9 = { A … I (C0–C9), -0 … -9 = } J … R (D0–D9), unsigned F0–F9"; "low nibble of the
last byte: A C E F plus, B D minus; C, D written, F unsigned". Source: manuals of the host languages. The tables below
are written out from that, and share nothing with the package. Code pages: GNU iconv, whose tables are its own.
"""

import io
import shutil
import subprocess

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.errors import Fault
from cheque.payment import Payment
from cheque.register import Reading, encodings, maps, read_register
from cheque.register.zoned import read_packed, read_zoned, write_packed, write_zoned, zoned_bytes, zoned_text

PUBLISHED = [
    ("{", 0xC0, +1, 0), ("A", 0xC1, +1, 1), ("B", 0xC2, +1, 2), ("C", 0xC3, +1, 3), ("D", 0xC4, +1, 4),
    ("E", 0xC5, +1, 5), ("F", 0xC6, +1, 6), ("G", 0xC7, +1, 7), ("H", 0xC8, +1, 8), ("I", 0xC9, +1, 9),
    ("}", 0xD0, -1, 0), ("J", 0xD1, -1, 1), ("K", 0xD2, -1, 2), ("L", 0xD3, -1, 3), ("M", 0xD4, -1, 4),
    ("N", 0xD5, -1, 5), ("O", 0xD6, -1, 6), ("P", 0xD7, -1, 7), ("Q", 0xD8, -1, 8), ("R", 0xD9, -1, 9),
    ("0", 0xF0, +1, 0), ("1", 0xF1, +1, 1), ("2", 0xF2, +1, 2), ("3", 0xF3, +1, 3), ("4", 0xF4, +1, 4),
    ("5", 0xF5, +1, 5), ("6", 0xF6, +1, 6), ("7", 0xF7, +1, 7), ("8", 0xF8, +1, 8), ("9", 0xF9, +1, 9),
]  # fmt: skip
PLUS, MINUS = "ACEF", "BD"

MAP = """
kind = "fixed-width"
encoding = "{encoding}"
record_length = {length}
[[record]]
what = "payment"
fields.payee = {{ at = 1, width = 5 }}
fields.date = {{ at = 6, pattern = "YYYYMMDD" }}
fields.amount = {{ at = 14, picture = "S9(5)V99" {how} }}
"""


def amount_of(field: bytes, encoding: str, how: str) -> int | None:
    """Minor units of an amount read by the reader from the very bytes; None where it is refused."""
    by = maps.load(MAP.format(encoding=encoding, length=13 + len(field), how=how), "map.toml")
    data = "Ay Li20261127".encode(encoding) + field
    (found,) = read_register(io.BytesIO(data), Reading("host", "USD", map=by))
    return found.amount if isinstance(found, Payment) else None


@pytest.mark.parametrize(("letter", "byte", "sign", "digit"), PUBLISHED)
def test_every_zoned_digit_of_the_table_is_read(letter: str, byte: int, sign: int, digit: int) -> None:
    for encoding in ("cp037", "cp500", "cp1140", "cp273", "cp1026"):
        assert amount_of(b"\xf0\xf0\xf1\xf2\xf3\xf4" + bytes([byte]), encoding, "") == sign * (12340 + digit)
        leading = bytes([byte]) + b"\xf0\xf1\xf2\xf3\xf4\xf5"
        assert amount_of(leading, encoding, ', sign = "leading"') == sign * (digit * 10**6 + 12345)
    for encoding in ("ascii", "cp1252", "cp437"):
        assert amount_of(b"001234" + letter.encode(), encoding, "") == sign * (12340 + digit)


def test_every_other_byte_is_no_zoned_digit() -> None:
    known = {byte for _, byte, _, _ in PUBLISHED}
    for byte in set(range(256)) - known:
        assert amount_of(b"\xf0\xf0\xf1\xf2\xf3\xf4" + bytes([byte]), "cp037", "") is None
    letters = {letter for letter, _, _, _ in PUBLISHED}
    for code in set(range(0x21, 0x7F)) - set(map(ord, letters)):
        assert amount_of(b"001234" + bytes([code]), "ascii", "") is None


def test_some_code_pages_show_the_zones_as_letters_and_the_bytes_are_read_all_the_same() -> None:
    assert b"\xc0\xd0".decode("cp273") == "äü"
    assert amount_of(b"\xf0\xf0\xf0\xf0\xf1\xf2\xd0", "cp273", "") == -120


def test_what_is_written_is_what_the_table_says() -> None:
    for letter, byte, sign, digit in PUBLISHED[:20]:
        assert write_zoned(f"12{digit}", sign < 0) == f"12{letter}"
        assert zoned_bytes(write_zoned(f"12{digit}", sign < 0)) == b"\xf1\xf2" + bytes([byte])
        assert write_zoned(f"{digit}12", sign < 0, leading=True) == f"{letter}12"
        assert read_zoned(zoned_text(bytes([byte]))) == (str(digit), sign < 0)


@pytest.mark.parametrize("nibble", "0123456789ABCDEF")
def test_every_sign_of_packed_decimal_is_read(nibble: str) -> None:
    found = amount_of(bytes.fromhex("0012345" + nibble), "cp037", ', usage = "packed"')
    assert found == (12345 if nibble in PLUS else -12345 if nibble in MINUS else None)


def test_a_packed_digit_above_nine_is_refused() -> None:
    for nibble in "ABCDEF":
        assert amount_of(bytes.fromhex(f"00123{nibble}5C"), "cp037", ', usage = "packed"') is None


@settings(max_examples=200, deadline=None)
@given(st.integers(-(10**17) + 1, 10**17 - 1))
def test_packed_decimal_written_digit_by_digit_is_the_same(number: int) -> None:
    """By hand: each digit a half byte, then C or D."""
    digits = str(abs(number)).rjust(17, "0")
    halves = [int(digit) for digit in digits] + [0xD if number < 0 else 0xC]
    raw = bytes(16 * high + low for high, low in zip(halves[::2], halves[1::2], strict=True))
    assert write_packed(digits, number < 0, signed=True) == raw
    assert read_packed(raw) == (digits, number < 0)
    assert write_packed(digits, negative=False, signed=False)[-1] & 0xF == 0xF


PAGES = {"cp037": "IBM037", "cp273": "IBM273", "cp500": "IBM500", "cp1026": "IBM1026", "cp1140": "IBM1140"}
#: where the two libraries do not agree: a macron or an overline, a cedilla or an ogonek standing alone
DISAGREE = {"cp273": {0xBC}, "cp1026": {0x9D, 0xBC}}


@pytest.mark.parametrize(("page", "name"), PAGES.items())
def test_a_code_page_is_the_same_in_another_library(page: str, name: str) -> None:
    """All but the controls, of which libraries differ in NEL and LF (15 and 25 hex), as they say themselves."""
    if not shutil.which("iconv"):
        pytest.skip("no iconv here")
    every = bytes(range(0x40, 0xFF))
    done = subprocess.run(["iconv", "-f", name, "-t", "UTF-8"], input=every, capture_output=True, check=True)
    pairs = zip(every, done.stdout.decode(), every.decode(page), strict=True)
    assert {byte for byte, theirs, ours in pairs if theirs != ours} == DISAGREE.get(page, set())


def test_the_code_pages_differ_where_the_tables_say() -> None:
    """CP037 and CP500 differ at 4A 4F 5A 5F B0 BA BB; CP1140 is CP037 with 9F = €; newline 15 is U+0085."""
    differ = [byte for byte in range(256) if bytes([byte]).decode("cp037") != bytes([byte]).decode("cp500")]
    assert differ == [0x4A, 0x4F, 0x5A, 0x5F, 0xB0, 0xBA, 0xBB]
    euro = [byte for byte in range(256) if bytes([byte]).decode("cp037") != bytes([byte]).decode("cp1140")]
    assert euro == [0x9F]
    assert b"\x9f".decode("cp1140") == "€"
    for page in PAGES:
        assert encodings.family(page) == "ebcdic"
        assert b"\x15".decode(page) == "\u0085"


def test_a_line_of_ebcdic_ends_in_nel_or_in_lf() -> None:
    by = maps.load(MAP.format(encoding="cp037", length=20, how="").replace("record_length = 20\n", ""), "map.toml")
    line = "Ay Li20261127001234A".encode("cp037")
    for end in (b"\x15", b"\x25", b"\x0d\x25", b"\x0d\x15"):
        found = list(read_register(io.BytesIO((line + end) * 3), Reading("host", "USD", map=by)))
        assert not [str(item) for item in found if isinstance(item, Fault)]
        assert [item.amount for item in found if isinstance(item, Payment)] == [12341] * 3
