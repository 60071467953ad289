"""Finds systems and barlines: upright lines as high as the staff that nothing but staff lines touches.

Each staff is levelled along its own lines first. A notehead, flag or beam hangs at one side of a stem; what crosses a
barline, as a tie does, goes on at its other side. All staves of a system tell whether a line is one of theirs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from excerpts.paper.page_staff import INK, Staff, Straight

_ROWS: Final = 12
"""Rows of a levelled staff from line to line."""
_OVER: Final = 1
"""Staff spaces above and below the staff that are levelled with it."""
_THICK: Final = 0.9
"""Staff spaces that a barline may be wide."""
_TOGETHER: Final = 1.4
"""Staff spaces between lines that are one double bar, or a repeat."""
_SAME: Final = 0.4
"""Staff spaces within which lines of two staves are one barline."""
_FULL: Final = 0.94
"""Part of the height of a staff that a barline has ink in."""
_BROKEN: Final = 0.85
"""Part of it that one of a worn plate has ink in, gaps apart."""
_NEARLY: Final = 0.85
"""Part of it that the columns at its sides have ink in."""
_TOUCH: Final = 0.2
"""Staff spaces that a notehead reaches from its stem at least."""
_STEEPEST: Final = 0.1
"""Pixels to the side for one down that an upright line may lean."""
_ALIKE: Final = 0.004
_WHOLE: Final = 0.93
"""Part of its staff lines that has ink on a page whose lines are whole."""
_GAP: Final = 0.5
"""Staff spaces that a barline may be broken for on another."""
_SLUR: Final = 0.55
"""Staff spaces that what crosses a barline may be thick: a beam has half of one."""


@dataclass(frozen=True, slots=True)
class System:
    """Staves that are played together, with their barlines, in pixels of the straight page.

    Attributes:
        staves: Its staves, from the top.
        bars: Where barlines begin and end at its top staff, from left to right, without the line at its beginning; a
            double bar or a repeat is one.
        unsure: Where there may be one more, or one of `bars` may be none.
        lean: How far an upright line runs to the right a pixel down: at its left end, and at its right.
    """

    staves: tuple[Staff, ...]
    bars: tuple[tuple[float, float], ...]
    unsure: tuple[float, ...]
    lean: tuple[float, float]

    @property
    def left(self) -> float:
        """Where its staves begin."""
        return min(staff.left for staff in self.staves)

    @property
    def right(self) -> float:
        """Where they end."""
        return max(staff.right for staff in self.staves)

    @property
    def edges(self) -> tuple[tuple[float, float], ...]:
        """Its beginning and its barlines, as bars are counted: 0 is the line's start."""
        return ((self.left, self.left), *self.bars)

    @property
    def space(self) -> float:
        """From line to line."""
        return float(np.median([staff.space for staff in self.staves]))


def systems(page: Straight) -> list[System]:
    """The staves of a page by systems, with their barlines."""
    ink = page.ink
    groups = _joined_staves(ink, page.staves)
    lean, gap = _lean(groups), _worn_gap(page)
    return [_system(ink, group, lean, gap) for group in groups]


def _worn_gap(page: Straight) -> int:
    """Rows of a levelled staff that barlines may be broken for: some where staff lines are, of a worn plate."""
    if not page.staves:
        return 0
    covered = np.median([_covered(page, staff) for staff in page.staves])
    return round(_GAP * _ROWS) if covered < _WHOLE else 0


def _covered(page: Straight, staff: Staff) -> float:
    """Part of the lines of a staff that has ink."""
    columns = np.arange(max(int(staff.left), 0), min(int(staff.right) + 1, page.dark.shape[1]))
    tops, spaces = staff.tops(columns.astype(float)), staff.spaces[0] + staff.spaces[1] * columns
    rows = np.rint(tops + np.arange(5)[:, None] * spaces).astype(int).clip(1, page.dark.shape[0] - 2)
    there = np.maximum.reduce([page.dark[rows + step, columns] for step in (-1, 0, 1)])
    return float((there > 1 - INK).mean())


def _joined_staves(ink: NDArray[np.bool_], staves: tuple[Staff, ...]) -> list[list[Staff]]:
    """The staves by systems: those that a line, bracket or brace at their left joins belong together."""
    systems: list[list[Staff]] = []
    for staff in staves:
        if systems and _joined(ink, systems[-1][-1], staff):
            systems[-1].append(staff)
        else:
            systems.append([staff])
    return systems


def _joined(ink: NDArray[np.bool_], upper: Staff, lower: Staff) -> bool:
    """Whether there is ink in every row from the beginning of one staff to that of the next."""
    space, off = upper.space, abs(upper.left - lower.left)
    if off > 2.5 * space:
        return False
    top = round(upper.bottom_at(upper.left) + 0.3 * space)
    bottom = round(lower.top_at(lower.left) - 0.3 * space)
    if bottom - top < 0.5 * space:
        return False
    rows = np.arange(top, bottom)
    begins = np.rint(np.interp(rows, (top, bottom), (upper.left, lower.left))).astype(int)
    # One of them may be taken to begin at a bracket that stands before it.
    steps = np.arange(-round(2.2 * space), round(0.6 * space + off) + 1)
    columns = (begins[:, None] + steps).clip(0, ink.shape[1] - 1)
    return bool(ink[rows.clip(0, ink.shape[0] - 1)[:, None], columns].any(axis=1).mean() > 0.96)


def _lean(groups: list[list[Staff]]) -> tuple[float, float]:
    """How upright lines lean at both sides of the page, as the ends of staves that stand together tell."""
    pairs = [(a, b) for group in groups for a, b in zip(group, group[1:], strict=False)]
    if not pairs:
        every = [group[0] for group in groups]
        pairs = [
            (a, b)
            for a, b in zip(every, every[1:], strict=False)
            if abs(a.left - b.left) < 2 * a.space and abs(a.right - b.right) < 2 * a.space
        ]
    if not pairs:
        return 0.0, 0.0
    left = [(b.left - a.left) / (b.top_at(b.left) - a.top_at(a.left)) for a, b in pairs]
    right = [(b.right - a.right) / (b.top_at(b.right) - a.top_at(a.right)) for a, b in pairs]
    return _steady(left), _steady(right)


def _steady(leans: list[float]) -> float:
    """The lean that most tell; what is less than the ends of lines can tell is none."""
    flat = [lean for lean in leans if abs(lean) < _STEEPEST]
    if not flat:
        return 0.0
    near = [[other for other in flat if abs(other - lean) < _ALIKE] for lean in flat]
    lean = float(np.median(max(near, key=lambda group: (len(group), -abs(float(np.median(group)))))))
    return lean if abs(lean) > _ALIKE else 0.0


def _system(ink: NDArray[np.bool_], staves: list[Staff], lean: tuple[float, float], gap: int) -> System:
    alone = System(tuple(staves), (), (), lean)
    votes = [
        _Vote(_at_top(alone, staff, x), place, sure)
        for place, staff in enumerate(staves)
        for x, sure in _of_staff(ink, staff, alone, gap)
    ]
    space, count = alone.space, len(staves)
    begins = max(_at_top(alone, staff, staff.left) for staff in staves if staff.left < alone.left + 3 * space)
    begins += 1.5 * space
    standing: list[float] = []
    unsure: list[float] = []
    for group in _grouped(votes, _SAME * space):
        x = float(np.median([vote.x for vote in group]))
        if x < begins:
            continue
        there = len({vote.staff for vote in group})
        sure = len({vote.staff for vote in group if vote.sure})
        if sure and there >= count - count // 4 and sure >= count - max(count // 4, 1):
            standing.append(x)
            if 4 * (sure + there) < 7 * count:
                unsure.append(x)
        elif 2 * there > count and 3 * sure >= count:
            unsure.append(x)
    return System(tuple(staves), _once(standing, _TOGETHER * space), tuple(unsure), lean)


@dataclass(frozen=True, slots=True)
class _Vote:
    """What may be a barline in one staff: where it meets the top staff, and whether nothing touches it."""

    x: float
    staff: int
    sure: bool


def leaning(system: System, x: float) -> float:
    """How an upright line leans at a place of a system."""
    part = (x - system.left) / max(system.right - system.left, 1.0)
    return system.lean[0] + (system.lean[1] - system.lean[0]) * part


def _at_top(system: System, staff: Staff, x: float) -> float:
    """Where an upright line through a place of a staff meets the top staff."""
    down = staff.top_at(x) - system.staves[0].top_at(x)
    return x - leaning(system, x) * down


def _grouped(votes: list[_Vote], reach: float) -> list[list[_Vote]]:
    """Votes for one place together, those with most staves first; each vote counts once."""
    left = sorted(votes, key=lambda vote: vote.x)
    groups: list[list[_Vote]] = []
    while left:
        best: list[_Vote] = []
        for vote in left:
            near = [other for other in left if abs(other.x - vote.x) <= reach]
            if _weight(near) > _weight(best):
                best = near
        groups.append(best)
        left = [vote for vote in left if vote not in best]
    return sorted(groups, key=lambda group: group[0].x)


def _weight(group: list[_Vote]) -> tuple[int, int]:
    return len({vote.staff for vote in group}), len({vote.staff for vote in group if vote.sure})


def _once(lines: list[float], reach: float) -> tuple[tuple[float, float], ...]:
    """Barlines from left to right, those of a double bar once."""
    groups: list[list[float]] = []
    for x in sorted(lines):
        if groups and x - groups[-1][-1] < reach:
            groups[-1].append(x)
        else:
            groups.append([x])
    return tuple((group[0], group[-1]) for group in groups)


def _of_staff(ink: NDArray[np.bool_], staff: Staff, system: System, gap: int) -> list[tuple[float, bool]]:
    """Middles of what is as high as a staff, and whether nothing hangs at it."""
    band = levelled(ink, staff, system)
    x0 = max(int(staff.left) - 2, 0)
    inside = _closed(band, gap)[:, _OVER * _ROWS : -_OVER * _ROWS]
    beside = np.pad(inside, ((1, 1), (0, 0)))
    high = (inside | beside[:-2] | beside[2:]).mean(axis=1)  # a line of a scan is ragged
    changes = np.diff(np.pad((high > _NEARLY).astype(np.int8), 1))
    starts, ends = np.flatnonzero(changes == 1).tolist(), np.flatnonzero(changes == -1).tolist()
    single = len(system.staves) == 1
    lines = []
    for start, end in zip(starts, ends, strict=True):
        if end - start <= _THICK * staff.space + 2 and high[start:end].max() > (_BROKEN if gap else _FULL):
            sure = not _hangs(band, start, end, staff.space) and not (single and _goes_on(band, start, end))
            lines.append((x0 + (start + end - 1) / 2, sure))
    return lines


def _closed(band: NDArray[np.bool_], gap: int) -> NDArray[np.bool_]:
    """A levelled staff in which upright lines go on over gaps of up to so many rows."""
    grown, closed = band.copy(), np.ones_like(band)
    for step in range(1, gap + 1):
        grown[:, step:] |= band[:, :-step]
    for step in range(gap + 1):
        closed[:, : band.shape[1] - step] &= grown[:, step:]
    return closed


def levelled(ink: NDArray[np.bool_], staff: Staff, system: System) -> NDArray[np.bool_]:
    """A staff made level, from two pixels before it to two after it; each column an upright line of the page.

    Returns:
        Columns, each with `_ROWS` rows to a space, from `_OVER` spaces above the staff to as many below.
    """
    height, width = ink.shape
    columns = np.arange(max(int(staff.left) - 2, 0), min(int(staff.right) + 3, width)).astype(float)
    steps = np.arange(-_OVER * _ROWS, (4 + _OVER) * _ROWS + 1) / _ROWS
    spaces = staff.spaces_at(columns)
    rows = staff.tops(columns)[:, None] + spaces[:, None] * steps
    part = (columns - system.left) / max(system.right - system.left, 1.0)
    leans = system.lean[0] + (system.lean[1] - system.lean[0]) * part
    across = columns[:, None] + leans[:, None] * (steps - 2) * spaces[:, None]
    band: NDArray[np.bool_] = ink[
        np.rint(rows).astype(int).clip(0, height - 1), np.rint(across).astype(int).clip(0, width - 1)
    ]
    return band


def _hangs(band: NDArray[np.bool_], start: int, end: int, space: float) -> bool:
    """Whether a notehead, a flag or a beam hangs at one side of a line; the dots of a repeat stand off."""
    reach = max(round(_TOUCH * space), 2)
    nothing = np.zeros((1, band.shape[1]), bool)
    before: NDArray[np.bool_] = (band[max(start - reach, 0) : start] if start else nothing).min(axis=0)
    after: NDArray[np.bool_] = (band[end : end + reach] if end < len(band) else nothing).min(axis=0)
    rows = np.arange(band.shape[1]) / _ROWS - _OVER
    near = np.abs(rows - np.rint(rows)) * _ROWS < 2.5
    free = (rows > -0.75) & (rows < 4.75) & ~(near & (rows > -0.5) & (rows < 4.5))
    crosses = _thin(before & after)
    touched = [int((side & ~crosses & free).sum()) for side in (before, after)]
    return max(touched) > 0.1 * _ROWS


def _thin(both: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Rows in which something thin goes through, and those beside it."""
    changes = np.diff(np.pad(both.astype(np.int8), 1))
    crossing = np.zeros(both.size, bool)
    ends = np.flatnonzero(changes == -1)
    for first, last in zip(np.flatnonzero(changes == 1), ends, strict=True):
        if last - first <= _SLUR * _ROWS:
            crossing[max(first - 3, 0) : last + 3] = True
    return crossing


def _goes_on(band: NDArray[np.bool_], start: int, end: int) -> bool:
    """Whether a line of a single staff goes on above or below it, as a stem does."""
    over = _OVER * _ROWS
    reach = slice(round(0.25 * _ROWS), round(0.65 * _ROWS))
    above: NDArray[np.bool_] = band[start:end, :over][:, ::-1].max(axis=0)
    below: NDArray[np.bool_] = band[start:end, -over:].max(axis=0)
    return bool(above[reach].all() or below[reach].all())
