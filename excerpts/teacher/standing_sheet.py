"""Where a player stands at the lesson: days practised, boxes and what was reached, what broke down, dates to come."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from excerpts.errors import InputError
from excerpts.log import Log, LogRow, Standing, log_path, read_log, standing
from excerpts.log.standing import STUCK_WEEKS, weeks_at_work
from excerpts.week import Week
from excerpts.weekfile.items import BoxItem, Piece, RetiredBox


@dataclass(frozen=True, slots=True)
class BoxState:
    """Where a box in work stands.

    Attributes:
        box: The box.
        weeks: Weeks in which anything was written down while it was in work.
        standing: What the log says.
        best: The row with the highest clean tempo this week, or with the most runs; None where there is none.
        before: The like of the last week before in which it was worked on, where this week says nothing of it yet.
        broke: Where it broke down this week, with how often.
        notes: What was noticed this week.
    """

    box: BoxItem
    weeks: int
    standing: Standing
    best: LogRow | None
    broke: tuple[tuple[str, int], ...]
    notes: tuple[str, ...]
    before: LogRow | None = None

    @property
    def stuck(self) -> bool:
        """Whether it has been in work for three weeks without getting clean, and went no further this week."""
        return self.weeks >= STUCK_WEEKS and not self.standing.clean and not self.standing.moving


@dataclass(frozen=True, slots=True)
class PlayerState:
    """Where a player stands at the lesson.

    Attributes:
        week: The week that is over.
        lesson: The day of the lesson.
        boxes: The boxes in work.
        due: Retired boxes whose check is due.
        run_throughs: What broke down in run-throughs: piece, bars, how often.
        practised: Days on which something was written down.
        last: The last day on which something was written down, in any week; None where there is none.
        undated: Whether something was written down without a day.
        planned: Days that had minutes.
        performances: Pieces with a date from the lesson on, the nearest first.
        coming: Pieces with a date from the first day of the week on, the nearest first.
    """

    week: Week
    lesson: date
    boxes: tuple[BoxState, ...]
    due: tuple[RetiredBox, ...]
    run_throughs: tuple[tuple[str, str, int], ...]
    practised: int
    last: date | None
    undated: bool
    planned: int
    performances: tuple[Piece, ...]
    coming: tuple[Piece, ...]

    @property
    def silent(self) -> bool:
        """Whether nothing at all was written down."""
        return not self.practised and not self.undated


def player_state(week: Week, log: Log) -> PlayerState:
    """Where a player stands at the lesson that ends a week."""
    lesson = week.week.next_lesson
    rows = [row for row in log.rows if row.week == week.week.start]
    played = [row for row in rows if row.kind != "heard"]
    titles = {piece.id: piece.title for piece in week.pieces}
    broke = Counter(
        (titles.get(row.box, row.box), row.bars) for row in rows if row.kind == "run-through" and row.bars
    )
    coming = sorted(
        (piece for piece in week.pieces if piece.date is not None and piece.date >= week.week.start),
        key=lambda piece: piece.date or lesson,
    )
    return PlayerState(
        week=week,
        lesson=lesson,
        boxes=tuple(_box(week, box, log) for box in week.boxes),
        due=tuple(box for box in week.retired if box.due is not None and box.due < lesson),
        run_throughs=tuple((piece, bars, times) for (piece, bars), times in broke.most_common()),
        practised=len({row.date for row in played if row.date is not None}),
        last=max((row.date or row.week for row in log.rows if row.week is not None), default=None),
        undated=any(row.date is None for row in played),
        planned=sum(week.week.minutes_on(day) > 0 for day in week.week.dates if day < lesson),
        performances=tuple(piece for piece in coming if piece.date is not None and piece.date >= lesson),
        coming=tuple(coming),
    )


@dataclass(frozen=True, slots=True)
class Read:
    """The players with their logs.

    Attributes:
        states: Where each player stands.
        faults: What is wrong with logs: lines that are no rows, or the whole of one.
    """

    states: tuple[PlayerState, ...]
    faults: tuple[str, ...]


def read_states(weeks: Sequence[Week]) -> Read:
    """Read the log of every player; one that cannot be read is told and taken for empty."""
    states: list[PlayerState] = []
    faults: list[str] = []
    for week in weeks:
        path = log_path(week)
        try:
            log = read_log(path, week.player.name)
        except InputError as error:
            faults.append(str(error))
            log = Log(path)
        faults += [str(fault) for fault in log.faults]
        states.append(player_state(week, log))
    states.sort(key=lambda state: (state.lesson, state.week.player.name.casefold()))
    return Read(tuple(states), tuple(faults))


def _box(week: Week, box: BoxItem, log: Log) -> BoxState:
    since = box.since or week.week.start
    own = [row for row in log.rows if row.week == week.week.start and row.box == box.id and row.kind == "box"]
    wanted = week.clean_runs(box)
    return BoxState(
        box=box,
        weeks=weeks_at_work(log.rows, since, week.week.start),
        standing=standing(box, log.rows, wanted=wanted, week=week.week.start, since=since),
        best=_best(own),
        broke=tuple(Counter(row.bars for row in own if row.bars).most_common(3)),
        notes=tuple(dict.fromkeys(row.note for row in own if row.note)),
        before=None if own else _before(box, log, since, week.week.start),
    )


def _before(box: BoxItem, log: Log, since: date, start: date) -> LogRow | None:
    rows = [row for row in log.rows if row.box == box.id and row.kind == "box" and row.week is not None]
    weeks = {row.week for row in rows if row.week is not None and since <= row.week < start}
    return _best([row for row in rows if row.week == max(weeks)]) if weeks else None


def _best(rows: Sequence[LogRow]) -> LogRow | None:
    clean = [row for row in rows if row.clean != 0 and (row.tempo is not None or row.clean is not None)]
    if not clean:
        return None
    return max(clean, key=lambda row: (row.tempo.quarters_per_minute if row.tempo else 0, row.clean or 0))
