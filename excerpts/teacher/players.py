"""The players of a studio: the latest week file of each below a folder."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from excerpts.errors import InputError, WeekError
from excerpts.week import Week, load_week
from excerpts.week.studio import STUDIO_FILE

MOST_FILES: Final = 20_000
"""Files below a folder: a large studio over many years."""


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
    for path in _files(folder):
        if not _is_week(path):
            continue
        try:
            week = load_week(path)
        except InputError as error:
            faults.append(str(error))
            continue
        name = week.player.name.casefold()
        if name not in latest or week.week.start > latest[name].week.start:
            latest[name] = week
    if not latest and not faults:
        raise WeekError("there is no week file in this folder or below it.", where=str(folder))
    weeks = sorted(latest.values(), key=lambda week: week.player.name.casefold())
    return Players(tuple(weeks), tuple(faults))


def _files(folder: Path) -> list[Path]:
    found = []
    for path in folder.rglob("*.toml"):
        inside = path.relative_to(folder).parts
        if path.name != STUDIO_FILE and path.is_file() and not any(part.startswith(".") for part in inside):
            found.append(path)
        if len(found) > MOST_FILES:
            raise WeekError(f"there are more than {MOST_FILES} files below it.", where=str(folder))
    return sorted(found)


def _is_week(path: Path) -> bool:
    """Whether a file is meant as a week: it has a player, or cannot be read (which is told then)."""
    try:
        raw: dict[str, Any] = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError):
        return True
    return "player" in raw and "week" in raw
