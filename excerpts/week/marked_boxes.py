"""Boxes from marks in the score, for pieces that say `marked = true`."""

from __future__ import annotations

import re

from excerpts.errors import InputError
from excerpts.score import Part
from excerpts.score.boxes_in_score import NotABox, read_marks
from excerpts.week.model import Week
from excerpts.weekfile.fault_free import Finding
from excerpts.weekfile.item_values import sentence
from excerpts.weekfile.items import BoxItem, Piece
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.new.typed import LONGEST_ID, free_id
from excerpts.words import capital

_LONGEST_NOTE = 300
_MOST = 100


def with_marked_boxes(week: Week) -> tuple[Week, list[Finding]]:
    """Add a box for each passage that is marked in the score of a piece, in the order of its bars.

    A passage that the file boxes itself, or has retired or parked, is left to the file. The ids are made of the
    piece's and the bars ("minuet-12-16"), so that the log finds a box again as long as its mark stays where it is.

    What looks like a mark and is not understood is told in `Week.remarks`: a publisher's "pizz." in a rectangle
    must not stop a week.

    Returns:
        The week with its boxes, and what is wrong: scores without marks, or that cannot be opened.
    """
    boxes, findings, unread = list(week.boxes), list[Finding](), list[str]()
    came_from: dict[tuple[str, int], KeyPath] = {}
    for place, piece in enumerate(week.pieces):
        if not piece.marked:
            continue
        path = ("piece", place, "marked")
        try:
            part = week.part(piece.id)
            if part is None:
                findings.append((path, "Marks are taken from a score; this piece has none (score)."))
                continue
            marked, others = _boxes(week, piece, part, boxes)
        except InputError as error:
            findings.append((path, sentence(error)))
            continue
        if not marked and not any(box.piece == piece.id for box in (*boxes, *week.retired, *week.parked)):
            findings.append((path, " ".join((_NONE, *(capital(str(other)) for other in others)))))
        came_from |= {("box", len(boxes) + number): path for number in range(len(marked))}
        boxes += marked
        unread += [f"{week.score_paths[piece.id].name}, {other}" for other in others]
        if len(boxes) > _MOST:
            findings.append(
                (path, f"With the marked passages there are {len(boxes)} boxes; {_MOST} is the most.")
            )
            break
    update = {
        "boxes": tuple(boxes),
        "remarks": tuple(dict.fromkeys(unread)),
        "came_from": {**week.came_from, **came_from},
    }
    return (week if findings else week.model_copy(update=update)), findings


_NONE = (
    "No passage is marked in the player's part of the score. A bracket line, words in a rectangle or notes in "
    "one colour mark one."
)


def _boxes(
    week: Week, piece: Piece, part: Part, before: list[BoxItem]
) -> tuple[list[BoxItem], tuple[NotABox, ...]]:
    spans = set()
    for box in (*before, *week.retired, *week.parked):
        if box.piece == piece.id and box.in_score is not None:
            try:
                spans.add(part.passage(box.in_score, piece.pupil_bars).span)
            except InputError:
                continue  # told by the check of the music
    ids = {box.id for box in (*before, *week.retired, *week.parked)}
    boxes: list[BoxItem] = []
    marks = read_marks(part, piece.pupil_bars)
    for marked in marks.boxes:
        if marked.span not in spans:
            texts = {"why": marked.why, "note": marked.note[:_LONGEST_NOTE] or None}
            box_id = _id(piece.id, marked.address, ids)
            box = BoxItem.model_validate(
                {"id": box_id, "piece": piece.id, "bars": marked.address}
                | {key: value for key, value in texts.items() if value}
            )
            ids.add(box.id)
            boxes.append(box)
    return boxes, marks.others


def _id(piece: str, address: str, taken: set[str]) -> str:
    bars = re.sub(r"[^\w.-]+", ".", address.replace("@", "at"))
    return free_id(f"{piece[: LONGEST_ID - len(bars) - 1]}-{bars}"[:LONGEST_ID], taken)
