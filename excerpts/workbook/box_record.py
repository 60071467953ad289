"""The record of a box as values: the days that the page has a line for, and the tempos that it has a column for.

The page prints it, and what a player wrote on the page is typed into the same lines and columns.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from excerpts.excerpt import Tempo
from excerpts.week import Week
from excerpts.week.box_tempos import box_tempos, meant_tempos, tempo_of_day
from excerpts.week.plan import Plan
from excerpts.weekfile.items import BoxItem


@dataclass(frozen=True, slots=True)
class BoxDay:
    """A day on which a box is played.

    Attributes:
        date: The day.
        minutes: For how long.
        depth: Whether it is done in depth.
    """

    date: date
    minutes: int
    depth: bool


@dataclass(frozen=True, slots=True)
class RecordDay:
    """A line of a record.

    Attributes:
        day: The day.
        depth: Whether the box is done in depth that day.
        meant: For each tempo, whether the day is meant for it.
        tempo: The one tempo of the day, for a record by circles; None for a goal in words.
    """

    day: date
    depth: bool
    meant: tuple[bool, ...]
    tempo: Tempo | None


@dataclass(frozen=True, slots=True)
class BoxRecord:
    """The record of a box.

    Attributes:
        tempos: Its columns, from slow to fast; none for a goal in words.
        days: Its lines; none where no day of the plan has room for the box.
    """

    tempos: tuple[Tempo, ...]
    days: tuple[RecordDay, ...]


def box_days(plan: Plan, box: BoxItem) -> list[BoxDay]:
    """The days of a plan on which a box is played."""
    return [
        BoxDay(day.date, item.minutes, item.in_depth)
        for day in plan.days
        for item in day.section("passages")
        if item.box == box.id
    ]


def box_record(week: Week, plan: Plan, box: BoxItem, *, circles: bool) -> BoxRecord:
    """The record of a box.

    Args:
        week: The week.
        plan: Its plan.
        box: The box.
        circles: It is kept by circles: a child colours the days in depth; on a light day the box is played once.
    """
    days = box_days(plan, box)
    tempos = box_tempos(box, week, sum(day.depth for day in days))
    if circles:
        days = [day for day in days if day.depth] or days
    lines = tuple(
        RecordDay(
            day.date,
            day.depth,
            meant_tempos(place, len(days), len(tempos)) or (False,),
            tempo_of_day(place, len(days), tempos) if tempos else None,
        )
        for place, day in enumerate(days)
    )
    return BoxRecord(tempos, lines)
