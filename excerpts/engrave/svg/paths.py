"""Outlines: closed and open curves as absolute moves, lines and cubic curves, with affine maps on them.

Path data and maps are read and reckoned by fontTools; what of a path cannot be read is refused rather than skipped.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from math import hypot
from typing import Any

from fontTools.misc.transform import Transform
from fontTools.pens.basePen import decomposeQuadraticSegment
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path.parser import parse_path

from excerpts.engrave.svg.rect import Rect
from excerpts.errors import EngravingError

Op = tuple[str, tuple[float, ...]]
"""One drawing step: ("M", (x, y)), ("L", (x, y)), ("C", (x1, y1, x2, y2, x, y)) or ("Z", ())."""

_UNKNOWN = re.compile(r"[^MLHVCSQTAZmlhvcsqtazeE0-9.,+\-\s]")
"""Letters that fontTools would pass over."""
_STROKE = re.compile(r"M(-?[\d.]+) (-?[\d.]+) L(-?[\d.]+) (-?[\d.]+)")
_NUMBER = re.compile(r"-?[\d.]+")
_POINT = r"-?[\d.]+,-?[\d.]+"
_CURVES = re.compile(rf"M{_POINT}(?: C{_POINT} {_POINT} {_POINT})+")


def magnification(by: Transform) -> float:
    """How much a map magnifies a length (exact where it magnifies both directions alike)."""
    return hypot(by.xx, by.xy)


@dataclass(slots=True, eq=False)
class Outline:
    """A drawn shape in its own units, y downwards. Two outlines are the same only if they are one object.

    Not to be changed once made.

    Attributes:
        ops: The drawing steps.
        box: The rectangle round all points, found from the steps where it is not given; None without any.
    """

    ops: tuple[Op, ...]
    box: Rect | None = None

    def __post_init__(self) -> None:
        if self.box is None:
            xs = [value for _, values in self.ops for value in values[0::2]]
            ys = [value for _, values in self.ops for value in values[1::2]]
            self.box = Rect(min(xs), min(ys), max(xs), max(ys)) if xs else None

    def mapped(self, by: Transform) -> Outline:
        """The outline with all its points moved by a map."""
        return Outline(
            tuple(
                (
                    letter,
                    tuple(
                        chain.from_iterable(by.transformPoints(zip(values[::2], values[1::2], strict=True)))
                    ),
                )
                for letter, values in self.ops
            )
        )


def polyline(points: list[tuple[float, float]], *, closed: bool = False) -> Outline:
    """A line through `points`."""
    ops: list[Op] = [("M" if index == 0 else "L", point) for index, point in enumerate(points)]
    if closed:
        ops.append(("Z", ()))
    return Outline(tuple(ops))


def rectangle(rect: Rect) -> Outline:
    """The outline of a rectangle."""
    return polyline(
        [
            (rect.left, rect.top),
            (rect.right, rect.top),
            (rect.right, rect.bottom),
            (rect.left, rect.bottom),
        ],
        closed=True,
    )


def ellipse(cx: float, cy: float, rx: float, ry: float) -> Outline:
    """An ellipse of four cubic curves; the constant makes them deviate by less than 0.03 % of the radius."""
    k = 0.5522847498
    return Outline(
        (
            ("M", (cx + rx, cy)),
            ("C", (cx + rx, cy + k * ry, cx + k * rx, cy + ry, cx, cy + ry)),
            ("C", (cx - k * rx, cy + ry, cx - rx, cy + k * ry, cx - rx, cy)),
            ("C", (cx - rx, cy - k * ry, cx - k * rx, cy - ry, cx, cy - ry)),
            ("C", (cx + k * rx, cy - ry, cx + rx, cy - k * ry, cx + rx, cy)),
            ("Z", ()),
        )
    )


def outline_of(recording: Iterable[tuple[str, tuple[Any, ...]]]) -> Outline:
    """The outline that a pen of fontTools has recorded, with cubic curves only.

    Args:
        recording: Names of the pen's methods with their points.
    """
    ops: list[Op] = []
    at = start = (0.0, 0.0)
    for name, points in recording:
        if name == "closePath":
            if ops[-1] == ("L", start):
                del ops[-1]  # closing draws the line
            ops.append(("Z", ()))
        elif name == "qCurveTo":
            for control, end in decomposeQuadraticSegment(points):
                ops.append(("C", (*_thirds(at, control), *_thirds(end, control), *end)))
                at = end
        elif points:
            ops.append((_LETTERS[name], tuple(chain.from_iterable(points))))
            at = points[-1]
            start = at if name == "moveTo" else start
    return Outline(tuple(ops))


_LETTERS = {"moveTo": "M", "lineTo": "L", "curveTo": "C"}


def _thirds(end: tuple[float, float], control: tuple[float, float]) -> tuple[float, float]:
    """The handle of a cubic curve at one end of a quadratic one."""
    return end[0] + 2 / 3 * (control[0] - end[0]), end[1] + 2 / 3 * (control[1] - end[1])


def read_path(data: str) -> Outline:
    """Read SVG path data.

    Raises:
        EngravingError: It has a letter or a number of arguments that is not known.
    """
    stroke = _STROKE.fullmatch(data)
    if stroke:  # half of all paths are a single line, each another one: staff, stem, barline
        x0, y0, x1, y1 = map(float, stroke.groups())
        box = Rect(x0 if x0 < x1 else x1, y0 if y0 < y1 else y1, x1 if x0 < x1 else x0, y1 if y0 < y1 else y0)
        return Outline((("M", (x0, y0)), ("L", (x1, y1))), box)
    if _CURVES.fullmatch(data):  # slurs and ties, each another one too
        numbers = tuple(map(float, _NUMBER.findall(data)))
        curves = [("C", numbers[place : place + 6]) for place in range(2, len(numbers), 6)]
        return Outline((("M", numbers[:2]), *curves))
    return _read_path(data)


@lru_cache(maxsize=2048)
def _read_path(data: str) -> Outline:
    pen = RecordingPen()
    try:
        if _UNKNOWN.search(data):
            raise ValueError(data)
        parse_path(data, pen)
    except (ValueError, IndexError) as error:
        raise EngravingError(f"a path of the engraving cannot be read: {data[:60]}") from error
    return outline_of(pen.value)
