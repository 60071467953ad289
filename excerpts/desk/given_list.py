"""Who has been given what: a table in the studio's folder.

It stands in the studio, as `given.csv`, and not in the folder of this computer's user: it is the teacher's own record,
opens in a spreadsheet, and goes along when the studio is copied to another computer. It holds no more than a studio
holds anyway: a day, a name, the first day of a week, and kinds of files.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from excerpts.errors import InputError
from excerpts.log.log_cells import escaped, unescaped
from excerpts.system.studio_files import same_player
from excerpts.weekfile.cells import as_utf8

NAME: Final = "given.csv"
COLUMNS: Final = ("date", "player", "week", "what")


@dataclass(frozen=True, slots=True)
class Given:
    """One line.

    Attributes:
        date: The day, as "2026-11-30".
        player: The player's name.
        week: First day of the week, as "2026-11-30".
        what: The kinds of files: "workbook, sounds".
    """

    date: str
    player: str
    week: str
    what: str


def read_given(data: bytes) -> list[Given]:
    """The lines of the table; one that is none is passed over, as it is only shown and never changed.

    Raises:
        InputError: The file is no such table.
    """
    text = as_utf8(data).decode("utf-8-sig", "replace")
    if not text.strip():
        return []
    lines = csv.reader(io.StringIO(text))
    if tuple(next(lines, ())) != COLUMNS:
        raise InputError(
            f"its first line is not {','.join(COLUMNS)}.", where=NAME, hint="Give the file another name."
        )
    return [Given(*map(unescaped, cells)) for cells in lines if len(cells) == len(COLUMNS)]


def with_line(data: bytes, given: Given) -> bytes:
    """The table with one more line; what was there stays byte for byte.

    Raises:
        InputError: The file is no such table.
    """
    read_given(data)
    memory = io.StringIO()
    writer = csv.writer(memory, lineterminator="\n")
    if not data.strip():
        writer.writerow(COLUMNS)
    elif not data.endswith(b"\n"):
        memory.write("\n")
    writer.writerow([escaped(text) for text in (given.date, given.player, given.week, given.what)])
    return data + memory.getvalue().encode()


def given_to(lines: list[Given], player: str, week: date) -> list[Given]:
    """The lines of a player's week."""
    return [one for one in lines if same_player(one.player, player) and one.week == week.isoformat()]


def given_file(folder: Path) -> Path:
    """Where the table stands in a studio's folder."""
    return folder / NAME
