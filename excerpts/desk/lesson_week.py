"""Which week a lesson ends, what is known of it, and who comes next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path

from excerpts.desk.record_form import RecordForm, record_form
from excerpts.desk.saves import Shown
from excerpts.desk.studio_state import NotThereError, Player, StudioState
from excerpts.errors import InputError
from excerpts.log import Log, log_path
from excerpts.log.read_log import log_in
from excerpts.week import Week, load_week
from excerpts.week.measured import week_music
from excerpts.week.model import WeekMusic
from excerpts.week.plan import plan_week
from excerpts.weekfile.days import lesson_at
from excerpts.weekfile.read_week import read_week
from excerpts.weekfile.whose import file_bytes, whose


@dataclass(frozen=True)
class Lesson:
    """The lesson that ends a week.

    Attributes:
        state: The studio.
        player: The player.
        week: The week that is over.
        log: What the player's log says.
        shown: The log's file, with its digest.
    """

    state: StudioState
    player: Player
    week: Week
    log: Log
    shown: Shown

    @cached_property
    def form(self) -> RecordForm:
        """The form of the week's records."""
        try:
            music = week_music(self.week)
        except InputError:  # a score is not there: the days and tempos do not depend on it
            music = WeekMusic()
        return record_form(self.week, plan_week(self.week, music), self.log.rows)

    @property
    def next_file(self) -> Path | None:
        """The week file after this one, where it is written already."""
        after = self.player.week != self.week.path and self.player.before == self.week.path
        return self.player.week if after else None


def lesson(state: StudioState, key: str, asked: str, today: date) -> Lesson:
    """The lesson of a player.

    Args:
        state: The studio.
        key: The player's key.
        asked: First day of the week that the lesson ends; empty for the week that is over, or under way: on the day
            of a lesson the week that was just written is not it.
        today: The day.

    Raises:
        NotThereError: There is no such player or week.
        InputError: The week file or the log has faults.
    """
    player = state.player(key)
    path = player.week
    if player.before is not None:
        owner = whose(file_bytes(player.before))
        first = owner.start.isoformat() if owner and owner.start else ""
        if asked == first or (not asked and player.start is not None and player.start >= today):
            path = player.before
    week = load_week(path, state.scores)
    if asked and week.week.start.isoformat() != asked:
        raise NotThereError("there is no such week of this player any more: a later one was written.")
    where = log_path(week)
    shown = state.saves.show(where)
    log = log_in(shown.data, where, week.player.name)[0] if shown.digest else Log(where)
    return Lesson(state, player, week, log, shown)


def next_of_day(state: StudioState, player: Player) -> tuple[str, str] | None:
    """Key and time of the lesson after a player's own on the same weekday; None after the last.

    Lessons without a time come last, by name.
    """
    mine = _when(player)
    if mine is None:
        return None
    others = [(when, one.key) for one in state.players() if (when := _when(one)) and when[0] == mine[0]]
    after = sorted(one for one in others if one > (mine, player.key))
    return (after[0][1], after[0][0][1].strip("~")) if after else None


def _when(player: Player) -> tuple[int, str, str] | None:
    """Weekday, time and name; None for a week file that cannot be read."""
    try:
        content = read_week(player.week).content
    except InputError:
        return None
    if content is None:
        return None
    day, time = lesson_at(content.player.lesson, content.week.start)
    return day.weekday(), time.rjust(5, "0") if time else "~", player.name.casefold()
