"""A week file and the sets that it includes, as texts that need not be saved; a change goes to the text it belongs to.

A set of pieces and boxes that several players include is changed only when it was said for whom: for this player only
(`own`: the item is written into the player's own week file, where it takes the place of the set's), or for all who
share it (`all`: the set itself is changed).
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any, Final, Literal

from excerpts.desk.week_changes import changed, read_changes
from excerpts.errors import InputError
from excerpts.weekfile.change_text import Change
from excerpts.weekfile.crosscheck import ids_of
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.read_week import WeekReading, read_week
from excerpts.weekfile.reading import Document, document_of, read_document
from excerpts.weekfile.studio_folder import PAGES, find_score

Scope = Literal["", "own", "all"]
"""For whom an item of a shared set is changed: not said, for this player only, for all who share it."""

_FILES: Final = (("score", "score"), ("pages", PAGES))
"""Keys of a piece that name a file, and what they name."""


class SharedError(InputError):
    """An item belongs to a set that several players share, and nobody has said for whom it is to be changed.

    Attributes:
        file: The set.
        path: The item.
    """

    def __init__(self, file: Path, path: KeyPath) -> None:
        super().__init__(
            f"it belongs to the set {file.name}, which several players may share.",
            hint="Say whether it is to be changed for this player only or for all who share it.",
        )
        self.file = file
        self.path = path


@dataclass(frozen=True, slots=True)
class PageChange:
    """A change, and for whom it is where it is one to a shared set."""

    change: Change
    scope: Scope = ""


@dataclass(frozen=True)
class WeekTexts:
    """The texts of a week.

    Attributes:
        path: The week file.
        texts: Its text and those of the sets that were shown or changed, by file, as they stand or would stand.
    """

    path: Path
    texts: Mapping[Path, str]

    @property
    def own(self) -> str:
        """The text of the week file."""
        return self.texts[self.path]

    @cached_property
    def reading(self) -> WeekReading:
        """The week as it is read from these texts.

        Raises:
            WeekError: One of them is no TOML.
        """
        return read_week(self.path, document_of(self.path, plain(self.own)), self._read)

    def _read(self, path: Path) -> Document:
        text = self.texts.get(path)
        return read_document(path) if text is None else document_of(path, plain(text))

    def own_count(self, table: str) -> int:
        """How many items of a table stand in the week file itself: places from there on are of shared sets."""
        items = self.reading.sources.own.raw.get(table, [])
        return len(items) if isinstance(items, list) else 0

    def set_of(self, path: KeyPath) -> tuple[Path, int] | None:
        """The shared set that an item stands in, and its place there; None for one of the week file's own."""
        table, place = (*path, "", "")[:2]
        if not isinstance(table, str) or not isinstance(place, int) or place < self.own_count(table):
            return None
        item = self.reading.sources.included.get((table, place))
        return (item[0].file, item[1]) if item else None

    def changed(self, changes: Sequence[PageChange]) -> WeekTexts:
        """The texts with the changes made, in their order.

        Raises:
            SharedError: A change is to a shared set, and does not say for whom.
            InputError: A change leads to nothing that is there.
        """
        week = self
        for one in changes:
            week = week._one(one)
        return week

    def _one(self, one: PageChange) -> WeekTexts:
        shared = self.set_of(one.change.path) if one.change.do != "add" else None
        if shared is None:
            return self._with(self.path, changed(self.own, [self._within(one.change)], self._shared_ids()))
        file, place = shared
        if one.scope == "all":
            return self._in_set(one.change, file, place)
        if one.scope == "own":
            return self._for_one(one.change)
        raise SharedError(file, one.change.path)

    def _within(self, change: Change) -> Change:
        """A move that ends among the items of a set ends at the last of the file's own."""
        if change.do != "move" or change.to is None:
            return change
        return replace(change, to=min(change.to, max(self.own_count(str(change.path[0])) - 1, 0)))

    def _in_set(self, change: Change, file: Path, place: int) -> WeekTexts:
        table = str(change.path[0])
        to = change.to
        if change.do == "move" and to is not None:
            there = self.set_of((table, to))
            if there is None or there[0] != file:
                raise InputError("an item of a set is moved among the others of its set only.")
            to = there[1]
        local = replace(change, path=(table, place, *change.path[2:]), to=to)
        text = self.texts.get(file)
        if text is None:
            text = raw_text(file.read_bytes())
        return self._with(file, changed(text, [local]))

    def _for_one(self, change: Change) -> WeekTexts:
        """Make a change in the week file alone: what is to be changed is written into it first."""
        table, place, *inside = change.path
        items = self.reading.sources.raw[str(table)]
        item = self._taken_over(str(table), int(place), items[int(place)])
        if table == "box" and change.do == "remove":
            return self._with(self.path, changed(self.own, [Change("add", ("parked",), item)]))
        if table not in ("box", "piece") or change.do in ("remove", "move"):
            raise InputError(
                "this can be done for all who share the set only.",
                hint="Or write the week without the set, with items of its own.",
            )
        at = self.own_count(str(table))
        steps = [Change("add", (str(table),), item)]
        if inside:
            steps.append(replace(change, path=(str(table), at, *inside)))
        return self._with(self.path, changed(self.own, steps))

    def _taken_over(self, table: str, place: int, item: Mapping[str, Any]) -> dict[str, Any]:
        """An item as it is written in the week file: the files that it names are found from there too."""
        values = dict(item)
        sources, studio = self.reading.sources, self.reading.studio
        here = self.path.resolve().parent
        for key, what in _FILES:
            if table == "piece" and isinstance(values.get(key), str):
                real = find_score(values[key], sources.folder(table, place), studio, what)
                values[key] = Path(os.path.relpath(real, here)).as_posix()
        return values

    def _shared_ids(self) -> list[str]:
        return [name for table in ("piece", "box") for name in ids_of(self.reading.sources.raw, table)]

    def _with(self, file: Path, text: str) -> WeekTexts:
        return WeekTexts(self.path, {**self.texts, file: text})


def plain(text: str) -> str:
    """A text as it is parsed: without a byte order mark, with line feeds alone."""
    return text.removeprefix("\ufeff").replace("\r\n", "\n")


def raw_text(data: bytes) -> str:
    """The text of a file as it is, so that the same bytes can be written back.

    Raises:
        InputError: It is not UTF-8.
    """
    try:
        return data.decode()
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"it is not saved as UTF-8 text (line {line}).", hint="Save it again with the encoding UTF-8."
        ) from error


def read_page_changes(sent: object) -> list[PageChange]:
    """The changes that a page has sent; `scope` says for whom one to a shared set is.

    Raises:
        InputError: It is not a list of changes.
    """
    if isinstance(sent, list):  # an item that is written into the week file as the set has it
        sent = [
            {**one, "do": "set"} if isinstance(one, dict) and one.get("do") == "own" else one for one in sent
        ]
    changes = read_changes(sent)
    scopes = [one.get("scope", "") for one in sent] if isinstance(sent, list) else []
    if not all(scope in ("", "own", "all") for scope in scopes):
        raise InputError("this is not a change to a week file.")
    return [PageChange(change, scope) for change, scope in zip(changes, scopes, strict=True)]
