"""Small scores and week files for the tests of the workbook."""

from __future__ import annotations

from pathlib import Path

from excerpts.week import Week, load_week

SCALE = ("D4", "E4", "F4", "G4", "A4", "G4", "F4", "E4")


def _note(pitch: str, kind: str, length: int, beam: str = "") -> str:
    beams = f'<beam number="1">{beam}</beam>' if beam else ""
    return (
        f"<note><pitch><step>{pitch[0]}</step><octave>{pitch[1]}</octave></pitch><duration>{length}</duration>"
        f"<voice>1</voice><type>{kind}</type>{beams}</note>"
    )


def _running_bar() -> str:
    beams = ("begin", "continue", "continue", "end") * 2
    return "".join(_note(pitch, "eighth", 1, beam) for pitch, beam in zip(SCALE, beams, strict=True))


def score(path: Path, bars: int = 12) -> None:
    """Write a score of running quavers; its bars 9 and 10 are semibreves, which no rhythm variant fits."""
    measures = []
    for number in range(1, bars + 1):
        head = ""
        if number == 1:
            head = (
                "<attributes><divisions>2</divisions><key><fifths>1</fifths><mode>major</mode></key>"
                "<time><beats>4</beats><beat-type>4</beat-type></time>"
                "<clef><sign>G</sign><line>2</line></clef></attributes>"
            )
        body = _note("D4", "whole", 8) if number in {9, 10} else _running_bar()
        measures.append(f'<measure number="{number}">{head}{body}</measure>')
    path.write_text(
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0">'
        "<work><work-title>River</work-title></work><part-list>"
        '<score-part id="P1"><part-name>Violin I</part-name></score-part></part-list>'
        f'<part id="P1">{"".join(measures)}</part></score-partwise>',
        encoding="utf-8",
    )


OLDER = """
format = 1
[player]
name = "Ada <b>Lind</b> & Co"
instrument = "violin"
level = "middle"
age = 15
[week]
start = 2026-11-30
until = 2026-12-06
minutes = { mon = 45, tue = 30, wed = 45, fri = 30, sat = 60 }
focus = "A quiet left hand"
notes = ["Sing bar 3 first."]
[[piece]]
id = "river"
title = "River <script>alert(1)</script>"
composer = "A. Fell"
score = "river.musicxml"
status = "performance"
date = 2026-12-12
[[piece]]
id = "air"
title = "Air"
[[box]]
id = "one"
piece = "river"
bars = "3-4"
why = "uneven"
target = "crotchet = 96"
variants = ["slow", "long-short", "separate"]
[[box]]
id = "two"
piece = "river"
bars = "9-10"
why = "tone"
goal = "one colour from start to end"
variants = ["long-short"]
[[box]]
id = "three"
piece = "air"
place = "p. 7, bars 1–4"
target = "crotchet = 60"
[[warmup]]
key = "G"
[[warmup]]
text = "Open strings, whole bows"
minutes = 2
[[technique]]
piece = "river"
bars = "5-6"
[[technique]]
drill = "one"
"""

YOUNG = """
format = 1
[player]
name = "Bo"
instrument = "cello"
level = "first"
age = 6
words = "us"
[week]
start = 2026-11-30
minutes = { every = 15, sun = 0 }
focus = "A soft bow hand"
paper = "letter"
[[piece]]
id = "walk"
title = "Walking Home"
[[box]]
id = "a"
piece = "walk"
place = "p. 3, line 2"
goal = "one bow for each step"
[[warmup]]
key = "D"
"""


def week(folder: Path, text: str) -> Week:
    """Write a week file and its score into a folder and read it."""
    score(folder / "river.musicxml")
    path = folder / "week.toml"
    path.write_text(text, encoding="utf-8")
    return load_week(path)
