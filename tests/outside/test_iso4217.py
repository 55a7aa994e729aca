"""Minor units against ISO 4217 list one, and where display data differ from it.

Source: ISO 4217 list one, 2026-01-01, as published by the maintenance agency; the lists below were copied from the
project's sheet of facts, not from the package that the code reads.
"""

import pytest
from babel.numbers import get_currency_precision

from cheque.money import digits, parse, plain

NONE = [
    "BIF",
    "CLP",
    "DJF",
    "GNF",
    "ISK",
    "JPY",
    "KMF",
    "KRW",
    "PYG",
    "RWF",
    "UGX",
    "UYI",
    "VND",
    "VUV",
    "XAF",
    "XOF",
    "XPF",
]
THREE = ["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"]
FOUR = ["CLF", "UYW"]
TWO_THOUGH_OFTEN_SHOWN_WITHOUT = ["HUF", "MGA", "MRU"]
#: Babel 2.18 (CLDR) says no decimals for these; ISO 4217 says otherwise.
DISPLAY_DIFFERS = ["AFN", "ALL", "IQD", "IRR", "KPW", "LAK", "LBP", "MGA", "MMK", "RSD", "SOS", "SYP", "YER"]


@pytest.mark.parametrize(
    ("currencies", "wanted"),
    [(NONE, 0), (THREE, 3), (FOUR, 4), (TWO_THOUGH_OFTEN_SHOWN_WITHOUT, 2), (["USD", "EUR", "GBP", "CAD", "INR"], 2)],
)
def test_minor_units_are_those_of_list_one(currencies: list[str], wanted: int) -> None:
    assert {currency: digits(currency) for currency in currencies} == dict.fromkeys(currencies, wanted)


def test_no_other_currency_has_anything_but_two() -> None:
    from iso4217 import Currency

    known = {currency.code: currency.exponent for currency in Currency if currency.exponent is not None}
    assert {code for code, exponent in known.items() if exponent != 2} == {*NONE, *THREE, *FOUR}


@pytest.mark.parametrize("currency", DISPLAY_DIFFERS)
def test_display_data_are_not_asked_for_minor_units(currency: str) -> None:
    assert get_currency_precision(currency) == 0
    assert digits(currency) in (2, 3)


def test_five_fils_and_fifty() -> None:
    assert parse("1.005", "KWD") == 1005
    assert parse("1.050", "KWD") == 1050
    assert plain(5, "KWD") == "0.005"
