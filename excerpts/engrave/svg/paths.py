"""Outlines: closed and open curves as absolute moves, lines and cubic curves, with affine maps on them.

Path letters follow W3C SVG 2, "Paths"; only those that music engraving uses are read (M L H V C S Q T Z,
upper and lower case), anything else is refused rather than skipped.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from math import hypot
from typing import NamedTuple

from excerpts.engrave.svg.rect import Rect
from excerpts.errors import EngravingError

Op = tuple[str, tuple[float, ...]]
"""One drawing step: ("M", (x, y)), ("L", (x, y)), ("C", (x1, y1, x2, y2, x, y)) or ("Z", ())."""

_TOKEN = re.compile(r"([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
_STROKE = re.compile(r"M(-?[\d.]+) (-?[\d.]+) L(-?[\d.]+) (-?[\d.]+)")
_NUMBER = re.compile(r"-?[\d.]+")
_POINT = r"-?[\d.]+,-?[\d.]+"
_CURVES = re.compile(rf"M{_POINT}(?: C{_POINT} {_POINT} {_POINT})+")
_ARITY = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}


class Map(NamedTuple):
    """An affine map: x' = a·x + c·y + e, y' = b·x + d·y + f; a tuple for the reason that `Rect` is one."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def after(self, inner: Map) -> Map:
        """The map that does `inner` first and then this one."""
        if self.b == self.c == inner.b == inner.c == 0.0:  # as all but a few are
            return Map(
                self.a * inner.a, 0.0, 0.0, self.d * inner.d,
                self.a * inner.e + self.e, self.d * inner.f + self.f,
            )  # fmt: skip
        return Map(
            self.a * inner.a + self.c * inner.b,
            self.b * inner.a + self.d * inner.b,
            self.a * inner.c + self.c * inner.d,
            self.b * inner.c + self.d * inner.d,
            self.a * inner.e + self.c * inner.f + self.e,
            self.b * inner.e + self.d * inner.f + self.f,
        )

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Where the point goes."""
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    @property
    def upright(self) -> bool:
        """It neither turns nor slants."""
        return self.b == 0.0 and self.c == 0.0

    @property
    def scale(self) -> float:
        """How much it magnifies a length (exact where it magnifies both directions alike)."""
        return hypot(self.a, self.b)


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

    def mapped(self, by: Map) -> Outline:
        """The outline with all its points moved by a map."""
        moved: list[Op] = []
        for letter, values in self.ops:
            points: list[float] = []
            for index in range(0, len(values), 2):
                points.extend(by.point(values[index], values[index + 1]))
            moved.append((letter, tuple(points)))
        return Outline(tuple(moved))


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


def _steps(data: str) -> list[tuple[str, list[float]]]:
    steps: list[tuple[str, list[float]]] = []
    letter = ""
    numbers: list[float] = []

    def flush() -> None:
        arity = _ARITY.get(letter.upper())
        if arity is None or (arity == 0) != (not numbers) or (arity and len(numbers) % arity):
            raise EngravingError(f"a path of the engraving cannot be read: '{letter}' in '{data[:60]}'")
        for index in range(0, len(numbers), arity or 1):
            follow = {"M": "L", "m": "l"}.get(letter, letter) if index else letter
            steps.append((follow, numbers[index : index + arity]))
        if not arity:
            steps.append((letter, []))

    for match in _TOKEN.finditer(data):
        if match.group(1):
            if letter:
                flush()
            letter, numbers = match.group(1), []
        else:
            numbers.append(float(match.group(2)))
    if letter:
        flush()
    return steps


class _Pen:
    """Where the drawing stands while path data is read."""

    def __init__(self) -> None:
        self.ops: list[Op] = []
        self.x = self.y = 0.0
        self.start = (0.0, 0.0)
        self.handle: tuple[float, float] | None = None
        self.family = ""

    def step(self, letter: str, values: list[float]) -> None:
        upper = letter.upper()
        points = self._absolute(letter, values)
        mirror = self.handle if self.handle and self.family == {"S": "C", "T": "Q"}.get(upper) else None
        if upper == "Z":
            self.ops.append(("Z", ()))
            self.x, self.y = self.start
        elif upper in {"M", "L", "H", "V"}:
            self.ops.append(("M" if upper == "M" else "L", (points[0], points[1])))
            if upper == "M":
                self.start = (points[0], points[1])
        elif upper in {"C", "S"}:
            if upper == "S":
                points = [*self._mirrored(mirror), *points]
            self._cubic(points)
        else:
            if upper == "T":
                points = [*self._mirrored(mirror), *points]
            self._quadratic(points)
        self._remember(upper, points)

    def _absolute(self, letter: str, values: list[float]) -> list[float]:
        dx, dy = (self.x, self.y) if letter.islower() else (0.0, 0.0)
        if letter.upper() == "H":
            return [values[0] + dx, self.y]
        if letter.upper() == "V":
            return [self.x, values[0] + dy]
        return [value + (dy if index % 2 else dx) for index, value in enumerate(values)]

    def _mirrored(self, handle: tuple[float, float] | None) -> tuple[float, float]:
        return (2 * self.x - handle[0], 2 * self.y - handle[1]) if handle else (self.x, self.y)

    def _cubic(self, p: list[float]) -> None:
        self.ops.append(("C", (p[0], p[1], p[2], p[3], p[4], p[5])))

    def _quadratic(self, p: list[float]) -> None:
        x1, y1 = self.x + 2 / 3 * (p[0] - self.x), self.y + 2 / 3 * (p[1] - self.y)
        x2, y2 = p[2] + 2 / 3 * (p[0] - p[2]), p[3] + 2 / 3 * (p[1] - p[3])
        self.ops.append(("C", (x1, y1, x2, y2, p[2], p[3])))

    def _remember(self, upper: str, points: list[float]) -> None:
        self.family = {"S": "C", "T": "Q"}.get(upper, upper)
        self.handle = (points[-4], points[-3]) if self.family in {"C", "Q"} else None
        if points:
            self.x, self.y = points[-2], points[-1]


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
    pen = _Pen()
    for letter, values in _steps(data):
        pen.step(letter, values)
    return Outline(tuple(pen.ops))
