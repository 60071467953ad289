"""Pieces, drills and scales on the way to the next week: what joins the rotation, is performed, goes with its box."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from excerpts.log.edits import Edit
from excerpts.log.next_week_draft import NextWeekDraft
from excerpts.log.row import LogRow
from excerpts.week.added_warmups import listed_names
from excerpts.weekfile.edit_text import Value
from excerpts.weekfile.items import Piece


def carry_drills(story: NextWeekDraft) -> None:
    """The drill of a box goes with its box."""
    for place, item in enumerate(story.week.technique):
        if item.drill is not None and item.drill not in story.in_work:
            if place < story.own_technique:  # the drills of a shared set go by themselves
                story.steps.append(Edit("remove", "technique", place))
            story.about = f"drill {item.drill}"
            story.tell("drill_gone", id=item.drill)


def carry_pieces(story: NextWeekDraft) -> None:
    """A piece joins the rotation when its last box has retired, or when its performance is over."""
    week = story.week
    parked = story.moved["parked"] | {box.id for box in week.parked} - story.moved["box"]
    pieces = {box.id: box.piece for box in (*week.boxes, *week.retired, *week.parked)}
    waiting = {pieces.get(name) for name in {*story.in_work, *parked}}
    retired = {pieces[name] for name in story.moved["retired"]}
    for piece in week.pieces:
        stays = story.stays(f"piece {piece.id}")
        if piece.date is not None and piece.date < story.start:
            _set_piece(story, piece, {"date": None, "status": "review"})
            story.tell("performed", piece=piece.title, day=piece.date)
        elif piece.status == "learning" and piece.id in retired - waiting:
            if not stays:
                _set_piece(story, piece, {"status": "review"})
            story.tell("stays_learning" if stays else "joins", piece=piece.title)
    _programme(story)


def _set_piece(story: NextWeekDraft, piece: Piece, values: Mapping[str, Value | None]) -> None:
    """Change a piece; one that comes from a shared set gets a table of its own."""
    if piece.id in story.own_pieces:
        story.steps.append(Edit("set", "piece", piece.id, values=values))
        return
    table = piece.model_dump(exclude_none=True, exclude_defaults=True)
    if piece.id in story.week.score_paths:
        folder = story.week.path.resolve().parent
        table["score"] = Path(os.path.relpath(story.week.score_paths[piece.id], folder)).as_posix()
    story.steps.append(Edit("add", "piece", values={**table, **values}))


def _programme(story: NextWeekDraft) -> None:
    """A piece whose performance is over is no longer in the order of a programme."""
    order = story.week.plan.programme
    over = {piece.id for piece in story.week.pieces if piece.date is not None and piece.date < story.start}
    left = [name for name in order if name not in over]
    if left != list(order):
        story.steps.append(Edit("set", "plan", values={"programme": left or None}))


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
