"""Protective fill: no open column is left in or beside an amount or a name."""

import doctest

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque import fill
from cheque.fill import FillError, closed, is_closed

WORDS = st.lists(st.text("abcdefgzÅé019,.'-/*", min_size=1, max_size=9), min_size=0, max_size=6).map(" ".join)
FILLS = st.sampled_from("*#=~_-<>")
ALIGNS = st.sampled_from(["left", "right", "centre", "center"])


def bare(text: str, mark: str) -> str:
    """A text that neither begins nor ends with the fill, which is refused."""
    return text if text[:1] != mark and text[-1:] != mark else f"x{text}x"


def test_the_examples_in_the_documents_are_true() -> None:
    assert doctest.testmod(fill).failed == 0


@pytest.mark.parametrize(
    ("text", "align", "field"),
    [
        ("1,234.56", "right", "****1,234.56"),
        ("J Reed", "left", "J Reed******"),
        ("1,234", "centre", "***1,234****"),
        ("", "left", "************"),
        ("", "right", "************"),
        ("", "centre", "************"),
        ("123456789012", "left", "123456789012"),
    ],
)
def test_every_open_column_is_closed(text: str, align: str, field: str) -> None:
    assert closed(text, 12, align, "*") == field
    assert is_closed(field, text, "*")


@pytest.mark.parametrize("name", ["*Wherry", "Wherry*", "*"])
def test_a_name_that_begins_or_ends_with_the_fill_is_refused(name: str) -> None:
    with pytest.raises(FillError, match="begins or ends with the fill '\\*', so that nobody sees where it ends"):
        closed(name, 10, "left", "*")
    assert closed(name, 10, "left", "#") == name.ljust(10, "#")


def test_a_name_that_holds_the_mark_of_the_fill_keeps_every_one_of_its_own() -> None:
    assert closed("Wher*ry", 10, "left", "*") == "Wher*ry***"
    assert is_closed("*Wherry***", "*Wherry*", "*")
    assert not is_closed("*Wherry***", "**Wherry*", "*")
    assert not is_closed("**Wherry*", "*Wherry**", "*")
    assert is_closed("****", "**", "*")
    assert not is_closed("*", "**", "*")


def test_without_a_fill_the_columns_stay_blank() -> None:
    assert closed("J Reed", 8, "left", "") == "J Reed  "
    assert closed("J Reed", 8, "right", "") == "  J Reed"
    assert not is_closed("J Reed", "J Reed", "")


def test_what_does_not_fit_is_refused_and_never_shortened() -> None:
    with pytest.raises(FillError, match="'One hundred and 00/100' is 22 columns wide, its field 21"):
        closed("One hundred and 00/100", 21, "left", "*")


@pytest.mark.parametrize(
    "opening", [" J Reed", "J Reed ", "J  Reed", "J\tReed", "J\u00a0Reed", "1\u202f234,56", " ", "J\u2003Reed"]
)
def test_a_text_with_an_opening_in_itself_cannot_be_closed(opening: str) -> None:
    with pytest.raises(FillError, match="has an opening in itself"):
        closed(opening, 20, "left", "*")
    assert not is_closed(opening.ljust(20, "*"), opening, "*")


@pytest.mark.parametrize(
    "mark", ["0", "x", "É", " ", "\u00a0", ".", ",", "'", "/", "$", "£", "€", "**", "\n", "\u200b"]
)
def test_a_fill_is_one_mark_that_no_amount_or_name_could_hold(mark: str) -> None:
    with pytest.raises(FillError, match="is no fill"):
        closed("J Reed", 20, "left", mark)


def test_an_unknown_alignment_is_refused() -> None:
    with pytest.raises(FillError, match="'middle' is no way to align a field"):
        closed("J Reed", 20, "middle", "*")


@settings(deadline=None, max_examples=300)
@given(WORDS, st.integers(0, 60), ALIGNS, FILLS)
def test_a_closed_field_is_full_and_holds_the_text_whole(text: str, spare: int, align: str, mark: str) -> None:
    text = bare(text, mark)
    field = closed(text, len(text) + spare, align, mark)
    assert len(field) == len(text) + spare
    assert is_closed(field, text, mark)
    at = {"left": 0, "right": spare}.get(align, spare // 2)
    assert field[at : at + len(text)] == text
    assert set(field[:at] + field[at + len(text) :]) <= {mark}


@settings(deadline=None, max_examples=300)
@given(WORDS.filter(bool), st.integers(1, 30), ALIGNS, FILLS, st.data())
def test_a_blank_put_anywhere_into_a_closed_field_shows(
    text: str, spare: int, align: str, mark: str, data: st.DataObject
) -> None:
    text = bare(text, mark)
    field = closed(text, len(text) + spare, align, mark)
    place = data.draw(st.integers(0, len(field) - 1).filter(lambda at: field[at] != " "))
    assert not is_closed(field[:place] + " " + field[place + 1 :], text, mark)


@settings(deadline=None, max_examples=300)
@given(WORDS.filter(bool), st.integers(1, 30), ALIGNS, FILLS, st.data())
def test_a_letter_or_digit_written_over_the_fill_shows(
    text: str, spare: int, align: str, mark: str, data: st.DataObject
) -> None:
    text = bare(text, mark)
    field = closed(text, len(text) + spare, align, mark)
    place = data.draw(st.integers(0, len(field) - 1).filter(lambda at: field[at] == mark))
    assert not is_closed(field[:place] + data.draw(st.sampled_from("19ABz")) + field[place + 1 :], text, mark)


@settings(deadline=None, max_examples=200)
@given(WORDS, WORDS, st.integers(0, 20), FILLS)
def test_a_field_of_one_text_is_no_field_of_another(text: str, other: str, spare: int, mark: str) -> None:
    text = bare(text, mark)
    field = closed(text, len(text) + spare, "left", mark)
    if text.strip(mark) != other.strip(mark):
        assert not is_closed(field, other, mark)
