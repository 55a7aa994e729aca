"""Character tables: what can be printed where, and what never is."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.language.tables import NATIONAL, TABLES, decode_text, encode_text, table_of, unprintable

EVERY = pytest.mark.parametrize("name", TABLES)


@EVERY
@settings(max_examples=30, deadline=None)
@given(st.data())
def test_what_a_table_prints_is_read_back(name, data):
    text = data.draw(st.text(st.sampled_from([chr(n) for n in table_of(name).places]), max_size=40))
    assert unprintable(text, name) == []
    sent = encode_text(text, name)
    assert len(sent) == len(text)
    assert decode_text(sent, name) == text


@EVERY
def test_no_control_place_is_ever_a_letter(name):
    sent = encode_text("".join(map(chr, table_of(name).places)), name)
    assert not any(b < 0x20 or b == 0x7F for b in sent)
    if name.startswith("latin"):
        assert not any(0x80 <= b <= 0x9F for b in sent)
    if name in NATIONAL:
        assert max(sent) < 0x7F


@EVERY
@pytest.mark.parametrize("letter", ["\u00a0", "\u202f", "\u2019", "\u00ad", "\u200b", "\u202e", "\n", "\x1b", "\x7f"])
def test_letters_that_steer_or_do_not_show_are_in_no_table(name, letter):
    assert unprintable(f"ab{letter}", name) == [(2, letter)]
    with pytest.raises(ValueError, match="not in the table"):
        encode_text(letter, name)


@pytest.mark.parametrize(
    ("letter", "tables"),
    [
        ("£", {"cp437", "cp850", "cp858", "latin-1", "latin-9", "national-gb"}),
        ("€", {"cp858", "latin-9"}),
        ("À", {"cp850", "cp858", "latin-1", "latin-9"}),
        ("ł", {"cp852", "latin-2"}),
        ("Ж", {"cp866"}),
        ("₹", set()),
    ],
)
def test_what_can_be_printed_where(letter, tables):
    assert {name for name in TABLES if not unprintable(letter, name)} == tables


def test_a_national_set_has_no_other_marks_in_the_changed_places():
    assert unprintable("5 # @ [x]", "national-de") == [(4, "@"), (6, "["), (8, "]")]


@pytest.mark.parametrize(
    ("data", "name"), [(b"\x07", "cp437"), (b"\x85", "latin-1"), (b"\x80", "ascii"), (b"\xff", "cp437")]
)
def test_bytes_that_are_no_letter_are_refused(data, name):
    with pytest.raises(ValueError, match="is no letter"):
        decode_text(data, name)
