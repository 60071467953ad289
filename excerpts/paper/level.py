"""Makes bowed staves level: where a pixel of the level line is found on the page."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from excerpts.paper.barlines import System
from excerpts.paper.page_staff import Staff

Floats = NDArray[np.float64]

_BOWED: Final = 0.15
"""Staff spaces that a staff may stray from a straight line before it is made level."""
_NARROWER: Final = 0.02
"""Part of its height that a staff may have less at one end."""
_LEANING: Final = 0.01


def is_bowed(system: System, staves: tuple[Staff, ...], left: float, right: float) -> bool:
    """Whether a part of a system is bowed, runs askew or stands nearer at one end."""
    slopes = [staff.slope(left, right) for staff in staves]
    widths = [abs(staff.space_at(right) / staff.space_at(left) - 1) for staff in staves]
    return (
        max(staff.bow(left, right) / staff.space for staff in staves) > _BOWED
        or max(widths) > _NARROWER
        or max(abs(lean) for lean in system.lean) > _LEANING
        or (max(slopes) - min(slopes)) * (right - left) > 2 * _BOWED * system.space
    )


class Level:
    """The level line of a system: as the page is at one place of it, all along.

    Args:
        system: The system.
        at: That place.
    """

    def __init__(self, system: System, at: float) -> None:
        self._system, self._at = system, at
        self._knots = np.array(
            [y for staff in system.staves for y in (staff.top_at(at), staff.bottom_at(at))]
        )

    def _there(self, columns: Floats) -> Floats:
        """The tops and bottoms of its staves in each column of the page."""
        rows = []
        for staff in self._system.staves:
            tops = staff.tops(columns)
            rows += [tops, tops + 4 * staff.spaces_at(columns)]
        return np.array(rows)

    def on_page(self, columns: Floats, rows: Floats) -> tuple[Floats, Floats]:
        """Where the pixels of some columns and rows of the level line stand on the straight page."""
        there = self._there(columns)
        ys = np.array([_through(rows, self._knots, there[:, place]) for place in range(columns.size)]).T
        part = (columns - self._system.left) / max(self._system.right - self._system.left, 1.0)
        lean = self._system.lean[0] + (self._system.lean[1] - self._system.lean[0]) * part
        return columns + lean * (ys - there[0]), ys

    def levelled(self, columns: Floats, rows: Floats) -> Floats:
        """The rows of the level line for places of the page."""
        there = self._there(columns)
        return np.array(
            [
                float(_through(rows[place : place + 1], there[:, place], self._knots)[0])
                for place in range(columns.size)
            ]
        )


def _through(rows: Floats, knots: Floats, there: Floats) -> Floats:
    """Between knots as they are moved, beyond them as the outermost is."""
    moved: Floats = np.interp(rows, knots, there)
    moved += np.where(rows < knots[0], rows - knots[0], 0) + np.where(rows > knots[-1], rows - knots[-1], 0)
    return moved
