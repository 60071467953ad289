"""The boxes of a week on one of its pieces, and those of earlier weeks, as places in its part."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from excerpts.desk.open_part import OpenPart
from excerpts.engrave import Boxed
from excerpts.errors import InputError
from excerpts.score import Part
from excerpts.score.bars import BarRange
from excerpts.system.studio_files import same_player
from excerpts.week.model import Week
from excerpts.weekfile.cells import as_utf8
from excerpts.weekfile.items import BoxItem, Piece, RetiredBox
from excerpts.weekfile.whose import LARGEST, file_bytes, whose

_WEEKS_BACK: Final = 30
"""Earlier week files that are looked through."""


@dataclass(frozen=True, slots=True)
class PieceBox:
    """A box on the part of its piece.

    Attributes:
        id: Its id.
        span: Where it is.
        number: Its number in the workbook; 0 for one of an earlier week.
        item: What the week file says of it; None for one of an earlier week file.
        place: Its place among the boxes that the file writes out itself; None where it cannot be changed there.
        kind: "week", "retired", "parked" or "earlier".
        when: When it was retired, or the first day of the earlier week.
    """

    id: str
    span: BarRange
    number: int = 0
    item: BoxItem | None = None
    place: int | None = None
    kind: str = "week"
    when: date | None = None

    @property
    def boxed(self) -> Boxed:
        """As it is drawn."""
        span = self.span
        label = str(self.number) if self.number else ""
        return Boxed((span.first + 1, span.start), (span.last + 1, span.end), label, earlier=not self.number)


def boxes_on(opened: OpenPart) -> list[PieceBox]:
    """The boxes on a piece: this week's in the order of their numbers, then those of before."""
    week, piece, part = opened.week, opened.piece, opened.part
    written = [box.get("id") for box in opened.raw.get("box", ()) if isinstance(box, dict)]
    boxes: list[PieceBox] = []
    for number, box in enumerate(week.boxes, start=1):
        span = _span(part, piece, box.piece, box.in_score)
        if span is not None:
            place = written.index(box.id) if box.id in written else None
            boxes.append(PieceBox(box.id, span, number, box, place))
    taken = {box.span for box in boxes}
    for old in (*_left(week, piece, part), *_earlier(week, piece, part)):
        if old.span not in taken:
            taken.add(old.span)
            boxes.append(old)
    return boxes


def _left(week: Week, piece: Piece, part: Part) -> Iterator[PieceBox]:
    for kind, items in (("retired", week.retired), ("parked", week.parked)):
        for box in items:
            span = _span(part, piece, box.piece, box.in_score)
            if span is not None:
                when = box.retired if isinstance(box, RetiredBox) else None
                yield PieceBox(box.id, span, item=box, kind=kind, when=when)


def _earlier(week: Week, piece: Piece, part: Part) -> Iterator[PieceBox]:
    for start, box in earlier_boxes(week, piece):
        span = _span(part, piece, piece.id, box.get("bars"))
        if span is not None and "page" not in box:
            yield PieceBox(str(box.get("id", "")), span, kind="earlier", when=start)


def earlier_boxes(week: Week, piece: Piece) -> Iterator[tuple[date, dict[str, Any]]]:
    """The boxes on a piece in the player's earlier week files in the same folder, the latest first, as written.

    A piece is the same by its id, or by its score or pages.
    """
    files: list[tuple[date, Path, bytes]] = []
    for path in week.path.parent.glob("*.toml"):
        data = file_bytes(path)
        owner = whose(data)
        if data is None or owner is None or owner.start is None or len(data) > LARGEST:
            continue
        if owner.start < week.week.start and same_player(owner.player, week.player.name):
            files.append((owner.start, path, data))
    for start, _, data in sorted(files, reverse=True)[:_WEEKS_BACK]:
        raw = tomllib.loads(as_utf8(data).decode("utf-8-sig"))
        alike = {
            one.get("id")
            for one in _tables(raw, "piece")
            if any(source and one.get(key) == source for key, source in _sources(piece))
        }
        for box in _tables(raw, "box"):
            if box.get("piece") in {piece.id, *alike}:
                yield start, box


def _sources(piece: Piece) -> tuple[tuple[str, str | None], ...]:
    return ("score", piece.score), ("pages", piece.pages)


def _tables(raw: dict[str, Any], name: str) -> list[dict[str, Any]]:
    items = raw.get(name)
    return [item for item in items if isinstance(item, dict)] if isinstance(items, list) else []


def _span(part: Part, piece: Piece, of: str | None, bars: object) -> BarRange | None:
    """Where a box is; None for one of another piece, on paper, or on bars that the part does not have."""
    if of != piece.id or not isinstance(bars, str):
        return None
    try:
        return part.passage(bars, piece.pupil_bars).span
    except InputError:
        return None  # `check` and the week's page tell it
