"""A whole part with its boxes drawn in, numbered as in the workbook: to play them in context."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from excerpts.engrave import Style
from excerpts.excerpt import Box, Excerpt, Position
from excerpts.paper import Area, find_pages, whole
from excerpts.score import Part
from excerpts.week import Week
from excerpts.week.orders import part_of
from excerpts.week.printed_bars import on_pages, printed
from excerpts.weekfile.items import Piece
from excerpts.workbook.paper_image import DrawnPaper, boxed_page


@dataclass(frozen=True, slots=True)
class Annotated:
    """A part with its boxes, and the label of each."""

    excerpt: Excerpt
    labels: tuple[str, ...]


def annotate(part: Part, addresses: Sequence[str], labels: Sequence[str] = ()) -> Annotated:
    """Box bars in a whole part.

    Args:
        part: The part.
        addresses: The bars of each box, as "41-48".
        labels: What is printed at each box; 1, 2, 3 … where it is left out.

    Raises:
        AddressError: An address names no bars of the part, or too many.
    """
    given = labels or [str(number) for number in range(1, len(addresses) + 1)]
    return _boxed(part, list(zip(addresses, given, strict=True)))


def annotate_week(week: Week) -> list[tuple[Piece, Annotated]]:
    """Every piece of a week that has a score and boxes, with the numbers that the workbook gives them.

    Raises:
        InputError: A score, part or bar is not there.
    """
    annotated: list[tuple[Piece, Annotated]] = []
    for piece in week.pieces:
        boxes = [
            (number, box)
            for number, box in enumerate(week.boxes, start=1)
            if box.piece == piece.id and box.in_score is not None
        ]
        score = week.score(piece.id) if boxes else None
        if score is None:
            continue
        part = part_of(piece, score)
        wanted = [(box.in_score or "", str(number)) for number, box in boxes]
        marks = [mark for _, box in boxes for mark in box.marks]
        annotated.append((piece, _boxed(part, wanted, piece.pupil_bars, marks, piece.marks)))
    return annotated


def annotate_pages(week: Week, style: Style) -> list[tuple[str, DrawnPaper]]:
    """Every printed page of a week that boxes are cut from, with its title and its boxes drawn in.

    Raises:
        PaperError: A page is not there, or cannot be read.
    """
    wanted: dict[tuple[str, int], list[tuple[Area, str]]] = {}
    for number, box in enumerate(week.boxes, start=1):
        if box.piece in week.page_paths and on_pages(box, week):
            cut = printed(box, week.piece(box.piece), find_pages(week.page_paths[box.piece]))
            label = str(number)
            for page, line in zip(cut.line_pages, cut.lines, strict=True):
                wanted.setdefault((box.piece, page), []).append((line.at, label))
                label = ""
    return [
        (piece.title, boxed_page(whole(find_pages(week.page_paths[piece.id]), page, blank), boxes, style))
        for (name, page), boxes in sorted(wanted.items())
        for piece in [week.piece(name)]
        for blank in [piece.blank.get(page, ())]
    ]


def _boxed(
    part: Part,
    wanted: Sequence[tuple[str, str]],
    pupil_bars: int = 0,
    marks: Sequence[str] = (),
    piece_marks: Sequence[str] = (),
) -> Annotated:
    whole = part.whole(pupil_bars).cut(0, marks, piece_marks)
    boxes: list[tuple[Box, str]] = []
    for address, label in wanted:
        span = part.passage(address, pupil_bars).span
        box = Box(Position(span.first, span.start), Position(span.last, span.end))
        boxes.append((box, label))
    boxes.sort(key=lambda pair: (pair[0].start, pair[0].end))
    excerpt = replace(whole, boxes=tuple(box for box, _ in boxes))
    return Annotated(excerpt, tuple(label for _, label in boxes))
