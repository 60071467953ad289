"""What a player has in print already: boxes, warm-ups and studies that are as they were last week."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from excerpts.errors import WeekError
from excerpts.week import Week, box_variants, load_week
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.reading import read_document


@dataclass(frozen=True, slots=True)
class Kept:
    """What need not be printed again.

    Attributes:
        boxes: The boxes by their ids, each with its number last week.
        warmups: Places of the warm-ups, from 0.
        technique: Places of the studies, and of drills on such boxes, from 0.
    """

    boxes: dict[str, int]
    warmups: frozenset[int]
    technique: frozenset[int]


NOTHING = Kept({}, frozenset(), frozenset())


def kept(week: Week, last: Week) -> Kept:
    """Compare a week with the one before.

    The music of a box is printed again when its bars, marks or variants have changed, or its piece has
    another title or score; everything is, when the player has other words, another instrument, level or
    height of staff.

    Args:
        week: The week to be printed.
        last: The week before.
    """
    same_player = ("instrument", "level", "words")
    if any(getattr(week.player, name) != getattr(last.player, name) for name in same_player):
        return NOTHING
    if week.staff_mm != last.staff_mm:
        return NOTHING
    before = {box.id: number for number, box in enumerate(last.boxes, start=1)}
    boxes = {
        box.id: before[box.id]
        for box in week.boxes
        if box.id in before and _printed(week, box) == _printed(last, last.box(box.id))
    }
    warmups = frozenset(place for place, item in enumerate(week.warmups) if item.key and item in last.warmups)
    old = [(item, _source(last, item.piece)) for item in last.technique]
    technique = frozenset(
        place
        for place, item in enumerate(week.technique)
        if (item.bars or item.drill in boxes) and (item, _source(week, item.piece)) in old
    )
    return Kept(boxes, warmups, technique)


def _printed(week: Week, box: BoxItem) -> tuple[Any, ...]:
    """Everything that the music of a box and of its variants is made from."""
    variants = box_variants(box, week.player.level)
    return box.bars, box.abc, box.place, box.marks, tuple(variants), _source(week, box.piece)


def _source(week: Week, piece_id: str | None) -> tuple[Any, ...]:
    if piece_id is None:
        return ()
    piece = week.piece(piece_id)
    return piece.title, piece.part, piece.marks, piece.pupil_bars, week.score_paths.get(piece_id)


def last_week(week: Week) -> Week:
    """The week file of the same player, in the same folder, that starts last before this one.

    Raises:
        WeekError: There is none, or it has faults.
    """
    folder = week.path.parent
    found: list[tuple[Any, Path]] = []
    for path in sorted(folder.glob("*.toml")):
        start = _start_of(path, week.player.name)
        if start is not None and start < week.week.start and path.resolve() != week.path.resolve():
            found.append((start, path))
    if not found:
        raise WeekError(
            f"there is no earlier week file of {week.player.name} in {folder}.",
            where=str(week.path),
            hint="Without one everything is new: leave out --new.",
        )
    return load_week(max(found)[1])


def _start_of(path: Path, player: str) -> Any:
    """First day of a week file of that player; None for any other file."""
    raw = read_document(path).raw
    said, days = raw.get("player"), raw.get("week")
    if not isinstance(said, dict) or not isinstance(days, dict) or said.get("name") != player:
        return None
    return days.get("start")
