"""Arcs and hairpins of our own, shaped like the engraver's."""

from __future__ import annotations

from dataclasses import dataclass

from fontTools.misc.transform import Transform

from excerpts.engrave.svg.ink import Ink, Owner, Paint
from excerpts.engrave.svg.paths import Outline, polyline

_STROKE = 9 / 720
"""Stroke round an arc, in staff heights, as the engraver's ties have."""
_THICK = 0.055
"""How far the outer curve of an arc lies outside the inner, in staff heights."""
_HAIRPIN_STROKE = 18 / 720


@dataclass(frozen=True, slots=True)
class Arc:
    """A tie or slur as a lens between two points.

    Attributes:
        x0: Left end, in millimetres.
        y0: Height of the left end.
        x1: Right end.
        y1: Height of the right end.
        rise: How far it bulges: upwards if positive.
    """

    x0: float
    y0: float
    x1: float
    y1: float
    rise: float

    def at(self, x: float) -> float:
        """Height of the inner curve at an x (the handles stand at a quarter, so x is nearly even)."""
        t = min(1.0, max(0.0, (x - self.x0) / (self.x1 - self.x0)))
        return self.y0 + t * (self.y1 - self.y0) - self.rise * 3 * t * (1 - t)

    def ink(self, owner: Owner, staff_mm: float) -> Ink:
        """The arc as ink."""
        outline = self._outline(_THICK * staff_mm * (1 if self.rise > 0 else -1))
        return Ink(outline, Transform(), owner, Paint(stroke=_STROKE * staff_mm, cap="round"))

    def _outline(self, thick: float) -> Outline:
        a, b = self.x0 + 0.25 * (self.x1 - self.x0), self.x1 - 0.25 * (self.x1 - self.x0)
        ya = self.y0 + 0.25 * (self.y1 - self.y0) - self.rise
        yb = self.y1 - 0.25 * (self.y1 - self.y0) - self.rise
        return Outline(
            (
                ("M", (self.x0, self.y0)),
                ("C", (a, ya - thick, b, yb - thick, self.x1, self.y1)),
                ("C", (b, yb, a, ya, self.x0, self.y0)),
                ("Z", ()),
            )
        )


def hairpin(
    x0: float, open0: float, x1: float, open1: float, y: float, owner: Owner, staff_mm: float
) -> list[Ink]:
    """Two lines round the height `y`, `open0` apart on the left and `open1` on the right."""
    paint = Paint(fill=False, stroke=_HAIRPIN_STROKE * staff_mm, cap="square")
    return [
        Ink(polyline([(x0, y + side * open0 / 2), (x1, y + side * open1 / 2)]), Transform(), owner, paint)
        for side in (-1, 1)
    ]
