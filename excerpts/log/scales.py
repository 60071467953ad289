"""Ticks the scales of a player's list that were heard clean in the lesson; what was not clean comes again."""

from __future__ import annotations

from excerpts.log.edits import Edit
from excerpts.log.next_week_draft import NextWeekDraft
from excerpts.log.row import LogRow
from excerpts.week.added_warmups import listed_names


def carry_scales(story: NextWeekDraft) -> None:
    """Write into the new week which scales of the list are ticked, and tell what has changed."""
    names = listed_names(story.week)
    before = story.week.player.scales_heard
    kept = {name.casefold() for name in before}
    last = _last(story)
    ticked = tuple(name for name in names if _ticked(name, last, kept))
    heard = [name for name in names if name.casefold() in last]
    for name in heard:
        story.about = f"scale {name}"
        clean, was = name in ticked, name.casefold() in kept
        if last[name.casefold()].week == story.week.week.start or clean != was:
            story.tell("scale_ticked" if clean else "scale_again", scale=name, n=len(ticked), of=len(names))
    if gone := [name for name in before if name.casefold() not in {known.casefold() for known in names}]:
        story.tell("scales_gone", scales=", ".join(gone))
    if ticked != before:
        story.steps.append(Edit("set", "player", values={"scales_heard": ticked or None}))


def _last(story: NextWeekDraft) -> dict[str, LogRow]:
    """The last row about each scale, up to the week that is over."""
    rows = [
        row for row in story.rows if row.kind == "heard" and row.week and row.week <= story.week.week.start
    ]
    return {row.box.casefold(): row for row in sorted(rows, key=lambda row: row.week or story.start)}


def _ticked(name: str, last: dict[str, LogRow], kept: set[str]) -> bool:
    row = last.get(name.casefold())
    return row.heard_clean if row is not None else name.casefold() in kept
