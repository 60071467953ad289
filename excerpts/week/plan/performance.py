"""Before a performance: which days begin with a run-through, of which pieces, in which order.

In the last days (seven by default) every day with practice begins with a run-through, cold, first thing after
tuning: in drawn order on most days, once in the order of the programme as a mock performance, and with the openings
only on the last day, which is a light one. The mock performance is on the day before that one, wherever a lesson
divides the days, so that two weeks do not have one each. Common practice of string teachers, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Final

from excerpts.week.plan.model import RunThrough, Start
from excerpts.week.plan.random_order import draw_orders, shuffled, usual_seed
from excerpts.weekfile.items import Piece
from excerpts.weekfile.model import WeekFile

_MOCK_FROM: Final = 3
"""Days with a whole run-through from which on the last of them is in the order of the programme."""

_STARTS: Final = 2
"""Places to start from by heart on one day."""


@dataclass(frozen=True, slots=True)
class _Concert:
    """A performance, its pieces in order, and the days of the week that belong to it; one may be for the mock."""

    day: date
    pieces: tuple[Piece, ...]
    days: tuple[date, ...]
    light: frozenset[date]
    mock: date | None


def run_through_seed(week: WeekFile) -> str:
    """What the draws of a week start from: its own seed, else one by player and week."""
    return week.plan.seed or usual_seed(week.player.name, week.week.start.isoformat())


def run_throughs(
    week: WeekFile, marks: Mapping[str, Sequence[str]], practised: Sequence[date]
) -> dict[date, RunThrough]:
    """The run-through of each day that has one.

    What the run-throughs of the weeks before began with counts for first pieces, as far as the week says it.

    Args:
        week: The week.
        marks: Rehearsal marks of each piece by its id, where they are known.
        practised: The days with practice.
    """
    found: dict[date, RunThrough] = {}
    for concert in _concerts(week, practised):
        random = Random(f"{run_through_seed(week)} {concert.day}")
        runs = _runs(concert, random, week.week.began)
        if week.plan.memory:
            _draw_starts(runs, marks, random)
        found.update(runs)
    return found


def began_with(week: WeekFile, start: date) -> tuple[str, ...]:
    """The pieces that the run-throughs up to the end of a week began with, for performances still to come.

    Args:
        week: The week.
        start: First day of the week after.
    """
    coming = {piece.id for piece in week.pieces if piece.date is not None and piece.date >= start}
    practised = [day for day in week.week.dates if week.week.minutes_on(day)]
    runs = run_throughs(week, {}, practised)
    firsts = [run.pieces[0] for _, run in sorted(runs.items()) if run.kind != "light"]
    return tuple(piece for piece in (*week.week.began, *firsts) if piece in coming)


def programme(week: WeekFile, day: date) -> tuple[Piece, ...]:
    """The pieces of the performance on `day`, in the order of the programme."""
    pieces = [piece for piece in week.pieces if piece.date == day]
    named = week.plan.programme
    pieces.sort(key=lambda piece: named.index(piece.id) if piece.id in named else len(named))
    return tuple(pieces)


def _concerts(week: WeekFile, practised: Sequence[date]) -> list[_Concert]:
    settings = week.plan
    concerts: list[_Concert] = []
    taken: set[date] = set()
    for day in sorted({piece.date for piece in week.pieces if piece.date is not None}):
        before = [one for one in practised if 0 < (day - one).days <= settings.cold_days]
        light: Collection[date] = ()
        if settings.light and settings.cold_days and week.week.start <= day <= week.week.last + timedelta(1):
            light = [*before[-1:], *(one for one in practised if one == day)]
        days = tuple(one for one in practised if (one in before or one in light) and one not in taken)
        taken.update(days)
        if days:
            whole = [one for one in days if one not in light]
            mock = whole[-1] if whole and _is_mock_due(week, day, len(whole)) else None
            concerts.append(
                _Concert(day, programme(week, day), days, frozenset(light).intersection(days), mock)
            )
    return concerts


def _is_mock_due(week: WeekFile, day: date, whole: int) -> bool:
    """Whether the mock performance before `day` falls into this week.

    Of the days before the week and behind it only what its own minutes say is known: practice on the same weekdays.

    Args:
        week: The week.
        day: Day of the performance.
        whole: Days of the week with a whole run-through before it.
    """
    others = sorted({piece.date for piece in week.pieces if piece.date is not None and piece.date < day})
    cold = [day - timedelta(days=before) for before in range(week.plan.cold_days, 0, -1)]
    cold = [one for one in cold if week.week.minutes_on(one) and (not others or one > others[-1])]
    behind = [one for one in cold if one > week.week.last]
    if week.plan.light:
        behind = behind[:-1]
    return not behind and whole + sum(one < week.week.start for one in cold) >= _MOCK_FROM


def _runs(concert: _Concert, random: Random, began: Sequence[str]) -> dict[date, RunThrough]:
    ids = tuple(piece.id for piece in concert.pieces)
    days = [day for day in concert.days if day not in concert.light]
    mock = concert.mock
    drawn = [day for day in days if day != mock]
    runs = {day: RunThrough("light", ids, concert.day) for day in concert.light}
    if mock:
        runs[mock] = RunThrough("programme", ids, concert.day, mock=True)
    before = [ids.index(piece) for piece in began if piece in ids]
    orders = draw_orders(len(ids), len(drawn), random, then_programme=mock is not None, before=before)
    for day, order in zip(drawn, orders, strict=True):
        runs[day] = RunThrough("drawn", tuple(ids[place] for place in order), concert.day)
    return dict(sorted(runs.items()))


def _draw_starts(runs: dict[date, RunThrough], marks: Mapping[str, Sequence[str]], random: Random) -> None:
    """Give each drawn day places to start from by heart; none comes twice before all have come."""
    bag: list[Start] = []
    for day, run in runs.items():
        places = [Start(piece, mark) for piece in sorted(run.pieces) for mark in marks.get(piece, ())]
        if run.kind != "drawn" or not places:
            continue
        if len(bag) < min(_STARTS, len(places)):
            bag += shuffled([place for place in places if place not in bag], random)
        runs[day] = RunThrough(run.kind, run.pieces, run.performance, tuple(bag[:_STARTS]))
        del bag[:_STARTS]
