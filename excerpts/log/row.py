"""One row of a player's log, and the line of text that it is in the file."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import Final, Literal, cast, get_args

from excerpts.excerpt import Tempo
from excerpts.log.log_cells import escaped, plain, read_bars, read_count, read_tempo, tempo_cells, unescaped
from excerpts.weekfile.cells import Dates
from excerpts.words import Words

Kind = Literal["box", "run-through", "day", "heard", "player", "undo"]
"""What a row tells: work on a box, a piece played through, a day of practice, a box heard in the lesson;
once at the top, whose log it is; and that a row before it is taken back."""

COLUMNS: Final = ("week", "date", "kind", "box", "tempo", "unit", "clean", "bars", "note")
HEADER: Final = ",".join(COLUMNS)
_KINDS: Final = get_args(Kind)
_LONGEST_SPAN: Final = 366
"""Days between the start of a week and a day of its log: more is a wrong year."""


@dataclass(frozen=True, slots=True)
class Layout:
    """How the lines of a log are laid out: as this program writes them, or as a spreadsheet saved them.

    Attributes:
        delimiter: What stands between the cells.
        columns: The columns in their order; nothing for one without a name.
        dates: How its dates are written.
    """

    delimiter: str = ","
    columns: tuple[str, ...] = COLUMNS
    dates: Dates = Dates()

    def line(self, cells: Mapping[str, str]) -> str:
        """Cells as a line of the file, with its end."""
        memory = io.StringIO()
        writer = csv.writer(memory, delimiter=self.delimiter, lineterminator="\n")
        writer.writerow([cells.get(name, "") for name in self.columns])
        return memory.getvalue()

    def cells(self, line: str) -> dict[str, str]:
        """The cells of a line by column.

        Raises:
            ValueError: It is not written as CSV asks, or has too few or too many.
        """
        try:
            (cells,) = csv.reader([line], delimiter=self.delimiter, strict=True)
        except csv.Error:
            raise ValueError(
                "A quotation mark in it is not closed: the line was cut short or typed wrong."
            ) from None
        count = len(self.columns)
        if len(cells) < count or any(cell.strip() for cell in cells[count:]):
            named = self.delimiter.join(self.columns)
            raise ValueError(f"It has {len(cells)} columns where there are {count}: {named}.")
        return {name: cell.strip() for name, cell in zip(self.columns, cells, strict=False) if name}


@dataclass(frozen=True, slots=True)
class LogRow:
    """One row.

    Attributes:
        week: First day of the week that it belongs to; None for the row that tells the player.
        date: Day of the practice; None when the paper did not say which.
        kind: What it tells.
        box: Id of the box; of the piece, for a run-through; empty for a day and the player.
        tempo: The tempo it was played at.
        clean: Most clean runs in a row at that tempo. For a box heard in the lesson: 0 when it was not clean.
        bars: Where it broke down.
        note: What was noticed; for the row of the player, the name; for one that takes back, the digest of the other.
    """

    week: date | None
    date: date | None = None
    kind: Kind = "box"
    box: str = ""
    tempo: Tempo | None = None
    clean: int | None = None
    bars: str = ""
    note: str = ""

    @property
    def heard_clean(self) -> bool:
        """Whether it says that the box was clean in the lesson."""
        return self.kind == "heard" and self.clean != 0


def row_digest(row: LogRow) -> str:
    """What a row that takes back another one calls it: the same for the same row in a file of any layout."""
    return sha256(row_line(row, Words()).encode()).hexdigest()[:16]


def undo_row(row: LogRow) -> LogRow:
    """The row that takes back another one: rows are only ever added."""
    return LogRow(row.week, None, "undo", note=row_digest(row))


def row_line(row: LogRow, words: Words, layout: Layout = Layout()) -> str:
    """The row as a line of the file, with its end.

    Raises:
        ValueError: A text in it is too long.
    """
    number, unit = tempo_cells(row.tempo, words)
    days = {"week": row.week, "date": row.date}
    texts = {"box": row.box, "bars": row.bars, "note": row.note}
    return layout.line(
        {
            "kind": row.kind,
            "tempo": number,
            "unit": unit,
            "clean": "" if row.clean is None else str(row.clean),
        }
        | {name: day.isoformat() if day else "" for name, day in days.items()}
        | {name: escaped(plain(text)) for name, text in texts.items()}
    )


def read_row(line: str, layout: Layout = Layout()) -> LogRow:
    """The row that a line of the file holds.

    Raises:
        ValueError: It is none; the message says what was found and what would be right.
    """
    cells = layout.cells(line)
    kind = cells["kind"]
    if kind not in _KINDS:
        raise ValueError(f'"{kind}" is not a kind of row: box, run-through, day, heard or undo.')
    week, day = (layout.dates.read(cells[name]) if cells[name] else None for name in ("week", "date"))
    row = LogRow(
        week=week,
        date=day,
        kind=cast("Kind", kind),
        box=plain(unescaped(cells["box"])),
        tempo=read_tempo(cells["tempo"], unescaped(cells["unit"])),
        clean=read_count(cells["clean"]),
        bars=plain(read_bars(cells["bars"])),
        note=plain(unescaped(cells["note"])),
    )
    if wrong := _wrong(row):
        raise ValueError(wrong)
    return row


def _wrong(row: LogRow) -> str:
    if row.kind == "player":
        return "" if row.note else "The row of the player has no name in it."
    if row.kind == "undo" and not row.note:
        return "It does not say which row it takes back."
    if row.week is None:
        return "The week is missing: the first day of the week, as 2026-11-30."
    if row.kind in ("box", "heard") and not row.box:
        return "It does not say which box."
    if row.kind == "run-through" and not row.box:
        return "It does not say which piece was played through."
    if row.date and abs((row.date - row.week).days) > _LONGEST_SPAN:
        return f"The day {row.date} is more than a year from the week that starts on {row.week}."
    return ""
