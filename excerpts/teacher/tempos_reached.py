"""What the log says of every box week by week: the tempo reached, and whether it was the goal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from excerpts.log import LogRow, box_text
from excerpts.log.standing import CHECK_RUNS, at_goal, reached, rows_of
from excerpts.week import Week
from excerpts.weekfile.items import BoxItem, RetiredBox
from excerpts.words import Words, capital


@dataclass(frozen=True, slots=True)
class Point:
    """One week of a box.

    Attributes:
        week: First day of the week.
        tempo: Highest tempo with a clean run, in beats of the series; None where no tempo was written down.
        runs: Most clean runs in a row at that tempo; None where none were counted.
        goal: Whether the goal was reached, or the box was heard clean.
    """

    week: date
    tempo: Fraction | None
    runs: int | None
    goal: bool


@dataclass(frozen=True, slots=True)
class Series:
    """One box over the weeks.

    Attributes:
        title: The box in words.
        unit: The beat that tempos are counted in; None for a goal in words.
        target: The tempo to reach, in those beats; None where there is none.
        wanted: Clean runs in a row that it asks for.
        points: The weeks in which something was written down.
        retired: The day on which it retired; None while it is in work.
        parked: Whether it is parked.
    """

    title: str
    unit: Fraction | None
    target: Fraction | None
    wanted: int
    points: tuple[Point, ...]
    retired: date | None = None
    parked: bool = False


@dataclass(frozen=True, slots=True)
class Progress:
    """All boxes of a player over the weeks.

    Attributes:
        weeks: First days of the weeks, in order: those of the log, and this one.
        series: Each box that is in the week file, or only in the log.
    """

    weeks: tuple[date, ...]
    series: tuple[Series, ...]


def progress(week: Week, rows: Sequence[LogRow], words: Words) -> Progress:
    """The boxes of a player over the weeks: in work, retired, parked, and those that only the log knows.

    Args:
        week: The latest week.
        rows: The player's log.
        words: The player's words.
    """
    known = [*week.boxes, *week.retired, *week.parked]
    parked = {box.id for box in week.parked}
    series = [_series(week, box, rows, words, box.id in parked) for box in known]
    ids = {box.id for box in known}
    others = dict.fromkeys(row.box for row in rows if row.kind in ("box", "heard") and row.box not in ids)
    series += [_unknown(name, rows) for name in others]
    weeks = {row.week for row in rows if row.week is not None} | {week.week.start}
    return Progress(tuple(sorted(weeks)), tuple(series))


def _series(week: Week, box: BoxItem, rows: Sequence[LogRow], words: Words, parked: bool) -> Series:
    own, wanted = rows_of(box.id, rows), week.clean_runs(box)
    unit = box.target.unit if box.target else _unit(own)
    return Series(
        title=capital(box_text(week, box, words)),
        unit=unit,
        target=box.target.number if box.target else None,
        wanted=wanted,
        points=tuple(
            _point(start, same, unit, box, _asked(box, start, wanted)) for start, same in _by_week(own)
        ),
        retired=box.retired if isinstance(box, RetiredBox) else None,
        parked=parked,
    )


def _asked(box: BoxItem, week: date, wanted: int) -> int:
    """Clean runs in a row that a box asked for in a week: fewer in its checks."""
    checked = isinstance(box, RetiredBox) and week >= box.retired
    return min(wanted, CHECK_RUNS) if checked else wanted


def _unknown(name: str, rows: Sequence[LogRow]) -> Series:
    own = rows_of(name, rows)
    unit = _unit(own)
    points = tuple(_point(start, same, unit, None, 0) for start, same in _by_week(own))
    return Series(name, unit, None, 0, points)


def _unit(rows: Sequence[LogRow]) -> Fraction | None:
    tempos = [row.tempo for row in rows if row.tempo is not None]
    return tempos[-1].unit if tempos else None


def _by_week(rows: Sequence[LogRow]) -> list[tuple[date, list[LogRow]]]:
    weeks: dict[date, list[LogRow]] = {}
    for row in rows:
        if row.week is not None:
            weeks.setdefault(row.week, []).append(row)
    return sorted(weeks.items())


def _point(
    week: date, rows: Sequence[LogRow], unit: Fraction | None, box: BoxItem | None, wanted: int
) -> Point:
    best = reached(rows)
    counts = [row.clean for row in rows if row.clean is not None and row.kind == "box" and row.tempo == best]
    heard = [row for row in rows if row.kind == "heard"]
    goal = box is not None and any(at_goal(box, row, wanted) for row in rows if row.kind == "box")
    return Point(
        week=week,
        tempo=best.quarters_per_minute / unit if best is not None and unit is not None else None,
        runs=max(counts, default=None),
        goal=heard[-1].heard_clean if heard else goal,
    )
