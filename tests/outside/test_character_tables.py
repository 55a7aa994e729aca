"""Character tables against tables that are not ours.

Code pages and ISO 8859 parts: GNU libc's converters (`iconv`) and ICU's. National sets: ISO 646 national versions,
as libc has them; a printer's sets (ESC/P Reference Manual, from memory) follow them in part, and each difference
is named here. The euro's and the pound's places: the trade's published facts.
"""

import subprocess

import icu
import pytest

from cheque.language.tables import NATIONAL, NOTHING, encode_text, table_of, unprintable

OUTSIDE = {
    "cp437": "CP437",
    "cp850": "CP850",
    "cp852": "CP852",
    "cp866": "CP866",
    "latin-1": "ISO-8859-1",
    "latin-2": "ISO-8859-2",
    "latin-9": "ISO-8859-15",
}
#: table -> (ISO 646 version in libc, place -> (ours, theirs) where they differ)
ISO_646 = {
    "ascii": ("ISO646-US", {}),
    "national-fr": ("ISO646-FR1", {"#": ("#", "£")}),
    "national-de": ("ISO646-DE", {}),
    "national-gb": ("ISO646-GB", {"~": ("~", "‾")}),
    "national-dk": ("ISO646-DK", {}),
    "national-se": ("ISO646-SE2", {}),
    "national-it": ("ISO646-IT", {"#": ("#", "£"), "@": ("@", "§"), "\\": ("\\", "ç")}),
    "national-es": (
        "ISO646-ES",
        {"#": ("₧", "£"), "@": ("@", "§"), "{": ("¨", "°"), "}": ("}", "ç")},
    ),
    "national-jp": ("ISO646-JP", {"~": ("~", "‾")}),
    "national-kr": ("ISO646-KR", {}),
}


def iconv(data, name):
    return subprocess.run(
        ["iconv", "-f", name, "-t", "UTF-8"], input=data, capture_output=True, check=True
    ).stdout.decode()


@pytest.mark.parametrize("table", OUTSIDE)
def test_code_pages_are_those_of_the_c_library(table):
    letters = table_of(table).letters
    kept = [b for b in range(256) if letters[b] != NOTHING]
    assert iconv(bytes(kept), OUTSIDE[table]) == "".join(letters[b] for b in kept)
    assert len(kept) >= 185


#: table -> byte -> ICU's letter where it is not ours: one shape by two names; a place ICU leaves open
ICU_DIFFERS = {"cp437": {0xE6: "μ"}, "cp852": {0xAA: ""}}


@pytest.mark.parametrize(("table", "name"), [*OUTSIDE.items(), ("cp858", "IBM858")])
def test_code_pages_are_those_of_icu_but_for_the_places_named(table, name):
    differences = {}
    for byte, letter in enumerate(table_of(table).letters):
        try:
            theirs = str(icu.UnicodeString(bytes([byte]), name))
        except ValueError:  # a place that ICU leaves open
            theirs = ""
        if letter not in (NOTHING, theirs):
            differences[byte] = theirs
    assert differences == ICU_DIFFERS.get(table, {})


@pytest.mark.parametrize("table", OUTSIDE)
def test_what_is_left_out_prints_nothing_or_steers(table):
    left = [b for b, letter in enumerate(table_of(table).letters) if letter == NOTHING and b >= 0x20 and b != 0x7F]
    letters = iconv(bytes(left), OUTSIDE[table])
    assert all(not letter.isprintable() for letter in letters)


@pytest.mark.parametrize("table", ISO_646)
def test_national_sets_are_those_of_iso_646_but_for_the_places_named(table):
    name, differences = ISO_646[table]
    places = "#$@[\\]^`{|}~"
    theirs = iconv(places.encode(), name)
    ours = NATIONAL[table][1]
    assert {p: (o, t) for p, o, t in zip(places, ours, theirs, strict=True) if o != t} == differences


def test_the_sets_that_iso_646_does_not_have_are_counted():
    assert set(NATIONAL) - set(ISO_646) == {"national-no", "national-dk-2", "national-es-2", "national-419"}


@pytest.mark.parametrize(
    ("letter", "table", "byte"),
    [
        ("£", "cp437", 0x9C),
        ("£", "cp850", 0x9C),
        ("€", "cp858", 0xD5),
        ("€", "latin-9", 0xA4),
        ("£", "national-gb", 0x23),
    ],
)
def test_money_signs_are_where_the_trade_says(letter, table, byte):
    assert encode_text(letter, table) == bytes([byte])


@pytest.mark.parametrize(("letter", "table"), [("€", "cp437"), ("À", "cp437"), ("€", "cp850"), ("€", "latin-1")])
def test_money_signs_are_missing_where_the_trade_says(letter, table):
    assert unprintable(letter, table) == [(0, letter)]
