"""Letters that a printer lacks: the language's own substitute, chosen by name, never in silence."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wording.amounts import LOCALES, MINORS, OWN

from cheque import money
from cheque.wording import WordingError, plain, prove, styles, substitutions, word
from cheque.wording.letters import MARKS

#: The character tables of the trade in which each language can be struck as it is written.
TABLES = {
    "de": ["cp437", "cp850", "cp858", "latin-1"],
    "en": ["ascii"],
    "es": ["cp437", "cp850", "cp858", "latin-1"],
    "fr": ["cp850", "cp858", "latin-1"],
    "it": ["cp437", "cp850", "cp858", "latin-1"],
    "nl": ["cp437", "cp850", "cp858", "latin-1"],
    "pl": ["cp852", "iso8859-2"],
    "pt": ["cp850", "cp858", "cp860", "latin-1"],
}


@pytest.mark.parametrize(
    ("locale", "substitute", "minor", "legal"),
    [
        ("de_DE", "", 3512, "Fünfunddreißig Euro und zwölf Cent"),
        ("de_DE", "digraphs", 3512, "Fuenfunddreissig Euro und zwoelf Cent"),
        ("de_CH", "digraphs", 3512, "Fuenfunddreissig Franken und zwoelf Rappen"),
        ("es_ES", "plain-capitals", 2216, "VEINTIDOS EUROS CON DIECISEIS CENTIMOS"),
        ("es_MX", "plain-capitals", 100000000, "UN MILLON DE PESOS 00/100 M.N."),
        ("fr_FR", "plain-capitals", 0, "ZERO EURO"),
        ("it_IT", "apostrophes", 2350, "Ventitre'/50"),
    ],
)
def test_a_substitute_is_used_when_it_is_chosen(locale: str, substitute: str, minor: int, legal: str) -> None:
    found = word(minor, OWN[locale], locale, substitute=substitute)
    assert found.legal == legal
    prove(legal, minor, OWN[locale], locale, substitute=substitute)


def test_without_a_choice_every_letter_stays_and_a_substituted_text_does_not_prove() -> None:
    with pytest.raises(WordingError):
        prove("Fuenfunddreissig Euro und zwoelf Cent", 3512, "EUR", "de_DE")
    with pytest.raises(WordingError):
        prove("Fünfunddreißig Euro und zwölf Cent", 3512, "EUR", "de_DE", substitute="digraphs")


def test_every_substitute_says_what_it_does_and_no_other_is_taken() -> None:
    assert list(substitutions("de_DE")) == list(substitutions("de_CH")) == ["digraphs"]
    assert list(substitutions("fr_CA")) == list(substitutions("es_MX")) == ["plain-capitals"]
    assert list(substitutions("it_IT")) == ["apostrophes"]
    for locale in ("en_US", "pl_PL", "pt_BR", "nl_NL"):
        assert substitutions(locale) == {}
    assert all(len(meaning) > 20 for locale in styles.LOCALES for meaning in substitutions(locale).values())
    with pytest.raises(WordingError, match="'digraphs' is no substitute for letters in fr_FR; known: plain-capitals"):
        word(100, "EUR", "fr_FR", substitute="digraphs")
    with pytest.raises(WordingError, match="known: none is accepted in that language"):
        word(100, "PLN", "pl_PL", substitute="plain")
    with pytest.raises(WordingError, match="has no wording"):
        substitutions("xx_XX")


@settings(deadline=None, max_examples=300)
@given(LOCALES, MINORS, st.data())
def test_each_language_can_be_struck_in_its_tables_and_substituted_in_plain_ones(
    locale: str, minor: int, data: st.DataObject
) -> None:
    currency = data.draw(st.sampled_from(sorted(styles.get(locale).names)))
    minor = min(minor, 999_999_999_999 * 10 ** money.digits(currency))
    for table in TABLES[locale[:2]]:
        for text in _texts(minor, currency, locale, ""):
            assert text.encode(table).decode(table) == text
    for substitute in substitutions(locale):
        for text in _texts(minor, currency, locale, substitute):
            text.replace("Ñ", "N").encode("ascii")
            text.encode("cp437")


def _texts(minor: int, currency: str, locale: str, substitute: str) -> list[str]:
    found = word(minor, currency, locale, substitute=substitute)
    return [found.legal, *found.shorter, found.figures, found.whole]


@settings(deadline=None, max_examples=200)
@given(st.sampled_from([name for name in styles.LOCALES if substitutions(name)]), MINORS, MINORS)
def test_a_substitute_makes_no_two_amounts_alike(locale: str, one: int, other: int) -> None:
    for substitute in substitutions(locale):
        texts = [word(minor, OWN[locale], locale, substitute=substitute).legal for minor in (one, other)]
        assert (texts[0] == texts[1]) == (one == other)


def test_the_marks_of_locale_data_are_mapped() -> None:
    assert plain("1\u202f234\u00a0567,89 l\u2019an \u22125") == "1 234 567,89 l'an -5"
    assert not any(mark in plain("".join(MARKS)) for mark in MARKS)
