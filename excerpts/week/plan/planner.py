"""Makes the plan of a week, day after day, and keeps account of the rules that had to yield (`model.RULES`)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from excerpts.errors import WeekError
from excerpts.week.model import WeekMusic
from excerpts.week.plan.choice import Choice
from excerpts.week.plan.minutes import SHORT, break_minutes, break_places
from excerpts.week.plan.model import RULES, Plan, PlanDay, PlanItem, Relaxed, RuleName
from excerpts.week.plan.run_throughs import run_through_seed, run_throughs
from excerpts.week.plan.session import Session, in_turns
from excerpts.week.plan.workload import with_times
from excerpts.weekfile.model import WeekFile
from excerpts.weekfile.settings import SECTIONS, Section


class Relaxations:
    """The rules that yielded in one week."""

    def __init__(self, week: WeekFile, choice: Choice) -> None:
        self.week = week
        self.choice = choice
        self.yielded: dict[RuleName, list[str]] = {}

    def _add(self, rule: RuleName, items: Sequence[str]) -> None:
        if items:
            self.yielded[rule] = list(dict.fromkeys([*self.yielded.get(rule, []), *items]))

    def note(self, day: date, session: Session) -> None:
        """Record the rules that yielded while a day was planned."""
        for rule in session.yielded:
            self._add(rule, [day.isoformat()])

    def relaxed(self, days: Sequence[PlanDay]) -> tuple[Relaxed, ...]:
        """Every rule that yielded, the most important first."""
        practised = [day for day in days if day.minutes]
        for day in practised:
            for rule in self._of_day(day):
                self._add(rule, [day.date.isoformat()])
        if practised:
            self._sections(practised)
            self._left_out(practised)
        return tuple(Relaxed(rule, tuple(self.yielded[rule])) for rule in RULES if rule in self.yielded)

    def _of_day(self, day: PlanDay) -> list[RuleName]:
        run = day.run_through
        light = run is not None and run.light
        yielded: list[RuleName] = []
        if light:
            yielded.append("light-last-day")
        elif self.week.boxes and not day.in_depth:
            yielded.append("box-in-depth")
        if any(self._before_box(place, item, day.items) for place, item in enumerate(day.items)):
            yielded.append("piece-after-box")
        played = {item.piece for item in day.section("repertoire")}
        if any(item.piece is not None and item.piece not in played for item in day.in_depth):
            yielded.append("piece-of-box")
        if not light and self._review_is_smaller(day):
            yielded.append("review-largest")
        return yielded

    def _before_box(self, place: int, item: PlanItem, items: Sequence[PlanItem]) -> bool:
        if item.section != "repertoire" or item.piece is None:
            return False
        return any(later.in_depth and later.piece == item.piece for later in items[place:])

    def _review_is_smaller(self, day: PlanDay) -> bool:
        known = {piece.id for piece in self.week.pieces if piece.status == "review"}
        if self.week.player.level != "first" or not known:
            return False
        review = sum(item.minutes for item in day.section("repertoire") if item.piece in known)
        others = (sum(item.minutes for item in day.section(section)) for section in SECTIONS[:3])
        return any(minutes > review for minutes in others)

    def _lacking(self, day: PlanDay) -> list[Section]:
        """The sections that have something to play, and nothing on this day."""
        contents = (self.week.warmups, self.choice.technique_places, self.week.boxes, self.choice.pieces)
        return [
            section
            for section, items in zip(SECTIONS, contents, strict=True)
            if items and not any(item.kind not in {"tuning", "last-tune"} for item in day.section(section))
        ]

    def _sections(self, practised: Sequence[PlanDay]) -> None:
        """Days that lack a section; where it is technique on days too short for it, which takes turns, its days."""
        usual = [day for day in practised if day.run_through is None or not day.run_through.light]
        lacking = {day: self._lacking(day) for day in usual}
        turns = [day for day in usual if "technique" not in lacking[day]]
        waiting = (
            [day for day in usual if lacking[day] == ["technique"] and day.minutes < SHORT] if turns else []
        )
        self._add(
            "every-section", [day.date.isoformat() for day in usual if lacking[day] and day not in waiting]
        )
        self._add("technique-in-turns", [day.date.isoformat() for day in turns] if waiting else [])

    def _left_out(self, practised: Sequence[PlanDay]) -> None:
        choice = self.choice
        pieces = [piece.id for piece in choice.pieces]
        turns = choice.piece_turns
        self._add("box-without-day", [self.week.boxes[place].id for place in choice.box_turns.left_out])
        self._add("piece-without-day", [pieces[place] for place in turns.left_out])
        wanted = sum(day.run_through is None or day.run_through.kind != "day" for day in practised)
        daily = [
            piece
            for place, piece in enumerate(pieces)
            if turns.daily(place) and 0 < turns.turns[place] < wanted
        ]
        self._add("daily-piece", daily)
        self._add("warm-up-without-day", [str(place + 1) for place in choice.warmup_turns.left_out])
        places = [choice.technique_places[turn] for turn in choice.technique_turns.left_out]
        self._add("technique-without-day", [str(place + 1) for place in places])


def plan_week(week: WeekFile, music: WeekMusic | None = None) -> Plan:
    """Plan the days of a week.

    Args:
        week: The week.
        music: What is known of its music (`excerpts.week.measured.week_music`): with it run-throughs have the
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
        self.practised = week.week.practised
        self.choice = Choice(week, len(self.practised), music)
        self.runs = run_throughs(week, music.marks, self.practised)
        self.yielding = Relaxations(week, self.choice)

    def plan(self) -> Plan:
        days: list[PlanDay] = []
        yesterday: tuple[PlanItem, ...] = ()
        for day in self.week.week.dates:
            minutes = self.week.week.minutes_on(day)
            days.append(self._day(day, minutes, yesterday) if minutes else PlanDay(day, 0))
            yesterday = days[-1].in_depth or yesterday
        seed = run_through_seed(self.week) if any(day.run_through for day in days) else None
        if self.week.counts:
            days = [with_times(day, self.week, self.music) for day in days]
        return Plan(tuple(days), self.yielding.relaxed(days), seed, self.week.counts)

    def _day(self, day: date, minutes: int, yesterday: Sequence[PlanItem]) -> PlanDay:
        settings = self.week.plan
        longest, length = settings.break_after, settings.break_minutes
        run = self.runs.get(day)
        rest = break_minutes(minutes, longest, length)
        session = Session(self.week, self.music, self.choice, self.practised.index(day) + 1)
        items = session.items(minutes, minutes - rest, run, yesterday)
        if run is not None and run.light:
            rest = 0
        self.yielding.note(day, session)
        self.choice.count(items)
        items, turns = in_turns(items, settings.turns)
        if run and not any(item.kind == "memory" for item in items):
            run = replace(run, starts=())
        played = rest + sum(item.minutes for item in items)
        made = PlanDay(day, played, rest, tuple(items), (), turns, run if session.ran else None)
        ends = [stretch.minutes for stretch in made.timeline()]
        return replace(made, breaks_after=break_places(rest // max(length, 1), ends, longest))
