"""Checks a week file against its music: parts and bars that are not there, ABC and warm-ups that cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from excerpts.errors import InputError
from excerpts.score import Part, Score, from_abc, open_score
from excerpts.warmups import plan_warmup
from excerpts.week.crosscheck import Finding
from excerpts.week.faults import Fault, key_in_words
from excerpts.week.items import BoxItem, TechniqueItem, WarmupItem, sentence
from excerpts.week.lines import line_of
from excerpts.week.model import Week
from excerpts.week.reading import read_document


def music_faults(week: Week) -> list[Fault]:
    """What in a week file its scores and instrument do not allow, in the order of its lines.

    Every score is opened; nothing is cut or engraved.

    Raises:
        WeekError: The week file is no longer there.
    """
    document = read_document(week.path)
    faults = [
        Fault(week.path, line_of(document.lines, path), key_in_words(path, document.raw), message)
        for path, message in _findings(week)
    ]
    return sorted(faults, key=lambda fault: fault.line or 0)


def _findings(week: Week) -> Iterator[Finding]:
    parts: dict[str, Part] = {}
    yield from _pieces(week, parts)
    for place, box in enumerate(week.boxes):
        yield from _bars(("box", place), box, parts)
        if box.abc is not None:
            try:
                from_abc(box.abc, name="the typed bars")
            except InputError as error:
                yield ("box", place, "abc"), sentence(error)
    for place, item in enumerate(week.technique):
        yield from _bars(("technique", place), item, parts)
    for place, warmup in enumerate(week.warmups):
        yield from _warmup(("warmup", place), warmup, week)


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


def _bars(path: tuple[str, int], item: BoxItem | TechniqueItem, parts: dict[str, Part]) -> Iterator[Finding]:
    part = parts.get(item.piece or "")
    if item.bars is None or part is None:
        return
    try:
        part.passage(item.bars)
    except InputError as error:
        yield (*path, "bars"), sentence(error)


def _warmup(path: tuple[str, int], item: WarmupItem, week: Week) -> Iterator[Finding]:
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
        )
    except InputError as error:
        yield path, sentence(error)
