"""The tool's legal amounts, read back by a reader written from the trade's wording alone (`words_backwards`)."""

import pytest
from hypothesis import given, settings
from outside.words_backwards import read_gb, read_us
from wording.amounts import MINORS

from cheque.wording import word


@settings(deadline=None, max_examples=600)
@given(MINORS)
def test_an_amount_reads_back_to_itself_by_a_reader_that_never_saw_the_speller(minor: int) -> None:
    assert read_us(word(minor, "USD", "en_US").legal) == minor
    assert read_us(word(minor, "CAD", "en_CA").legal) == minor
    if minor:
        assert read_gb(word(minor, "GBP", "en_GB").legal) == minor


@pytest.mark.parametrize("step", [1, 97, 10_007, 1_000_003])
def test_amounts_in_steps_of_every_size_read_back(step: int) -> None:
    for minor in range(step, 3_000 * step, step):
        assert read_us(word(minor, "USD", "en_US").legal) == minor
        assert read_gb(word(minor, "GBP", "en_GB").legal) == minor
