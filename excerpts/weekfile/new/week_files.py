"""Finds the week files of a folder, and writes the text of a new one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

import tomlkit
from tomlkit.items import Item

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
    files: list[Existing] = []
    for path in files_below(folder) if folder.is_dir() else ():
        one = Existing(path, read_document(path).raw)
        if _is_week(one.raw):
            files.append(one)
    return sorted(files, key=lambda one: (one.start, str(one.path)))


def _is_week(raw: dict[str, Any]) -> bool:
    player, week = raw.get("player"), raw.get("week")
    return (
        isinstance(player, dict)
        and "name" in player
        and isinstance(week, dict)
        and type(week.get("start")) is date
    )


_TABLES: Final = ("piece", "box", "warmup", "technique")
_HEAD: Final = """\
# Written by `excerpts new`; change it as you like. `excerpts check` finds every fault.
format = 1
"""


def week_text(raw: Mapping[str, Any]) -> str:
    """The text of a week file."""
    lines = [_HEAD]
    for name in ("player", "week", "plan"):
        if name in raw:
            lines.append(table_text(f"[{name}]", raw[name]))
    for name in _TABLES:
        lines += [table_text(f"[[{name}]]", item) for item in raw.get(name, ())]
    return "\n".join(lines)


def table_text(head: str, items: Mapping[str, Any]) -> str:
    """A table of a week file, under its head in brackets."""
    rows = [f"{key} = {toml_item(value).as_string()}" for key, value in items.items()]
    return "\n".join([head, *rows, ""])


def toml_item(value: Any) -> Item:
    """A value as TOML has it; a table stands inside its line."""
    if not isinstance(value, Mapping):
        item: Item = tomlkit.item(value)
        return item
    table = tomlkit.inline_table()
    table.update(value)
    return table
