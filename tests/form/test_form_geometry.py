"""Rectangles and lengths of a form."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cheque.form import Area, Grid
from cheque.form.geometry import left_over
from cheque.form.lengths import place, size, step
from cheque.units import INCH, MILLIMETRE

areas = st.builds(Area, st.integers(0, 12), st.integers(0, 12), st.integers(1, 8), st.integers(1, 8))
GRID = Grid(INCH // 10, INCH // 6, INCH // 4, INCH // 12)


def points(area: Area) -> set[tuple[int, int]]:
    return {(x, y) for x in range(area.left, area.right) for y in range(area.top, area.bottom)}


@given(areas, areas)
def test_areas_overlap_when_they_share_a_point_and_hold_when_they_have_all(one: Area, other: Area) -> None:
    assert one.overlaps(other) == bool(points(one) & points(other))
    assert one.holds(other) == (points(other) <= points(one))
    assert one.overlaps(other) == other.overlaps(one)


@given(areas, st.lists(areas, max_size=5))
def test_what_is_left_over_is_exactly_what_nothing_covers(area: Area, cover: list[Area]) -> None:
    rest = left_over(area, cover)
    covered = set().union(*(points(one) for one in cover)) if cover else set()
    assert set().union(set(), *(points(piece) for piece in rest)) == points(area) - covered
    assert sum(piece.width * piece.height for piece in rest) == len(points(area) - covered)


def test_a_rule_overlaps_what_it_crosses_and_not_what_it_touches() -> None:
    cell = Area(0, 0, 10, 10)
    assert Area(0, 5, 10, 0).overlaps(cell)
    assert cell.overlaps(Area(5, 0, 0, 10))
    assert not Area(0, 10, 10, 0).overlaps(cell)
    assert not cell.overlaps(Area(10, 0, 0, 10))


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("column 1", INCH // 4),
        ("column 12", INCH // 4 + INCH * 11 // 10),
        ("column 1/2", INCH // 4 - INCH // 20),
        ("line 9 1/2", INCH // 12 + INCH * 85 // 60),
        ("6 mm", 6 * MILLIMETRE),
    ],
)
def test_a_place_is_a_length_or_stands_on_the_chart(text: str, units: int) -> None:
    assert place(text, GRID) == units


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("2 lines", INCH // 3),
        ("1 column", INCH // 10),
        ("2 1/2 lines", INCH * 5 // 12),
        ("1/4 in", INCH // 4),
        ("0 in", 0),
    ],
)
def test_a_size_is_a_length_or_so_many_lines_or_columns(text: str, units: int) -> None:
    assert size(text, GRID) == units


def test_condensed_is_sold_as_17_1_and_is_7_120_in() -> None:
    assert step("17.1 to the inch") == INCH * 7 // 120
    assert step("10 to the inch") == INCH // 10
    assert step("23/216 in") == INCH * 23 // 216


@pytest.mark.parametrize("text", ["line 1/7919", "column", "line nine", "1 row", "-1 in", "25 in", "2 1/0 lines"])
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        size(text, GRID)
