"""Figures, names of currencies and forms of nouns against the Unicode CLDR (Babel 2.18).

Grouping and decimal marks: CLDR number symbols, in a pattern with the decimals of ISO 4217. Names: CLDR currency
names with their plural forms; where ours differ the list below says so. Which form follows a number: CLDR plural
rules.
"""

import re
from decimal import Decimal

import pytest
from babel import Locale
from babel.numbers import format_decimal, get_currency_name
from hypothesis import given, settings
from hypothesis import strategies as st
from wording.amounts import LOCALES, MINORS, OWN

from cheque import money
from cheque.wording import figures, plain, styles

#: Ours for CLDR's, with the reason in the file of the names.
RENAMED = {
    ("en", "GBP"): ("pound sterling", "pounds sterling"),
    ("fr", "KWD"): ("dinar koweïtien", "dinars koweïtiens"),
    ("de", "GBP"): ("Pfund Sterling", "Pfund Sterling"),
    ("de", "PLN"): ("Polnischer Zloty", "Polnische Zloty"),
    ("de", "BRL"): ("Brasilianischer Real", "Brasilianische Reais"),
    ("nl", "GBP"): ("pond sterling", "pond sterling"),
    ("pl", "MXN"): ("peso meksykańskie", "peso meksykańskie", "peso meksykańskich"),
    ("pt_PT", "GBP"): ("libra esterlina", "libras esterlinas"),
}
FOREIGN = [
    (locale, currency) for locale in styles.LOCALES for currency in styles.get(locale).names if currency != OWN[locale]
]


@settings(deadline=None, max_examples=600)
@given(LOCALES, MINORS, st.sampled_from(["USD", "JPY", "KWD", "CLF"]))
def test_figures_are_grouped_and_pointed_as_the_country_does(locale: str, minor: int, currency: str) -> None:
    places = money.digits(currency)
    pattern = Locale.parse(locale).decimal_formats[None].pattern.split(";")[0]
    pattern = re.sub(r"0(?:\.[#0]+)?$", "0" + ("." + "0" * places if places else ""), pattern)
    wanted = format_decimal(Decimal(minor).scaleb(-places), format=pattern, locale=locale)
    assert figures(minor, currency, locale) == plain(wanted).replace(" ", "")


@pytest.mark.parametrize(("locale", "currency"), FOREIGN)
def test_a_foreign_currency_has_the_name_that_cldr_gives_it(locale: str, currency: str) -> None:
    counts = (1, 2, 5) if locale == "pl_PL" else (1, 2)
    wanted = tuple(get_currency_name(currency, count=count, locale=locale) for count in counts)
    if locale == "pt_BR":  # CLDR begins these with a capital, for lists
        wanted = tuple(name[0].lower() + name[1:] for name in wanted)
    wanted = RENAMED.get((locale, currency)) or RENAMED.get((locale[:2], currency)) or wanted
    ours = styles.get(locale).names[currency].unit
    if locale in ("en_US", "en_CA"):  # after a fraction, always in the plural
        wanted = (wanted[1], wanted[1])
    assert ours[: len(wanted)] == wanted


@pytest.mark.parametrize("locale", styles.LOCALES)
def test_the_form_of_a_name_follows_the_plural_rule_of_the_language(locale: str) -> None:
    rule = Locale.parse(locale).plural_form
    style = styles.get(locale)
    read_side = style.reader(str).unit_form
    numbers = [*range(1_200), 10**6, 2 * 10**6, 10**6 + 1, 10**9, 10**9 + 22, 10**12 - 1]
    forms = {"one": 0, "few": 1, "many": 2, "other": 1}
    if locale == "it_IT":  # the name stands first, so there is no "un milione di euro"
        forms["many"] = 1
    for number in numbers:
        ours = style.unit_form(number)
        assert read_side(number) == ours
        if locale == "pt_BR" and number == 0:  # CLDR counts nought as one; "zero reais" is what is said
            assert ours == 1
        else:
            assert ours == forms[rule(number)], number
