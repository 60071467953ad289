"""Finds the week files that a folder has already."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from excerpts.system.studio_files import files_below
from excerpts.weekfile.reading import read_document


@dataclass(frozen=True, slots=True)
class Existing:
    """A week file that is there: what it says, unchecked."""

    path: Path
    raw: dict[str, Any]

    @property
    def player(self) -> str:
        """Name of its player."""
        return " ".join(str(self.raw["player"]["name"]).split())

    @property
    def start(self) -> date:
        """First day of its week."""
        start: date = self.raw["week"]["start"]
        return start


def week_files(folder: Path) -> list[Existing]:
    """The week files in a folder and below it, the oldest week first; other TOML files are passed over.

    Raises:
        WeekError: A TOML file in it cannot be read, or there are too many.
    """
    found: list[Existing] = []
    for path in files_below(folder) if folder.is_dir() else ():
        one = Existing(path, read_document(path).raw)
        if _is_week(one.raw):
            found.append(one)
    return sorted(found, key=lambda one: (one.start, str(one.path)))


def _is_week(raw: dict[str, Any]) -> bool:
    player, week = raw.get("player"), raw.get("week")
    return (
        isinstance(player, dict)
        and "name" in player
        and isinstance(week, dict)
        and type(week.get("start")) is date
    )


def plain(text: str) -> dict[str, Any]:
    """The tables of a TOML text."""
    return tomllib.loads(text)
