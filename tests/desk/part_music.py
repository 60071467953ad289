"""Pieces for the page of a part: K. 458 as music21 has it, and small ones with what makes bars hard to name."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Final

from tests.music import FIRST, bar, bars_of, part, score

QUAVERS: Final = " ".join(f"{note}:1/2" for note in ("C5", "D5", "E5", "F5", "G5", "F5", "E5", "D5"))
_ENDING: Final = '<barline location="{where}"><ending number="{number}" type="{kind}"/>{repeat}</barline>'


def _ending(where: str, number: str, kind: str, repeat: str = "") -> str:
    return _ENDING.format(where=where, number=number, kind=kind, repeat=repeat)


def pickup() -> bytes:
    """A pick-up of a crotchet, in two movements that begin anew."""
    bars = [f"{FIRST} G4:1", *[QUAVERS] * 9]
    return score(part(bars, ['0" implicit="yes', *map(str, range(1, 10))]))


def repeated() -> bytes:
    """Numbers 1 to 5 twice."""
    return bars_of(*[QUAVERS] * 10, numbers=[*"12345", *"12345"])


def voltas() -> bytes:
    """A first and a second ending; the second has the number of the first with a letter."""
    back = '<repeat direction="backward"/>'
    first = f"{_ending('left', '1', 'start')} {QUAVERS} {_ending('right', '1', 'stop', back)}"
    second = f"{_ending('left', '2', 'start')} {QUAVERS} {_ending('right', '2', 'stop')}"
    return bars_of(
        *[QUAVERS] * 3, first, second, *[QUAVERS] * 3, numbers=["1", "2", "3", "4", "4a", "5", "6", "7"]
    )


def two_staves() -> bytes:
    """A part on two staves."""
    head = FIRST.replace("<clef>", '<staves>2</staves><clef number="1">') + ""
    head = head.replace("</attributes>", '<clef number="2"><sign>F</sign><line>4</line></clef></attributes>')
    inside = []
    for number in range(1, 9):
        upper = bar(QUAVERS).replace("</note>", "<staff>1</staff></note>")
        lower = bar("C3:2 G3:2").replace("<voice>1</voice>", "<voice>2</voice>")
        lower = lower.replace("</note>", "<staff>2</staff></note>")
        start = head if number == 1 else ""
        back = "<backup><duration>96</duration></backup>"
        inside.append(f'<measure number="{number}">{start}{upper}{back}{lower}</measure>')
    return score(f'<part id="P1">{"".join(inside)}</part>')


SMALL: Final[dict[str, Callable[[], bytes]]] = {
    "pickup": pickup,
    "repeated": repeated,
    "voltas": voltas,
    "two_staves": two_staves,
}


def quartet() -> bytes:
    """The first movement of K. 458, from music21's corpus."""
    from music21 import corpus

    path = next(path for path in map(Path, corpus.getPaths()) if path.match("k458/movement1.mxl"))
    return path.read_bytes()


def shifting() -> bytes:
    """A violin part with shifts: semiquavers up to the fifth position and back."""
    up = " ".join(f"{note}:1/4" for note in "A4 B4 C5 D5 E5 F5 G5 A5 B5 C6 D6 C6 B5 A5 E5 C5".split())
    return bars_of(*[QUAVERS] * 3, up, up, *[QUAVERS] * 3)


WEEK: Final = """# what Mila plays
format = 1
[player]
name = "Mila Berg"
instrument = "violin"
level = "upper"
[week]
start = {start}
minutes = 40
[[piece]]
id = "tune"
title = "A Tune"
score = "{score}"
part = "#1"
"""


def write_week(
    folder: Path, data: bytes, boxes: str = "", start: date = date(2026, 12, 7), name: str = "tune"
) -> Path:
    """A week of Mila's on one piece, later than those of `tests.studio.small`; its first box if none is given."""
    suffix = "mxl" if data[:2] == b"PK" else "musicxml"
    (folder / "scores" / f"{name}.{suffix}").write_bytes(data)
    path = folder / f"mila-berg-{start:%m-%d}.toml"
    path.write_text(WEEK.format(start=start, score=f"{name}.{suffix}") + boxes, encoding="utf-8")
    return path
