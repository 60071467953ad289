"""Before a performance: which days begin with a run-through, of which pieces, in which order.

In the last days (seven by default) every day with practice begins with a run-through, cold, first thing after
tuning: in drawn order on most days, once in the order of the programme as a mock performance, and with the openings
only on the last day, which is a light one. The mock performance is on the day before that one, wherever a lesson
divides the days, so that two weeks do not have one each. Common practice of string teachers, no source.

Lots are drawn, always the same from the same seed. The first pieces of a row of days differ on consecutive days and
are even to one over the days; among all orders that keep to this, each is as likely as any other. The numbers come
from Python's Mersenne Twister by way of `randrange`, which is made of whole bits.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from hashlib import sha256
from random import Random
from typing import Final, TypeVar

from excerpts.week.plan.model import RunThrough, Start
from excerpts.weekfile.items import Piece
from excerpts.weekfile.model import WeekFile

_Item = TypeVar("_Item")


def usual_seed(player: str, start: str) -> str:
    """A seed of six digits from a player and the first day of a week, short enough to be printed."""
    return str(int.from_bytes(sha256(f"{player}\n{start}".encode()).digest()[:8]) % 900_000 + 100_000)


def shuffled(items: Sequence[_Item], random: Random) -> list[_Item]:
    """The items in drawn order, every order as likely (Fisher and Yates 1938)."""
    order = list(items)
    for last in range(len(order) - 1, 0, -1):
        place = random.randrange(last + 1)
        order[last], order[place] = order[place], order[last]
    return order


def draw_orders(
    count: int, days: int, random: Random, *, then_programme: bool = False, before: Sequence[int] = ()
) -> list[list[int]]:
    """Draw the order of `count` pieces for each of `days` days.

    Args:
        count: Number of pieces, one at least.
        days: Number of days with a drawn order.
        random: Where the numbers come from.
        then_programme: The day after them begins with piece 0, and counts for first pieces too.
        before: First pieces of the days before, in order; they count too.

    Returns:
        For each day the pieces as numbers from 0.
    """
    firsts = draw_firsts(count, days, random, then_programme=then_programme, before=before)
    return [
        [first, *shuffled([piece for piece in range(count) if piece != first], random)] for first in firsts
    ]


def draw_firsts(
    count: int, days: int, random: Random, *, then_programme: bool = False, before: Sequence[int] = ()
) -> list[int]:
    """Draw the first piece of each day, as `draw_orders` does.

    With a single piece there is nothing to draw. What went before is left out of account where nothing could follow
    it: first all but the last day, then that too. The chance of each piece is its share of all rows that can
    still follow, so that every whole row is as likely as any other.
    """
    if count == 1:
        return [0] * days
    kept = next(
        (past for past in (before, before[-1:]) if _ways(days, _after(count, past), then_programme)), ()
    )
    chosen = list(kept)
    counts = [chosen.count(piece) for piece in range(count)]
    for day in range(days):
        left = days - day - 1
        ways = [
            0
            if chosen and chosen[-1] == piece
            else _ways(
                left, _state([n + (place == piece) for place, n in enumerate(counts)], piece), then_programme
            )
            for piece in range(count)
        ]
        ticket = random.randrange(sum(ways))
        piece = 0
        while ticket >= ways[piece]:
            ticket -= ways[piece]
            piece += 1
        chosen.append(piece)
        counts[piece] += 1
    return chosen[len(kept) :]


_State = tuple[tuple[int, bool], tuple[tuple[int, bool], ...]]
"""How often piece 0 was first and whether it was last time; the same of the others, whose names do not matter."""


def _state(counts: Sequence[int], last: int) -> _State:
    marked = [(n, place == last) for place, n in enumerate(counts)]
    return marked[0], tuple(sorted(marked[1:]))


def _after(count: int, past: Sequence[int]) -> _State:
    return _state([past.count(piece) for piece in range(count)], past[-1] if past else -1)


@lru_cache(maxsize=100_000)
def _ways(left: int, state: _State, then_programme: bool) -> int:
    """In how many ways a row of first pieces can go on for `left` days."""
    counts = [state[0], *state[1]]
    spread = max(n for n, _ in counts) - min(n for n, _ in counts)
    if left == 0:
        return int(spread <= 1 and not (then_programme and not _leads_to_programme(counts)))
    if spread > 1 + left:
        return 0
    total = 0
    for piece, (_, was_last) in enumerate(counts):
        if not was_last:
            following = [n + (place == piece) for place, (n, _) in enumerate(counts)]
            total += _ways(left - 1, _state(following, piece), then_programme)
    return total


def _leads_to_programme(counts: Sequence[tuple[int, bool]]) -> bool:
    """Whether piece 0 may come first on the next day, and all counts still be even to one."""
    (own, was_last), others = counts[0], [n for n, _ in counts[1:]]
    return not was_last and max(*others, own + 1) - min(*others, own + 1) <= 1


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

    The pieces that the run-throughs of earlier weeks began with count too, as far as the week says them.

    Args:
        week: The week.
        marks: Rehearsal marks of each piece by its id, where they are known.
        practised: The days with practice.
    """
    by_day: dict[date, RunThrough] = {}
    for concert in _concerts(week, practised):
        random = Random(f"{run_through_seed(week)} {concert.day}")
        runs = _runs(concert, random, week.week.began)
        if week.plan.memory:
            _draw_starts(runs, marks, random)
        by_day.update(runs)
    return by_day


def began_with(week: WeekFile, start: date) -> tuple[str, ...]:
    """The pieces that the run-throughs up to the end of a week began with, for performances still to come.

    Args:
        week: The week.
        start: First day of the week after.
    """
    coming = {piece.id for piece in week.pieces if piece.date is not None and piece.date >= start}
    runs = run_throughs(week, {}, week.week.practised)
    firsts = [run.pieces[0] for _, run in sorted(runs.items()) if not run.light]
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
    runs = {
        day: RunThrough("day" if day == concert.day else "light", ids, concert.day) for day in concert.light
    }
    if mock:
        runs[mock] = RunThrough("programme", ids, concert.day, mock=True)
    before = [ids.index(piece) for piece in began if piece in ids]
    orders = draw_orders(len(ids), len(drawn), random, then_programme=mock is not None, before=before)
    for day, order in zip(drawn, orders, strict=True):
        runs[day] = RunThrough("drawn", tuple(ids[place] for place in order), concert.day)
    return dict(sorted(runs.items()))


def _draw_starts(runs: dict[date, RunThrough], marks: Mapping[str, Sequence[str]], random: Random) -> None:
    """Draw places to start from by heart for each drawn day; none comes twice before all have come."""
    bag: list[Start] = []
    for day, run in runs.items():
        places = [Start(piece, mark) for piece in sorted(run.pieces) for mark in marks.get(piece, ())]
        if run.kind != "drawn" or not places:
            continue
        if len(bag) < min(_STARTS, len(places)):
            bag += shuffled([place for place in places if place not in bag], random)
        runs[day] = RunThrough(run.kind, run.pieces, run.performance, tuple(bag[:_STARTS]))
        del bag[:_STARTS]
