"""Warm-ups that the week file does not write out: scales of its list, and scales in the keys of boxes and pieces.

A list of scales is spread over the weeks, the same way every time. With `start` and `until` each scale has its week,
the first ones first; what was not heard by then comes again with the next week's, the oldest first. Without them a few
take turns each week, in the order of the list. What was heard comes back only when all has been. How many a week:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from datetime import date
from functools import partial
from typing import Final

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.instruments.keys import key_name
from excerpts.warmups.heard_key import HeardKey, heard_key
from excerpts.week.model import LISTED, Week, typed_bars
from excerpts.weekfile.fault_free import Finding
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.scale_items import WarmupItem
from excerpts.weekfile.scale_list import ListedScale, ScaleList, scale_names
from excerpts.words import Words

MOST_LISTED: Final = 6
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
        if (scale.heard is None or scale.heard > first_day) and name.casefold() not in ticked
    ]
    if listed.start is None or listed.until is None:
        return _in_turn(len(listed.scales), unheard, first_day)
    weeks = (listed.until - listed.start).days // 7 + 1
    now = min(max((first_day - listed.start).days // 7, 0), weeks - 1)
    own = [place for place in range(len(listed.scales)) if place * weeks // len(listed.scales) == now]
    late = [place for place in unheard if place * weeks // len(listed.scales) < now]
    fresh = own if not unheard else [place for place in own if place in unheard]
    chosen = [*fresh, *late][: max(MOST_LISTED, len(fresh))]
    return sorted(chosen) or own or _in_turn(len(listed.scales), unheard, first_day)


def _in_turn(count: int, unheard: list[int], first_day: date) -> list[int]:
    """A few scales in turn; the calendar week decides where in the list they begin."""
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


MOST_FROM_PIECES: Final = 4
"""Scales that are taken from boxes and pieces, at most."""

_NOTHING: Final = (
    'There are no notes to take keys from: warmups = "from pieces" needs a box with bars or abc, or a piece with a '
    "score."
)


def with_keys_of_pieces(week: Week) -> tuple[Week, list[Finding]]:
    """Add a scale for each key of the boxes and then of the pieces, in the order of the file.

    A key that a warm-up of the file has already, or that comes twice, is not added again; each scale says in its
    note where its key was found, by what, and how surely.

    Returns:
        The week with its warm-ups, and what is wrong: no music to take keys from.
    """
    if week.warmups_from is None:
        return week, []
    words = Words(week.player.words)
    taken = {item.key_read for item in week.warmups if item.key and item.pattern in {None, "scale"}}
    scales: dict[str, WarmupItem] = {}
    heard_any = False
    for name, heard in _keys(week, words):
        heard_any = True
        text = str(heard.key)
        if heard.key not in taken and text not in scales and len(scales) < MOST_FROM_PIECES:
            scales[text] = WarmupItem(key=text, note=_note(name, heard, words))
    if not heard_any:
        return week, [(("warmups",), _NOTHING)]
    first = len(week.warmups)
    came_from = {("warmup", first + number): ("warmups",) for number in range(len(scales))}
    update = {"warmups": (*week.warmups, *scales.values()), "came_from": {**week.came_from, **came_from}}
    return week.model_copy(update=update), []


def _note(name: str, heard: HeardKey, words: Words) -> str:
    key = key_name(heard.key, words, plain=True)
    return words(f"warmup.from.{heard.how}", name=name, key=key, sure=words(f"warmup.from.{heard.sure}"))


def _keys(week: Week, words: Words) -> Iterator[tuple[str, HeardKey]]:
    """The key of each box and of each piece that has notes, with its name for print."""
    for number, box in enumerate(week.boxes, start=1):
        if heard := _heard(partial(_box_music, week, box)):
            yield words("warmup.from.box", number=number), heard
    for piece in week.pieces:
        if heard := _heard(partial(_whole_part, week, piece.id)):
            yield piece.title, heard


def _heard(music: Callable[[], Excerpt | None]) -> HeardKey | None:
    """The key of some music; None where there is none, or where the check of the music tells why not."""
    try:
        excerpt = music()
    except InputError:
        return None
    return heard_key(excerpt) if excerpt else None


def _box_music(week: Week, box: BoxItem) -> Excerpt | None:
    """The bars of a box without context."""
    if box.abc is not None:
        return typed_bars(box).cut(0)
    if box.piece is None or box.in_score is None:
        return None
    part = week.part(box.piece)
    return part.passage(box.in_score, week.piece(box.piece).pupil_bars).cut(0) if part else None


def _whole_part(week: Week, piece_id: str) -> Excerpt | None:
    """All bars of the player's part of a piece."""
    part = week.part(piece_id)
    return part.whole().cut(0) if part else None
