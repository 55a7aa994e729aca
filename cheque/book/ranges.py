"""Long lists of whole numbers that mostly follow on, kept as ranges: a run of a million forms is one of them.

>>> some = Ranges([1, 2, 3, 7, 8])
>>> some, len(some), some[3], list(some[2:4])
(Ranges([(1, 3), (7, 8)]), 5, 7, [3, 7])
>>> some == [1, 2, 3, 7, 8]
True
>>> list(Plan(501, some[2:]))
[(501, 3), (502, 7), (503, 8)]
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
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
    """Which number gets which payment, (number, item): numbers that follow on, from the first."""

    def __init__(self, first: int, items: Ranges) -> None:
        self.first, self.items = first, items

    def __len__(self) -> int:
        return len(self.items)

    def __iter__(self) -> Iterator[tuple[int, int]]:
        return enumerate(self.items, self.first)

    @overload
    def __getitem__(self, place: int) -> tuple[int, int]: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[tuple[int, int]]: ...
    def __getitem__(self, place: int | slice) -> tuple[int, int] | Sequence[tuple[int, int]]:
        if isinstance(place, slice):
            start, _, step = place.indices(len(self))
            if step == 1:
                return Plan(self.first + start, self.items[place])
            return [self[n] for n in range(*place.indices(len(self)))]
        item = self.items[place]
        return self.first + place % len(self), item

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and len(other) == len(self) and all(map(tuple.__eq__, self, other))

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"Plan({self.first}, {self.items})"

    @property
    def stretches(self) -> list[list[int]]:
        """As an event keeps it: [number, item, how many] for each stretch in which both follow on."""
        found, number = [], self.first
        for first, last in self.items.ranges:
            found.append([number, first, last - first + 1])
            number += last - first + 1
        return found
