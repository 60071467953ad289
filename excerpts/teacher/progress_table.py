"""The progress of a player as a table for the screen."""

from __future__ import annotations

from collections.abc import Iterator

from excerpts.teacher.chart import short_day
from excerpts.teacher.progress import Point, Progress, Series
from excerpts.weekfile.tempo_text import beat_name, number_text
from excerpts.words import Words
from excerpts.workbook.page_names import shortened

LAST_WEEKS = 12
"""Weeks that a table has room for: a term."""

_TITLE = 44
_GAP = "  "


def progress_lines(progress: Progress, words: Words) -> Iterator[str]:
    """A line for each box: its goal, then the tempo reached in each of the last weeks; a star is the goal."""
    weeks = progress.weeks[-LAST_WEEKS:]
    head = [words("teacher.progress.box"), words("teacher.progress.goal")]
    rows = [[*head, *(short_day(week, words) for week in weeks)]]
    for series in progress.series:
        points = {point.week: point for point in series.points}
        tempi = [_cell(points.get(week), series) for week in weeks]
        rows.append([shortened(series.title, _TITLE), _goal(series, words), *tempi])
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    for row in rows:
        cells = [
            cell.ljust(width) if place < 2 else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield _GAP.join(cells).rstrip()
    yield words("teacher.progress.stars")


def _goal(series: Series, words: Words) -> str:
    if series.target is not None and series.unit is not None:
        return f"{beat_name(series.unit, words)} = {number_text(series.target)}"
    return words("teacher.progress.times", n=series.wanted) if series.wanted else ""


def _cell(point: Point | None, series: Series) -> str:
    if point is None:
        return "–"
    star = "*" if point.goal else ""
    if series.unit is not None:
        return f"{number_text(point.tempo)}{star}" if point.tempo is not None else star or "·"
    return f"{point.runs}×{star}" if point.runs is not None else star or "·"
