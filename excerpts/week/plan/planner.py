"""Makes the plan of a week, day after day, by the rules that `excerpts.week.plan.model` tells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from excerpts.errors import WeekError
from excerpts.week.model import WeekMusic
from excerpts.week.plan.breaks import break_count, break_minutes, break_places
from excerpts.week.plan.choice import Choice, repertoire
from excerpts.week.plan.counts import with_times
from excerpts.week.plan.model import Plan, PlanDay, PlanItem
from excerpts.week.plan.performance import run_through_seed, run_throughs
from excerpts.week.plan.relaxations import Relaxations
from excerpts.week.plan.session import Session, in_turns
from excerpts.weekfile.model import WeekFile

__all__ = ["plan_week", "repertoire"]


def plan_week(week: WeekFile, music: WeekMusic | None = None) -> Plan:
    """Plan the days of a week.

    Args:
        week: The week.
        music: What is known of its music (`excerpts.week.check.week_music`): with it run-throughs have the
            minutes that the pieces take, and starts from rehearsal marks.

    Raises:
        WeekError: The week has nothing to play.
    """
    if not (week.warmups or week.technique or week.boxes or week.pieces):
        raise WeekError("The week has nothing to play.", hint="Add a piece, a box or a warm-up.")
    return _Planner(week, music or WeekMusic()).plan()


class _Planner:
    def __init__(self, week: WeekFile, music: WeekMusic) -> None:
        self.week = week
        self.music = music
        self.practised = [day for day in week.week.dates if week.week.minutes_on(day)]
        self.choice = Choice(week, len(self.practised))
        self.runs = run_throughs(week, music.marks, self.practised)
        self.yields = Relaxations(week, self.choice)

    def plan(self) -> Plan:
        days: list[PlanDay] = []
        yesterday: tuple[PlanItem, ...] = ()
        for day in self.week.week.dates:
            minutes = self._minutes(day)
            days.append(self._day(day, minutes, yesterday) if minutes else PlanDay(day, 0))
            yesterday = days[-1].in_depth or yesterday
        seed = run_through_seed(self.week) if any(day.run_through for day in days) else None
        if self.week.counts:
            days = [with_times(day, self.week, self.music) for day in days]
        return Plan(tuple(days), self.yields.told(days), seed, self.week.counts)

    def _minutes(self, day: date) -> int:
        """The minutes of a day: the file's own; half of them on a light day that has none by its date."""
        given = self.week.week.minutes_on(day)
        run = self.runs.get(day)
        if run is None or run.kind != "light" or day.isoformat() in self.week.week.minutes:
            return given
        return -(-given // 2)

    def _day(self, day: date, minutes: int, yesterday: Sequence[PlanItem]) -> PlanDay:
        settings = self.week.plan
        longest, length = settings.break_after, settings.break_minutes
        rest = break_minutes(minutes, longest, length)
        session = Session(self.week, self.music, self.choice, self.practised.index(day) + 1)
        items = session.items(minutes, minutes - rest, self.runs.get(day), yesterday)
        self.yields.note(day, session)
        self.choice.count(items)
        items, turns = in_turns(items, settings.turns)
        places = break_places(
            break_count(minutes, longest, length), [item.minutes for item in items], longest
        )
        run = self.runs.get(day) if session.ran else None
        if run and not any(item.kind == "memory" for item in items):
            run = replace(run, starts=())
        return PlanDay(day, minutes, rest, tuple(items), places, turns, run)
