"""The legal amount: what each country writes, and that nothing leaves unproven."""

import doctest
import importlib
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wording.amounts import LOCALES, MINORS, OWN

from cheque import money, wording
from cheque.wording import Wording, WordingError, figures, lines, locales, prove, refused, styles, substitutions, word
from cheque.wording.reading import grammar

EXAMPLE = re.compile(r"^    (\d+(?:\.\d+)?) +(\S.*)$", re.MULTILINE)


@pytest.mark.parametrize("module", [wording, lines, grammar, importlib.import_module("cheque.wording.grouping")])
def test_the_examples_in_the_documents_are_true(module: object) -> None:
    found = doctest.testmod(module)  # type: ignore[arg-type]
    assert found.failed == 0
    assert found.attempted > 0


@pytest.mark.parametrize("locale", styles.LOCALES)
def test_every_style_shows_its_own_examples_and_they_are_true(locale: str) -> None:
    text = importlib.import_module(f"cheque.wording.styles.{locale.lower()}").__doc__
    examples = EXAMPLE.findall(text or "")
    assert len(examples) >= 3
    for amount, legal in examples:
        assert word(money.parse(amount, OWN[locale]), OWN[locale], locale).legal == legal


@pytest.mark.parametrize(
    ("locale", "currency", "minor", "legal"),
    [
        ("en_US", "USD", 123456, "One thousand two hundred thirty-four and 56/100"),
        ("en_US", "KWD", 1005, "One and 005/1000 Kuwaiti dinars"),
        ("en_US", "KWD", 1050, "One and 050/1000 Kuwaiti dinars"),
        ("en_US", "JPY", 1001, "One thousand one Japanese yen"),
        ("en_US", "CAD", 100, "One and 00/100 Canadian dollars"),
        ("en_CA", "USD", 2120, "Twenty-one and 20/100 US dollars"),
        ("en_GB", "GBP", 100, "One pound only"),
        ("en_GB", "GBP", 1, "One penny only"),
        ("en_GB", "GBP", 10, "Ten pence only"),
        ("en_GB", "GBP", 0, "Zero pounds only"),
        ("en_GB", "GBP", 100500, "One thousand and five pounds only"),
        ("en_GB", "KWD", 1005, "One Kuwaiti dinar and five fils only"),
        ("en_GB", "KWD", 1050, "One Kuwaiti dinar and fifty fils only"),
        ("en_GB", "USD", 50, "Fifty US cents only"),
        ("en_IN", "INR", 10000000, "Rupees One Lakh Only"),
        ("en_IN", "INR", 99999999999999, "Rupees Ninety-nine Thousand Nine Hundred Ninety-nine Crore Ninety-nine Lakh "
         "Ninety-nine Thousand Nine Hundred Ninety-nine and Paise Ninety-nine Only"),
        ("fr_FR", "EUR", 8000, "Quatre-vingts euros"),
        ("fr_FR", "EUR", 8000000, "Quatre-vingt mille euros"),
        ("fr_FR", "EUR", 8000000000, "Quatre-vingts millions d'euros"),
        ("fr_FR", "EUR", 20000000050, "Deux cents millions d'euros et cinquante centimes"),
        ("fr_FR", "GBP", 2100, "Vingt et une livres sterling"),
        ("fr_FR", "EUR", 0, "Zéro euro"),
        ("fr_BE", "EUR", 9191, "Nonante et un euros et nonante et un centimes"),
        ("fr_BE", "EUR", 8181, "Quatre-vingt-un euros et quatre-vingt-un centimes"),
        ("fr_CH", "CHF", 8181, "Huitante et un francs et huitante et un centimes"),
        ("de_DE", "EUR", 10101, "Einhundertein Euro und ein Cent"),
        ("de_DE", "INR", 10100, "Einhunderteine Indische Rupien und 00/100"),
        ("de_DE", "EUR", 10100000000, "Einhunderteine Millionen Euro"),
        ("de_CH", "CHF", 3000, "Dreissig Franken"),
        ("es_ES", "EUR", 2100000, "Veintiún mil euros"),
        ("es_ES", "GBP", 20100000, "Doscientas un mil libras esterlinas"),
        ("es_ES", "EUR", 3121, "Treinta y un euros con veintiún céntimos"),
        ("es_MX", "USD", 100000000, "Un millón de dólares estadounidenses 00/100"),
        ("it_IT", "EUR", 11803, "Centodiciotto/03"),
        ("it_IT", "EUR", 200300, "Duemilatré/00"),
        ("it_IT", "CHF", 100, "Franco svizzero uno/00"),
        ("it_IT", "GBP", 100, "Sterlina britannica una/00"),
        ("it_IT", "JPY", 108, "Yen giapponesi centotto"),
        ("nl_NL", "EUR", 102300, "Duizend drieëntwintig euro"),
        ("pl_PL", "PLN", 2200, "Dwadzieścia dwa złote 00/100"),
        ("pl_PL", "PLN", 2100, "Dwadzieścia jeden złotych 00/100"),
        ("pl_PL", "PLN", 1200, "Dwanaście złotych 00/100"),
        ("pl_PL", "INR", 200, "Dwie rupie indyjskie 00/100"),
        ("pl_PL", "EUR", 100, "Jedno euro 00/100"),
        ("pt_BR", "BRL", 120000, "Mil e duzentos reais"),
        ("pt_BR", "BRL", 100000000000, "Um bilhão de reais"),
        ("pt_PT", "EUR", 100000000000, "Mil milhões de euros"),
        ("pt_PT", "GBP", 200200, "Duas mil e duas libras esterlinas e 00/100"),
    ],
)  # fmt: skip
def test_what_the_country_writes(locale: str, currency: str, minor: int, legal: str) -> None:
    assert word(minor, currency, locale).legal == legal


@pytest.mark.parametrize(
    ("locale", "minor", "shorter"),
    [
        ("en_US", 123456, ("Twelve hundred thirty-four and 56/100",)),
        ("en_US", 110000, ("Eleven hundred and 00/100",)),
        ("en_US", 200000, ()),
        ("en_US", 109999, ()),
        ("en_US", 1012300, ()),
        ("en_GB", 123456, ("One thousand two hundred and thirty-four pounds and 56p only",)),
        ("en_GB", 105, ("One pound and 05p only",)),
        ("en_GB", 100, ()),
        ("en_IN", 10050, ("Rupees One Hundred and 50/100 Only",)),
        ("fr_FR", 10050, ("Cent euros et 50/100",)),
        ("fr_FR", 50, ()),
    ],
)
def test_a_shorter_lawful_wording_where_the_style_has_one(locale: str, minor: int, shorter: tuple[str, ...]) -> None:
    found = word(minor, OWN[locale], locale)
    assert found.shorter == shorter
    assert all(len(text) < len(found.legal) for text in found.shorter)
    for text in found.shorter:
        prove(text, minor, OWN[locale], locale)


def test_all_that_is_said_of_an_amount_is_in_one_value() -> None:
    assert word(123456789, "INR", "en_IN") == Wording(
        123456789,
        "INR",
        "en_IN",
        "twelve lakh thirty-four thousand five hundred sixty-seven",
        "Rupees Twelve Lakh Thirty-four Thousand Five Hundred Sixty-seven and Paise Eighty-nine Only",
        ("Rupees Twelve Lakh Thirty-four Thousand Five Hundred Sixty-seven and 89/100 Only",),
        "12,34,567.89",
    )


@pytest.mark.parametrize("locale", styles.LOCALES)
def test_every_currency_is_worded_for_whole_minor_and_one_of_each(locale: str) -> None:
    for provenance in locales():
        if provenance.locale != locale:
            continue
        for currency in provenance.currencies:
            over = 10 ** money.digits(currency)
            largest = 999_999_999_999 * over + over - 1
            texts = [word(minor, currency, locale) for minor in {0, 1, over, over + 1, over - 1, 10**6 * over, largest}]
            assert len({text.legal for text in texts}) == len(texts)


@settings(deadline=None, max_examples=400)
@given(LOCALES, MINORS, st.data())
def test_whatever_is_worded_proves_right_and_is_fit_to_print(locale: str, minor: int, data: st.DataObject) -> None:
    currency = data.draw(st.sampled_from(sorted(styles.get(locale).names)))
    substitute = data.draw(st.sampled_from(["", *substitutions(locale)]))
    minor = min(minor, wording.LARGEST * 10 ** money.digits(currency))
    found = word(minor, currency, locale, substitute=substitute)
    for text in (found.legal, *found.shorter):
        prove(text, minor, currency, locale, substitute=substitute)
        assert text == " ".join(text.split())
        assert not set(text) & set("\u00a0\u202f\u2019\u00ad")
    if minor >= 10 ** money.digits(currency):
        assert found.whole.lower() in found.legal.lower()
    assert " " not in found.figures
    assert found.figures == figures(minor, currency, locale)
    assert not set(found.figures) - set("0123456789.,'")


@settings(deadline=None, max_examples=200)
@given(LOCALES, MINORS, MINORS)
def test_two_amounts_never_have_the_same_words(locale: str, one: int, other: int) -> None:
    mine, theirs = word(one, OWN[locale], locale), word(other, OWN[locale], locale)
    if one != other:
        assert not {mine.legal, *mine.shorter} & {theirs.legal, *theirs.shorter}
        with pytest.raises(WordingError):
            prove(mine.legal, other, OWN[locale], locale)


@pytest.mark.parametrize(
    ("minor", "currency", "locale", "message"),
    [
        (100, "TRY", "tr_TR", "tr_TR is refused: Turkish: num2words .* 630,536"),
        (100, "TRY", "tr", "tr is refused: Turkish"),
        (100, "TRY", "tr-CY", "tr-CY is refused: Turkish"),
        (100, "SEK", "sv_SE", "'sv_SE' has no wording; there are de_CH, de_DE, "),
        (100, "USD", "en", "'en' has no wording"),
        (100, "USD", "", "'' has no wording"),
        (100, "USD", "../en_us", "has no wording"),
        (100, "SEK", "en_US", "the style en_US has no name for SEK; it can name AUD, BRL, CAD"),
        (100, "XAU", "en_US", "'XAU' is no currency of ISO 4217 that has minor units"),
        (100, "usd", "en_US", "'usd' is no currency"),
        (-1, "USD", "en_US", r"-0\.01 USD is below nought"),
        (10**14, "USD", "en_US", r"1000000000000\.00 USD is more than the words go to, 999999999999\.99"),
        (10**12, "JPY", "en_US", "1000000000000 JPY is more than the words go to, 999999999999"),
    ],
)
def test_what_cannot_be_worded_is_refused_by_name(minor: int, currency: str, locale: str, message: str) -> None:
    with pytest.raises(WordingError, match=message):
        word(minor, currency, locale)
    with pytest.raises(WordingError, match=message):
        prove("One and 00/100", minor, currency, locale)


def test_figures_need_no_name_for_the_currency_but_a_real_one() -> None:
    assert figures(123456, "SEK", "en_US") == "1,234.56"
    with pytest.raises(WordingError, match="no currency"):
        figures(1, "XXX", "en_US")
    with pytest.raises(WordingError, match="has no wording"):
        figures(1, "USD", "xx_XX")
    with pytest.raises(WordingError, match="below nought"):
        figures(-1, "USD", "en_US")


def test_the_list_of_locales_says_where_each_comes_from_and_how_it_is_proven() -> None:
    found = {provenance.locale: provenance for provenance in locales()}
    assert tuple(found) == styles.LOCALES
    assert set(found) == set(OWN)
    for locale, provenance in found.items():
        assert OWN[locale] in provenance.currencies
        assert provenance.language
        assert "common practice" in provenance.practice
        assert provenance.proof.startswith("its own reader")
        assert provenance.proof.endswith("num2words and ICU in the tests")
        assert ("text2num" in provenance.proof) == bool(styles.get(locale).second)
    assert found["en_US"].preprinted == ("USD",)
    assert found["en_GB"].preprinted == ()
    assert found["it_IT"].preprinted == ("EUR",)


def test_what_is_refused_is_said_by_name_with_the_reason() -> None:
    assert list(refused()) == ["Turkish"]
    assert "630,536" in refused()["Turkish"]
