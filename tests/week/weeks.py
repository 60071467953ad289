"""Week files as the tests write them: a full one, and small ones from a few numbers."""

from __future__ import annotations

import tomllib
from pathlib import Path

from excerpts.weekfile.model import WeekFile
from tests.heads import head

FULL = """\
format = 1

[player]
name = "Ada Lindqvist"
instrument = "cello"
level = "middle"
age = 13
words = "uk"

[week]
start = 2026-11-30
until = 2026-12-06                     # the day before the next lesson
minutes = {mon = 30, tue = 30, wed = 20, thu = 45, sat = 60, 2026-12-06 = 15}
focus = "Left thumb loose in every shift"
notes = [
    "Bring the rosin.",
    "Listen to the gavotte once, score in hand.",
]

[[piece]]
id = "gavotte"
title = "Gavotte in D"
composer = "Anna Meridian"
score = "gavotte.musicxml"
part = "Cello"
status = "performance"
date = 2026-12-12

[[piece]]
id = "song"
title = "Evening Song"                 # on paper only: no score

[[piece]]
id = "study"
title = "Study No. 3"
score = "study.musicxml"

[[box]]
id = "run"
piece = "gavotte"
bars = "12-16"
why = ["uneven", "shift"]
note = "Arrive on the C sharp with the hand already still."
target = "dotted crotchet = 60"
start = 40
clean = 5
variants = ["separate", "long-short", "separate+short-long"]

[[box]]
id = "middle"
piece = "song"
place = "p. 14, bars 12–16"
why = "tone"
goal = "one long line, no bump at the change of bow"

[[box]]
id = "turn"
abc = \"\"\"
X:1
L:1/8
M:3/4
K:D
d2 ^cd ed | c4 z2 |]
\"\"\"
target = "♩ = 72"

[[warmup]]
key = "D"
pattern = "scale"
octaves = 2
from = "D2"
variants = ["long-short"]

[[warmup]]
text = "Open strings, whole bows, eyes shut"
minutes = 2

[[technique]]
piece = "study"
bars = "1-8"

[[technique]]
drill = "run"

[[technique]]
text = "Bow hold: lift and set down ten times"
minutes = 3
"""

HEAD = head("middle")
"""The smallest head; what follows starts on line 9."""


def write(folder: Path, text: str, name: str = "ada.toml") -> Path:
    """Write a week file, and the scores that the full one calls."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    for score in ("gavotte.musicxml", "study.musicxml"):
        (folder / score).write_text("<score-partwise/>", encoding="utf-8")
    return path


def week(
    *,
    level: str = "middle",
    minutes: str = "30",
    boxes: int = 2,
    pieces: int = 3,
    warmups: int = 1,
    technique: int = 1,
    more: str = "",
) -> WeekFile:
    """A week of so many items; box n belongs to piece n (round again), the last piece has no box if it can."""
    text = f'format = 1\n[player]\nname = "Ada"\ninstrument = "viola"\nlevel = "{level}"\n'
    text += f"[week]\nstart = 2026-11-30\nminutes = {minutes}\n"
    for n in range(pieces):
        text += f'[[piece]]\nid = "p{n}"\ntitle = "Piece {n}"\n'
    for n in range(boxes):
        piece = f'piece = "p{n % max(pieces - 1, 1)}"\nplace = "bar {n}"' if pieces else 'abc = "CDEF|"'
        text += f'[[box]]\nid = "b{n}"\n{piece}\n'
    text += '[[warmup]]\nkey = "D"\n' * warmups
    text += '[[technique]]\ntext = "Vibrato"\n' * technique
    return WeekFile.model_validate(tomllib.loads(text + more))
