"""Spreads a list of scales over the weeks, the same way every time.

With `start` and `until` each scale has its week, the first ones first; what was not heard by then comes again with
the next week's, the oldest first. Without them a few take turns each week, in the order of the list. What was heard
comes back only when all has been. How many a week: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from pathlib import Path
from typing import Final

from excerpts.errors import WeekError
from excerpts.week.crosscheck import Finding
from excerpts.week.scale_list import ListedScale, ListFile, ScaleList, read_scale_list, sound_list_file
from excerpts.week.scale_names import scale_names
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.weekfile.items import WarmupItem, sentence
from excerpts.weekfile.model import Week
from excerpts.weekfile.root import find_score
from excerpts.words import Words

MOST: Final = 6
"""Scales of one week, at most, when some of earlier weeks are still to be heard."""

LISTED: Final = "scales"
"""The key of a week file that names the list; with a place, a row of the list."""

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


def with_listed_scales(week: Week) -> tuple[Week, list[Fault | Finding]]:
    """Add the scales of this week from the list that the week file names.

    Returns:
        The week with its warm-ups, and what is wrong with the list: faults of its own, with their file and line, or
        what stands at its name in the week file.
    """
    if week.scales is None:
        return week, []
    try:
        listed = _list_of(week, week.scales)
    except WeekFaultsError as error:
        return week, list(error.faults)
    except WeekError as error:
        return week, [(("scales",), sentence(error))]
    places = _places(week, listed)
    words = Words(week.player.words)
    added = [_item(listed.scales[place], words) for place in places]
    first = len(week.warmups)
    came_from = {("warmup", first + number): (LISTED, place) for number, place in enumerate(places)}
    update = {"warmups": (*week.warmups, *added), "came_from": {**week.came_from, **came_from}}
    return week.model_copy(update=update), []


def listed_file(week: Week) -> ListFile | None:
    """What is sound of the list of scales that a week names; None where it names none or nothing is.

    Raises:
        WeekError: The list cannot be read.
    """
    return sound_list_file(_path_of(week, week.scales)) if week.scales else None


def _path_of(week: Week, name: str) -> Path:
    return find_score(name, week.path.resolve().parent, week.studio, "file")


def _list_of(week: Week, name: str) -> ScaleList:
    return read_scale_list(_path_of(week, name))


def _places(week: Week, listed: ScaleList) -> list[int]:
    return scales_of_week(listed, week.week.start, week.player.scales_heard)


def listed_names(week: Week) -> tuple[str, ...]:
    """The names of all scales of the player's list; none where there is no list.

    Raises:
        WeekError: The list cannot be read.
    """
    return scale_names(_list_of(week, week.scales)) if week.scales else ()


def due_scales(week: Week) -> tuple[str, ...]:
    """The names of the scales of this week that come from the player's list.

    Raises:
        WeekError: The list cannot be read.
    """
    if not week.scales:
        return ()
    listed = _list_of(week, week.scales)
    names = scale_names(listed)
    return tuple(names[place] for place in _places(week, listed))


def _item(scale: ListedScale, words: Words) -> WarmupItem:
    return scale.warmup.model_copy(update={"note": scale.note or words("warmup.listed")})
