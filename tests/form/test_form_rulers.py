"""From a ruler to the chart."""

import doctest
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cheque.form import Area, Grid, rulers
from cheque.form.rulers import USUAL, best_grid, corners, depth_of_ten, seat
from cheque.units import INCH, MILLIMETRE, inch

SIXTEENTH = INCH // 16
frames = st.builds(
    lambda x, y, w, h: Area(x * SIXTEENTH, y * SIXTEENTH, w * SIXTEENTH, h * SIXTEENTH),
    st.integers(0, 120), st.integers(0, 100), st.integers(1, 80), st.integers(1, 30),
)  # fmt: skip
grids = st.builds(
    lambda left, top: Grid(INCH // 10, INCH // 6, left * INCH // 120, top * INCH // 72),
    st.integers(0, 11),
    st.integers(0, 11),
)


def test_the_examples_are_true() -> None:
    assert doctest.testmod(rulers).failed == 0


@pytest.mark.parametrize("usual", USUAL)
def test_ten_forms_of_a_usual_depth_are_known_again_from_a_ruler_read_to_a_sixteenth(usual: int) -> None:
    read = round(Fraction(10 * usual, SIXTEENTH))
    depth = depth_of_ten(f"{read}/16 in")
    assert depth.measured * 10 == read * SIXTEENTH
    assert usual in depth.usual


@given(st.integers(1, 2000), st.sampled_from(USUAL))
def test_a_usual_depth_is_named_just_when_the_ruler_cannot_tell_it_from_what_was_read(read: int, usual: int) -> None:
    depth = depth_of_ten(f"{read}/16 in", "1/16 in")
    assert (usual in depth.usual) == (abs(10 * usual - read * SIXTEENTH) <= SIXTEENTH)


def test_92_mm_and_3_2_3_in_are_told_apart_by_ten_forms_and_not_by_one() -> None:
    """92 mm is 3.622 in, 3 2/3 in is 3.667: ten differ by 11 mm."""
    assert depth_of_ten("920 mm", "1 mm").usual == (92 * MILLIMETRE,)
    assert depth_of_ten("36 11/16 in").usual == (inch(Fraction(11, 3)),)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("long", "not a length"),
        ("0 in", "no length of ten forms"),
        ("1/32 in", "no whole number"),
        ("36 5/8", "not a length"),
    ],
)
def test_what_is_no_length_of_ten_forms_is_refused(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        depth_of_ten(text)


@pytest.mark.parametrize("text", ["1 in, 1 in, 2 in", "1 in, 1 in, 1 in, 2 in", "1 in, 2 in, 2 in, 1 in", "a, b, c, d"])
def test_a_frame_is_four_lengths_and_has_a_size(text: str) -> None:
    with pytest.raises(ValueError, match=r"wanted four|not beyond|not a length"):
        corners(text)


@given(frames, grids, st.integers(1, 9), st.integers(1, 20), st.booleans())
def test_print_is_seated_within_its_frame_and_as_much_as_fits(
    frame: Area, grid: Grid, lines: int, need: int, low: bool
) -> None:
    sat = seat(frame, grid, lines=lines, need=need, low=low)
    if sat is None:
        whole = seat(Area(frame.left, frame.top, frame.width + INCH // 5, frame.height + INCH // 3), grid, need=1)
        assert whole is not None  # a cell more each way would do
        return
    cells = Area(
        grid.left + (sat.column - 1) * grid.pitch,
        grid.top + (sat.line - 1) * grid.spacing,
        sat.width * grid.pitch,
        sat.lines * grid.spacing,
    )
    assert frame.holds(cells)
    assert 1 <= sat.lines <= lines
    spare = frame.width - cells.width
    if spare >= 2 * grid.pitch:  # so much is left only to keep half a column free on both sides
        assert cells.left - frame.left >= grid.pitch // 2
        assert frame.right - cells.right >= grid.pitch // 2
    assert spare < 4 * grid.pitch


@given(st.lists(frames, max_size=6))
def test_the_chart_stands_so_that_no_other_stand_seats_more_frames(several: list[Area]) -> None:
    grid = best_grid(several, INCH // 10, INCH // 6)
    assert 0 <= grid.left < grid.pitch
    assert 0 <= grid.top < grid.spacing
    seated = sum(seat(frame, grid) is not None for frame in several)
    for top in range(0, grid.spacing, INCH // 72):
        assert seated >= sum(seat(f, Grid(grid.pitch, grid.spacing, grid.left, top)) is not None for f in several)


def test_a_frame_of_one_line_and_a_half_has_its_line_in_the_middle() -> None:
    frame = Area(INCH, INCH, INCH, INCH // 4)
    grid = best_grid([frame], INCH // 10, INCH // 6)
    sat = seat(frame, grid)
    assert sat is not None
    above = grid.top + (sat.line - 1) * grid.spacing - frame.top
    assert above == frame.height - grid.spacing - above == INCH // 24


def test_a_place_to_sign_is_the_lowest_line_of_its_frame() -> None:
    frame = Area(0, 0, 3 * INCH, INCH)
    plain = Grid(INCH // 10, INCH // 6)
    low, high = seat(frame, plain, low=True), seat(frame, plain, lines=4)
    assert low is not None
    assert high is not None
    assert (low.line, high.line, high.lines) == (5, 2, 4)
