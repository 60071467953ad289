"""Finds the latest week file of every player below a folder, without checking more of it than whose and when it is."""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from excerpts.errors import WeekError
from excerpts.studio.store import Store
from excerpts.system.player_files import player_key
from excerpts.system.studio_files import files_below

LARGEST: Final = 1_000_000
"""Bytes of a week file, as its reader takes them."""


@dataclass(frozen=True, slots=True)
class Found:
    """A week file that is to be built.

    Attributes:
        path: The file.
        player: The player's name as it stands there; empty where it cannot be told.
        start: First day of the week; None where it cannot be told: building it then tells what is wrong.
        fault: Why it cannot be built, where that is known already.
    """

    path: Path
    player: str = ""
    start: date | None = None
    fault: str = ""


def latest_files(folder: Path, store: Store) -> list[Found]:
    """The latest week file of every player below a folder, by name, and every file whose player cannot be told.

    Hidden folders are passed over, and so is a TOML file that is no week: without `[player]` and `[week]`.

    Args:
        folder: The folder.
        store: Remembers whose and when a file is, by its content.

    Raises:
        WeekError: The folder is not there, holds too many files, or no week file.
    """
    if not folder.is_dir():
        raise WeekError("there is no such folder.", where=str(folder))
    latest: dict[str, Found] = {}
    unclear: list[Found] = []
    for path in files_below(folder):
        found = _whose(path, store)
        if found is None:
            continue
        if found.start is None:
            unclear.append(found)
            continue
        name = player_key(found.player)
        before = latest.get(name)
        if before is None or before.start is None or found.start > before.start:
            latest[name] = found
        elif found.start == before.start:
            latest[name] = Found(before.path, before.player, before.start, _twice(before, found))
    if not latest and not unclear:
        raise WeekError("there is no week file in this folder or below it.", where=str(folder))
    return [latest[name] for name in sorted(latest)] + unclear


def _twice(one: Found, other: Found) -> str:
    return (
        f"{one.path}: {other.path} is a week of {one.player} from {one.start} too. "
        "Delete one of them, or give it another first day."
    )


def _whose(path: Path, store: Store) -> Found | None:
    """Player and first day of a file; None when it is no week file."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError:
        return Found(path)  # building it tells why it cannot be read
    key = sha256(b"whose\n" + data).hexdigest()
    known = store.get("whose", key)
    if known is None:
        known = json.dumps(_read(data)).encode()
        store.put("whose", key, known)
    told = json.loads(known)
    if not told["week"]:
        return None
    start = date.fromisoformat(told["start"]) if told["start"] else None
    return Found(path, told["player"], start)


def _read(data: bytes) -> dict[str, Any]:
    unclear = {"week": True, "player": "", "start": ""}
    if len(data) > LARGEST:
        return unclear
    try:
        raw = tomllib.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return unclear
    player, week = raw.get("player"), raw.get("week")
    if player is None or week is None:
        return unclear | {"week": False}
    name = player.get("name") if isinstance(player, dict) else None
    start = _day(week.get("start") if isinstance(week, dict) else None)
    if not isinstance(name, str) or not name.strip() or start is None:
        return unclear
    return {"week": True, "player": name, "start": start.isoformat()}


def _day(value: object) -> date | None:
    if isinstance(value, str):
        try:
            return date.fromisoformat(value.strip())
        except ValueError:
            return None
    return value if isinstance(value, date) and not isinstance(value, datetime) else None
