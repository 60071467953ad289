"""Players for the tests of the teacher's pages."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from excerpts.log import LogRow, append_rows, log_path
from excerpts.week import Week, load_week
from excerpts.words import Words
from tests.log.weeks import HEAD, RUN, TONE, row

EARLIER = tuple(row("", kind="day", day=0, weeks=-back) for back in (1, 2))
"""A day of practice in each of the two weeks before."""

RETIRED = """
[[retired]]
id = "old"
piece = "song"
place = "bar 20"
target = "crotchet = 60"
clean = 5
retired = 2026-11-16
checks = 1
"""

FULL = (
    HEAD.replace('focus = "Loose thumb"', 'focus = "Loose thumb"\nnotes = ["Bring rosin.", "Sing it."]')
    + RUN.replace("start = 40   # slowly", "since = 2026-11-16\nwhy = ['shift', 'bow-distribution']")
    + TONE
    + RETIRED
    + """
[[piece]]
id = "gavotte"
title = "Gavotte"
status = "performance"
date = 2026-12-12

[[warmup]]
key = "F# minor"
octaves = 2

[[warmup]]
key = "D"
pattern = "arpeggio"

[[technique]]
text = "Vibrato: slow waves."

[[technique]]
text = "Check Song, bar 20"
check = "old"
"""
)


def player(folder: Path, name: str = "Ada Lind", text: str = FULL, file: str = "") -> Week:
    """Write a player's week file and read it."""
    path = folder / (file or f"{name.replace(' ', '-')}.toml")
    path.write_text(text.replace("Ada Lind", name), encoding="utf-8")
    return load_week(path)


def write(week: Week, *rows: LogRow) -> None:
    """Write rows into a player's log."""
    append_rows(log_path(week), rows, week.player.name, Words())


def day(number: int) -> date:
    """A day of the first week, from 0."""
    return date(2026, 11, 30 + number) if number < 1 else date(2026, 12, number)
