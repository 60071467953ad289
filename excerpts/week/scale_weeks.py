"""Spreads a list of scales over the weeks, the same way every time.

With `start` and `until` each scale has its week, the first ones first; what was not heard by then comes again with
the next week's, the oldest first. Without them a few take turns each week, in the order of the list. What was heard
comes back only when all has been. How many a week: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Final

from excerpts.week.model import LISTED, Week
from excerpts.weekfile.items import WarmupItem
from excerpts.weekfile.scale_list import ListedScale, ScaleList, scale_names
from excerpts.words import Words

MOST: Final = 6
"""Scales of one week, at most, when some of earlier weeks are still to be heard."""

IN_TURN: Final = 4
"""Scales of one week where the list has no last day."""


def scales_of_week(listed: ScaleList, first_day: date, heard: Collection[str] = ()) -> list[int]:
    """The scales of a week, by their places in the list.

    Args:
        listed: The list.
        first_day: First day of the week.
        heard: Names of those that the player's lessons have ticked.
    """
    ticked = {name.casefold() for name in heard}
    unheard = [
        place
        for place, (scale, name) in enumerate(zip(listed.scales, scale_names(listed), strict=True))
        if not _heard(scale, first_day) and name.casefold() not in ticked
    ]
    if listed.start is None or listed.until is None:
        return _in_turn(len(listed.scales), unheard, first_day)
    weeks = (listed.until - listed.start).days // 7 + 1
    now = min(max((first_day - listed.start).days // 7, 0), weeks - 1)
    own = [place for place in range(len(listed.scales)) if place * weeks // len(listed.scales) == now]
    late = [place for place in unheard if place * weeks // len(listed.scales) < now]
    fresh = own if not unheard else [place for place in own if place in unheard]
    chosen = [*fresh, *late][: max(MOST, len(fresh))]
    return sorted(chosen) or own or _in_turn(len(listed.scales), unheard, first_day)


def _heard(scale: ListedScale, first_day: date) -> bool:
    return scale.heard is not None and scale.heard <= first_day


def _in_turn(count: int, unheard: list[int], first_day: date) -> list[int]:
    """A few in turn: the week of the calendar tells where in the list it begins."""
    start = first_day.toordinal() // 7 * IN_TURN
    turn = [(start + step) % count for step in range(count)]
    return sorted([place for place in turn if not unheard or place in unheard][:IN_TURN])


def with_listed_scales(week: Week) -> Week:
    """Add the scales of this week from the list that the week file names; none where the list has faults."""
    file = week.scale_list
    if file is None or file.listed is None or file.faults:
        return week
    places = _places(week, file.listed)
    words = Words(week.player.words)
    added = [_item(file.listed.scales[place], words) for place in places]
    first = len(week.warmups)
    came_from = {("warmup", first + number): (LISTED, place) for number, place in enumerate(places)}
    update = {"warmups": (*week.warmups, *added), "came_from": {**week.came_from, **came_from}}
    return week.model_copy(update=update)


def _places(week: Week, listed: ScaleList) -> list[int]:
    return scales_of_week(listed, week.week.start, week.player.scales_heard)


def listed_names(week: Week) -> tuple[str, ...]:
    """The names of all scales of the player's list; none where there is no list."""
    return scale_names(week.scale_list.listed) if week.scale_list and week.scale_list.listed else ()


def due_scales(week: Week) -> tuple[str, ...]:
    """The names of the scales of this week that come from the player's list."""
    if week.scale_list is None or week.scale_list.listed is None:
        return ()
    names = listed_names(week)
    return tuple(names[place] for place in _places(week, week.scale_list.listed))


def _item(scale: ListedScale, words: Words) -> WarmupItem:
    return scale.warmup.model_copy(update={"note": scale.note or words("warmup.listed")})
