"""Spreads a list of scales over the weeks, the same way every time.

With `start` and `until` each scale has its week, the first ones first; what was not heard by then comes again with
the next week's, the oldest first. Without them a few take turns each week, in the order of the list. What was heard
comes back only when all has been. How many a week: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date
from typing import Final

from excerpts.errors import InputError, WeekError
from excerpts.warmups import plan_warmup
from excerpts.week.crosscheck import Finding
from excerpts.week.items import WarmupItem, sentence
from excerpts.week.model import Week
from excerpts.week.root import find_score
from excerpts.week.scale_list import ListedScale, ScaleList, read_scale_list
from excerpts.week.scale_names import scale_names
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


def with_listed_scales(week: Week) -> tuple[Week, list[Finding]]:
    """Add the scales of this week from the list that the week file names.

    Returns:
        The week with its warm-ups, and what is wrong with the list.
    """
    if week.scales is None:
        return week, []
    try:
        listed = _list_of(week, week.scales)
    except WeekError as error:
        return week, [(("scales",), sentence(error))]
    places = _places(week, listed)
    findings = _findings(week, listed, places)
    words = Words(week.player.words)
    added = [_item(listed.scales[place], words) for place in places]
    return week.model_copy(update={"warmups": (*week.warmups, *added)}), findings


def list_findings(week: Week) -> list[Finding]:
    """What in the list this player cannot play, in whatever week it comes.

    Raises:
        WeekError: The list cannot be read.
    """
    if not week.scales:
        return []
    listed = _list_of(week, week.scales)
    return _findings(week, listed, range(len(listed.scales)))


def _findings(week: Week, listed: ScaleList, places: Sequence[int]) -> list[Finding]:
    names = scale_names(listed)
    found = (_finding(week, names[place], listed.scales[place]) for place in places)
    return [finding for finding in found if finding is not None]


def _list_of(week: Week, name: str) -> ScaleList:
    return read_scale_list(find_score(name, week.path.resolve().parent, week.studio, "file"))


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


def _finding(week: Week, name: str, scale: ListedScale) -> Finding | None:
    """What keeps a scale of the list from being played by this player."""
    try:
        item = scale.warmup
        plan_warmup(
            item.key or "",
            instrument=item.instrument or week.player.instrument,
            level=week.player.level,
            octaves=item.octaves,
            start=item.from_,
            pattern=item.pattern or "scale",
            manner=item.manner,
        )
    except InputError as error:
        return ("scales",), f"{name} in the list: {sentence(error)}"
    return None
