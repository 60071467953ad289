"""Gives the items of one day their minutes: the teacher's own first, the rest by the sections' shares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from excerpts.week.plan.model import PlanItem
from excerpts.week.plan.shares import apportion
from excerpts.weekfile.settings import SECTIONS, Section

_LEAST_IN_DEPTH = 3
"""Minutes that the teacher's own minutes for other items always leave a box in depth."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """An item of the day before it has its minutes.

    Attributes:
        item: The item.
        wanted: The teacher's own minutes for it, or None.
        weight: Its part of the section's minutes, against the others.
    """

    item: PlanItem
    wanted: int | None = None
    weight: int = 1


@dataclass(frozen=True, slots=True)
class Allotment:
    """The minutes of each chosen item, in their order; 0 where there was no time.

    Attributes:
        minutes: Whole minutes, adding up to the minutes of playing.
        shortened: The teacher's own minutes did not fit.
        stretched: There was nothing else to play, so that they were exceeded.
    """

    minutes: tuple[int, ...]
    shortened: bool = False
    stretched: bool = False


def allot(playing: int, shares: Mapping[Section, int], chosen: Sequence[Chosen]) -> Allotment:
    """Divide the minutes of playing over the items.

    Args:
        playing: Minutes of playing.
        shares: Minutes that each section should have.
        chosen: The items; at least one.
    """
    own = [place for place, one in enumerate(chosen) if one.wanted is not None]
    free = [place for place, one in enumerate(chosen) if one.wanted is None]
    wanted = [chosen[place].wanted or 0 for place in own]
    kept_free = sum(_LEAST_IN_DEPTH if chosen[place].item.in_depth else 1 for place in free)
    for_own = min(sum(wanted), max(playing - kept_free, 0)) if free else playing
    minutes = [0] * len(chosen)
    given = wanted if for_own == sum(wanted) else apportion(for_own, wanted)
    for place, part in zip(own, given, strict=True):
        minutes[place] = part
    for place, part in zip(free, _free(playing - for_own, shares, chosen, minutes, free), strict=True):
        minutes[place] = part
    _one_in_depth(chosen, minutes)
    return Allotment(tuple(minutes), for_own < sum(wanted), for_own > sum(wanted) and bool(own))


def _free(
    left: int,
    shares: Mapping[Section, int],
    chosen: Sequence[Chosen],
    minutes: Sequence[int],
    free: Sequence[int],
) -> list[int]:
    """Divide what is `left` over the sections by what each still lacks of its share, then over its items."""
    members = {
        section: [place for place in free if chosen[place].item.section == section] for section in SECTIONS
    }
    taken = {
        section: sum(part for one, part in zip(chosen, minutes, strict=True) if one.item.section == section)
        for section in SECTIONS
    }
    filled = [section for section in SECTIONS if members[section]]
    lacking = [max(shares.get(section, 0) - taken[section], 1) for section in filled]
    parts: dict[int, int] = {}
    for section, part in zip(filled, apportion(left, lacking), strict=True):
        places = members[section]
        parts.update(zip(places, apportion(part, [chosen[place].weight for place in places]), strict=True))
    return [parts[place] for place in free]


def _one_in_depth(chosen: Sequence[Chosen], minutes: list[int]) -> None:
    """See that the first box in depth has a minute, on the shortest day too."""
    deep = next((place for place, one in enumerate(chosen) if one.item.in_depth), None)
    if deep is not None and minutes[deep] == 0 and (longest := max(minutes)) > 0:
        minutes[minutes.index(longest)] -= 1
        minutes[deep] = 1
