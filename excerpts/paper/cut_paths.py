"""Cuts between systems: a path through the white, bent round notes that reach out of their system."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

_WIDE: Final = 4
"""Pixels of a step to the right."""
_STEEP: Final = 4
"""Pixels up or down that a step may take."""
_INK: Final = 1000.0
"""What a pixel of ink costs; a path as far from where it is wanted as can be costs 1 a step."""

Path = tuple[NDArray[np.float64], NDArray[np.float64]]
"""Columns, and the row of the path in each."""


def white_path(
    ink: NDArray[np.bool_], left: float, right: float, low: float, high: float, wanted: float
) -> Path:
    """The path from left to right that goes through the least ink, as near as can be to a row.

    Args:
        ink: The ink of the page.
        left: Its first column.
        right: Its last.
        low: The highest row that it may take.
        high: The lowest.
        wanted: The row that it keeps to where nothing is in the way.
    """
    height, width = ink.shape
    x0, x1 = max(int(left), 0), min(int(right) + 1, width)
    y0, y1 = max(int(low), 0), min(max(int(high), int(low) + 2), height)
    starts = np.arange(x0, max(x1, x0 + 1), _WIDE)
    if y1 - y0 < 2 or x1 - x0 < 2 * _WIDE:
        return np.array([left, right]), np.array([wanted, wanted])
    block = ink[y0:y1, x0:x1]
    black = np.add.reduceat(block, starts - x0, axis=1).T > 0
    rows = np.arange(y0, y1)
    cost = black * _INK + np.abs(rows - wanted) / (y1 - y0)
    total, came = cost[0], []
    for column in cost[1:]:
        around = np.pad(total, _STEEP, constant_values=np.inf)
        near = np.lib.stride_tricks.sliding_window_view(around, 2 * _STEEP + 1)
        best = (near + np.abs(np.arange(-_STEEP, _STEEP + 1)) * 0.02).argmin(axis=1)
        came.append(best - _STEEP)
        total = column + near[np.arange(rows.size), best]
    at = [int(total.argmin())]
    for steps in reversed(came):
        at.append(at[-1] + int(steps[at[-1]]))
    return starts + _WIDE / 2, rows[at[::-1]].astype(float)
