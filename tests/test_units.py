"""Exact lengths: every step of the trade is a whole number of units, and what is written reads back."""

import doctest
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as how
from hypothesis import strategies as st

from cheque import units
from cheque.units import INCH, MILLIMETRE, POINT, exact, inch, read_length, write_length

#: a busy machine is no fault
unhurried = how(deadline=None, suppress_health_check=[HealthCheck.too_slow])


def test_what_the_module_shows_is_true() -> None:
    assert doctest.testmod(units).failed == 0


def test_an_inch_is_25_4_millimetres_exactly() -> None:
    """The international yard and pound agreement of 1959."""
    assert 10 * INCH == 254 * MILLIMETRE
    assert 72 * POINT == INCH


@pytest.mark.parametrize("parts", [6, 8, 10, 12, 15, 20, 60, 72, 120, 180, 216, 360, 1440])
def test_every_step_of_the_printer_languages_is_a_whole_number_of_units(parts: int) -> None:
    assert INCH % parts == 0


def test_the_pitch_of_condensed_print_is_a_whole_number_of_units() -> None:
    assert 7 * INCH % 120 == 0
    assert MILLIMETRE % 1000 == 0  # one micrometre


@pytest.mark.parametrize(
    ("text", "length"),
    [
        ("8 1/2 in", Fraction(17, 2)),
        ("3.5 in", Fraction(7, 2)),
        ("3 2/3 in", Fraction(11, 3)),
        ("1/216 in", Fraction(1, 216)),
        ("-1/4 in", Fraction(-1, 4)),
        ("25.4 mm", Fraction(1)),
        ("2.54 cm", Fraction(1)),
        ("72 pt", Fraction(1)),
        ("  7in ", Fraction(7)),
    ],
)
def test_lengths_are_read_as_people_write_them(text: str, length: Fraction) -> None:
    assert read_length(text) == length * INCH


@pytest.mark.parametrize(
    "text", ["", "7", "in", "7 inches", "1/0 in", "1 2 in", "1.5.5 in", "--1 in", "1e3 in", "7 ft", "½ in"]
)
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"is not a length|divides by zero"):
        read_length(text)


def test_what_is_finer_than_the_unit_is_refused_and_never_rounded() -> None:
    with pytest.raises(ValueError, match="not a whole number of units"):
        read_length("1/7 in")
    with pytest.raises(ValueError, match="not a whole number of units"):
        exact(Fraction(1, 2))
    with pytest.raises(ValueError, match="not a whole number of units"):
        inch(Fraction(1, 11))


@unhurried
@given(st.integers(-400 * INCH, 400 * INCH))
def test_what_is_written_reads_back_to_the_same_length(units_: int) -> None:
    text = write_length(units_)
    assert read_length(text) == units_


@unhurried
@given(st.integers(1, 40_000))
def test_a_length_in_whole_micrometres_reads_back(micrometres: int) -> None:
    length = micrometres * MILLIMETRE // 1000
    assert read_length(write_length(length)) == length
    assert read_length(f"{micrometres // 1000}.{micrometres % 1000:03d} mm") == length
