"""The players of a studio as the first page lists them: by lesson, with what is due and whether a workbook is ready."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
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
from excerpts.week.bars_in_words import box_name
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
        pdf: Digest of the workbook, where it is ready.
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
    pdf: str = ""
    faults: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class TeachingDay:
    """The players of one weekday.

    Attributes:
        name: The weekday; empty for files whose player cannot be told.
        rows: The players in the order of their lessons.
        prints: The print files: their day in words, the key of the file, and whether it is as it is to be.
        today: Whether it is that weekday today.
    """

    name: str
    rows: tuple[Row, ...]
    prints: tuple[tuple[str, str, bool], ...] = ()
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
    faults: list[str] = []
    rows = [_row(state, player, index, words, today, faults) for player in state.players()]
    changed = sum(row.ready != "ready" for row in rows)
    return Roster(tuple(_days(state, rows, index, words, today)), changed, tuple(faults))


def _row(
    state: StudioState, player: Player, index: BuildIndex, words: Words, today: date, faults: list[str]
) -> Row:
    if player.fault:
        return Row(player, faults=((player.fault, ""),), day=player.start)
    try:
        week = load_week(player.week, state.scores)
    except InputError as error:
        return Row(player, faults=faults_of(error), day=player.start)
    read = read_states([week])
    faults += read.faults
    (where,) = read.states
    ready, file, pdf = _workbook(state, player, index)
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
        pdf=pdf,
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


def _workbook(state: StudioState, player: Player, index: BuildIndex) -> tuple[Ready, str, str]:
    """Whether the workbook of a player's week is ready, the key of its file, and its digest where it is ready."""
    for new in (False, True):
        if built := as_built(player.found, index, {"new": new}):
            return "ready", state.give(built[0]), built[1]["pdf"]
    for path in _workbooks(player):
        if path.is_file():
            return "old", state.give(path), ""
    return "none", "", ""


def _workbooks(player: Player) -> list[Path]:
    """The files that the workbook may be: the one with a digest of the name first, which no other player's can have."""
    if player.start is None:
        return []
    short, full = (player.week.with_name(name) for name in workbook_names(player.name, player.start))
    return [full, short]


def _days(
    state: StudioState, rows: Sequence[Row], index: BuildIndex, words: Words, today: date
) -> list[TeachingDay]:
    days = []
    for place, name in enumerate(words("workbook.date.weekdays").split()):
        of_day = [row for row in rows if row.day is not None and row.day.weekday() == place]
        of_day.sort(key=lambda row: (row.time or "99", row.player.name.casefold()))
        if of_day:
            prints = tuple(_prints(state, of_day, index, words))
            days.append(TeachingDay(name, tuple(of_day), prints, place == today.weekday()))
    unclear = tuple(row for row in rows if row.day is None)
    return [*days, TeachingDay("", unclear)] if unclear else days


def _prints(
    state: StudioState, rows: Sequence[Row], index: BuildIndex, words: Words
) -> Iterator[tuple[str, str, bool]]:
    """The print files of the days of one weekday."""
    dates = Dates(PageTexts(words))
    for day in sorted({row.day for row in rows if row.day is not None}):
        path = day_file(state.folder, day.isoformat())
        if path.is_file():
            of_day = [row for row in rows if row.day == day]
            sources = [text for row in of_day if row.pdf for text in (row.pdf, row.player.name)]
            current = all(row.pdf for row in of_day) and index.unchanged(path, *sources) is not None
            yield dates.day(day), state.give(path), current
