"""How long a run will take: added up from the pages, and never less for more work."""

import doctest

from hypothesis import HealthCheck, given
from hypothesis import settings as how
from hypothesis import strategies as st

from cheque import estimate
from cheque.estimate import in_words, milliseconds
from cheque.language import Look
from cheque.page import Mark, Weight
from cheque.units import INCH

TENTH, SIXTH = INCH // 10, INCH // 6
LOOK = Look(7 * INCH, SIXTH)
MARKS = st.lists(
    st.builds(
        Mark,
        st.integers(0, 70).map(lambda column: column * TENTH),
        st.integers(0, 40).map(lambda line: line * SIXTH),
        st.just(TENTH),
        st.just(0),
        st.text("ABC 123", min_size=1, max_size=20),
    ),
    max_size=12,
)


#: a busy machine is no fault
unhurried = how(deadline=None, suppress_health_check=[HealthCheck.too_slow])


def test_what_the_module_shows_is_true() -> None:
    assert doctest.testmod(estimate).failed == 0


def test_a_blank_form_takes_the_papers_time_alone() -> None:
    assert milliseconds((), LOOK, 200) == 7000 // 4 + estimate.START_AND_STOP
    assert milliseconds((Mark(0, 0, TENTH, 0, "   "),), LOOK, 200) == milliseconds((), LOOK, 200)


def test_one_line_of_eighty_characters_takes_eighty_characters_time() -> None:
    blank = milliseconds((), LOOK, 200)
    line = (Mark(0, 0, TENTH, 0, "X" * 80),)
    assert milliseconds(line, LOOK, 200) - blank == 80 * 1000 // 200 + estimate.TURN


def test_a_double_strike_is_a_second_pass_and_letter_quality_four_times_as_slow() -> None:
    blank = milliseconds((), LOOK, 200)
    line = Mark(0, 0, TENTH, 0, "X" * 80)
    draft = milliseconds((line,), LOOK, 200) - blank - estimate.TURN
    double = milliseconds((line._replace(weight=Weight.DOUBLE),), LOOK, 200) - blank - 2 * estimate.TURN
    assert double == 2 * draft
    letter = milliseconds((line,), LOOK._replace(quality="letter"), 200) - blank - estimate.TURN
    assert letter == 4 * draft
    assert estimate.passes(Weight.DOUBLE | Weight.BOLD) == 4


def test_both_directions_save_the_way_back() -> None:
    lines = tuple(Mark(0, line * SIXTH, TENTH, 0, "X" * 80) for line in range(4))
    one_way = milliseconds(lines, LOOK._replace(one_direction=True), 200)
    assert one_way - milliseconds(lines, LOOK, 200) == 3 * 80 * 1000 // 200


@unhurried
@given(MARKS, MARKS)
def test_more_on_the_form_never_takes_less_time_in_one_direction(some: list[Mark], more: list[Mark]) -> None:
    """In both directions an additional line may leave the head nearer to the next one, by a fraction of a second."""
    look = LOOK._replace(one_direction=True)
    assert milliseconds([*some, *more], look, 200) >= milliseconds(some, look, 200)


@unhurried
@given(MARKS, st.integers(1, 2000))
def test_a_faster_printer_never_takes_longer(marks: list[Mark], speed: int) -> None:
    assert milliseconds(marks, LOOK, speed + 1) <= milliseconds(marks, LOOK, speed)


@unhurried
@given(MARKS)
def test_the_order_of_the_marks_does_not_count(marks: list[Mark]) -> None:
    assert milliseconds(marks[::-1], LOOK, 200) == milliseconds(marks, LOOK, 200)


def test_times_are_told_as_people_say_them() -> None:
    told = {499: "less than a second", 500: "1 second", 89_000: "89 seconds", 90_000: "2 minutes", 300_000: "5 minutes"}
    for given_, words in told.items():
        assert in_words(given_) == words
    assert in_words(3_600_000) == "1 hour"
    assert in_words(3_660_000) == "1 hour 1 minute"
    assert in_words(2 * 3_600_000 + 59 * 60_000) == "2 hours 59 minutes"
