"""Whose week a file is, and of when: read without checking more of it, so that a folder is looked through soon."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

from excerpts.weekfile.cells import as_utf8

LARGEST: Final = 1_000_000
"""Bytes of a week or studio file; a real one has some thousand."""


@dataclass(frozen=True, slots=True)
class Whose:
    """What a week file says of itself.

    Attributes:
        player: The player's name; empty where it cannot be told.
        start: First day of the week; None where it cannot be told.
    """

    player: str = ""
    start: date | None = None


def file_bytes(path: Path) -> bytes | None:
    """What a file holds, as far as a week file may be long, and a byte more; None where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(LARGEST + 1)
    except OSError:
        return None


def whose(data: bytes | None) -> Whose | None:
    """Whose week the bytes of a file are; None for a file that is no week: without `[player]` and `[week]`."""
    if data is None or len(data) > LARGEST:
        return Whose()
    try:
        raw = tomllib.loads(as_utf8(data).decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return Whose()
    player, week = raw.get("player"), raw.get("week")
    if player is None or week is None:
        return None
    name = player.get("name") if isinstance(player, dict) else None
    start = _day(week.get("start") if isinstance(week, dict) else None)
    if not isinstance(name, str) or not name.strip():
        return Whose()
    return Whose(name, start)


def week_player(path: Path) -> str | None:
    """The player whose week a file is; None where it does not say so, or cannot be read."""
    owner = whose(file_bytes(path))
    return owner.player or None if owner else None


def _day(value: Any) -> date | None:
    if isinstance(value, str):
        try:
            return date.fromisoformat(value.strip())
        except ValueError:
            return None
    return value if isinstance(value, date) and not isinstance(value, datetime) else None
