"""Long lists of whole numbers that mostly follow on, kept as ranges: a run of a million forms is one of them.

>>> some = Ranges([1, 2, 3, 7, 8])
>>> some, len(some), some[3], list(some[2:4])
(Ranges([(1, 3), (7, 8)]), 5, 7, [3, 7])
>>> some == [1, 2, 3, 7, 8]
True
>>> list(Plan(501, some[2:]))
[(501, 3), (502, 7), (503, 8)]
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from operator import itemgetter
from typing import overload


class Ranges(Sequence[int]):
    """Whole numbers in rising order; equal to any sequence of the same numbers."""

    def __init__(self, numbers: Iterable[int] = ()) -> None:
        #: first and last of each range, and how many numbers stand before it
        self.ranges: list[tuple[int, int]] = []
        first = last = None
        for number in numbers:
            if last is not None and number == last + 1:
                last = number
                continue
            self._close(first, last)
            first = last = number
        self._close(first, last)
        self._settle()

    def _close(self, first: int | None, last: int | None) -> None:
        if first is not None and last is not None:
            self.ranges.append((first, last))

    def _settle(self) -> None:
        self._before: list[int] = []
        self._length = 0
        for first, last in self.ranges:
            self._before.append(self._length)
            self._length += last - first + 1

    def __len__(self) -> int:
        return self._length

    def index(self, number: int, start: int = 0, stop: int | None = None) -> int:
        """The place of a number among them. ValueError when it is not among them."""
        which = bisect_right(self.ranges, number, key=itemgetter(0)) - 1
        if which < 0 or number > self.ranges[which][1]:
            raise ValueError(number)
        return self._before[which] + number - self.ranges[which][0]

    def __contains__(self, number: object) -> bool:
        if not isinstance(number, int):
            return False
        which = bisect_right(self.ranges, number, key=itemgetter(0)) - 1
        return which >= 0 and number <= self.ranges[which][1]

    def __iter__(self) -> Iterator[int]:
        for first, last in self.ranges:
            yield from range(first, last + 1)

    @overload
    def __getitem__(self, place: int) -> int: ...
    @overload
    def __getitem__(self, place: slice) -> "Ranges": ...
    def __getitem__(self, place: int | slice) -> "int | Ranges":
        if isinstance(place, slice):
            start, stop, step = place.indices(self._length)
            return self._part(start, stop) if step == 1 else Ranges(self[n] for n in range(start, stop, step))
        if not -self._length <= place < self._length:
            raise IndexError(place)
        place %= self._length
        which = bisect_right(self._before, place) - 1
        return self.ranges[which][0] + place - self._before[which]

    def _part(self, start: int, stop: int) -> "Ranges":
        part = Ranges()
        which = max(bisect_right(self._before, start) - 1, 0)
        for (first, last), before in zip(self.ranges[which:], self._before[which:], strict=True):
            if before >= stop:
                break
            low, high = first + max(start - before, 0), min(last, first + stop - before - 1)
            if low <= high:
                part.ranges.append((low, high))
        part._settle()
        return part

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Ranges):
            return self.ranges == other.ranges
        return isinstance(other, Sequence) and len(other) == len(self) and all(map(int.__eq__, self, other))

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"Ranges({self.ranges})"


class Plan(Sequence[tuple[int, int]]):
    """Which number gets which payment, (number, item): numbers that follow on, from the first.

    `further`: item -> how many forms beyond its first a payment takes, its stub going on; it stands on each of them.

    >>> list(Plan(501, Ranges([1, 2, 3]), {2: 1})), Plan(501, Ranges([1, 2, 3]), {2: 1})[2]
    ([(501, 1), (502, 2), (503, 2), (504, 3)], (503, 2))
    """

    def __init__(self, first: int, items: Ranges, further: Mapping[int, int] | None = None) -> None:
        self.first, self.items = first, items
        #: of each payment that goes on: the place of its first form, which payment of the plan it is, forms beyond
        self._further: list[tuple[int, int, int]] = []
        beyond = 0
        for item in sorted(further or ()):
            if item in items:
                index = items.index(item)
                self._further.append((index + beyond, index, (further or {})[item]))
                beyond += (further or {})[item]
        self._length = len(items) + beyond

    def __len__(self) -> int:
        return self._length

    def __iter__(self) -> Iterator[tuple[int, int]]:
        return enumerate(
            (self._item(place) for place in range(self._length)) if self._further else self.items, self.first
        )

    def _item(self, place: int) -> int:
        which = bisect_right(self._further, place, key=itemgetter(0)) - 1
        if which < 0:
            return self.items[place]
        start, index, beyond = self._further[which]
        return self.items[index + max(0, place - start - beyond)]

    @overload
    def __getitem__(self, place: int) -> tuple[int, int]: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[tuple[int, int]]: ...
    def __getitem__(self, place: int | slice) -> tuple[int, int] | Sequence[tuple[int, int]]:
        if isinstance(place, slice):
            start, _, step = place.indices(len(self))
            if step == 1 and not self._further:
                return Plan(self.first + start, self.items[place])
            return [self[n] for n in range(*place.indices(len(self)))]
        if not -self._length <= place < self._length:
            raise IndexError(place)
        place %= self._length
        return self.first + place, self._item(place)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and len(other) == len(self) and all(map(tuple.__eq__, self, other))

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"Plan({self.first}, {self.items})"

    @property
    def stretches(self) -> list[list[int]]:
        """As an event keeps it: [number, item, how many] for each stretch in which both follow on."""
        found, number = [], self.first
        going_on = {self.items[index]: beyond for _, index, beyond in self._further}
        ends = sorted(going_on)
        for begin, last in self.items.ranges:
            first = begin
            for end in [*ends[bisect_left(ends, begin) : bisect_right(ends, last)], last]:
                if first <= end:
                    found.append([number, first, end - first + 1])
                    number += end - first + 1 + going_on.get(end, 0)
                    first = end + 1
        return found

    @property
    def continuations(self) -> list[list[int]]:
        """The forms on which stubs go on: [number, item, how many] for each such payment."""
        return [[self.first + start + 1, self.items[index], beyond] for start, index, beyond in self._further]


def whole(plan: Sequence[tuple[int, int]], end: int) -> int:
    """The place, from `end` on, before which no payment of a plan is torn in two.

    >>> [whole([(501, 1), (502, 2), (503, 2), (504, 3)], end) for end in range(5)]
    [0, 1, 3, 3, 4]
    """
    while 0 < end < len(plan) and plan[end][1] == plan[end - 1][1]:
        end += 1
    return end
