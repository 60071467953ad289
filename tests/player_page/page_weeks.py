"""Pages for the tests: weeks, what their files hold, and a browser to open them in."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

from lxml import html

from excerpts.player_page import build_page
from excerpts.system.resources import scores
from excerpts.week import Week, load_week

HOSTILE = "Air </script><script>document.title='taken'</script> & co"

SIX = """
format = 1
[player]
name = "Nora Vell"
instrument = "viola"
level = "upper"
age = 16
page = true
[week]
start = 2026-11-30
minutes = {mon = 60, tue = 45, wed = 30, thu = 45, fri = 30, sat = 60}
focus = "Arm first"
notes = ["Sing before you play."]
[[piece]]
id = "gale"
title = "Gale Concerto I"
score = "gale-concerto-1.musicxml"
status = "performance"
date = 2026-12-12
[[piece]]
id = "adagio"
title = "Gale Concerto II"
score = "gale-concerto-2.musicxml"
status = "performance"
date = 2026-12-12
[[piece]]
id = "trio"
title = "Three Doors"
score = "three-doors-trio.musicxml"
part = "Viola"
[[box]]
id = "ladder"
piece = "gale"
bars = "C+7-C+8"
why = ["shift"]
target = "crotchet = 108"
start = 56
clean = 3
variants = ["long-short", "short-long"]
[[box]]
id = "leap"
piece = "gale"
bars = "15:3-16:2"
why = ["shift"]
target = "crotchet = 108"
start = 60
variants = ["long-short", "separate"]
[[box]]
id = "sul-d"
piece = "adagio"
bars = "9-12"
why = ["tone"]
goal = "one colour"
variants = ["separate"]
[[box]]
id = "together"
piece = "trio"
bars = "23-24"
why = ["rhythm"]
target = "crotchet = 84"
start = 54
variants = ["short-long"]
[[box]]
id = "first"
piece = "gale"
bars = "1-4"
why = ["uneven"]
target = "crotchet = 100"
variants = ["long-short"]
[[box]]
id = "second"
piece = "adagio"
bars = "13-16"
why = ["tone"]
target = "crotchet = 60"
[[warmup]]
key = "D minor"
octaves = 2
"""
"""Six boxes, a performance within three weeks."""

SHORT = f"""
format = 1
[player]
name = "Ada Lind"
instrument = "violin"
level = "middle"
age = 12
[week]
start = 2026-11-30
minutes = {{mon = 20, tue = 20, wed = 20, thu = 45, fri = 20, sat = 20, sun = 20}}
focus = "A quiet left hand"
record = true
[[piece]]
id = "air"
title = {json.dumps(HOSTILE)}
status = "performance"
date = 2026-12-05
[[piece]]
id = "song"
title = "Evening Song"
status = "performance"
date = 2026-12-05
[[box]]
id = "one"
piece = "air"
place = "p. 1, bars 1–2"
abc = \"\"\"
M:2/4
L:1/8
K:D
A2 !1!D!2!E | (FG) A>B |
\"\"\"
why = "uneven"
target = "crotchet = 80"
start = 54
clean = 3
variants = ["long-short"]
[[box]]
id = "two"
piece = "song"
place = "p. 7, bars 1–4"
goal = "one long line"
clean = 2
"""
"""Two boxes, quick to build: one in notes, one on paper only; run-throughs are drawn for it."""

CHILD = """
format = 1
[player]
name = "Bo"
instrument = "cello"
level = "first"
age = 7
[week]
start = 2026-11-30
minutes = { every = 15 }
record = true
[[piece]]
id = "walk"
title = "Walking Home"
[[box]]
id = "a"
piece = "walk"
place = "line 2"
abc = "M:2/4\\nL:1/4\\nK:D clef=bass\\nD, F, | A, D, |"
target = "crotchet = 60"
[[warmup]]
key = "D"
"""


def week(folder: Path, text: str = SHORT, name: str = "week.toml") -> Week:
    """A week file in a folder, beside the scores that it names."""
    for score in scores().glob("*.musicxml"):
        if score.name in text and not (folder / score.name).exists():
            shutil.copy(score, folder)
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return load_week(path)


def page(folder: Path, text: str = SHORT, name: str = "page.html") -> Path:
    """The page of a week as a file; each week is built once for all tests."""
    if text not in _BUILT:
        _BUILT[text] = build_page(week(folder, text)).html
    path = folder / name
    path.write_bytes(_BUILT[text])
    return path


_BUILT: dict[str, bytes] = {}


def tree(data: bytes) -> Any:
    """A page as a reader of HTML sees it."""
    return html.fromstring(data.decode("utf-8"))


def data_of(data: bytes) -> dict[str, Any]:
    """What the script of a page is given."""
    found: dict[str, Any] = json.loads(tree(data).xpath("//script[@id='data']")[0].text)
    return found
