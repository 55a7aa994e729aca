"""Which languages can feed a form, and after how many forms a rounded feed would be half a line out."""

from dataclasses import replace

import pytest
from form.small_form import small
from hypothesis import given
from hypothesis import strategies as st

from cheque.form import Form
from cheque.form.feeding import STEPS, Step, feeding
from cheque.page import feed_steps
from cheque.units import INCH, read_length


def sized(length: str, spacing: int = INCH // 6) -> Form:
    form = small()
    paper, grid = replace(form.paper, length=read_length(length)), replace(form.grid, spacing=spacing)
    return replace(form, paper=paper, grid=grid)


TABLE_STEPS = (
    Step("plain", INCH // 6, single=False),
    Step("escp9", INCH // 216),
    Step("escp24", INCH // 180),
    Step("escp9", INCH // 72),
)


@pytest.mark.parametrize(
    ("length", "last_good"),
    [
        # computed with 1 in = 25.4 mm: the last form still within 1/12 in, half a line at 6 to the inch
        ("7 in", (None, None, None, None)),
        ("3 1/2 in", (None, None, None, None)),
        ("3 2/3 in", (None, None, None, None)),
        ("4 in", (None, None, None, None)),
        ("92 mm", (1, 49, 476, 28)),
        ("102 mm", (5, 44, 90, 44)),
    ],
)
def test_a_rounded_feed_goes_astray_as_computed(length: str, last_good: tuple[int | None, ...]) -> None:
    assert tuple(row.last_good for row in feeding(sized(length), TABLE_STEPS)) == last_good


def test_at_8_lines_to_the_inch_3_2_3_in_is_29_1_3_lines_and_1_24_in_out_each_form() -> None:
    (row,) = feeding(sized("3 2/3 in", INCH // 8), [Step("plain", INCH // 8, single=False)])
    assert (row.exact, row.error, row.straight) == (False, INCH // 24, False)


def test_single_steps_keep_any_length_straight_and_whole_lines_only_whole_lines() -> None:
    rows = {(row.language, row.step): row for row in feeding(sized("92 mm"))}
    assert all(row.straight == (row.language != "plain") for row in rows.values())
    assert all(row.straight and row.exact for row in feeding(sized("7 in")))


def test_lines_that_fall_between_steps_cannot_be_printed() -> None:
    rows = {(row.language, row.step): row for row in feeding(sized("92 mm", INCH * 23 // 216))}
    assert rows["escp9", INCH // 216].on_lines
    assert not rows["escp24", INCH // 180].on_lines
    assert not rows["escp24", INCH // 180].straight


@given(st.integers(1, 22 * INCH), st.sampled_from(STEPS))
def test_the_count_of_good_forms_is_the_one_that_stepping_through_a_carton_gives(length: int, step: Step) -> None:
    form = replace(small(), paper=replace(small().paper, length=length))
    (row,) = feeding(form, [step])
    fed = (length + step.size // 2) // step.size * step.size  # rounded to the nearest step
    half = form.grid.spacing // 2
    if row.last_good is None:
        assert fed == length
    else:
        assert abs(fed - length) * row.last_good <= half < abs(fed - length) * (row.last_good + 1)


@given(st.integers(INCH, 22 * INCH), st.sampled_from([s for s in STEPS if s.single]), st.integers(1, 10_000))
def test_the_formula_keeps_every_form_of_a_carton_under_one_step(length: int, step: Step, forms: int) -> None:
    fed = sum(feed_steps(length, step.size, k) for k in range(min(forms, 50))) * step.size
    assert 0 <= min(forms, 50) * length - fed < step.size
