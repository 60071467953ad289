"""The players of a studio as the first page lists them: by lesson, with what is due and whether a workbook is ready."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Literal

from excerpts.desk.studio_state import Player, StudioState
from excerpts.errors import InputError
from excerpts.studio.print_days import day_file
from excerpts.studio.run import as_built
from excerpts.studio.store import BuildIndex
from excerpts.studio.version import fingerprint
from excerpts.system.studio_files import workbook_names
from excerpts.teacher.standing_sheet import PlayerState, read_states
from excerpts.week import Week, load_week
from excerpts.week.places import box_name
from excerpts.weekfile.days import lesson_at
from excerpts.words import Words
from excerpts.workbook.page_texts import Dates, PageTexts, short_day

Ready = Literal["ready", "old", "none"]
"""A workbook is as it is to be; something that it was made from has changed since; there is none."""


@dataclass(frozen=True, slots=True)
class Row:
    """One player.

    Attributes:
        player: The player.
        instrument: The instrument, in words.
        day: Day of the lesson in which the week's workbook is handed out; None where the file cannot be read.
        time: Its time, as "16:30"; empty where none is said.
        dates: The days of the week, in words.
        over: The next lesson has come: the week after is due.
        boxes: How many boxes are in work.
        stuck: The boxes that are stuck, in words.
        performance: The next performance, in words; empty where there is none.
        ready: Whether the workbook is ready.
        file: The key of the workbook's file; empty where there is none.
        faults: Why the week cannot be used, with the key in the file that each is at; empty where it can.
    """

    player: Player
    instrument: str = ""
    day: date | None = None
    time: str = ""
    dates: str = ""
    over: bool = False
    boxes: int = 0
    stuck: tuple[str, ...] = ()
    performance: str = ""
    ready: Ready = "none"
    file: str = ""
    faults: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class TeachingDay:
    """The players of one weekday.

    Attributes:
        name: The weekday; empty for files whose player cannot be told.
        rows: The players in the order of their lessons.
        prints: The print files: their day in words, and the key of the file.
        today: Whether it is that weekday today.
    """

    name: str
    rows: tuple[Row, ...]
    prints: tuple[tuple[str, str], ...] = ()
    today: bool = False


@dataclass(frozen=True, slots=True)
class Roster:
    """All players of a studio.

    Attributes:
        days: The weekdays on which somebody has a lesson, from Monday on.
        changed: How many workbooks are not as they are to be.
        told: What is wrong with logs.
    """

    days: tuple[TeachingDay, ...]
    changed: int
    told: tuple[str, ...]

    @property
    def players(self) -> int:
        """How many players there are."""
        return sum(len(day.rows) for day in self.days)


def roster(state: StudioState, today: date) -> Roster:
    """The players of a studio.

    Args:
        state: The studio.
        today: Performances before this day are over, and weeks whose next lesson has come by it.
    """
    words = state.words
    index = BuildIndex(state.store, fingerprint())
    told: list[str] = []
    rows = [_row(state, player, index, words, today, told) for player in state.players()]
    changed = sum(row.ready != "ready" for row in rows)
    return Roster(tuple(_days(state, rows, words, today)), changed, tuple(told))


def _row(
    state: StudioState, player: Player, index: BuildIndex, words: Words, today: date, told: list[str]
) -> Row:
    if player.fault:
        return Row(player, faults=((player.fault, ""),), day=player.start)
    try:
        week = load_week(player.week, state.scores)
    except InputError as error:
        return Row(player, faults=faults_of(error), day=player.start)
    read = read_states([week])
    told += read.faults
    (where,) = read.states
    ready, file = _workbook(state, player, index)
    day, time = lesson_at(week.player.lesson, week.week.start)
    return Row(
        player=player,
        instrument=words(f"instrument.{week.player.instrument}"),
        day=day,
        time=time,
        dates=f"{short_day(week.week.start, words)} – {short_day(week.week.last, words)}",
        over=today >= week.week.next_lesson,
        boxes=len(where.boxes),
        stuck=tuple(box_name(week, box.box, words) or box.box.id for box in where.boxes if box.stuck),
        performance=_performance(week, where, words, today),
        ready=ready,
        file=file,
    )


def faults_of(error: InputError) -> tuple[tuple[str, str], ...]:
    """What is wrong in a week file, each with the key that it is at, in words; empty where it is none."""
    from excerpts.weekfile.faults import WeekFaultsError

    if isinstance(error, WeekFaultsError):
        return tuple((str(fault), fault.key) for fault in error.faults)
    return ((str(error), ""),)


def _performance(week: Week, where: PlayerState, words: Words, today: date) -> str:
    days = sorted({piece.date for piece in where.coming if piece.date and piece.date >= today})
    if not days:
        return ""
    pieces = ", ".join(piece.title for piece in where.coming if piece.date == days[0])
    away = (days[0] - today).days
    message = "today" if not away else "tomorrow" if away == 1 else "in_days"
    return words(f"desk.studio.{message}", day=short_day(days[0], words), n=away, pieces=pieces)


def _workbook(state: StudioState, player: Player, index: BuildIndex) -> tuple[Ready, str]:
    """Whether the workbook of a player's week is ready, and the key of its file."""
    for new in (False, True):
        if found := as_built(player.found, index, {"new": new}):
            return "ready", state.give(found[0])
    for path in _workbooks(player):
        if path.is_file():
            return "old", state.give(path)
    return "none", ""


def _workbooks(player: Player) -> list[Path]:
    """The files that the workbook may be: the one with a digest of the name first, which no other player's can have."""
    if player.start is None:
        return []
    short, full = (player.week.with_name(name) for name in workbook_names(player.name, player.start))
    return [full, short]


def _days(state: StudioState, rows: Sequence[Row], words: Words, today: date) -> list[TeachingDay]:
    dates = Dates(PageTexts(words))
    names = words("workbook.date.weekdays").split()
    found = []
    for place, name in enumerate(names):
        of_day = [row for row in rows if row.day is not None and row.day.weekday() == place]
        of_day.sort(key=lambda row: (row.time or "99", row.player.name.casefold()))
        if of_day:
            days = sorted({row.day for row in of_day if row.day is not None})
            files = [(dates.day(day), day_file(state.folder, day.isoformat())) for day in days]
            prints = tuple((said, state.give(path)) for said, path in files if path.is_file())
            found.append(TeachingDay(name, tuple(of_day), prints, place == today.weekday()))
    unclear = tuple(row for row in rows if row.day is None)
    return [*found, TeachingDay("", unclear)] if unclear else found
