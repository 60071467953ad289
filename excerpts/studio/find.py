"""Finds the latest week file of every player below a folder, without checking more of it than whose and when it is."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from pathlib import Path

from excerpts.errors import WeekError
from excerpts.system.cache import Store
from excerpts.system.studio_files import files_below, player_key
from excerpts.weekfile.whose import file_bytes, whose


@dataclass(frozen=True, slots=True)
class Found:
    """A week file that is to be built.

    Attributes:
        path: The file.
        player: The player's name as it stands there; empty where it cannot be told.
        start: First day of the week; None where it cannot be told: building it then tells what is wrong.
        fault: Why it cannot be built, where that is known already.
        before: The player's week file before it; None where there is none.
    """

    path: Path
    player: str = ""
    start: date | None = None
    fault: str = ""
    before: Path | None = None


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
    weeks: dict[str, list[Found]] = {}
    unclear: list[Found] = []
    for path in files_below(folder):
        one = _whose(path, store)
        if one is None:
            continue
        if one.start is None:
            unclear.append(one)
        else:
            weeks.setdefault(player_key(one.player), []).append(one)
    if not weeks and not unclear:
        raise WeekError("there is no week file in this folder or below it.", where=str(folder))
    return [_latest(weeks[name]) for name in sorted(weeks)] + unclear


def _latest(weeks: list[Found]) -> Found:
    """The latest week of a player and the one before it; two with the same first day are a fault."""
    *earlier, last = sorted(weeks, key=lambda one: one.start or date.min)
    same = [one for one in earlier if one.start == last.start]
    if same:
        return replace(same[0], fault=_twice(same[0], last))
    return replace(last, before=earlier[-1].path if earlier else None)


def _twice(one: Found, other: Found) -> str:
    return (
        f"{one.path}: {other.path} is a week of {one.player} from {one.start} too. "
        "Delete one of them, or give it another first day."
    )


def _whose(path: Path, store: Store) -> Found | None:
    """Player and first day of a file; None when it is no week file."""
    data = file_bytes(path)
    if data is None:
        return Found(path)  # building it tells why it cannot be read
    key = sha256(b"whose week\n" + data).hexdigest()
    known = store.get("whose", key)
    if known is None:
        owner = whose(data)
        known = json.dumps(
            [owner.player, owner.start and owner.start.isoformat()] if owner else None
        ).encode()
        store.put("whose", key, known)
    facts = json.loads(known)
    if not facts:
        return None
    player, start = facts
    return Found(path, player, date.fromisoformat(start)) if player and start else Found(path)
