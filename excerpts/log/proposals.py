"""Boxes proposed from what broke down in run-throughs: proposed only, since the teacher chooses the boxes."""

from __future__ import annotations

from collections import Counter
from typing import Final, get_args

from excerpts.log.names import bars_text
from excerpts.log.offers import bar_numbers
from excerpts.log.story import MOST_BOXES, Story
from excerpts.week.items import FaultName

_FAULTS: Final[tuple[str, ...]] = get_args(FaultName)


def propose(story: Story) -> None:
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
        where = f"{titles[piece]}, {bars_text(bars, story.words)}"
        if box := _covered(story, piece, bars):
            story.tell("broke_in_box", where=where, times=count, box=box)
            continue
        notes = [row.note for row in rows if (row.box, row.bars) == (piece, bars) and row.note]
        why = [fault for fault in _FAULTS if any(fault in note.lower() for note in notes)]
        story.tell("proposed" if room > 0 else "proposed_later", where=where, times=count)
        if room > 0:
            story.lines += _snippet(piece, bars, why)
        room -= 1


def _covered(story: Story, piece: str, bars: str) -> str:
    """The box in work that has these bars already, in words; empty where none has."""
    asked = bar_numbers(bars)
    for box in story.week.boxes:
        if box.piece == piece and box.id in story.in_work and box.bars:
            if box.bars == bars or asked & bar_numbers(box.bars):
                return story.box(box)
    return ""


def _snippet(piece: str, bars: str, why: list[str]) -> list[str]:
    faults = ", ".join(f'"{fault}"' for fault in why)
    lines = ["[[box]]", 'id = "…"', f'piece = "{piece}"', f'bars = "{bars}"']
    return [f"    {line}" for line in [*lines, *([f"why = [{faults}]"] if why else [])]]
