"""Small studios for tests: players whose workbooks are quick to build."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from tests.music import bars_of

WEEK = """format = 1
[player]
name = "{name}"
instrument = "violin"
level = "middle"
{lesson}
[week]
start = {start}
minutes = 20
[[piece]]
id = "air"
title = "Slow Air"
score = "air.musicxml"
[[box]]
id = "a"
piece = "air"
bars = "{bars}"
variants = []
"""


def studio(folder: Path, *names: str) -> Path:
    """A folder with a score and a week of each player."""
    (folder / "scores").mkdir(parents=True)
    (folder / "studio.toml").write_text("format = 1\n", encoding="utf-8")
    (folder / "scores" / "air.musicxml").write_bytes(bars_of(*["C#5:1 D5:1 E5:1 F#5:1"] * 8))
    for name in names:
        week(folder, name)
    return folder


def week(
    folder: Path,
    name: str,
    start: date = date(2026, 11, 30),
    *,
    bars: str = "2-3",
    lesson: str = "",
    file: str = "",
) -> Path:
    """Write a week file of a player: "Mila" on 30 November is "mila-11-30.toml"."""
    path = folder / (file or f"{name.split()[0].lower()}-{start:%m-%d}.toml")
    said = f'lesson = "{lesson}"' if lesson else ""
    path.write_text(WEEK.format(name=name, start=start, bars=bars, lesson=said), encoding="utf-8")
    return path
