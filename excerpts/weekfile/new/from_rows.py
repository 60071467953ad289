"""Makes week files out of the rows of a table, or brings those that are there up to date with it."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, Final

import tomlkit
from tomlkit.items import AoT

from excerpts.errors import WeekError
from excerpts.system.studio_files import own_file, same_player
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.new.in_score import PiecesInScores
from excerpts.weekfile.new.table import Row, read_table
from excerpts.weekfile.new.typed import box_id, piece_id
from excerpts.weekfile.new.week_files import Existing, table_text, toml_item, week_files, week_text
from excerpts.weekfile.read_week import WeekReading, read_week
from excerpts.weekfile.reading import Document, read_text
from excerpts.weekfile.whose import week_player

_Document = tomlkit.TOMLDocument | dict[str, Any]
"""A file that is there, or the tables of a new one."""

_FROM_BEFORE: Final = {"player": ("instrument", "level", "age", "words"), "week": ("minutes",)}
"""What a new week takes over from the player's week before it, where the table says nothing."""


@dataclass(frozen=True, slots=True)
class NewFile:
    """A week file to be written.

    Attributes:
        path: Where.
        text: What.
        changes: What is new in it, in words; empty where nothing is.
        was_there: The file is there already and is brought up to date.
        notes: What was read otherwise than it stands in the table.
    """

    path: Path
    text: str
    changes: tuple[str, ...]
    was_there: bool
    notes: tuple[str, ...] = ()


def week_path(folder: Path, player: str, start: date, taken: Collection[Path] = ()) -> Path:
    """Where a week file goes: "mila-fenn-2026-11-30.toml", with a digest where another player's file has that name.

    Args:
        folder: Its folder.
        player: The player's name.
        start: First day of the week.
        taken: Files that are about to be written for other players.
    """
    return own_file(folder, player, f"-{start.isoformat()}.toml", week_player, taken)


Check = Callable[[WeekReading], Iterable[Fault]]
"""Finds what a week file's scores and instrument do not allow, together with its own faults."""


def from_table(table: Path, folder: Path, check: Check) -> list[NewFile]:
    """Make or update the week files of all players in a table.

    Nothing is written here. A box, piece or comment that only the file has stays in it.

    Args:
        table: The CSV file.
        folder: The studio's folder.
        check: Checks a file that is to be written.

    Raises:
        WeekError: The table, or a week file that is there, has faults; all of them are told.
    """
    rows, faults = read_table(table)
    there = week_files(folder)
    scores = PiecesInScores(folder)
    files: list[NewFile] = []
    for player in dict.fromkeys(" ".join(str(row.values["player"]).split()) for row in rows):
        own = [row for row in rows if " ".join(str(row.values["player"]).split()) == player]
        before = [one for one in there if same_player(one.player, player)]
        maker = _Maker(table, folder, player, own, before, check, scores)
        maker.taken = [file.path for file in files]
        made, more = maker.make()
        faults += more
        files += [made] if made else []
    if faults:
        raise WeekFaultsError(sorted(dict.fromkeys(faults), key=lambda fault: fault.line or 0))
    return files


@dataclass
class _Maker:
    """Makes or updates the week file of one player.

    Attributes:
        table: The CSV file.
        folder: The studio's folder.
        player: Name of the player.
        rows: The player's rows.
        there: The player's week files, the oldest first.
        check: Checks the file that is to be written.
        scores: The pieces in their scores.
        taken: Files that are about to be written for other players.
        faults: What is wrong with the rows.
        lines: The line of the table that each key of the file comes from.
        changes: What is new, in words.
        added: The items that are added to each table of the file.
        notes: What was read otherwise than it stands in the table.
    """

    table: Path
    folder: Path
    player: str
    rows: Sequence[Row]
    there: Sequence[Existing]
    check: Check
    scores: PiecesInScores
    taken: Sequence[Path] = ()
    faults: list[Fault] = field(default_factory=list)
    lines: dict[KeyPath, int] = field(default_factory=dict)
    changes: list[str] = field(default_factory=list)
    added: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    notes: dict[str, str] = field(default_factory=dict)

    def make(self) -> tuple[NewFile | None, list[Fault]]:
        """The file, and what is wrong with the rows; no file where something is."""
        head = {"player": self._one("player"), "week": self._week()}
        start = head["week"]["start"]
        existing = next((one for one in self.there if one.start == start), None)
        path = existing.path if existing else week_path(self.folder, self.player, start, self.taken)
        document = tomlkit.parse(read_text(existing.path)) if existing else self._new(head)
        self._fill(document, head)
        text = _whole(document, self.added)
        self._check(path, text)
        if self.faults:
            return None, self.faults
        return NewFile(path, text, tuple(self.changes), existing is not None, tuple(self.notes.values())), []

    def _week(self) -> dict[str, Any]:
        """The values of the week; where a first day or minutes cannot be read, some that the rest is checked with."""
        values = self._one("week")
        unread = {name for row in self.rows for name in row.unread}
        if "start" not in values:
            if "start" not in unread:
                message = f'Say the first day of the week of "{self.player}": 2026-11-30.'
                self.faults.append(Fault(self.table, self.rows[0].line, "start", message))
            values = {name: value for name, value in values.items() if name != "until"} | {
                "start": date(1900, 1, 1)
            }
        return {"minutes": 30} | values if "minutes" in unread else values

    def _one(self, table: str) -> dict[str, Any]:
        """The values of player or week, each said once or always alike."""
        values: dict[str, Any] = {}
        lines: dict[str, int] = {}
        for row in self.rows:
            for key, value in row.of(table).items():
                if key in values and values[key] != value and key != "name":
                    message = f'This is "{value}" here and "{values[key]}" in line {lines[key]}.'
                    self.faults.append(Fault(self.table, row.line, key, message))
                values.setdefault(key, value)
                lines.setdefault(key, row.line)
        for key, line in lines.items():
            self.lines[table, key] = line
        self.lines[table,] = self.rows[0].line
        return values

    def _new(self, head: dict[str, dict[str, Any]]) -> dict[str, Any]:
        """The head of a new week file, with what the player's week before it says."""
        before = self.there[-1].raw if self.there else {}
        raw: dict[str, Any] = {}
        for table, keys in _FROM_BEFORE.items():
            old = before.get(table)
            kept = {key: old[key] for key in keys if key in old} if isinstance(old, dict) else {}
            raw[table] = kept | head[table]
        raw["player"] = {"name": self.player} | raw["player"] | {"name": self.player}
        order = ("start", "until", "minutes", "focus")
        raw["week"] = {key: raw["week"][key] for key in order if key in raw["week"]}
        return raw

    def _fill(self, document: _Document, head: dict[str, dict[str, Any]]) -> None:
        for table, values in head.items():
            given = {key: value for key, value in values.items() if key != "name"}
            self._set(document[table], given, table)
        pieces: dict[str, str] = {}
        for row in self.rows:
            if "piece" in row.values:
                pieces[row.values["piece"]] = self._piece(document, row)
        for row in self.rows:
            self._box(document, row, pieces)
            for key in row.values.get("warm-up", ()):
                self._warmup(document, row, key)

    def _piece(self, document: _Document, row: Row) -> str:
        values = row.of("piece")
        tables = self._items(document, "piece")
        title = " ".join(values["title"].split()).casefold()
        for place, item in enumerate(tables):
            if (
                " ".join(str(item.get("title", "")).split()).casefold() == title
                or str(item.get("id")) == values["title"]
            ):
                self.lines.setdefault(("piece", place), row.line)
                name = str(item.get("id"))
                self._set(
                    item, {key: value for key, value in values.items() if key != "title"}, f'piece "{name}"'
                )
                return name
        name = piece_id(values["title"], [str(item.get("id")) for item in tables])
        self._add(document, "piece", {"id": name, **values}, row, f'piece "{name}"')
        return name

    def _box(self, document: _Document, row: Row, pieces: dict[str, str]) -> None:
        piece = pieces.get(row.values.get("piece", ""))
        values = self._by_the_score(document, row, piece)
        if not values:
            return
        tables = self._items(document, "box")
        wanted = str(values["id"]) if "id" in values else None
        for place, item in enumerate(tables):
            same = all(item.get(key) == values.get(key) for key in ("bars", "place"))
            if str(item.get("id")) == wanted or (wanted is None and same and item.get("piece") == piece):
                if ("box", place) in self.lines:
                    message = f"The same box is in line {self.lines['box', place]} already."
                    self.faults.append(Fault(self.table, row.line, "box", message))
                self.lines["box", place] = row.line
                self._set(item, values | ({"piece": piece} if piece else {}), f'box "{item.get("id")}"')
                return
        taken = [str(item.get("id")) for item in tables]
        where = str(values.get("bars") or values.get("place") or "")
        name = wanted or box_id(piece or "box", where, taken)
        ordered = {"id": name, **({"piece": piece} if piece else {}), **values}
        self._add(document, "box", ordered | {"id": name}, row, f'box "{name}"')

    def _by_the_score(self, document: _Document, row: Row, piece_id: str | None) -> dict[str, Any]:
        """The values of a box, with what only its score tells: bars that became a date, the beat of a target."""
        values = row.of("box")
        pieces = self._items(document, "piece")
        piece: dict[str, Any] = next((item for item in pieces if str(item.get("id")) == piece_id), {})
        if row.ranges:
            fitting = self.scores.fitting(piece, row.ranges)
            if len(fitting) > 1:
                message = (
                    f'A spreadsheet made "{row.cell}" of bars {" or ".join(fitting)}. '
                    "Format the column as text, and type them again."
                )
                self.faults.append(Fault(self.table, row.line, "bars", message))
            values["bars"] = (fitting or row.ranges)[0]
            note = (
                f'line {row.line}: "{row.cell}" is what a spreadsheet made of bars {values["bars"]}; read so.'
            )
            self.notes[f"bars {row.line}"] = note
        if "target" in values and "bars" in values:
            number = values["target"]
            values["target"] = self.scores.with_beat(piece, values["bars"], number)
            if values["target"] != number:
                note = (
                    f"line {row.line}: a tempo without a note is in the beat of its bar: {values['target']}."
                )
                self.notes.setdefault("target", note)
        return values

    def _warmup(self, document: _Document, row: Row, key: str) -> None:
        if not any(item.get("key") == key for item in self._items(document, "warmup")):
            self._add(document, "warmup", {"key": key}, row, f"warm-up {key}")

    def _items(self, document: _Document, table: str) -> list[Any]:
        """The items of a table: those that the file has, then those that are added to it."""
        items = document.get(table, [])
        if not isinstance(items, AoT | list) or (items and not isinstance(items, AoT)):
            message = (
                f"Write each {table} of {self.player}'s week file as [[{table}]]; then it can be added to."
            )
            raise WeekError(message, where=self.table.name)
        return [*items, *self.added.get(table, [])]

    def _add(self, document: _Document, table: str, values: dict[str, Any], row: Row, name: str) -> None:
        self.lines[table, len(self._items(document, table))] = row.line
        self.added.setdefault(table, []).append(values)
        self.changes.append(f"{name} is new")

    def _set(self, item: Any, values: dict[str, Any], name: str) -> None:
        for key, value in values.items():
            before = item.get(key)
            before = before.unwrap() if hasattr(before, "unwrap") else before
            if before == value or [before] == value or str(before) == value:
                continue
            item[key] = toml_item(value)
            self.changes.append(
                f"{name}: {key} {_said(before)} is now {_said(value)}"
                if before is not None
                else f"{name}: {key} {_said(value)} is new"
            )

    def _check(self, path: Path, text: str) -> None:
        """Check the file to be as `excerpts check` would, telling lines of the table."""
        self.faults += self.check(read_week(path, Document(self.table, tomllib.loads(text), self.lines)))


def _whole(document: _Document, added: Mapping[str, Sequence[Mapping[str, Any]]]) -> str:
    """The text of a file with what is added to it."""
    if not isinstance(document, tomlkit.TOMLDocument):
        return week_text({**document, **added})
    more = [table_text(f"[[{table}]]", item) for table, items in added.items() for item in items]
    return "\n".join([tomlkit.dumps(document), *more])


def _said(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key} {one}" for key, one in value.items())
    return ", ".join(str(one) for one in value) if isinstance(value, list) else str(value)
