"""Breaks inside a session: five minutes after 25 to 30 of playing, never more than 30 without one.

The lengths follow what string teachers and musicians' health sheets advise; they are defaults.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

LONGEST: Final = 30
"""Minutes of playing without a break at most, unless the week says otherwise."""

LENGTH: Final = 5
_NEAR: Final = 8
"""Minutes that a break may come sooner or later than the even division, to fall between two items."""


def break_count(total: int, longest: int = LONGEST, length: int = LENGTH) -> int:
    """How many breaks a session of `total` minutes has, the breaks counted in the total.

    Args:
        total: Minutes of the session.
        longest: Minutes of playing without a break at most; five sixths of them are usual.
        length: Minutes of a break; with 0 there are none.
    """
    if total <= longest or not length:
        return 0
    usual = longest * 5 // 6
    return -(-(total - usual) // (usual + length))


def break_minutes(total: int, longest: int = LONGEST, length: int = LENGTH) -> int:
    """Minutes of a session of `total` minutes that are breaks."""
    return length * break_count(total, longest, length)


def break_places(count: int, items: Iterable[int], longest: int = LONGEST) -> tuple[int, ...]:
    """Minutes of playing after which each of `count` breaks comes.

    A break falls between two items where one ends near the even division, else inside an item;
    no block is over `longest` minutes.

    Args:
        count: Number of breaks.
        items: Minutes of the items in the order they are played.
        longest: Minutes of playing without a break at most.
    """
    ends: list[int] = []
    for minutes in items:
        ends.append(minutes + (ends[-1] if ends else 0))
    playing = ends[-1] if ends else 0
    near = min(_NEAR, longest // 3)
    places: list[int] = []
    last = 0
    for blocks in range(count, 0, -1):
        even = last + round((playing - last) / (blocks + 1))
        least = max(last + 1, playing - longest * blocks)
        most = min(last + longest, playing - blocks)
        fitting = [end for end in ends if least <= end <= most and abs(end - even) <= near]
        last = min(fitting, key=lambda end: abs(end - even), default=even)
        places.append(last)
    return tuple(places)
