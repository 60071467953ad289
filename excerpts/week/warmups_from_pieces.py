"""Warm-ups in the keys of the week's boxes and pieces, for week files that say `warmups = "from pieces"`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import Final

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.instruments.keys import key_name
from excerpts.score import Part, from_abc
from excerpts.warmups.heard_key import HeardKey, heard_key
from excerpts.week.model import Week
from excerpts.weekfile.fault_free import Finding
from excerpts.weekfile.items import BoxItem, WarmupItem
from excerpts.words import Words

MOST: Final = 4
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
    found: dict[str, WarmupItem] = {}
    heard_any = False
    for name, heard in _keys(week, words):
        heard_any = True
        text = str(heard.key)
        if heard.key not in taken and text not in found and len(found) < MOST:
            found[text] = WarmupItem(key=text, note=_note(name, heard, words))
    if not heard_any:
        return week, [(("warmups",), _NOTHING)]
    first = len(week.warmups)
    came_from = {("warmup", first + number): ("warmups",) for number in range(len(found))}
    update = {"warmups": (*week.warmups, *found.values()), "came_from": {**week.came_from, **came_from}}
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
        return _all(from_abc(box.abc, name="the typed bars").part("#1"))
    if box.piece is None or box.bars is None:
        return None
    part = week.part(box.piece)
    return part.passage(box.bars, week.piece(box.piece).pupil_bars).cut(0) if part else None


def _whole_part(week: Week, piece_id: str) -> Excerpt | None:
    """All bars of the player's part of a piece."""
    part = week.part(piece_id)
    return _all(part) if part else None


def _all(part: Part) -> Excerpt:
    return part.passage(f"@1-@{len(part.bars)}").cut(0)
