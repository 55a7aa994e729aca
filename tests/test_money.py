"""An exact amount: every digit kept, nothing rounded, nothing guessed."""

import doctest

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque import money
from cheque.money import USUAL, AmountError, digits, parse, plain

CURRENCIES = st.sampled_from(["USD", "GBP", "JPY", "KWD", "CLF", "HUF", "INR"])
AMOUNTS = st.integers(-(10**14), 10**14)


def test_the_examples_in_the_documents_are_true() -> None:
    assert doctest.testmod(money).failed == 0


@pytest.mark.parametrize(
    ("text", "currency", "minor"),
    [
        ("1.005", "KWD", 1005),  # one dinar and five fils
        ("1.050", "KWD", 1050),  # one dinar and fifty fils
        ("18214.77", "USD", 1821477),
        ("18214", "USD", 1821400),
        ("0.01", "USD", 1),
        ("-0.01", "USD", -1),
        ("1234", "JPY", 1234),
        ("1.0001", "CLF", 10001),
        ("000012.30", "EUR", 1230),
    ],
)
def test_an_amount_has_the_minor_units_of_its_own_currency(text: str, currency: str, minor: int) -> None:
    assert parse(text, currency) == minor


def test_fewer_decimals_are_read_only_where_the_register_says_so() -> None:
    with pytest.raises(AmountError, match=r"'1\.5' has 1 decimals, but KWD is written with 3"):
        parse("1.5", "KWD")
    assert parse("1.5", "KWD", short=True) == 1500
    assert parse("1.5", "USD", short=True) == 150


@pytest.mark.parametrize("currency", ["USD", "KWD", "JPY", "CLF"])
def test_a_decimal_too_many_is_refused_not_rounded(currency: str) -> None:
    text = "1." + "0" * (digits(currency) + 1)
    for short in (False, True):
        with pytest.raises(AmountError, match=f"but {currency} has {digits(currency)}"):
            parse(text, currency, short=short)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "1,234.56",
        "1 234.56",
        "12.",
        ".56",
        "1.2.3",
        "+1.00",
        "1e3",
        "$1.00",
        "1.00 ",
        "١٢",
        "1_000",
        "NaN",
        "--1",
        "0x10",
        "1,00",
        "½",
    ],
)
def test_what_is_no_amount_is_refused(text: str) -> None:
    with pytest.raises(AmountError, match=r"is not an amount such as 1234\.56"):
        parse(text, "USD")


@pytest.mark.parametrize(
    ("text", "minor"),
    [("1,234.56", 123456), ("12,34,567.89", 123456789), ("1,23,456.00", 12345600), ("1234.56", 123456), ("999", 99900)],
)
def test_groups_of_three_and_the_groups_of_india_are_read(text: str, minor: int) -> None:
    assert parse(text, "INR", group=",") == minor


@pytest.mark.parametrize(
    "text", ["1,2,345.00", "12,3456.00", "1,234,56.00", "12,345,67,890.00", ",123.00", "1,,234.00"]
)
def test_groups_that_nobody_writes_are_refused(text: str) -> None:
    with pytest.raises(AmountError):
        parse(text, "USD", group=",")


def test_the_marks_of_the_country_are_taken_as_given() -> None:
    assert parse("1.234,56", "EUR", point=",", group=".") == 123456
    assert parse("1'234.56", "CHF", group="'") == 123456
    with pytest.raises(AmountError, match="is not an amount such as 1234,56"):
        parse("1,234.56", "EUR", point=",", group=".")


def test_an_amount_longer_than_any_bank_takes_is_refused() -> None:
    assert parse("9" * 16 + ".99", "USD") == 10**18 - 1
    for text in ("9" * 17, "0" * 17 + ".00", "9" * 5000):
        with pytest.raises(AmountError, match="has more than 18 digits"):
            parse(text, "USD")


@pytest.mark.parametrize("code", ["XXX", "XTS", "XAU", "XDR", "US", "usd", "ABC", ""])
def test_what_is_no_currency_for_a_cheque_is_unknown(code: str) -> None:
    with pytest.raises(KeyError):
        digits(code)
    with pytest.raises(KeyError):
        parse("1.00", code)


@pytest.mark.parametrize(
    ("minor", "currency", "text"),
    [
        (5, "USD", "0.05"),
        (-5, "USD", "-0.05"),
        (0, "USD", "0.00"),
        (123, "USD", "1.23"),
        (0, "JPY", "0"),
        (5, "KWD", "0.005"),
    ],
)
def test_an_amount_is_written_with_all_its_decimals_and_no_more(minor: int, currency: str, text: str) -> None:
    assert plain(minor, currency) == text


@settings(deadline=None, max_examples=300)
@given(AMOUNTS, CURRENCIES, st.sampled_from([".", ","]))
def test_what_is_written_reads_back(minor: int, currency: str, point: str) -> None:
    text = plain(minor, currency, point=point)
    assert parse(text, currency, point=point) == minor
    assert len(text.rpartition(point)[2]) == digits(currency) or not digits(currency)


@settings(deadline=None, max_examples=300)
@given(st.text("0123456789.,-' ", max_size=14), CURRENCIES, st.booleans())
def test_whatever_is_read_was_written_with_the_same_digits(text: str, currency: str, short: bool) -> None:
    try:
        minor = parse(text, currency, group=",", short=short)
    except AmountError:
        return
    whole, _, part = text.lstrip("-").replace(",", "").partition(".")
    assert str(abs(minor)) == (whole + part.ljust(digits(currency), "0")).lstrip("0").rjust(1, "0")


def test_the_usual_currencies_have_the_decimals_of_list_one_and_are_those_that_have_a_wording() -> None:
    from iso4217 import Currency

    from cheque import wording

    assert {code: Currency(code).exponent for code in USUAL} == USUAL
    assert {code for provenance in wording.locales() for code in provenance.currencies} == set(USUAL)
