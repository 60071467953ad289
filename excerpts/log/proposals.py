"""Boxes proposed from what broke down in run-throughs: proposed only, since the teacher chooses the boxes."""

from __future__ import annotations

from collections import Counter
from typing import Final, get_args

from excerpts.log.edits import Told
from excerpts.log.next_week_draft import MOST_BOXES, NextWeekDraft
from excerpts.log.offers import bar_numbers
from excerpts.week.bars_in_words import bars_of
from excerpts.weekfile.item_values import FaultName
from excerpts.weekfile.items import BoxItem

_FAULTS: Final[tuple[str, ...]] = get_args(FaultName)


def propose(story: NextWeekDraft) -> None:
    """Tell what broke down in run-throughs this week, with a box to copy for as many as there is room for."""
    week = story.week
    titles = {piece.id: piece.title for piece in week.pieces}
    rows = [
        row
        for row in story.rows
        if row.kind == "run-through" and row.week == week.week.start and row.bars and row.box in titles
    ]
    times = Counter((row.box, row.bars) for row in rows)
    room = MOST_BOXES[week.player.level] - len(story.in_work)
    for (piece, bars), count in sorted(times.items(), key=lambda item: -item[1]):
        story.about = f"broke {piece} {bars}"
        where = f"{titles[piece]}, {bars_of(story.week, piece, bars, story.words)}"
        if box := _covered(story, piece, bars):
            message = "broke_in_box" if box.id in story.in_work else "broke_in_retired"
            story.tell(message, where=where, times=story.words.times(count), box=story.box(box), id=box.id)
            continue
        notes = [row.note for row in rows if (row.box, row.bars) == (piece, bars) and row.note]
        why = [fault for fault in _FAULTS if any(fault in note.lower() for note in notes)]
        message = "proposed" if room > 0 else "proposed_later"
        story.tell(message, where=where, times=story.words.times(count), piece=piece, bars=bars, why=why)
        if room > 0:
            story.lines += [Told("", line, story.about) for line in _snippet(piece, bars, why)]
        room -= 1


def _covered(story: NextWeekDraft, piece: str, bars: str) -> BoxItem | None:
    """The box that has these bars already, one in work before a retired one; None where there is none."""
    asked = bar_numbers(bars)
    boxes = [box for box in (*story.week.boxes, *story.week.retired) if box.piece == piece and box.bars]
    in_work = [box for box in boxes if box.id in story.in_work]
    retired = [box for box in boxes if box not in in_work and box.id not in story.moved["parked"]]
    for box in (*in_work, *retired):
        if box.bars and (box.bars == bars or asked & bar_numbers(box.bars)):
            return box
    return None


def _snippet(piece: str, bars: str, why: list[str]) -> list[str]:
    faults = ", ".join(f'"{fault}"' for fault in why)
    lines = ["[[box]]", 'id = "…"', f'piece = "{piece}"', f'bars = "{bars}"']
    return [f"    {line}" for line in [*lines, *([f"why = [{faults}]"] if why else [])]]
