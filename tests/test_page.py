"""Marks, slots and feeds: a number goes into its place or is refused; the error of the feed never adds up."""

import doctest

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as how
from hypothesis import strategies as st

from cheque import page
from cheque.page import Mark, Page, Slot, feed_steps
from cheque.units import INCH, MILLIMETRE

#: a busy machine is no fault
unhurried = how(deadline=None, suppress_health_check=[HealthCheck.too_slow])

TENTH = INCH // 10


def test_what_the_module_shows_is_true() -> None:
    assert doctest.testmod(page).failed == 0


def test_the_forms_number_goes_into_every_slot() -> None:
    mark = Mark(0, 0, TENTH, 0, "Ay Li")
    slots = (Slot(7 * INCH, 0, TENTH, 0, 10), Slot(7 * INCH, INCH, TENTH, 1, 6))
    assert Page((mark,), slots).numbered("100501") == (
        mark,
        Mark(7 * INCH, 0, TENTH, 0, "100501"),
        Mark(7 * INCH, INCH, TENTH, 1, "100501"),
    )
    assert Page((mark,)).numbered("100501") == (mark,)


def test_a_number_longer_than_its_place_is_refused() -> None:
    with pytest.raises(ValueError, match="number 1000501 is longer than its place of 6 characters"):
        Page((), (Slot(0, 0, TENTH, 0, 6),)).numbered("1000501")


@unhurried
@given(length=st.integers(1, 24 * INCH), step=st.integers(1, INCH), forms=st.integers(1, 300))
def test_feeds_of_a_whole_carton_are_off_by_less_than_one_step(length: int, step: int, forms: int) -> None:
    fed = 0
    for k in range(forms):
        fed += feed_steps(length, step, k) * step
        assert 0 <= (k + 1) * length - fed < step


@pytest.mark.parametrize("length", [7 * INCH, 92 * MILLIMETRE, 102 * MILLIMETRE, 11 * INCH // 3])
@pytest.mark.parametrize("parts", [72, 180, 216, 360])
def test_the_last_of_ten_thousand_forms_is_as_straight_as_the_first(length: int, parts: int) -> None:
    step = INCH // parts
    fed = sum(feed_steps(length, step, k) for k in range(10_000)) * step
    assert 0 <= 10_000 * length - fed < step


@unhurried
@given(length=st.integers(1, 24 * INCH), step=st.integers(1, INCH), k=st.integers(0, 10**6))
def test_any_two_feeds_of_a_form_differ_by_one_step_at_most(length: int, step: int, k: int) -> None:
    assert abs(feed_steps(length, step, k) - feed_steps(length, step, 0)) <= 1
