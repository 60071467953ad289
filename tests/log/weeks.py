"""Week files and rows for the tests of the log and of carrying over."""

from __future__ import annotations

from dataclasses import fields
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path

from excerpts.excerpt import Tempo
from excerpts.log import LogRow, NextWeek, next_week
from excerpts.log.choices import Choices
from excerpts.log.row import Kind
from excerpts.week import Week, load_week

CHOICES = [one.name for one in fields(Choices)]

MONDAY = date(2026, 11, 30)

HEAD = """\
# Ada's week
format = 1

[player]
name = "Ada Lind"
instrument = "violin"
level = "middle"
age = 13

[week]
start = 2026-11-30   # lesson on Mondays
minutes = {mon = 30, wed = 30}
focus = "Loose thumb"

[[piece]]
id = "song"
title = "Song"
"""

RUN = """
# the hard one
[[box]]
id = "run"
piece = "song"
place = "bar 4"
target = "crotchet = 80"
start = 40   # slowly
clean = 5
"""

TONE = """
[[box]]
id = "tone"
piece = "song"
place = "bar 9"
goal = "one long line"
clean = 3
"""


def week(folder: Path, text: str = HEAD + RUN, name: str = "ada.toml") -> Week:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return load_week(path)


def row(
    box: str = "run",
    tempo: int | None = None,
    clean: int | None = None,
    *,
    day: int | None = None,
    weeks: int = 0,
    kind: Kind = "box",
    bars: str = "",
    note: str = "",
) -> LogRow:
    """A row of the week `weeks` after the first; `day` counts from its Monday."""
    start = MONDAY + timedelta(weeks=weeks)
    when = None if day is None else start + timedelta(days=day)
    beat = None if tempo is None else Tempo(Fraction(tempo))
    return LogRow(start, when, kind, box, beat, clean, bars, note)


def after(week: Week, rows: list[LogRow], **options: object) -> tuple[Week, NextWeek]:
    """The week after, written beside the old one and read again; options of `Choices` may stand among the others."""
    chosen = {name: options.pop(name) for name in CHOICES if name in options}
    made = next_week(week, rows, choices=Choices(**chosen), **options)  # type: ignore[arg-type]
    made.path.write_text(made.text, encoding="utf-8")
    return load_week(made.path), made


def told(made: NextWeek) -> str:
    return "\n".join(made.carried.lines)
