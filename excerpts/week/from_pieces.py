"""Warm-ups in the keys of the week's boxes and pieces, for week files that say `warmups = "from pieces"`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.instruments.keys import key_name
from excerpts.score import Part, Score, from_abc, open_score
from excerpts.warmups.heard_key import HeardKey, heard_key
from excerpts.week.crosscheck import Finding
from excerpts.weekfile.items import BoxItem, WarmupItem
from excerpts.weekfile.model import Week
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
    parts = _Parts(week)
    for number, box in enumerate(week.boxes, start=1):
        music = parts.box(box)
        heard = heard_key(music) if music else None
        if heard:
            yield words("warmup.from.box", number=number), heard
    for piece in week.pieces:
        music = parts.whole(piece.id)
        heard = heard_key(music) if music else None
        if heard:
            yield piece.title, heard


class _Parts:
    """The music of a week, each score opened once; what cannot be opened or found is left to the check of it."""

    def __init__(self, week: Week) -> None:
        self._week = week
        self._scores: dict[Path, Score] = {}

    def box(self, box: BoxItem) -> Excerpt | None:
        """The bars of a box without context."""
        try:
            if box.abc is not None:
                return _all(from_abc(box.abc, name="the typed bars").part("#1"))
            part = self._part(box.piece or "")
            if part is None or box.bars is None:
                return None
            return part.passage(box.bars, self._week.piece(box.piece or "").pupil_bars).cut(0)
        except InputError:
            return None  # the check of the music tells it with its line

    def whole(self, piece: str) -> Excerpt | None:
        """All bars of the player's part of a piece."""
        try:
            part = self._part(piece)
            return _all(part) if part else None
        except InputError:
            return None  # likewise

    def _part(self, piece: str) -> Part | None:
        path = self._week.score_paths.get(piece)
        if path is None:
            return None
        if path not in self._scores:
            self._scores[path] = open_score(path)
        return self._scores[path].part(self._week.piece(piece).part)


def _all(part: Part) -> Excerpt:
    return part.passage(f"@1-@{len(part.bars)}").cut(0)
