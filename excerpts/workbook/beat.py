"""A small picture of the note that beats, drawn by ourselves so that text faces need no music signs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from math import cos, radians, sin

from excerpts.musicxml.format import SINGLE_NOTES
from excerpts.weekfile.tempo_text import beat_name
from excerpts.words import Words
from excerpts.workbook.pdf_image import DrawnMusic

_FLAGS = {"breve": 0, "whole": 0, "half": 0, "quarter": 0, "eighth": 1, "16th": 2, "32nd": 3, "64th": 4}
"""The note values that are drawn, each with the flags of its stem."""
_STEMLESS = frozenset({"breve", "whole"})
_OPEN = frozenset({"breve", "whole", "half"})
_HEIGHT = 360
_ROUND = 0.5523
"""How far the handles of a curve reach that draws a quarter of a circle."""
_HEAD = (64, 305)
_WIDE_HEAD = (104, 305)
"""Middle of the head of a note with a stem, and of one without, which stands right of the bars of a breve."""
_TILT = -24
_FLAG_STEP = 65
_DOT_STEP = 66


@dataclass(frozen=True, slots=True)
class Beat:
    """The note that a metronome number counts.

    Attributes:
        name: Its name in words ("dotted crotchet").
        src: Address of its picture; empty where there is none, and the name is printed.
    """

    name: str
    src: str = ""


def beat(unit: Fraction, words: Words) -> Beat:
    """The beat of `unit` quarter notes, with its picture where it is one note of at most two dots."""
    kind, _ = SINGLE_NOTES.get(unit, ("", 0))
    if kind not in _FLAGS:
        return Beat(f"{unit} × {words('note.quarter')}")
    return Beat(beat_name(unit, words), _address(unit))


@lru_cache(maxsize=1)
def beat_images() -> dict[str, DrawnMusic]:
    """The pictures of all beats by their addresses."""
    return {
        _address(unit): _drawn(kind, dots) for unit, (kind, dots) in SINGLE_NOTES.items() if kind in _FLAGS
    }


def _address(unit: Fraction) -> str:
    return f"beat:{unit.numerator}-{unit.denominator}"


def _drawn(kind: str, dots: int) -> DrawnMusic:
    shapes = _head(kind)
    flags = _FLAGS[kind]
    if kind not in _STEMLESS:
        shapes.append("M107 10l15 0 0 280 -15 0z")
    # The more flags a note has, the closer they stand: the lowest ends above the head.
    step = min(_FLAG_STEP, 2 * _FLAG_STEP // max(flags - 1, 1))
    shapes += [
        f"M119 {10 + step * n}c0 60 70 75 70 150 0 26 -8 46 -18 62 12 -74 -16 -98 -52 -106z"
        for n in range(flags)
    ]
    right = 212 if kind in _STEMLESS else 190 if flags else 130
    # Beside a note without flags the dots may stand where its flags would.
    first = 240 if kind in _STEMLESS else 226 if flags > 1 else 186
    shapes += [_filled(_Oval(first + _DOT_STEP * n, 286, 27, 27)) for n in range(dots)]
    width = first + _DOT_STEP * (dots - 1) + 34 if dots else right
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {_HEIGHT}">{_paths(shapes)}</svg>'
    return DrawnMusic(svg, width / 100, _HEIGHT / 100)


def _head(kind: str) -> list[str]:
    """The head of a note: filled, or open with its hole; a breve's stands between bars."""
    if kind not in _STEMLESS:
        head = _Oval(*_HEAD, 63, 45, _TILT)
        return [_filled(head) if kind not in _OPEN else _ring(head, replace(head, wide=53, high=21))]
    head = _Oval(*_WIDE_HEAD, 84, 47)
    bars = [f"M{x} 235l11 0 0 140 -11 0z" for x in (2, 195)] if kind == "breve" else []
    return [_ring(head, replace(head, wide=40, high=32, tilt=60)), *bars]


def _paths(shapes: list[str]) -> str:
    return "".join(f'<path fill="#111111" d="{shape}"/>' for shape in shapes)


@dataclass(frozen=True, slots=True)
class _Oval:
    """A tilted ellipse of four curves: its middle, its half axes in hundredths of a millimetre, its tilt in degrees."""

    x: float
    y: float
    wide: float
    high: float
    tilt: float = 0.0

    def points(self) -> list[tuple[int, int]]:
        """Where it begins, then two handles and an end for each curve."""
        k = _ROUND
        corners = [(1, 0), (1, k), (k, 1), (0, 1), (-k, 1), (-1, k), (-1, 0), (-1, -k), (-k, -1), (0, -1),
                   (k, -1), (1, -k), (1, 0)]  # fmt: skip
        turn = radians(self.tilt)
        return [
            (
                round(self.x + a * self.wide * cos(turn) - b * self.high * sin(turn)),
                round(self.y + a * self.wide * sin(turn) + b * self.high * cos(turn)),
            )
            for a, b in corners
        ]


def _filled(oval: _Oval) -> str:
    (x, y), *others = oval.points()
    return f"M{x} {y}C{_listed(others)}Z"


def _ring(oval: _Oval, hole: _Oval) -> str:
    """An oval with a hole, drawn the other way round; it is moved to by "m", since an "M" begins a shape of its own."""
    x, y = oval.points()[0]
    (hole_x, hole_y), *others = reversed(hole.points())
    return f"{_filled(oval)}m{hole_x - x} {hole_y - y}C{_listed(others)}Z"


def _listed(points: list[tuple[int, int]]) -> str:
    return " ".join(f"{x} {y}" for x, y in points)
