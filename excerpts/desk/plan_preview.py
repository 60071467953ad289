"""The plan of a week that need not be saved: what `excerpts plan` would print, and what `excerpts check` would find."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from excerpts.desk.week_texts import WeekTexts
from excerpts.errors import InputError
from excerpts.score import Score
from excerpts.week.load import load_warnings
from excerpts.week.measured import week_music
from excerpts.week.model import Week, WeekMusic
from excerpts.week.orders.check import check_week_music
from excerpts.week.plan import Plan, day_lines, plan_week, remark_lines, tight_places, tight_text
from excerpts.week.resolve import resolve_rest
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.words import Words
from excerpts.workbook.page_texts import short_day

_ISO: Final = re.compile(
    r"\b20\d\d-(0[1-9]|1[0-2])-(0[1-9]|[12]\d)\b|\b20\d\d-(0[13-9]|1[0-2])-30\b|\b20\d\d-(0[13578]|1[02])-31\b"
)
"""A day as files have it; one that no calendar has is none."""


@dataclass(frozen=True, slots=True)
class DayPreview:
    """A day of a plan in words.

    Attributes:
        head: Which day, and its minutes.
        lines: What is played, in order.
        free: It has no minutes.
    """

    head: str
    lines: tuple[str, ...]
    free: bool


@dataclass(frozen=True, slots=True)
class PlanPreview:
    """A plan, and what is wrong with its week.

    Attributes:
        days: Its days in words; none where too little of the week is right.
        remarks: What is said below them: rules that had to yield, boxes with too few minutes, a load that jumps.
        faults: What is wrong with the file; all but what only the making of the music shows.
        unmeasured: Why the music could not be measured, so that the plan is a guess; empty where it was.
        data: The plan as `plan --json` gives it; None where there is none.
        tag: The language of the words, as a tag of BCP 47.
    """

    days: tuple[DayPreview, ...] = ()
    remarks: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = ()
    unmeasured: str = ""
    data: dict[str, Any] | None = None
    tag: str = "en"


def plan_preview(texts: WeekTexts, scores: Callable[[Path], Score]) -> PlanPreview:
    """The plan of a week as its texts say it.

    Args:
        texts: The texts, saved or not.
        scores: Opens a score; a store that lives as long as the desk keeps this quick.
    """
    week, faults = _resolved(texts, scores)
    if week is None:
        return PlanPreview(faults=faults)
    words = Words(week.player.words)
    music, unmeasured = _measured(week)
    plan = plan_week(week, music)
    tight = [tight_text(one, week, words) for one in tight_places(plan, week, music)]
    remarks = [*remark_lines(plan, week, words), *load_warnings(week, words), *tight, *week.remarks]
    remarks = [_dated(line, words) for line in remarks]
    data = plan.to_json() | {"warnings": [*load_warnings(week, words), *tight]}
    return PlanPreview(_days(plan, week, words), tuple(remarks), faults, unmeasured, data, words.tag)


def all_faults(
    texts: WeekTexts, scores: Callable[[Path], Score]
) -> tuple[tuple[Fault, ...], tuple[Fault, ...]]:
    """What `excerpts check` finds: why no workbook can be made, and what would be left out of it."""
    week, faults = _resolved(texts, scores)
    if week is None:
        return faults, ()
    music = check_week_music(week)
    return texts.reading.sorted((*faults, *music.faults)), music.told


def _resolved(texts: WeekTexts, scores: Callable[[Path], Score]) -> tuple[Week | None, tuple[Fault, ...]]:
    try:
        return resolve_rest(texts.reading, scores)
    except WeekFaultsError as error:
        return None, error.faults


def _measured(week: Week) -> tuple[WeekMusic, str]:
    """The music of the week; nothing of it, and why, where a score or a bar is not there."""
    try:
        return week_music(week), ""
    except InputError as error:
        return WeekMusic(), str(error)


def _dated(text: str, words: Words) -> str:
    """A line of the command with its days as pages name them: "Mon 30 Nov" for "Mon 2026-11-30"."""

    def named(found: re.Match[str]) -> str:
        try:
            return short_day(date.fromisoformat(found[0]), words)
        except ValueError:
            return found[0]  # no day of the calendar: part of a title

    return _ISO.sub(named, text)


def _days(plan: Plan, week: Week, words: Words) -> tuple[DayPreview, ...]:
    days = []
    for day in plan.days:
        head, *lines = day_lines(day, plan, week, words)
        days.append(
            DayPreview(
                _dated(head, words).rstrip(":"), tuple(line.strip() for line in lines), not day.minutes
            )
        )
    return tuple(days)
