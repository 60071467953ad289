"""Rectangles in millimetres: x to the right, y downwards, from the top left corner of a system."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Rect(NamedTuple):
    """An upright rectangle in millimetres.

    A tuple: thousands are made for a page, and a frozen dataclass takes three times as long to make.
    """

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Width in millimetres."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Height in millimetres."""
        return self.bottom - self.top

    def grown(self, by: float) -> Rect:
        """The rectangle with `by` millimetres more on each side."""
        return Rect(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def moved(self, dx: float = 0.0, dy: float = 0.0) -> Rect:
        """The rectangle shifted."""
        return Rect(self.left + dx, self.top + dy, self.right + dx, self.bottom + dy)

    def meets(self, other: Rect, slack: float = 0.0) -> bool:
        """Whether the two overlap by more than `slack` millimetres in both directions."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > slack
            and min(self.bottom, other.bottom) - max(self.top, other.top) > slack
        )

    def holds(self, other: Rect, slack: float = 0.0) -> bool:
        """Whether `other` lies inside, give or take `slack` millimetres."""
        return (
            self.left - slack <= other.left
            and self.top - slack <= other.top
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )


def union(rects: Iterable[Rect]) -> Rect:
    """The smallest rectangle round all of `rects`.

    Raises:
        ValueError: There is none to go round.
    """
    corners = list(rects)
    if len(corners) == 1:
        return corners[0]
    lefts, tops, rights, bottoms = zip(*corners, strict=True)
    return Rect(min(lefts), min(tops), max(rights), max(bottoms))
