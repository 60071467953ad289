"""What a log says about one box: how fast it was clean, on how many days, and whether it is clean now.

A box is clean when the wanted runs in a row were reached at the target on two days, or when it was heard clean
in the lesson. What the teacher heard decides: days before a lesson in which it was not clean count no more.
Two days, since a night between shows what has stayed (Simmons 2012: accuracy rose only over 24 hours); the rest
is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from excerpts.excerpt import Tempo
from excerpts.log.row import LogRow
from excerpts.weekfile.items import BoxItem

STUCK_WEEKS: Final = 3
"""Weeks in work after which a box that is not clean is stuck: common practice, no source."""
CLEAN_DAYS: Final = 2
"""Days on which the goal must be reached."""

CHECK_RUNS: Final = 3
"""Clean runs in a row that a check asks for, where the box itself asked for more: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a box stands.

    Attributes:
        clean: Whether it may retire.
        heard: What the last lesson said: clean, not clean, or None where it was not heard.
        goal_days: On how many days its goal was reached.
        practised: Whether anything was written about it this week.
        reached: The highest tempo this week with a clean run; None where no tempo was.
        held: The last tempo at which the wanted runs were reached, since the box came into work; None for none.
        fastest: The row of this week with the highest tempo that had any clean run counted; None for none.
        tried: The lowest tempo this week, where none was clean.
        moving: This week went beyond all weeks before it since the box came into work.
    """

    clean: bool
    heard: bool | None
    goal_days: int
    practised: bool
    reached: Tempo | None
    tried: Tempo | None
    moving: bool = False
    held: Tempo | None = None
    fastest: LogRow | None = None


def rows_of(box_id: str, rows: Iterable[LogRow]) -> list[LogRow]:
    """The rows of work on a box, and of the lessons it was heard in."""
    return [row for row in rows if row.box == box_id and row.kind in ("box", "heard")]


def standing(
    box: BoxItem, rows: Sequence[LogRow], *, wanted: int, week: date, since: date | None = None
) -> Standing:
    """Where a box stands at the end of a week.

    Args:
        box: The box.
        rows: The player's log.
        wanted: Clean runs in a row that it asks for.
        week: First day of the week; what was written for later weeks is not looked at.
        since: First day of the week in which it came into work; what is older is not looked at.
    """
    own = [row for row in rows_of(box.id, rows) if _week(row) <= week and _week(row) >= (since or date.min)]
    heard = sorted((row for row in own if row.kind == "heard"), key=_week)
    last = heard[-1] if heard else None  # of several in one week the one written last
    counted = [row for row in own if row.kind == "box"]
    if last is not None and not last.heard_clean:
        counted = [row for row in counted if _week(row) > _week(last)]
    days = goal_days(box, counted, wanted)
    this_week = [row for row in own if _week(row) == week]
    return Standing(
        clean=last.heard_clean if last is not None and last.heard_clean else days >= CLEAN_DAYS,
        heard=last.heard_clean if last is not None and _week(last) == week else None,
        goal_days=days,
        practised=bool(this_week),
        reached=reached(this_week),
        tried=_lowest(this_week),
        moving=_beyond(this_week, [row for row in own if _week(row) < week]),
        held=held(own, wanted),
        fastest=_fastest(this_week),
    )


def goal_days(box: BoxItem, rows: Iterable[LogRow], wanted: int) -> int:
    """On how many days the wanted runs were reached at the target; rows without a day are one day a week."""
    return len({row.date or (row.week, "") for row in rows if at_goal(box, row, wanted)})


def at_goal(box: BoxItem, row: LogRow, wanted: int) -> bool:
    """Whether a row reaches the goal: the runs, at the target where there is one."""
    if row.clean is None or row.clean < wanted:
        return False
    if box.target is None:
        return True
    return row.tempo is not None and row.tempo.quarters_per_minute >= box.target.quarters_per_minute


def reached(rows: Iterable[LogRow]) -> Tempo | None:
    """The highest tempo with a clean run; a tempo without a count was written down because it went."""
    tempos = [row.tempo for row in rows if row.tempo is not None and row.clean != 0]
    return max(tempos, key=lambda tempo: tempo.quarters_per_minute, default=None)


def held(rows: Iterable[LogRow], wanted: int) -> Tempo | None:
    """The last tempo at which the wanted runs were reached: of the last day the highest.

    One lucky run is none of them; a tempo without a count was written down because it went.
    """
    counted = [row for row in rows if row.tempo is not None and enough(row, wanted)]
    last = max(map(_day, counted), default=None)
    tempos = [row.tempo for row in counted if _day(row) == last and row.tempo is not None]
    return max(tempos, key=lambda tempo: tempo.quarters_per_minute, default=None)


def enough(row: LogRow, wanted: int) -> bool:
    """Whether a row has the wanted clean runs, or no count."""
    return row.clean is None or row.clean >= wanted


def _fastest(rows: Iterable[LogRow]) -> LogRow | None:
    counted = [row for row in rows if row.clean and row.tempo is not None]
    return max(
        counted,
        key=lambda row: (row.tempo.quarters_per_minute if row.tempo else 0, row.clean or 0),
        default=None,
    )


def _day(row: LogRow) -> date:
    """The day of a row; one without a day belongs to the end of its week, when the paper was read."""
    return row.date or _week(row) + timedelta(days=6)


def weeks_at_work(rows: Iterable[LogRow], since: date, week: date) -> int:
    """Weeks in which anything was written down while a box was in work: a holiday leaves no rows and does not count.

    Args:
        rows: The player's log.
        since: First day of the week in which the box came into work.
        week: First day of the week that is over; what was written for later weeks is not looked at.
    """
    days = [row.date or row.week for row in rows if row.week is not None and since <= row.week <= week]
    return len({(day - since).days // 7 for day in days if day is not None})


def days_off(rows: Iterable[LogRow], start: date) -> int | None:
    """Days without a row before a new week; None where the log has no rows at all, and so tells nothing.

    Args:
        rows: The player's log.
        start: First day of the new week.
    """
    played = [_day(row) for row in rows if row.week is not None and row.week < start and row.kind != "heard"]
    return max((start - max(played)).days - 1, 0) if played else None


def _beyond(rows: Sequence[LogRow], before: Sequence[LogRow]) -> bool:
    """Whether rows went beyond those before: a higher clean tempo, or more clean runs where there are no tempos."""
    now, then = reached(rows), reached(before)
    if now is not None and then is not None:
        return now.quarters_per_minute > then.quarters_per_minute
    counts, earlier = ([row.clean for row in some if row.clean is not None] for some in (rows, before))
    return now is then and bool(counts) and bool(earlier) and max(counts) > max(earlier)


def _lowest(rows: Iterable[LogRow]) -> Tempo | None:
    tempos = [row.tempo for row in rows if row.tempo is not None]
    return min(tempos, key=lambda tempo: tempo.quarters_per_minute, default=None)


def _week(row: LogRow) -> date:
    return row.week or date.min


def check_passed(box: BoxItem, rows: Sequence[LogRow], *, wanted: int, week: date) -> bool | None:
    """Whether a retired box stood its check this week; None when nothing was written about it.

    Heard in the lesson decides; else one day with the goal, three runs in a row at most.
    """
    own = [row for row in rows_of(box.id, rows) if row.week == week]
    heard = [row for row in own if row.kind == "heard"]
    if heard:
        return heard[-1].heard_clean
    if not own:
        return None
    return any(at_goal(box, row, min(wanted, CHECK_RUNS)) for row in own)
