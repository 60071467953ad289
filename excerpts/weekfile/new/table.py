"""Reads a table with one row per box, as a spreadsheet saves it: CSV with commas, semicolons or tabs.

Every fault of a table is told in one round: what cannot be read is told, and the rest is read and checked all the same.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final

from excerpts.errors import WeekError
from excerpts.weekfile.cells import Dates, taken_for_dates, told_delimiter
from excerpts.weekfile.faults import Fault, WeekFaultsError, listed, nearest
from excerpts.weekfile.new.typed import read_list, read_minutes, read_whole
from excerpts.weekfile.reading import read_text

LARGEST: Final = 5_000_000
"""Bytes of a table; one of a whole school has some hundred thousand."""

Field = tuple[str, str]
"""Table and key of the week file."""

COLUMNS: Final[dict[str, Field]] = {
    "player": ("player", "name"),
    "instrument": ("player", "instrument"),
    "level": ("player", "level"),
    "age": ("player", "age"),
    "words": ("player", "words"),
    "start": ("week", "start"),
    "until": ("week", "until"),
    "minutes": ("week", "minutes"),
    "focus": ("week", "focus"),
    "piece": ("piece", "title"),
    "composer": ("piece", "composer"),
    "score": ("piece", "score"),
    "part": ("piece", "part"),
    "status": ("piece", "status"),
    "date": ("piece", "date"),
    "weight": ("piece", "weight"),
    "box": ("box", "id"),
    "bars": ("box", "bars"),
    "place": ("box", "place"),
    "why": ("box", "why"),
    "note": ("box", "note"),
    "target": ("box", "target"),
    "goal": ("box", "goal"),
    "start tempo": ("box", "start"),
    "clean": ("box", "clean"),
    "variants": ("box", "variants"),
    "warm-up": ("warmup", "key"),
}
"""What each column is in a week file."""

_ALSO: Final = {
    "name": "player", "first day": "start", "next lesson": "until", "title": "piece", "measures": "bars",
    "performance": "date", "id": "box", "tempo": "target", "clean runs": "clean", "warmup": "warm-up",
    "warmups": "warm-up", "warm-ups": "warm-up",
    "spieler": "player", "spielerin": "player", "stufe": "level", "alter": "age", "beginn": "start", "bis": "until",
    "minuten": "minutes", "schwerpunkt": "focus", "stück": "piece", "komponist": "composer", "noten": "score",
    "stimme": "part", "auftritt": "date", "kasten": "box", "takte": "bars", "stelle": "place", "warum": "why",
    "notiz": "note", "zieltempo": "target", "varianten": "variants", "einspielen": "warm-up",
}  # fmt: skip
"""Other names of columns that are understood, those of a German table among them."""

_DATES: Final = ("start", "until", "date")

_READ: Final[dict[str, Callable[[str], Any]]] = {
    "age": read_whole,
    "weight": read_whole,
    "clean": read_whole,
    "minutes": read_minutes,
    "why": read_list,
    "variants": read_list,
    "warm-up": read_list,
}


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the table.

    Attributes:
        line: Its line in the file, from 1.
        values: Its filled cells, by column, as far as they can be read.
        unread: The columns whose cells cannot be read.
        ranges: The bars that a spreadsheet may have made the date of that stands under bars.
        cell: That date as it stands there.
    """

    line: int
    values: dict[str, Any]
    unread: frozenset[str] = frozenset()
    ranges: tuple[str, ...] = ()
    cell: str = ""

    def of(self, table: str) -> dict[str, Any]:
        """The values for one table of the week file, by key."""
        return {COLUMNS[name][1]: value for name, value in self.values.items() if COLUMNS[name][0] == table}


def read_table(path: Path) -> tuple[list[Row], list[Fault]]:
    """Read a table with one row per box.

    A row without a player, a first day or a last day has those of the row above it; a box without a piece has the
    piece above it, where the player is the same.

    Returns:
        The rows, and what is wrong with single cells of them.

    Raises:
        WeekError: It cannot be read, or its columns are not known.
    """
    text = read_text(path, LARGEST, "list of boxes", 'Choose "CSV UTF-8" when you save it.')
    if "\0" in text:
        raise WeekError("This is not text: save the table as CSV.", where=path.name)
    rows, faults = _rows(path, text)
    above: dict[str, Any] = {}
    filled: list[Row] = []
    unread: frozenset[str] = frozenset()
    for row in rows:
        kept = {name: above[name] for name in ("player", "start", "until") if name in above}
        if "start" in row.values:
            kept.pop("until", None)
        values = {name: value for name, value in kept.items() if name not in row.unread} | row.values
        if "piece" in above and not {"piece", "score", "part"} & values.keys() and _goes_on(values, above):
            values["piece"] = above["piece"]
        above = values
        unread = row.unread | {name for name in unread if name == "start" and name not in values}
        if "player" in values:
            filled.append(replace(row, values=values, unread=unread))
        else:
            faults.append(
                Fault(path, row.line, "player", "This row names no player, and no row above it does.")
            )
    if not rows and not faults:
        raise WeekError("The table has no rows below its head.", where=path.name)
    return filled, faults


def _goes_on(values: dict[str, Any], above: dict[str, Any]) -> bool:
    """Whether a row is one more box of the player above it."""
    return values.get("player") == above.get("player") and bool({"bars", "place"} & values.keys())


def _rows(path: Path, text: str) -> tuple[list[Row], list[Fault]]:
    delimiter = told_delimiter(text.partition("\n")[0])
    head_line = next((line for line in text.splitlines() if line.strip()), "")
    lines, faults = _lines(path, text, delimiter or max(",;\t", key=head_line.count))
    lines = lines[1:] if delimiter else lines
    if not lines:
        return [], faults
    head = _head(path, *lines[0], faults)
    cells = [dict(zip(head, row, strict=False)) for _, row in lines[1:]]
    dates = Dates.of(row[name] for row in cells for name in _DATES if name in row)
    return [_row(path, line, head, row, dates, faults) for line, row in lines[1:]], faults


def _lines(path: Path, text: str, delimiter: str) -> tuple[list[tuple[int, list[str]]], list[Fault]]:
    """The filled rows with their lines, as far as the text is CSV."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    lines: list[tuple[int, list[str]]] = []
    before = 0
    try:
        for cells in reader:
            line, before = before + 1, reader.line_num
            if any(cell.strip() for cell in cells):
                lines.append((line, cells))
    except csv.Error as error:
        message = (
            f"From here on this is not CSV ({error}). Look for a quotation mark that should not be there."
        )
        return lines, [Fault(path, before + 1, "", message)]
    return lines, []


def _head(path: Path, line: int, cells: list[str], faults: list[Fault]) -> list[str]:
    """The columns by name; one that is misspelt is told, and taken for the one that is near.

    Raises:
        WeekError: There are no players.
    """
    names: list[str] = []
    for cell in cells:
        name = re.sub(r"[\s_]+", " ", cell.strip().lower())
        name = _ALSO.get(name, name)
        if name and name not in COLUMNS:
            known = [*COLUMNS, *_ALSO]
            hint = nearest(name, known, f"The columns are {listed(COLUMNS)}.")
            faults.append(Fault(path, line, "", f'There is no column "{cell.strip()[:60]}". {hint}'))
            near = next(iter(get_close_matches(name, known, 1)), "")
            name = _ALSO.get(near, near)
        elif name and name in names:
            faults.append(Fault(path, line, "", f'Two columns are called "{name}".'))
        names.append("" if name in names else name)
    if "player" not in names:
        faults.append(Fault(path, line, "", 'The first row names the columns; "player" is missing.'))
        raise WeekFaultsError(faults)
    return names


def _row(path: Path, line: int, head: list[str], cells: list[str], dates: Dates, faults: list[Fault]) -> Row:
    values: dict[str, Any] = {}
    unread: set[str] = set()
    dated = ""
    if any(cell.strip() for cell in cells[len(head) :]):
        faults.append(Fault(path, line, "", "This row has more cells than the first row names columns."))
    for name, cell in zip(head, cells, strict=False):
        if not name or not cell.strip():
            continue
        try:
            values[name] = dates.read(cell) if name in _DATES else _READ.get(name, str.strip)(cell)
        except ValueError as error:
            faults.append(Fault(path, line, name, str(error)))
            unread.add(name)
        if name == "bars" and (ranges := taken_for_dates(cell)):
            values[name], dated = ranges[0], cell.strip()
    return Row(line, values, frozenset(unread), taken_for_dates(dated), dated)
