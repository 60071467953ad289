"""A staff on a page, and the page that was turned straight with all of its staves."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

INK: Final = 0.72
"""What is darker than so much of its paper is ink."""


@dataclass(frozen=True, slots=True)
class Staff:
    """Five lines on the page turned straight; all in pixels.

    A page that was photographed is bowed, and one side of it may be nearer: a staff is a curve whose lines may stand a
    little closer at one end.

    Attributes:
        left: Where its lines begin.
        right: Where they end.
        curve: The middle of its top line as a polynomial of the place, the constant first.
        spaces: From the middle of a line to the middle of the next: at the page's left edge, and how much more a pixel.
    """

    left: float
    right: float
    curve: tuple[float, ...]
    spaces: tuple[float, float]

    @property
    def middle(self) -> float:
        """Half way along it."""
        return (self.left + self.right) / 2

    @property
    def space(self) -> float:
        """From line to line half way along it."""
        return self.space_at(self.middle)

    def space_at(self, x: float) -> float:
        """From line to line at a place."""
        return self.spaces[0] + self.spaces[1] * x

    def top_at(self, x: float) -> float:
        """The middle of the top line at a place."""
        return float(np.polynomial.polynomial.polyval(x, self.curve))

    def bottom_at(self, x: float) -> float:
        """The middle of the bottom line at a place."""
        return self.top_at(x) + 4 * self.space_at(x)

    def tops(self, columns: NDArray[np.float64]) -> NDArray[np.float64]:
        """The middle of the top line at many places."""
        return np.asarray(np.polynomial.polynomial.polyval(columns, self.curve), dtype=np.float64)

    def spaces_at(self, columns: NDArray[np.float64] | NDArray[np.int_]) -> NDArray[np.float64]:
        """From line to line at many places."""
        return np.asarray(self.spaces[0] + self.spaces[1] * columns, dtype=np.float64)

    def slope(self, left: float, right: float) -> float:
        """How far it runs down to the right between two places, for each pixel."""
        left, right = max(left, self.left), min(right, self.right)
        return (self.top_at(right) - self.top_at(left)) / max(right - left, 1.0)

    def bow(self, left: float, right: float) -> float:
        """How far it strays from a straight line between two places."""
        left, right = max(left, self.left), min(right, self.right)
        x = np.linspace(left, right, 9)
        straight = np.linspace(self.top_at(left), self.top_at(right), 9)
        return float(np.abs(self.tops(x) - straight).max())


@dataclass(frozen=True)
class Straight:
    """A page turned straight about its middle.

    Attributes:
        dark: How dark each pixel is against its paper, 0 to 1.
        angle: How far its lines ran down to the right, in radians.
        scale: Its pixels for each pixel of the page that was looked at.
        staves: Its staves, from the top.
    """

    dark: NDArray[np.float32]
    angle: float
    scale: float
    staves: tuple[Staff, ...]

    @cached_property
    def ink(self) -> NDArray[np.bool_]:
        """Where there is ink."""
        return self.dark > 1 - INK

    def turned(self, x: float, y: float) -> tuple[float, float]:
        """Where a pixel of the page that was looked at stands on it."""
        height, width = self.dark.shape
        x, y = x * self.scale - width / 2, y * self.scale - height / 2
        cos, sin = float(np.cos(self.angle)), float(np.sin(self.angle))
        return cos * x + sin * y + width / 2, cos * y - sin * x + height / 2

    def back(self, x: float, y: float) -> tuple[float, float]:
        """Where a pixel of it stands on the page that was looked at."""
        height, width = self.dark.shape
        x, y = x - width / 2, y - height / 2
        cos, sin = float(np.cos(self.angle)), float(np.sin(self.angle))
        return (cos * x - sin * y + width / 2) / self.scale, (cos * y + sin * x + height / 2) / self.scale
