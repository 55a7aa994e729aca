"""Whole numbers in words against num2words and ICU; and why Turkish is refused.

The whole comparison (121,315 numbers a locale) is `tests/campaign/wording_references.py`; its table is in
docs/evidence/. Here every number from 0 to 99,999 and 20,000 more are compared with ICU, and with num2words, which
is slow, all those in which a rule of joining shows and a sample.
"""

import re
from pathlib import Path

import icu
import pytest
from num2words import num2words
from outside.wording_references import Reference, compare, references, sample, structure
from text_to_num import text2num

from cheque.wording import refused, styles

EVERY = [*range(100_000), *sample(20_000, 7)]
SOME = [*structure(), *sample(300, 11)]
CASES = [(locale, reference) for locale in styles.LOCALES for reference in references(locale)]


@pytest.mark.parametrize(("locale", "reference"), CASES, ids=[f"{locale} by {found.name}" for locale, found in CASES])
def test_our_words_are_the_references_or_differ_by_a_stated_rule(locale: str, reference: Reference) -> None:
    found = compare(locale, reference, EVERY + SOME if reference.name.startswith("ICU") else SOME)
    assert found.unexplained == []
    assert found.compared > 2_800
    assert found.same or found.by_rule


@pytest.mark.parametrize("locale", styles.LOCALES)
def test_every_locale_has_both_references(locale: str) -> None:
    names = [reference.name for reference in references(locale)]
    assert any(name.startswith("num2words") for name in names)
    assert any(name.startswith("ICU") for name in names)


def test_a_reference_that_slips_would_be_noticed() -> None:
    right = references("en_US")[1]
    wrong = right._replace(spell=lambda number: right.spell(number + (number == 21)))
    assert compare("en_US", wrong, list(range(50))).unexplained == [(21, "twenty-one", "twenty-two")]


def test_turkish_drops_a_word_in_num2words_and_is_refused_for_it() -> None:
    icu_turkish = icu.RuleBasedNumberFormat(icu.URBNFRuleSetTag.SPELLOUT, icu.Locale("tr"))
    solid = str(icu_turkish.format(631_536)).replace("\u00ad", "").replace(" ", "")
    assert solid == "altıyüzotuzbirbinbeşyüzotuzaltı"
    assert num2words(631_536, lang="tr") == "altıyüzotuzbinbeşyüzotuzaltı"
    assert num2words(631_536, lang="tr") == num2words(630_536, lang="tr")
    assert "altıyüzotuzbinbeşyüzotuzaltı" in refused()["Turkish"]


@pytest.mark.parametrize("locale", [name for name in styles.LOCALES if styles.get(name).second])
def test_text2num_reads_the_same_number_where_it_is_our_second_reader(locale: str) -> None:
    style = styles.get(locale)
    for form in "mf":
        for number in SOME:
            assert text2num(style.spell(number, form).lower(), style.second) == number


@pytest.mark.parametrize(
    ("locale", "number", "why"),
    [
        ("de_DE", 1_200_000, "eine Million"),
        ("it_IT", 581, "cinquecentottantuno"),
        ("es_ES", 21, "veintiún"),
        ("en_IN", 100_000, "one lakh"),
    ],
)
def test_text2num_does_not_read_these_so_it_is_not_the_second_reader_there(locale: str, number: int, why: str) -> None:
    style = styles.get(locale)
    words = style.spell(number, "m")
    assert words.startswith(why)
    assert not style.second
    with pytest.raises(ValueError, match="invalid literal"):
        text2num(words, locale[:2])
    assert style.reader(str).read(words.lower(), "m") == number


def test_every_rule_by_which_we_differ_is_in_the_documents_with_its_authority() -> None:
    document = (Path(__file__).parents[2] / "docs" / "legal-amounts.md").read_text(encoding="utf-8")
    for _, reference in CASES:
        for rule in reference.rules:
            assert f"| {rule.name} | {rule.authority} |" in document
    for locale in styles.LOCALES:
        assert f"| `{locale}` | " in document


def test_the_committed_table_left_nothing_over() -> None:
    table = (Path(__file__).parents[2] / "docs" / "evidence" / "wording-references.md").read_text(encoding="utf-8")
    for locale, reference in CASES:
        row = re.search(rf"^\| {locale} \| {re.escape(reference.name)} \| {reference.form} \|.*$", table, re.MULTILINE)
        assert row, (locale, reference.name)
        assert row[0].endswith("| 0 |")
