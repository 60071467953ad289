"""Logs and tables as spreadsheets save them; `python -m tests.log.spreadsheets` prints what is read of each dialect."""

from __future__ import annotations

import csv
import io
import sys
import tempfile
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Final

from excerpts.errors import WeekError
from excerpts.excerpt import Tempo
from excerpts.log import LogRow, append_rows, read_log
from excerpts.weekfile.cells import taken_for_dates
from excerpts.weekfile.new import from_table
from excerpts.words import Words
from tests.music import bars_of

DAYS: Final = ("2026-11-30", "2026-12-01", "2026-12-02")
DATES: Final = {
    "days before months": ("30/11/2026", "01/12/2026", "02/12/2026"),
    "months before days": ("11/30/2026", "12/1/2026", "12/2/2026"),
    "points": ("30.11.2026", "01.12.2026", "2.12.26"),
    "with a time": ("2026-11-30 00:00", "2026-12-01T00:00:00", "2026-12-02 00:00:00"),
    "numbers of days": ("46356", "46357", "46358.5"),
    "months by name": ("30. November 2026", "1-Dez-26", "2 Dec 2026"),
}
"""The same three days in each dialect."""

BARS: Final = (
    "03. Apr",
    "Apr-03",
    "3-Apr",
    "2026-04-03",
    "03/04/2026",
    "46115",
    "Oct-40",
    "Okt 40",
    "2026-10-01",
    "4",
)

_HEAD: Final = "player,instrument,level,start,minutes,piece,score,bars\n"


def saved(text: str, days: tuple[str, str, str], encoding: str, *, turned: bool = False) -> bytes:
    """A log as a spreadsheet saves it again: its dates in a dialect, its columns perhaps turned round, an empty row."""
    for iso, cell in zip(DAYS, days, strict=True):
        text = text.replace(iso, cell)
    rows = [row[::-1] if turned else row for row in csv.reader(io.StringIO(text))]
    lines = [";".join(f'"{cell}"' for cell in row) for row in [*rows, [""] * 9]]
    return "\r\n".join(["sep=;", *lines, ""]).encode(encoding)


def _logs(folder: Path) -> Iterator[str]:
    path = folder / "log.csv"
    rows = [
        LogRow(date(2026, 11, 30), date(2026, 12, day), "box", "run", Tempo(Fraction(60)), day)
        for day in (1, 2)
    ]
    for encoding in ("utf-8", "utf-8-sig", "utf-16"):
        for name, days in DATES.items():
            path.unlink(missing_ok=True)
            append_rows(path, rows, "Ada", Words())
            path.write_bytes(saved(path.read_text(), days, encoding, turned=encoding == "utf-16"))
            log = read_log(path, "Ada")
            read = ", ".join(f"{row.date}" for row in log.rows)
            yield f"{name:<20}{encoding:<10}{days[0]:<20}{days[1]:<22}{read}, {len(log.faults)} faults"


def _tables(folder: Path) -> Iterator[str]:
    (folder / "air.musicxml").write_bytes(bars_of(*["C4:4"] * 40))
    for cell in BARS:
        (folder / "boxes.csv").write_text(f"{_HEAD}Ada,cello,middle,30.11.2026,30,Air,air.musicxml,{cell}\n")
        try:
            (file,) = from_table(folder / "boxes.csv", folder, lambda reading: reading.faults)
            (told,) = [line for line in file.text.splitlines() if line.startswith("bars")]
        except WeekError as error:
            told = str(error)
        yield f"{cell:<14}{', '.join(taken_for_dates(cell)):<14}{told}"


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        sys.stdout.write("\n".join([*_logs(Path(place)), "", *_tables(Path(place)), ""]))
