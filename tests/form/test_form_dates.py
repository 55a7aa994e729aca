"""Date patterns."""

import datetime
import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cheque.form import dates, geometry
from cheque.layout import values


@pytest.mark.parametrize(
    ("pattern", "written"),
    [
        ("MM/DD/YYYY", "11/03/2026"),
        ("YYYY-MM-DD", "2026-11-03"),
        ("DDMMYYYY", "03112026"),  # India's eight boxes: Reserve Bank of India, CTS-2010 annexure
        ("D D M M Y Y Y Y", "0 3 1 1 2 0 2 6"),
        ("YYYYMMDD", "20261103"),  # Canada: Payments Canada Standard 006 Part A
        ("DD.MM.YY", "03.11.26"),
    ],
)
def test_a_date_is_written_by_its_pattern(pattern: str, written: str) -> None:
    assert dates.write(dates.check(pattern), "2026-11-03") == written


def test_no_date_is_no_text() -> None:
    assert dates.write("DD.MM.YYYY", "") == ""


@pytest.mark.parametrize(
    "pattern", ["", "MM/YYYY", "DD/MM/YYY", "DD/MM/YYYYYY", "DDD/MM/YYYY", "DD Mon YYYY", "dd.MM.YYYY"]
)
def test_a_pattern_that_does_not_give_the_day_exactly_is_refused(pattern: str) -> None:
    with pytest.raises(ValueError, match=r"has|understood"):
        dates.check(pattern)


@given(st.dates(), st.permutations(["YYYY", "MM", "DD"]), st.sampled_from(["", " ", "/", ".", "-"]))
def test_every_date_comes_back_from_what_is_written(day: datetime.date, order: list[str], mark: str) -> None:
    text = dates.write(mark.join(order), day.isoformat())
    codes = {"YYYY": "%Y", "MM": "%m", "DD": "%d"}
    assert datetime.datetime.strptime(text, mark.join(codes[part] for part in order)).date() == day


@pytest.mark.parametrize("module", [dates, geometry, values])
def test_the_examples_of_the_documentation_are_true(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]
