"""Moves, changes, adds and removes tables of a week file, with every comment kept in its place."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from excerpts.weekfile.toml_blocks import TABLES, Block, Value, blocks_of

_DATE: Final = re.compile(r"\d{4}-\d\d-\d\d")


class WeekText:
    """The text of a week file.

    Args:
        text: The file as read, valid TOML.
    """

    def __init__(self, text: str) -> None:
        self.blocks = blocks_of(text)

    def text(self) -> str:
        """The file."""
        parts = (block.lead + block.body + block.trail for block in self.blocks)
        return "".join(parts).rstrip("\n") + "\n"

    def all(self, name: str) -> list[Block]:
        """The tables of a name, in order."""
        return [block for block in self.blocks if block.name == name]

    def one(self, name: str, item: str) -> Block:
        """The table of a name that has the id."""
        return next(block for block in self.all(name) if str(block.values().get("id")) == item)

    def move(self, block: Block, name: str) -> None:
        """Take a table to the end of those of another name; comments apart from it stay."""
        self._take(block)
        block.rename(name)
        block.trail = "\n"
        self._put(block)

    def copy(self, block: Block, name: str) -> Block:
        """Put a copy of a table after those of another name."""
        made = Block(block.name, "", block.body, "\n")
        made.rename(name)
        self._put(made)
        return made

    def remove(self, block: Block) -> None:
        """Take a table out; comments apart from it stay."""
        self._take(block)

    def add(
        self, name: str, values: Mapping[str, Value | None], comments: Mapping[str, str] | None = None
    ) -> None:
        """Add a table after the others of its name, with comments beside its keys."""
        block = Block(name, "", f"[[{name}]]\n", "\n")
        block.set(values, comments)
        self._put(block)

    def drop_dated_minutes(self, instead: Mapping[str, Value | None]) -> None:
        """Take the minutes of single dates out of the week, and put others in where there were no more."""
        apart = self.all("week.minutes")
        dated = [key for key in self._minutes() if _DATE.fullmatch(key.strip())]
        changes: dict[str, Value | None] = {**dict.fromkeys(dated), **instead}
        if apart:
            apart[0].set(changes)
            return
        (block,) = self.all("week")
        block.set_inside("minutes", changes)

    def _minutes(self) -> list[str]:
        apart = self.all("week.minutes")
        values = apart[0].values() if apart else self.all("week")[0].values()["minutes"]
        return list(values)

    def _take(self, block: Block) -> None:
        place = self.blocks.index(block)
        before = self.blocks[place - 1]
        del self.blocks[place]
        before.trail += block.trail.lstrip("\n") if block.trail.strip() else ""
        block.trail = "\n"

    def _put(self, block: Block) -> None:
        places = [place for place, other in enumerate(self.blocks) if other.name == block.name]
        place = places[-1] + 1 if places else self._section_end(block.name)
        before = self.blocks[place - 1]
        if not (before.body + before.trail).endswith("\n\n"):
            before.trail += "\n"
        self.blocks.insert(place, block)

    def _section_end(self, name: str) -> int:
        """Where the first table of a name goes: after the tables that come before it in a week file."""
        earlier = ("", "player", "week", "week.minutes", *TABLES[: TABLES.index(name)])
        places = [place for place, block in enumerate(self.blocks) if block.name in earlier]
        return max(places, default=len(self.blocks) - 1) + 1
