"""A small picture of the note that beats, drawn by ourselves so that text faces need no music signs."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import cos, radians, sin

from excerpts.words import Words
from excerpts.workbook.drawn import DrawnMusic

_NAMES = {
    Fraction(4): "whole",
    Fraction(2): "half",
    Fraction(1): "quarter",
    Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th",
    Fraction(1, 8): "32nd",
}
_FLAGS = {Fraction(1, 2): 1, Fraction(1, 4): 2, Fraction(1, 8): 3}
_HEIGHT = 360
_ROUND = 0.5523
"""How far the handles of a curve reach that draws a quarter of a circle."""
_HEAD = (64, 305)
_TILT = -24


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
    """The beat of `unit` quarter notes, with its picture where it is one plain or dotted note."""
    plain = _plain(unit)
    if plain not in _NAMES:
        return Beat(f"{unit} × {words('note.quarter')}")
    name = words(f"note.{_NAMES[plain]}")
    if plain != unit:
        name = words("note.dotted", note=name)
    return Beat(name, _address(unit) if plain <= 2 else "")


@lru_cache(maxsize=1)
def beat_images() -> dict[str, DrawnMusic]:
    """The pictures of all beats by their addresses."""
    plain = [unit for unit in _NAMES if unit <= 2]
    units = [*plain, *(unit * Fraction(3, 2) for unit in plain)]
    return {_address(unit): _drawn(unit) for unit in units}


def _plain(unit: Fraction) -> Fraction:
    """The note without its dot."""
    undotted = unit * Fraction(2, 3)
    return undotted if unit not in _NAMES and undotted in _NAMES else unit


def _address(unit: Fraction) -> str:
    return f"beat:{unit.numerator}-{unit.denominator}"


def _drawn(unit: Fraction) -> DrawnMusic:
    plain = _plain(unit)
    flags = _FLAGS.get(plain, 0)
    shapes = [_ellipse(*_HEAD, 63, 45), "M107 10l15 0 0 280 -15 0z"]
    if plain == 2:
        shapes[0] += _ellipse(*_HEAD, 53, 21, backwards=True)
    shapes += [f"M119 {10 + 65 * n}c0 60 70 75 70 150 0 26 -8 46 -18 62 12 -74 -16 -98 -52 -106z"
               for n in range(flags)]  # fmt: skip
    width = 190 if flags else 130
    if plain != unit:
        shapes.append(_ellipse(186, 286, 27, 27))
        width = 220
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {_HEIGHT}">{_paths(shapes)}</svg>'
    return DrawnMusic(svg, width / 100, _HEIGHT / 100)


def _paths(shapes: list[str]) -> str:
    return "".join(f'<path fill="#111111" d="{shape}"/>' for shape in shapes)


def _ellipse(x: float, y: float, wide: float, high: float, *, backwards: bool = False) -> str:
    """A tilted ellipse of four curves; one that is drawn backwards cuts a hole."""
    k = _ROUND
    corners = [(1, 0), (1, k), (k, 1), (0, 1), (-k, 1), (-1, k), (-1, 0), (-1, -k), (-k, -1), (0, -1),
               (k, -1), (1, -k), (1, 0)]  # fmt: skip
    turn = radians(_TILT)
    points = [
        (
            round(x + a * wide * cos(turn) - b * high * sin(turn)),
            round(y + a * wide * sin(turn) + b * high * cos(turn)),
        )
        for a, b in (reversed(corners) if backwards else corners)
    ]
    first, *others = (f"{px} {py}" for px, py in points)
    return f"M{first}C{' '.join(others)}Z"
