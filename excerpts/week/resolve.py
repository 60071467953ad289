"""Resolves a week file against its scores: boxes from marks, scales from the list, warm-ups in the pieces' keys."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

from excerpts.errors import InputError
from excerpts.excerpt import Tempo
from excerpts.score import Score
from excerpts.score.opened_scores import Scores
from excerpts.week.added_warmups import with_keys_of_pieces, with_listed_scales
from excerpts.week.model import Week, typed_bars
from excerpts.weekfile.fault_free import Finding
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.weekfile.item_values import BEAT_OF_BAR, which_note
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.read_week import WeekReading, read_week
from excerpts.weekfile.tempo_text import number_text, tempo_text
from excerpts.words import Words


def resolve(reading: WeekReading, scores: Callable[[Path], Score]) -> Week:
    """Make a week of a week file and its scores.

    Raises:
        WeekFaultsError: The file, its list of scales or the marks in its scores have faults; all are told.
    """
    week, faults = resolve_rest(reading, scores)
    if faults or week is None:
        raise WeekFaultsError(faults)
    return week


def resolve_rest(
    reading: WeekReading, scores: Callable[[Path], Score]
) -> tuple[Week | None, tuple[Fault, ...]]:
    """Resolve the part of a week file without faults, so that all faults are reported together.

    Returns:
        The week without what is faulty, None where too little is left; and the faults.
    """
    if reading.content is None:
        return None, reading.faults
    week = Week.of(reading, reading.content, scores)
    findings: list[Finding] = []
    if any(piece.marked for piece in week.pieces):
        from excerpts.week.marked_boxes import with_marked_boxes  # few weeks have such pieces

        week, findings = with_marked_boxes(week)
    week, beats = _with_beats(week)
    week = with_listed_scales(week)
    week, more = with_keys_of_pieces(week)
    faults = (reading.fault(*finding) for finding in (*findings, *beats, *more))
    return week, reading.sorted((*reading.faults, *faults))


def _with_beats(week: Week) -> tuple[Week, list[Finding]]:
    """Give each target that is a number alone the beat of its bar; where no score tells it, that is a fault."""
    findings: list[Finding] = []
    said: list[str] = []
    update: dict[str, tuple[BoxItem, ...]] = {}
    for table, name in (("box", "boxes"), ("retired", "retired"), ("parked", "parked")):
        boxes: list[BoxItem] = list(getattr(week, name))
        for place, box in enumerate(boxes):
            if box.target is None or box.target.unit != BEAT_OF_BAR:
                continue
            unit = _beat(week, box)
            target = Tempo(box.target.number, unit) if unit else None
            start = Tempo(box.start.number, unit) if unit and box.start else None
            boxes[place] = box.model_copy(update={"target": target, "start": start})
            if target is None:
                findings.append(((table, place, "target"), which_note(number_text(box.target.number))))
            else:
                full = tempo_text(target, Words(week.player.words))
                said.append(
                    f'{week.path.name}, box "{box.id}": a tempo without a note is in the beat of its bar: {full}.'
                )
        update[name] = tuple(boxes)
    return week.model_copy(update={**update, "remarks": (*week.remarks, *said[:1])}), findings


def _beat(week: Week, box: BoxItem) -> Fraction | None:
    """The beat of the first bar of a box; None where it has no notes."""
    if box.abc is not None:
        try:
            return typed_bars(box).beat
        except InputError:
            return Fraction(1)  # what is wrong with them is told where they are needed
    try:
        part = week.part(box.piece) if box.piece and box.in_score else None
        if part is None or box.piece is None or box.in_score is None:
            return None
        return part.passage(box.in_score, week.piece(box.piece).pupil_bars).beat
    except InputError:
        return Fraction(1)  # that the bars are not there is told where they are needed


def load_week(path: str | Path, scores: Callable[[Path], Score] | None = None) -> Week:
    """Read a week file and resolve it.

    Args:
        path: The week file.
        scores: Opens a score; a store of its own when left out.

    Raises:
        WeekError: It cannot be read or has faults; the message tells every one of them.
    """
    return resolve(read_week(Path(path)), scores or Scores())


def week_faults(path: str | Path) -> list[Fault]:
    """Every fault of a week file by itself, in the order of its lines; none when it is right.

    Raises:
        WeekError: It cannot be read at all: not there, or no text.
    """
    try:
        return list(resolve_rest(read_week(Path(path)), Scores())[1])
    except WeekFaultsError as error:
        return list(error.faults)
