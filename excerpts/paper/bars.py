"""Finds barlines: upright lines as high as the staff that no notehead touches, told by all staves of a system."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from excerpts.paper.staves import Staff, Straight

_THICK: Final = 0.9
"""Staff spaces that a barline may be wide."""
_TOGETHER: Final = 1.4
"""Staff spaces between lines that are one double bar, or a repeat."""


def systems(page: Straight) -> list[list[Staff]]:
    """The staves of a page by systems: those that a line at their left joins belong together."""
    found: list[list[Staff]] = []
    for staff in page.staves:
        if found and _joined(page.ink, found[-1][-1], staff):
            found[-1].append(staff)
        else:
            found.append([staff])
    return found


def _joined(ink: NDArray[np.bool_], upper: Staff, lower: Staff) -> bool:
    """Whether a line goes down from the beginning of one staff to that of the next."""
    space = upper.space
    if abs(upper.left - lower.left) > 2 * space:
        return False
    x = round((upper.left + lower.left) / 2)
    top, bottom = round(upper.bottom_at(x) + 0.5 * space), round(lower.top_at(x) - 0.5 * space)
    if bottom - top < space:
        return False
    reach = round(1.2 * space)
    beside = ink[top:bottom, max(x - reach, 0) : x + reach + 1]
    return bool((np.maximum(beside[:, 1:], beside[:, :-1]).mean(axis=0) > 0.95).any())


def barlines(ink: NDArray[np.bool_], staves: list[Staff]) -> list[float]:
    """Where barlines stand that most of the staves of a system have, without the line at its beginning.

    Args:
        ink: Ink of the page, turned straight.
        staves: The staves of one system.

    Returns:
        Pixels from the left of the page, from left to right; a double bar once.
    """
    votes = sorted(
        (x, place) for place, staff in enumerate(staves) for x in _of_staff(ink, staff, len(staves))
    )
    space = staves[0].space
    groups: list[list[tuple[float, int]]] = []
    for x, place in votes:
        if groups and x - groups[-1][-1][0] < _TOGETHER * space:
            groups[-1].append((x, place))
        else:
            groups.append([(x, place)])
    begins = min(staff.left for staff in staves) + 1.5 * space
    return [
        (group[0][0] + group[-1][0]) / 2
        for group in groups
        if 2 * len({place for _, place in group}) > len(staves) and group[-1][0] > begins
    ]


def _of_staff(ink: NDArray[np.bool_], staff: Staff, count: int) -> list[float]:
    """Middles of what may be a barline in one staff."""
    height, width = ink.shape
    x0, x1 = max(int(staff.left) - 2, 0), min(int(staff.right) + 3, width)
    columns = np.arange(x0, x1)
    size = round(4 * staff.space) + 1
    tops = np.rint(staff.top + staff.slope * columns).astype(int).clip(0, height - size - 1)
    inside = ink[tops[:, None] + np.arange(size), columns[:, None]]
    beside = np.pad(inside, ((1, 1), (0, 0)))
    full = (inside | beside[:-2] | beside[2:]).mean(axis=1) > 0.97  # a line of a scan is ragged
    changes = np.diff(np.pad(full.astype(np.int8), 1))
    found = []
    ends = np.flatnonzero(changes == -1).tolist()
    for start, end in zip(np.flatnonzero(changes == 1).tolist(), ends, strict=True):
        x = x0 + (start + end - 1) / 2
        if end - start > _THICK * staff.space + 2 or not _clean(inside, start, end, staff.space):
            continue
        if count == 1 and _goes_on(ink, staff, x0 + start, x0 + end):
            continue
        found.append(float(x))
    return found


def _clean(inside: NDArray[np.bool_], start: int, end: int, space: float) -> bool:
    """Whether one side is white between the lines, and the other has no more than the dots of a repeat."""
    reach = max(round(0.55 * space), 3)
    rows = np.concatenate(
        [np.arange(round((k + 0.3) * space), round((k + 0.7) * space) + 1) for k in range(4)]
    )
    before = inside[max(start - 1 - reach, 0) : max(start - 1, 0)][:, rows]
    after = inside[end + 1 : end + 1 + reach][:, rows]
    sides = sorted(float(side.mean()) if side.size else 0.0 for side in (before, after))
    return sides[0] < 0.02 and sides[1] < 0.45


def _goes_on(ink: NDArray[np.bool_], staff: Staff, start: int, end: int) -> bool:
    """Whether a line of a single staff goes on above or below it, as a stem does."""
    height = ink.shape[0]
    x = (start + end) // 2
    reach = round(0.5 * staff.space)
    top, bottom = round(staff.top_at(x)), round(staff.bottom_at(x))
    skip = round(0.25 * staff.space) + 1
    above = ink[max(top - skip - reach, 0) : max(top - skip, 0), start:end].any(axis=1)
    below = ink[min(bottom + skip, height) : min(bottom + skip + reach, height), start:end].any(axis=1)
    return bool((above.size and above.all()) or (below.size and below.all()))
