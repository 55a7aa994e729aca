"""Rectangles on the paper, in whole units: what holds what, what touches what, how far something can move.

All are measured from the upper left corner of the form after bursting, x to the right and y down. Edges that
only touch do not overlap, as two characters side by side do not.
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle: `left` and `top` of its upper left corner, `width` and `height`, in units.

    >>> Area(0, 0, 10, 10).overlaps(Area(10, 0, 5, 5))
    False
    >>> Area(0, 0, 10, 10).holds(Area(2, 2, 8, 8))
    True
    """

    left: int
    top: int
    width: int
    height: int

    @property
    def right(self) -> int:
        """x of the right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> int:
        """y of the bottom edge."""
        return self.top + self.height

    def holds(self, other: "Area") -> bool:
        """Whether `other` lies wholly inside; touching edges are inside."""
        return (
            self.left <= other.left
            and self.top <= other.top
            and other.right <= self.right
            and other.bottom <= self.bottom
        )

    def overlaps(self, other: "Area") -> bool:
        """Whether the two have any inside in common; a rule (no width or no height) that is crossed counts."""
        return self.beside(other) and self.abreast(other)

    def beside(self, other: "Area") -> bool:
        """Whether they share a height: one moved sideways could meet the other."""
        return _meet(self.top, self.bottom, other.top, other.bottom)

    def abreast(self, other: "Area") -> bool:
        """Whether they share a width: one moved up or down could meet the other."""
        return _meet(self.left, self.right, other.left, other.right)


def _meet(low: int, high: int, other_low: int, other_high: int) -> bool:
    if low == high:
        return other_low < low < other_high
    if other_low == other_high:
        return low < other_low < high
    return low < other_high and other_low < high


def left_over(area: Area, cover: Iterable[Area]) -> list[Area]:
    """What of `area` no rectangle of `cover` covers, as rectangles; empty when it is covered wholly."""
    rest = [area]
    for over in cover:
        rest = [piece for old in rest for piece in _cut(old, over)]
    return rest


def _cut(area: Area, over: Area) -> list[Area]:
    """`area` without `over`: at most four pieces, above, below, left and right of it."""
    if not area.overlaps(over):
        return [area]
    top, bottom = max(area.top, over.top), min(area.bottom, over.bottom)
    pieces = [
        Area(area.left, area.top, area.width, top - area.top),
        Area(area.left, bottom, area.width, area.bottom - bottom),
        Area(area.left, top, over.left - area.left, bottom - top),
        Area(over.right, top, area.right - over.right, bottom - top),
    ]
    return [piece for piece in pieces if piece.width > 0 and piece.height > 0]
