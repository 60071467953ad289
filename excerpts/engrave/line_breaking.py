"""Line breaking: which bars share a system, evenly filled, with breaks at box edges where that is cheap."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf, log

IDEAL = 1.12
"""Stretch over the engraver's natural spacing that reads best on a stand."""
TIGHT = 0.95
"""Below this stretch the notes begin to crowd."""
TIGHT_SUNG = 1.05
"""The same with words under the notes: the engraver gives a syllable no more room than it takes."""
_TIGHT_WEIGHT = 12.0
_SPLIT_BOX = 0.04
"""Price of a break inside a box."""
_SHORT_END = 0.06
"""Price of a last system that ends before the margin."""
END_STRETCH = 1.6
"""How far the last of several systems is stretched to reach the margin: the one above it is stretched, too."""
_LEFT_OVER = 0.7
"""Price of a last system that ends early, for what it lacks to being stretched: a bar alone looks forgotten."""


@dataclass(frozen=True, slots=True)
class Widths:
    """Natural widths in millimetres.

    Attributes:
        bars: Width of each bar as it stands in the middle of a system.
        head: Width that clef and key take at the start of each system but the first, where they
            belong to the first bar.
        first_extra: What the first bar has more than the head: its time signature.
        tight: Stretch below which it begins to crowd.
    """

    bars: tuple[float, ...]
    head: float
    first_extra: float = 0.0
    tight: float = TIGHT

    def system(self, first: int, end: int) -> float:
        """Natural width of a system of the bars `first` up to but not including `end`."""
        return self.head + (self.first_extra if first == 0 else 0.0) + sum(self.bars[first:end])


def break_lines(
    widths: Widths, width: float, box_edges: frozenset[int], inside_box: frozenset[int], most_stretch: float
) -> tuple[int, ...]:
    """Choose where the systems begin.

    The sum over all systems of the squared logarithm of their stretch against the ideal is made least,
    by dynamic programming over the bars.

    Args:
        widths: Natural widths of the bars.
        width: Width of a system.
        box_edges: Bars at which a box begins or the music after one begins.
        inside_box: Bars before which a break would split a box.
        most_stretch: A system that is the only one is not stretched further than this, it ends early.

    Returns:
        Index of the first bar of each system; the first is 0.
    """
    count = len(widths.bars)

    def price(first: int, end: int) -> float:
        last = end == count
        cost = _fill_price(
            width / widths.system(first, end),
            last=last,
            alone=first == 0 and last,
            most=most_stretch,
            tight=widths.tight,
        )
        return cost + (_SPLIT_BOX if first in inside_box and first not in box_edges else 0.0)

    return _shortest(count, price)


def _fill_price(stretch: float, *, last: bool, alone: bool, most: float, tight: float) -> float:
    if alone and stretch > most:
        return 0.0
    if last and stretch > END_STRETCH:
        return _SHORT_END + _LEFT_OVER * (1 / END_STRETCH - 1 / stretch)
    off = log(stretch / IDEAL) ** 2
    if stretch < tight:
        off += _TIGHT_WEIGHT * log(stretch / tight) ** 2
    return off


def _shortest(count: int, price: Callable[[int, int], float]) -> tuple[int, ...]:
    best = [0.0] + [inf] * count
    came = [0] * (count + 1)
    for end in range(1, count + 1):
        for first in range(end):
            cost = best[first] + price(first, end)
            if cost < best[end] - 1e-12:
                best[end], came[end] = cost, first
    breaks: list[int] = []
    end = count
    while end > 0:
        breaks.append(came[end])
        end = came[end]
    return tuple(reversed(breaks))
