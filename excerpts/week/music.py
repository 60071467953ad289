"""Checks a week file against its music: parts and bars that are not there, ABC and warm-ups that cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.score import Part, Score, from_abc, open_score
from excerpts.score.abc import abc_faults
from excerpts.score.own_marks import with_marks
from excerpts.score.resolve import Resolver
from excerpts.warmups import plan_warmup
from excerpts.week.crosscheck import Finding
from excerpts.week.faults import Fault
from excerpts.week.items import BoxItem, TechniqueItem, WarmupItem, sentence
from excerpts.week.model import Week
from excerpts.week.reading import Document, read_document
from excerpts.week.scale_weeks import list_findings
from excerpts.week.sources import read_sources


def music_faults(week: Week, document: Document | None = None) -> list[Fault]:
    """What in a week file its scores and instrument do not allow, in the order of its lines.

    Every score is opened; nothing is cut or engraved.

    Args:
        week: The week.
        document: What its file says, and where; read again when left out.

    Raises:
        WeekError: The week file is no longer there.
    """
    sources = read_sources(week.path, document or read_document(week.path), week.studio)
    return sources.sorted([sources.fault(path, message) for path, message in _findings(week)])


def _findings(week: Week) -> Iterator[Finding]:
    parts: dict[str, Part] = {}
    yield from _pieces(week, parts)
    for place, box in enumerate(week.boxes):
        yield from _bars(("box", place), box, week, parts)
        yield from _typed(("box", place), box)
    for place, item in enumerate(week.technique):
        yield from _bars(("technique", place), item, week, parts)
        yield from _short(("technique", place), item, week, parts)
        yield from _warmup(("technique", place), item, week)
    for place, warmup in enumerate(week.warmups):
        yield from _warmup(("warmup", place), warmup, week)
    yield from list_findings(week)


def _pieces(week: Week, parts: dict[str, Part]) -> Iterator[Finding]:
    """Open the part of each piece; what cannot be opened is told, what can is put into `parts`."""
    scores: dict[Path, Score] = {}
    for place, piece in enumerate(week.pieces):
        path = week.score_paths.get(piece.id)
        if path is None:
            continue
        try:
            if path not in scores:
                scores[path] = open_score(path)
        except InputError as error:
            yield ("piece", place, "score"), sentence(error)
            continue
        try:
            parts[piece.id] = scores[path].part(piece.part)
        except InputError as error:
            yield ("piece", place, "part"), sentence(error)


def _bars(
    path: tuple[str, int], item: BoxItem | TechniqueItem, week: Week, parts: dict[str, Part]
) -> Iterator[Finding]:
    part = parts.get(item.piece or "")
    if item.bars is None or item.piece is None or part is None:
        return
    piece = week.piece(item.piece)
    try:
        passage = part.passage(item.bars, piece.pupil_bars)
    except InputError as error:
        yield (*path, "bars"), sentence(error)
        return
    marks = item.marks if isinstance(item, BoxItem) else ()
    if not (marks or piece.marks):
        return
    try:
        cut = passage.cut(1, piece_marks=piece.marks)
    except InputError as error:
        yield ("piece", week.pieces.index(piece), "marks"), sentence(error)
        return
    yield from _marks(path, cut, passage.resolver, marks)


def _short(
    path: tuple[str, int], item: TechniqueItem, week: Week, parts: dict[str, Part]
) -> Iterator[Finding]:
    """The few bars for a short day are some of those of the study."""
    if item.short is None or item.bars is None or item.piece not in parts:
        return
    part, pupil_bars = parts[item.piece], week.piece(item.piece).pupil_bars
    try:
        few = part.passage(item.short, pupil_bars).span
    except InputError as error:
        yield (*path, "short"), sentence(error)
        return
    try:
        whole = part.passage(item.bars, pupil_bars).span
    except InputError:
        return  # told at bars
    if not (whole.first, whole.start) <= (few.first, few.start) or (few.last, few.end) > (
        whole.last,
        whole.end,
    ):
        yield (*path, "short"), f"Bars {item.short} are not among the bars {item.bars} of the study."


def _marks(
    path: tuple[str, int], excerpt: Excerpt, resolver: Resolver | None, marks: tuple[str, ...]
) -> Iterator[Finding]:
    """Try each mark by itself, so that every wrong one is told."""
    for place, mark in enumerate(marks):
        try:
            with_marks(excerpt, (mark,), resolver)
        except InputError as error:
            yield (*path, "marks", place), sentence(error)


def _typed(path: tuple[str, int], box: BoxItem) -> Iterator[Finding]:
    if box.abc is None:
        return
    faults = abc_faults(box.abc)
    for fault in faults:
        yield (*path, "abc", fault.line - 1), fault.message
    if faults:
        return
    try:
        part = from_abc(box.abc, name="the typed bars").part("#1")
    except InputError as error:
        yield (*path, "abc"), sentence(error)
        return
    yield from _marks(path, part.passage(f"@1-@{len(part.bars)}").cut(0), None, box.marks)


def _warmup(path: tuple[str, int], item: WarmupItem | TechniqueItem, week: Week) -> Iterator[Finding]:
    if item.key is None:
        return
    try:
        plan_warmup(
            item.key,
            instrument=item.instrument or week.player.instrument,
            level=week.player.level,
            octaves=item.octaves,
            start=item.from_,
            pattern=item.pattern or "scale",
            manner=item.manner,
        )
    except InputError as error:
        yield path, sentence(error)
