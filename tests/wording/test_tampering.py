"""One number word changed, dropped, doubled or moved is caught before printing, in every locale."""

import random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from wording.amounts import LOCALES, MINORS, OWN, WHOLES, reader, tampered

from cheque import wording
from cheque.wording import WordingError, figures, proof, prove, styles, word

WAYS = st.sampled_from(["changed", "dropped", "doubled", "moved"])


@settings(deadline=None, max_examples=800)
@given(LOCALES, WHOLES, WAYS, st.randoms(use_true_random=False))
def test_the_reader_alone_never_takes_a_tampered_number_for_the_right_one(
    locale: str, number: int, how: str, draw: random.Random
) -> None:
    style = styles.get(locale)
    words = style.spell(number, "m")
    other = tampered(words, locale, how, draw)
    assume(other != words)
    try:
        found = reader(locale)(other.lower(), "m")
    except KeyError:
        return
    assert found != number


@settings(deadline=None, max_examples=800)
@given(LOCALES, MINORS, WAYS, st.randoms(use_true_random=False))
def test_a_tampered_legal_amount_does_not_prove(locale: str, minor: int, how: str, draw: random.Random) -> None:
    found = word(minor, OWN[locale], locale)
    other = tampered(found.legal, locale, how, draw)
    assume(other not in (found.legal, *found.shorter))
    with pytest.raises(WordingError):
        prove(other, minor, OWN[locale], locale)


@settings(deadline=None, max_examples=800)
@given(LOCALES, MINORS, WAYS, st.randoms(use_true_random=False))
def test_a_speller_that_slips_is_stopped_before_anything_is_returned(
    locale: str, minor: int, how: str, draw: random.Random
) -> None:
    currency = OWN[locale]
    ready = wording._ready(currency, locale, "")
    whole = minor // ready.composition.over
    assume(whole or not minor)
    right = ready.style.spell(whole, ready.composition.name.gender)
    wrong = tampered(right, locale, how, draw)
    assume(wrong != right)

    def slipping(number: int, form: str) -> str:
        return wrong if number == whole else ready.style.spell(number, form)

    broken = ready._replace(
        composition=ready.composition._replace(style=ready.style._replace(spell=slipping, brief=None))
    )
    kept = wording._ready
    wording._ready = lambda *arguments: broken  # type: ignore[assignment]
    try:
        with pytest.raises(WordingError, match=r"does not read as an amount|says"):
            word(minor, currency, locale)
    finally:
        wording._ready = kept


@pytest.mark.parametrize(
    "text",
    [
        "One thousand two hundred thirty-four and 65/100",
        "One thousand two hundred thirty-four and 56/1000",
        "One thousand two hundred thirty-four and 056/100",
        "One thousand two hundred thirty-four and ٥٦/100",
        "One thousand two hundred thirty-four 56/100",
        "One thousand two hundred and thirty-four and 56/100",
        "One thousand two hundred thirty four and 56/100",
        "One thousand two hundred thirty-four and 56/100 ",
        "One thousand  two hundred thirty-four and 56/100",
        "one thousand two hundred thirty-four and 56/100",
        "ONE THOUSAND TWO HUNDRED THIRTY-FOUR AND 56/100",
        "One thousand two hundred thirty-four and 56/100 dollars",
        "One thousand two hundred thirty-four dollars and 56/100",
        "One thousand two hundred forty-four and 56/100",
        "One thousand two hundred thirty-for and 56/100",
        "",
        "\n",
    ],
)
def test_a_legal_amount_is_right_to_the_letter_or_not_at_all(text: str) -> None:
    prove("One thousand two hundred thirty-four and 56/100", 123456, "USD", "en_US")
    with pytest.raises(WordingError):
        prove(text, 123456, "USD", "en_US")


@pytest.mark.parametrize(
    ("text", "minor", "currency", "locale"),
    [
        ("One pounds only", 100, "GBP", "en_GB"),
        ("Two pound only", 200, "GBP", "en_GB"),
        ("One pound and two penny only", 102, "GBP", "en_GB"),
        ("One pound and one hundred pence only", 200, "GBP", "en_GB"),
        ("One US dollar only", 100, "GBP", "en_GB"),
        ("Two euro", 200, "EUR", "fr_FR"),
        ("Deux euro", 200, "EUR", "fr_FR"),
        ("Un million euros", 100000000, "EUR", "fr_FR"),
        ("Un million de euros", 100000000, "EUR", "fr_FR"),
        ("Veintiuno euros", 2100, "EUR", "es_ES"),
        ("Dwadzieścia dwa złotych 00/100", 2200, "PLN", "pl_PL"),
        ("Dwadzieścia jeden złoty 00/100", 2100, "PLN", "pl_PL"),
        ("Rupees Twelve Lakhs Only", 120000000, "INR", "en_IN"),
        ("Rupees One Hundred Lakh Only", 1000000000, "INR", "en_IN"),
        ("Eine Euro", 100, "EUR", "de_DE"),
        ("Dreißig Franken", 3000, "CHF", "de_CH"),
    ],
)
def test_a_name_or_number_in_the_wrong_form_does_not_read(text: str, minor: int, currency: str, locale: str) -> None:
    with pytest.raises(KeyError):
        proof.read(wording._ready(currency, locale, "").proof, text)
    with pytest.raises(WordingError):
        prove(text, minor, currency, locale)


@pytest.mark.parametrize("slip", ["1,234.65", "1,234.5", "12,34.56", "1234,56", "-1,234.56", ""])
def test_figures_that_slip_are_stopped(slip: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert figures(123456, "USD", "en_US") == "1,234.56"
    monkeypatch.setattr("cheque.wording.grouping.grouped", lambda *arguments, **options: slip)
    with pytest.raises(
        WordingError, match=r"the figures .* do not say 1234\.56 USD|is not an amount|is written with 2"
    ):
        word(123456, "USD", "en_US")
    with pytest.raises(WordingError):
        figures(123456, "USD", "en_US")


def test_figures_longer_than_any_bank_takes_are_refused() -> None:
    with pytest.raises(WordingError, match="has more than 18 digits"):
        figures(10**18, "USD", "en_US")


@pytest.mark.parametrize(("locale", "answer"), [("en_US", "1235"), ("fr_FR", "ValueError")])
def test_the_second_reader_has_a_say_too(locale: str, answer: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def text2num(words: str, language: str) -> int:
        return int(answer)  # a ValueError where the answer is no number, as text2num raises it

    wording._ready.cache_clear()
    monkeypatch.setattr("text_to_num.text2num", text2num)
    try:
        with pytest.raises(WordingError, match="does not read as an amount"):
            word(123400, OWN[locale], locale)
    finally:
        wording._ready.cache_clear()
