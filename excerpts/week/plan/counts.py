"""For the youngest: how often instead of how long, because no child of six watches a clock.

The numbers are common practice, no source: a box as often as its clean runs, a piece as often as its minutes hold it
with a breath in between, anything else once a minute, and nothing more than five times.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.week.model import WeekMusic
from excerpts.week.plan.model import PlanDay, PlanItem
from excerpts.weekfile.model import WeekFile

_MOST: Final = 5
_USUAL_PIECE: Final = Fraction(60)
"""Seconds of a child's piece that is not in a score file."""

_BREATH: Final = Fraction(20)
"""Seconds between two times: bow down, one word about it, bow up."""


def with_times(day: PlanDay, week: WeekFile, music: WeekMusic) -> PlanDay:
    """The day with the number of times of each item."""
    return replace(day, items=tuple(replace(item, times=_times(item, week, music)) for item in day.items))


def _times(item: PlanItem, week: WeekFile, music: WeekMusic) -> int | None:
    if item.kind in {"tuning", "memory"} or item.text is not None:
        return None  # words say themselves how often
    if item.kind is not None:
        return 1
    if item.section == "passages":
        return week.clean_runs(week.box(item.box or "")) if item.in_depth else 1
    once = Fraction(60)
    if item.section == "repertoire":
        once = music.seconds.get(item.piece or "", _USUAL_PIECE) + _BREATH
    return min(max(int(item.minutes * 60 / once), 1), _MOST)
