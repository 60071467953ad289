"""Resolves a week file against its scores: boxes from marks, scales from the list, warm-ups in the pieces' keys."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from excerpts.score import Score
from excerpts.score.opened_scores import Scores
from excerpts.week.added_warmups import with_keys_of_pieces, with_listed_scales
from excerpts.week.marked_boxes import with_marked_boxes
from excerpts.week.model import Week
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.weekfile.read_week import WeekReading, read_week


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
    week, findings = with_marked_boxes(week)
    week = with_listed_scales(week)
    week, more = with_keys_of_pieces(week)
    faults = (reading.fault(*finding) for finding in (*findings, *more))
    return week, reading.sorted((*reading.faults, *faults))


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
