"""The players of a studio: the latest week file of each below a folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from excerpts.errors import InputError, WeekError
from excerpts.system.studio_files import files_below, player_key
from excerpts.week import Week, load_week
from excerpts.weekfile.whose import file_bytes, whose


@dataclass(frozen=True, slots=True)
class Players:
    """The players of a studio.

    Attributes:
        weeks: The latest week of each, by the player's name.
        faults: What is wrong with files that could not be read.
    """

    weeks: tuple[Week, ...]
    faults: tuple[str, ...]


def latest_weeks(folder: Path) -> Players:
    """The latest week file of every player below a folder; hidden folders are passed over.

    Raises:
        WeekError: The folder is not there, or has no week file below it.
    """
    if not folder.is_dir():
        raise WeekError("there is no such folder.", where=str(folder))
    latest: dict[str, Week] = {}
    faults: list[str] = []
    for path in files_below(folder):
        if whose(file_bytes(path)) is None:
            continue  # no week
        try:
            week = load_week(path)
        except InputError as error:
            faults.append(str(error))
            continue
        name = player_key(week.player.name)
        if name not in latest or week.week.start > latest[name].week.start:
            latest[name] = week
    if not latest and not faults:
        raise WeekError("there is no week file in this folder or below it.", where=str(folder))
    weeks = sorted(latest.values(), key=lambda week: week.player.name.casefold())
    return Players(tuple(weeks), tuple(faults))
