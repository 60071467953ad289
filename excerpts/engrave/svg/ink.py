"""Ink: the drawn things of one system, in millimetres, each with the bar and note that it belongs to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from fontTools.misc.transform import Transform

from excerpts.engrave.svg.paths import Op, Outline
from excerpts.engrave.svg.rect import Rect

_SAMPLES = 12
"""Points per curve when the height of a slur over a stretch is wanted: off by less than 0.05 mm."""


class Owner(NamedTuple):
    """What a piece of ink belongs to.

    Attributes:
        bar: Index of the bar in the excerpt; for what goes on from an earlier system, the bar it starts in.
        kind: The engraver's word for the thing ("notehead", "slur", "barLine", "clef", "dir" …).
        note: Id of the note or rest in the private copy, "" for what is not a note's.
        origin: Id of the element, the same on every system that it spans; "" where it has none.
        spanning: It goes on from an earlier system.
    """

    bar: int
    kind: str
    note: str = ""
    origin: str = ""
    spanning: bool = False


class Paint(NamedTuple):
    """How an outline is painted: filled, stroked (width in mm, 0 for none) or both.

    Attributes:
        fill: Fill the outline.
        stroke: Width of the stroke in millimetres, 0 for none.
        cap: "butt", "round" or "square".
        dash: Lengths of dash and gap in millimetres, empty for a solid line.
        colour: Colour of the source, "" for the style's.
    """

    fill: bool = True
    stroke: float = 0.0
    cap: str = "butt"
    dash: tuple[float, ...] = ()
    colour: str = ""


PLAIN = Paint()
"""Filled, in the style's colour."""


@dataclass(slots=True, eq=False)
class Ink:
    """One drawn thing: an outline, the map that takes it to millimetres, and how it is painted.

    Not to be changed once made. A character that no shipped face has is `fallback` text: its outline is the
    rectangle that it is reckoned to fill.
    """

    outline: Outline
    map: Transform
    owner: Owner
    paint: Paint = PLAIN
    fallback: str = ""
    _rect: Rect | None = field(default=None, init=False)

    @property
    def rect(self) -> Rect:
        """The rectangle it fills, strokes included (curves by their handles: never too small)."""
        if self._rect is None:
            self._rect = self._measured()
        return self._rect

    def _measured(self) -> Rect:
        box, (a, b, c, d, e, f) = self.outline.box, self.map
        if box is None:
            x, y = self.map.transformPoint((0.0, 0.0))
            return Rect(x, y, x, y)
        left, top, right, bottom = box
        half = self.paint.stroke / 2
        if b == 0.0 and c == 0.0:
            x1, x2 = a * left + e, a * right + e
            y1, y2 = d * top + f, d * bottom + f
            if x1 > x2:
                x1, x2 = x2, x1
            if y1 > y2:
                y1, y2 = y2, y1
        else:
            corners = [self.map.transformPoint((x, y)) for x in (left, right) for y in (top, bottom)]
            x1, x2 = min(x for x, _ in corners), max(x for x, _ in corners)
            y1, y2 = min(y for _, y in corners), max(y for _, y in corners)
        return Rect(x1 - half, y1 - half, x2 + half, y2 + half)

    @property
    def stretches(self) -> bool:
        """It is a slur, tie, hairpin, beam or line: its height differs from one x to the next."""
        return self.owner.kind in STRETCHING

    def between(self, left: float, right: float) -> tuple[float, float] | None:
        """Top and bottom of the part of it between two x; None where no part of it is."""
        rect = self.rect
        if rect.right <= left or rect.left >= right:
            return None
        if not self.stretches or (rect.left >= left and rect.right <= right):
            return rect.top, rect.bottom
        half = self.paint.stroke / 2
        ys = [y for x, y in self.samples() if left <= x <= right]
        return (min(ys) - half, max(ys) + half) if ys else None

    def samples(self) -> Iterator[tuple[float, float]]:
        """Points along the outline in millimetres, close to one another."""
        for x, y in _walk(self.outline.ops):
            yield self.map.transformPoint((x, y))


STRETCHING = frozenset({
    "slur", "tie", "lv", "hairpin", "beam", "beamSpan", "phrase", "octave", "gliss", "bracketSpan",
    "tupletBracket", "ending", "pedal", "trill", "extender",
})  # fmt: skip


def _walk(ops: tuple[Op, ...]) -> Iterator[tuple[float, float]]:
    x = y = 0.0
    start = (0.0, 0.0)
    for letter, values in ops:
        if letter == "M":
            x, y = start = (values[0], values[1])
            yield x, y
            continue
        if letter == "C":
            yield from _curve(x, y, values)
        else:
            yield from _line(x, y, start if letter == "Z" else (values[0], values[1]))
        x, y = start if letter == "Z" else (values[-2], values[-1])


def _line(x: float, y: float, end: tuple[float, float]) -> Iterator[tuple[float, float]]:
    count = _SAMPLES * 4
    for index in range(1, count + 1):
        t = index / count
        yield x + t * (end[0] - x), y + t * (end[1] - y)


def _curve(x: float, y: float, c: tuple[float, ...]) -> Iterator[tuple[float, float]]:
    for index in range(1, _SAMPLES * 4 + 1):
        t = index / (_SAMPLES * 4)
        u = 1 - t
        w0, w1, w2, w3 = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
        yield w0 * x + w1 * c[0] + w2 * c[2] + w3 * c[4], w0 * y + w1 * c[1] + w2 * c[3] + w3 * c[5]


def heights(inks: Iterable[Ink], left: float, right: float) -> tuple[float, float] | None:
    """Top and bottom of all ink between two x, or None if there is none."""
    spans = []
    for ink in inks:
        rect = ink.rect
        if rect.right > left and rect.left < right:
            span = ink.between(left, right)
            if span is not None:
                spans.append(span)
    if not spans:
        return None
    return min(top for top, _ in spans), max(bottom for _, bottom in spans)
