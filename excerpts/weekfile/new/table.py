"""Reads a table with one row per box, as a spreadsheet saves it: CSV with commas, semicolons or tabs."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from excerpts.errors import WeekError
from excerpts.weekfile.days import real_date
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
}  # fmt: skip
"""Other names of columns that are understood."""

_READ: Final[dict[str, Callable[[str], Any]]] = {
    "age": read_whole,
    "weight": read_whole,
    "clean": read_whole,
    "start": real_date,
    "until": real_date,
    "date": real_date,
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
        values: Its filled cells, by column.
    """

    line: int
    values: dict[str, Any]

    def of(self, table: str) -> dict[str, Any]:
        """The values for one table of the week file, by key."""
        return {COLUMNS[name][1]: value for name, value in self.values.items() if COLUMNS[name][0] == table}


def read_table(path: Path) -> list[Row]:
    """Read a table with one row per box.

    A row without a player, a first day or a last day has those of the row above it; a box without a piece has the
    piece above it, where the player is the same.

    Raises:
        WeekError: It cannot be read, or has faults: all of them are told with their lines.
    """
    text = read_text(path, LARGEST, "list of boxes", 'Choose "CSV UTF-8" when you save it.')
    if "\0" in text:
        raise WeekError("This is not text: save the table as CSV.", where=path.name)
    rows, faults = _rows(path, text)
    above: dict[str, Any] = {}
    filled: list[Row] = []
    for row in rows:
        kept = {name: above[name] for name in ("player", "start", "until") if name in above}
        if "start" in row.values:
            kept.pop("until", None)
        values = kept | row.values
        if "piece" in above and not {"piece", "score", "part"} & values.keys() and _goes_on(values, above):
            values["piece"] = above["piece"]
        if "player" not in values:
            faults.append(
                Fault(path, row.line, "player", "This row names no player, and no row above it does.")
            )
        above = values
        filled.append(Row(row.line, values))
    if faults:
        raise WeekFaultsError(sorted(faults, key=lambda fault: fault.line or 0))
    if not filled:
        raise WeekError("The table has no rows below its head.", where=path.name)
    return filled


def _goes_on(values: dict[str, Any], above: dict[str, Any]) -> bool:
    """Whether a row is one more box of the player above it."""
    return values.get("player") == above.get("player") and bool({"bars", "place"} & values.keys())


def _rows(path: Path, text: str) -> tuple[list[Row], list[Fault]]:
    head_line = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(",;\t", key=head_line.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    faults: list[Fault] = []
    rows: list[Row] = []
    head: list[str] | None = None
    before = 0
    try:
        for cells in reader:
            line, before = before + 1, reader.line_num
            if not any(cell.strip() for cell in cells):
                continue
            if head is None:
                head = _head(path, line, cells, faults)
            else:
                rows.append(_row(path, line, head, cells, faults))
    except csv.Error as error:
        message = (
            f"From here on this is not CSV ({error}). Look for a quotation mark that should not be there."
        )
        faults.append(Fault(path, before + 1, "", message))
    return rows, faults


def _head(path: Path, line: int, cells: list[str], faults: list[Fault]) -> list[str]:
    names: list[str] = []
    for cell in cells:
        name = re.sub(r"[\s_]+", " ", cell.strip().lower())
        name = _ALSO.get(name, name)
        if name and name not in COLUMNS:
            hint = nearest(name, [*COLUMNS, *_ALSO], f"The columns are {listed(COLUMNS)}.")
            faults.append(Fault(path, line, "", f'There is no column "{cell.strip()[:60]}". {hint}'))
        elif name and name in names:
            faults.append(Fault(path, line, "", f'Two columns are called "{name}".'))
        names.append(name)
    if "player" not in names:
        faults.append(Fault(path, line, "", 'The first row names the columns; "player" is missing.'))
    return names


def _row(path: Path, line: int, head: list[str], cells: list[str], faults: list[Fault]) -> Row:
    values: dict[str, Any] = {}
    if any(cell.strip() for cell in cells[len(head) :]):
        faults.append(Fault(path, line, "", "This row has more cells than the first row names columns."))
    for name, cell in zip(head, cells, strict=False):
        if name not in COLUMNS or not cell.strip():
            continue
        try:
            values[name] = _READ.get(name, str.strip)(cell)
        except ValueError as error:
            faults.append(Fault(path, line, name, str(error)))
    return Row(line, values)
