"""Numbers kept as ranges are the list of those numbers, whatever is asked of them."""

from hypothesis import given
from hypothesis import settings as how
from hypothesis import strategies as st

from cheque.book.ranges import Plan, Ranges, whole

NUMBERS = st.lists(st.integers(1, 40), unique=True).map(sorted)
SLICES = st.slices(30)


@how(deadline=None)
@given(NUMBERS, SLICES, st.integers(0, 50))
def test_ranges_are_the_list_of_their_numbers(numbers: list[int], part: slice, number: int) -> None:
    ranges = Ranges(numbers)
    assert list(ranges) == numbers
    assert ranges == numbers
    assert ranges == Ranges(numbers)
    assert len(ranges) == len(numbers)
    assert bool(ranges) == bool(numbers)
    assert [ranges[place] for place in range(-len(numbers), len(numbers))] == numbers * 2
    assert (number in ranges) == (number in numbers)
    assert "7" not in ranges
    step = slice(part.start, part.stop, abs(part.step) if part.step else None)
    assert ranges[step] == numbers[step]
    assert ranges != [*numbers, 99]
    assert ranges != [n + 1 for n in numbers] or not numbers


@how(deadline=None)
@given(NUMBERS, SLICES)
def test_a_plan_gives_each_payment_the_next_number(items: list[int], part: slice) -> None:
    plan = Plan(501, Ranges(items))
    pairs = [(501 + place, item) for place, item in enumerate(items)]
    assert plan == pairs
    assert plan[part] == pairs[part]
    assert [plan[place] for place in range(-len(pairs), len(pairs))] == pairs * 2
    told = [(number + n, item + n) for number, item, count in plan.stretches for n in range(count)]
    assert told == pairs


@how(deadline=None)
@given(NUMBERS, st.dictionaries(st.integers(1, 40), st.integers(1, 4)), SLICES, st.integers(0, 90))
def test_a_payment_whose_stub_goes_on_takes_the_next_numbers_too(
    items: list[int], further: dict[int, int], part: slice, end: int
) -> None:
    plan = Plan(501, Ranges(items), further)
    each = [item for item in items for _ in range(1 + further.get(item, 0))]
    pairs = list(enumerate(each, 501))
    assert plan == pairs
    assert list(plan[part]) == pairs[part]
    assert [plan[place] for place in range(-len(pairs), len(pairs))] == pairs * 2
    told = [(number + n, item + n) for number, item, count in plan.stretches for n in range(count)]
    assert [item for _, item in told] == items
    told += [(number + n, item) for number, item, count in plan.continuations for n in range(count)]
    assert sorted(told) == pairs
    cut = whole(plan, min(end, len(pairs)))
    assert cut >= min(end, len(pairs))
    assert not {item for _, item in pairs[:cut]} & {item for _, item in pairs[cut:]}


def test_a_run_of_a_million_forms_is_one_range() -> None:
    assert Ranges(range(1, 1_000_001)).ranges == [(1, 1_000_000)]
    assert Plan(501, Ranges(range(1, 1_000_001)))[999_999] == (1_000_500, 1_000_000)
