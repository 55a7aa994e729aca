"""A batch divided among printers: nothing lost, in order, nobody far from a fair share."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from cheque.estimate import shares


@given(forms=st.integers(0, 20_000), speeds=st.lists(st.integers(1, 5_000), min_size=1, max_size=8))
def test_every_form_is_given_to_one_printer_and_none_is_more_than_a_form_from_its_share(
    forms: int, speeds: list[int]
) -> None:
    found = shares(forms, speeds)
    assert sum(found) == forms
    assert len(found) == len(speeds)
    for share, speed in zip(found, speeds, strict=True):
        assert abs(share - Fraction(forms * speed, sum(speeds))) <= 1
        assert share >= 0


@given(forms=st.integers(0, 20_000), printers=st.integers(1, 9), speed=st.integers(1, 5_000))
def test_printers_of_one_speed_share_alike(forms: int, printers: int, speed: int) -> None:
    found = shares(forms, [speed] * printers)
    assert max(found) - min(found) <= 1
