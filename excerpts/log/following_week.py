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
from excerpts.week.orders import Orders
from excerpts.week.resolve import resolve_rest
from excerpts.weekfile.faults import Fault
from excerpts.weekfile.read_week import read_week
from excerpts.weekfile.reading import Document, document_of, read_text
from excerpts.weekfile.whose import week_player
from excerpts.words import Words


class NextWeekFaultsError(WeekError):
    """The week after would have faults.

    Attributes:
        faults: Each with the item that it is in: table and id ("box", "run"); the id is empty where there is none.
        carried: What was to be changed and why.
    """

    def __init__(self, path: Path, faults: Sequence[tuple[Fault, str, str]], carried: Carried) -> None:
        self.faults = tuple(faults)
        self.carried = carried
        listed = " ".join(": ".join(filter(None, (one.key, one.message))) for one, _, _ in faults)
        super().__init__(f"the new week would not be right. {listed}", where=str(path))


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
    words: Words | None = None,
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
        words: Words of the lines that tell it; the player's when left out.

    Raises:
        ChoiceError: The days or choices do not fit.
        NextWeekFaultsError: The new file would have faults, or bars of a new box are not in its score.
        WeekError: Nothing is left to play, or a choice is about a box that is not there.
    """
    old = read_text(week.path)
    words = words or Words(week.player.words)
    carried = carry(week, old, rows, words, start=start, until=until, choices=choices)
    return _file(week, old, carried, target, scores)


def same_again(week: Week, words: Words | None = None, target: Path | None = None) -> NextWeek:
    """Make the file of a week that is the old one once more: nothing is decided, and notes and focus stay.

    Args:
        week: The week that is over.
        words: Words of the lines that tell it; the player's when left out.
        target: Where the file goes; as for `next_week` where it is left out.

    Raises:
        WeekError: As `next_week`.
    """
    old = read_text(week.path)
    return _file(week, old, again(week, old, words or Words(week.player.words)), target)


def without_lesson(week: Week, words: Words | None = None) -> NextWeek:
    """Let a week go on to the lesson after the next one: the player is ill or away. Its own file says so.

    Args:
        week: The week.
        words: Words of the lines that tell it; the player's when left out.

    Raises:
        WeekError: The week would get longer than a week may be.
    """
    old = read_text(week.path)
    return _file(week, old, go_on(week, words or Words(week.player.words)), week.path)


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
    _check(text, path, carried, scores or Scores())
    return NextWeek(path, text, carried)


def _check(text: str, path: Path, carried: Carried, scores: Callable[[Path], Score]) -> None:
    """Check the new file as it will be, at its place, and the music of the boxes that are new.

    Raises:
        NextWeekFaultsError: It has faults.
    """
    document = document_of(path, text)
    week, faults = resolve_rest(read_week(path, document), scores)
    found = list(faults)
    if week is not None and carried.new:
        new = [box for box in Orders(week).boxes if box.box.id in carried.new]
        troubles = [one for box in new for order in (box.music, box.paper) for one in order.troubles()]
        found += [week.fault(one.path, one.message) for one in troubles if one.stops]
    if found:
        raise NextWeekFaultsError(path, [(one, *_item(one, document)) for one in found], carried)


def _item(fault: Fault, document: Document) -> tuple[str, str]:
    """Table and id of the item of a file that a fault is in."""
    table, place = (*fault.path, "", "")[:2]
    items = document.raw.get(str(table))
    if not isinstance(place, int) or not isinstance(items, list) or fault.file != document.file:
        return str(table), ""
    return str(table), str(items[place].get("id", ""))
