"""The order of names against ICU (International Components for Unicode), which implements UTS #10 with CLDR's data.

Compared at primary strength, where the alphabets of languages differ; what breaks ties is our own.
"""

from itertools import pairwise

import icu
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.collate import key
from cheque.language.tables import TABLES, unprintable
from cheque.wording import styles

#: letters, digits and marks that some printer's table has; boxes and signs of mathematics stand in no name
LETTERS = sorted(
    {
        letter
        for letter in map(chr, [*range(0x20, 0x180), *range(0x400, 0x460)])
        for table in TABLES
        if not unprintable(letter, table)
    }
)
NAMES = st.text(st.sampled_from(LETTERS), max_size=6)


def _collator(locale: str) -> icu.Collator:
    collator = icu.Collator.createInstance(icu.Locale(locale or "root"))
    collator.setStrength(icu.Collator.PRIMARY)
    return collator


def _primary(text: str, locale: str) -> str:
    return key(text, locale).partition("\0")[0]


def _sign(one: str, other: str) -> int:
    return (one > other) - (one < other)


@pytest.mark.parametrize("locale", ["", *styles.LOCALES])
def test_every_character_of_a_name_stands_where_the_language_has_it(locale: str) -> None:
    collator = _collator(locale)
    letters = sorted(LETTERS, key=lambda letter: _primary(letter, locale))
    for before, after in pairwise(letters):
        expected = _sign(_primary(before, locale), _primary(after, locale))
        assert collator.compare(before, after) == expected, (before, after)


@settings(deadline=None, max_examples=400)
@given(st.sampled_from(["", *styles.LOCALES]), NAMES, NAMES)
def test_two_names_are_in_the_order_that_icu_gives_them(locale: str, one: str, other: str) -> None:
    assert _sign(_primary(one, locale), _primary(other, locale)) == _collator(locale).compare(one, other)


@settings(deadline=None, max_examples=200)
@given(NAMES, NAMES)
def test_only_the_same_text_has_the_same_key(one: str, other: str) -> None:
    assert (key(one) == key(other)) == (one == other)
