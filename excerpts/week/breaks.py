"""Breaks inside a session: five minutes after 25 to 30 of playing, never more than 30 without one.

The lengths follow what string teachers and musicians' health sheets advise; they are defaults.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

LONGEST: Final = 30
"""Minutes of playing without a break at most."""

LENGTH: Final = 5
_USUAL: Final = 25
_NEAR: Final = 8
"""Minutes that a break may come sooner or later than the even division, to fall between two items."""


def break_count(total: int) -> int:
    """How many breaks a session of `total` minutes has, the breaks counted in the total."""
    if total <= LONGEST:
        return 0
    return -(-(total - _USUAL) // (_USUAL + LENGTH))


def break_minutes(total: int) -> int:
    """Minutes of a session of `total` minutes that are breaks."""
    return LENGTH * break_count(total)


def break_places(count: int, items: Iterable[int]) -> tuple[int, ...]:
    """Minutes of playing after which each of `count` breaks comes.

    A break falls between two items where one ends near the even division, else inside an item;
    no block is over thirty minutes.

    Args:
        count: Number of breaks.
        items: Minutes of the items in the order they are played.
    """
    ends: list[int] = []
    for minutes in items:
        ends.append(minutes + (ends[-1] if ends else 0))
    playing = ends[-1] if ends else 0
    places: list[int] = []
    last = 0
    for blocks in range(count, 0, -1):
        even = last + round((playing - last) / (blocks + 1))
        least = max(last + 1, playing - LONGEST * blocks)
        most = min(last + LONGEST, playing - blocks)
        fitting = [end for end in ends if least <= end <= most and abs(end - even) <= _NEAR]
        last = min(fitting, key=lambda end: abs(end - even), default=even)
        places.append(last)
    return tuple(places)
