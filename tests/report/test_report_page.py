"""Reports as data, and what every rendering of them must hold."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cheque.report.page import (
    Column,
    Digest,
    Kind,
    Money,
    Place,
    cell_text,
    currency_of,
    is_figure,
    line_of,
    shown,
)


@given(st.integers(-(10**15), 10**15))
def test_money_is_written_exactly_in_the_currencys_own_decimals(minor: int) -> None:
    assert Decimal(cell_text(Money(minor, "USD"))) == Decimal(minor).scaleb(-2)
    assert Decimal(cell_text(Money(minor, "KWD"))) == Decimal(minor).scaleb(-3)
    assert cell_text(Money(minor, "JPY")) == str(minor)


def test_a_digest_is_read_in_groups_of_four() -> None:
    assert cell_text(Digest("0123456789abcdef" * 4)) == " ".join(["0123", "4567", "89ab", "cdef"] * 4)


@given(st.text())
def test_nothing_shown_can_steer_a_terminal_or_turn_a_line_round(text: str) -> None:
    assert shown(text).isprintable()
    if text.isprintable():
        assert shown(text) == text


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("Ay\tLi", "Ay\\tLi"),
        ("\x1b[2J", "\\x1b[2J"),
        ("Ay \u202eiL", "Ay \\u202eiL"),
        ("no\u00a0break", "no\\xa0break"),
    ],
)
def test_what_cannot_be_printed_is_written_as_its_escape(text: str, safe: str) -> None:
    assert shown(text) == safe


def test_only_digits_through_and_through_are_a_figure() -> None:
    assert is_figure(Money(-1, "USD"), Kind.MONEY)
    assert is_figure(7, Kind.COUNT)
    assert is_figure("2026-11-27", Kind.DATE)
    assert is_figure("000501-000504", Kind.NUMBER)
    assert not is_figure("-1", Kind.NUMBER)
    assert not is_figure("2026-11-27=1", Kind.DATE)
    assert not is_figure("12", Kind.TEXT)
    assert not is_figure(None, Kind.MONEY)


def test_one_row_has_one_currency() -> None:
    assert currency_of(("Ay Li", Money(1, "USD"), None)) == "USD"
    assert currency_of(("Ay Li",)) == ""
    with pytest.raises(ValueError, match="EUR and of USD"):
        currency_of((Money(1, "USD"), Money(1, "EUR")))


def test_a_row_is_made_by_the_keys_of_its_columns() -> None:
    columns = (Column("number"), Column("payee"), Column("amount", kind=Kind.MONEY, place=Place.DATA))
    assert line_of(columns, {"amount": Money(5, "USD"), "number": "7"}) == ("7", None, Money(5, "USD"))
    with pytest.raises(KeyError):
        line_of(columns, {"adress": "7"})
