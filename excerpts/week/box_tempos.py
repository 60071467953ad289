"""The tempos of a box in one week: from its start towards its goal, and which of them a day is meant for.

Common practice, no source. A step is at most a fifth faster than the one before, and six fit a record. Up to the age
of eleven and in the first level it is a tenth, with one step a day, and one note beats in all of them. The goal may
lie beyond the week.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from excerpts.excerpt import Tempo
from excerpts.variants import slow_start, tempo_steps
from excerpts.variants.tempo_steps import SLOWEST, WIDEST, rounded_down
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.model import WeekFile

_MOST: Final = 6
_A_TENTH: Final = Fraction(11, 10)


def box_tempos(box: BoxItem, week: WeekFile, days: int) -> tuple[Tempo, ...]:
    """The tempos of a box, the slowest first; none where its goal is no tempo.

    Args:
        box: The box.
        week: Its week. Where the teacher set `steps`, they reach the goal however wide they get; not for players who
            rise by tenths.
        days: Days on which the box is worked on in depth.
    """
    if box.target is None:
        return ()
    most = week.plan.steps or _MOST
    if week.careful:
        start = box.start or _careful_start(box.target)
        goal = box.target.quarters_per_minute / start.unit
        most = min(most, days or most)
        return tempo_steps(start.number, goal, start.unit, most, widest=_A_TENTH, one_beat=True)
    first = (box.start or slow_start(box.target)).quarters_per_minute / box.target.unit
    widest = None if week.plan.steps else WIDEST
    return tempo_steps(first, box.target.number, box.target.unit, most, widest=widest)


def _careful_start(target: Tempo) -> Tempo:
    """Half of the goal, but not below 40 in its beat, which nobody feels as a beat, nor above two thirds of it."""
    number = max(target.number / 2, min(Fraction(SLOWEST), target.number * 2 / 3))
    return Tempo(Fraction(rounded_down(number) or int(number) or 1), target.unit)


def meant_tempos(place: int, days: int, tempos: int) -> tuple[bool, ...]:
    """For each tempo, whether a day is meant for it: from the slowest on the first day to the last on the last.

    A day starts a step or two below where the day before ended.

    Args:
        place: Which of the days it is, from 0.
        days: Number of days with the box.
        tempos: Number of tempos.
    """
    if tempos < 2 or days < 2:
        return (True,) * tempos
    ends = [round(Fraction((day + 1) * (tempos - 1), days)) for day in range(place + 1)]
    first = max(ends[place - 1] - 1, 0) if place else 0
    return tuple(first <= step <= max(ends[place], 1) for step in range(tempos))


def tempo_of_day(place: int, days: int, tempos: tuple[Tempo, ...]) -> Tempo:
    """The one tempo of a day, for a record by circles: from the slowest on the first day to the last on the last."""
    if days < 2:
        return tempos[0]
    return tempos[round(Fraction(place * (len(tempos) - 1), days - 1))]
