"""Which practice variants a box gets when the teacher names none: by what goes wrong in it.

Common practice of string teachers, no source and no proof: defaults that a list in the week file replaces.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from excerpts.instruments import Level
from excerpts.week.items import BoxItem, FaultName

_BY_FAULT: Final[Mapping[FaultName, tuple[str, ...]]] = {
    "uneven": ("long-short", "short-long"),
    "crossing": ("separate", "short-long"),
    "shift": ("long-short", "short-long"),
    "coordination": ("separate", "separate+long-short"),
    "speed": ("long-short", "short-long", "separate"),
    "rhythm": ("slow", "as-written"),
    "intonation": ("slow", "separate"),
    "tone": ("slow", "separate"),
    "bow-distribution": ("slow", "as-written"),
    "memory": ("slow", "as-written"),
    "reading": ("slow", "as-written"),
}

_ELSE: Final = ("separate", "long-short", "short-long")
"""For a box without a fault: what any running passage gains from."""

_MOST: Final[Mapping[Level, int]] = {"first": 2, "lower": 2, "middle": 3, "upper": 4, "advanced": 4}


def box_variants(box: BoxItem, level: Level) -> tuple[str, ...]:
    """The variants of a box: the teacher's own list, else by its faults, at most as many as the level bears.

    The first choice for each fault comes first, then the second for each.
    """
    if box.variants is not None:
        return box.variants
    lists = [_BY_FAULT[fault] for fault in box.why] or [_ELSE]
    by_rank = (names[rank] for rank in range(max(map(len, lists))) for names in lists if rank < len(names))
    return tuple(dict.fromkeys(by_rank))[: _MOST[level]]
