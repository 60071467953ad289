"""The file of the week after: written from the old one, and checked as any week file is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from excerpts.errors import WeekError
from excerpts.log.carry import carry
from excerpts.log.choices import Choices
from excerpts.log.edits import Carried, rewritten
from excerpts.log.no_lesson import again, go_on
from excerpts.log.row import LogRow
from excerpts.score import Score
from excerpts.score.opened_scores import Scores
from excerpts.system.studio_files import own_file
from excerpts.week import Week
from excerpts.week.resolve import resolve_rest
from excerpts.weekfile.read_week import read_week
from excerpts.weekfile.reading import document_of, read_text
from excerpts.weekfile.whose import week_player
from excerpts.words import Words


@dataclass(frozen=True, slots=True)
class NextWeek:
    """The week after.

    Attributes:
        path: Where its file goes.
        text: The file.
        carried: What was changed and why.
    """

    path: Path
    text: str
    carried: Carried


def next_week(
    week: Week,
    rows: Sequence[LogRow],
    *,
    target: Path | None = None,
    start: date | None = None,
    until: date | None = None,
    choices: Choices | None = None,
    scores: Callable[[Path], Score] | None = None,
) -> NextWeek:
    """Make the file of the week after.

    Args:
        week: The week that is over.
        rows: The player's log; it may be empty.
        target: Where the file goes; beside the old one, named by player and week, where it is left out.
        start: First day of the new week.
        until: Its last day.
        choices: What the teacher decided.
        scores: Opens a score, for the check of the new file; a store of its own when left out.

    Raises:
        WeekError: The days or choices do not fit, or a score cannot be found from where the file goes.
    """
    old = read_text(week.path)
    words = Words(week.player.words)
    carried = carry(week, old, rows, words, start=start, until=until, choices=choices)
    return _file(week, old, carried, target, scores)


def same_again(week: Week) -> NextWeek:
    """Make the file of a week that is the old one once more: nothing is decided, and notes and focus stay.

    Raises:
        WeekError: As `next_week`.
    """
    old = read_text(week.path)
    return _file(week, old, again(week, old, Words(week.player.words)), None)


def without_lesson(week: Week) -> NextWeek:
    """Let a week go on to the lesson after the next one: the player is ill or away. Its own file says so.

    Raises:
        WeekError: The week would get longer than a week may be.
    """
    old = read_text(week.path)
    return _file(week, old, go_on(week, Words(week.player.words)), week.path)


def _file(
    week: Week,
    old: str,
    carried: Carried,
    target: Path | None,
    scores: Callable[[Path], Score] | None = None,
) -> NextWeek:
    text = rewritten(old, carried.steps)
    ending = f"-{carried.start.isoformat()}.toml"
    path = target or own_file(week.path.parent, week.player.name, ending, week_player)
    _check(text, path, scores or Scores())
    return NextWeek(path, text, carried)


def _check(text: str, path: Path, scores: Callable[[Path], Score]) -> None:
    """Check the new file as it will be, at its place.

    Raises:
        WeekError: It has faults.
    """
    _, faults = resolve_rest(read_week(path, document_of(path, text)), Scores())
    if faults:
        listed = " ".join(f"{fault.key}: {fault.message}" for fault in faults)
        raise WeekError(f"the new week would not be right. {listed}", where=str(path))
