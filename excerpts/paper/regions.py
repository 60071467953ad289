"""Where on a page a box stands: from areas that a person drew, or from barline to barline of a system."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from excerpts.errors import PaperError
from excerpts.paper.barlines import System
from excerpts.paper.cut_paths import Path, white_path
from excerpts.paper.looked import Looked
from excerpts.paper.page_staff import Staff
from excerpts.paper.sheet import Sheet, check_area
from excerpts.paper.value import Area, Span, named

_LEAST_INK: Final = 0.0005
"""Part of an area that has to be black for anything to stand in it."""
_SNAP: Final = 2.0
"""Staff spaces within which the edge of an area is moved to a barline, and into the white."""
_NEAR: Final = 0.3
"""Staff spaces from a staff that a cut between two systems keeps."""
_CROSSED: Final = 1.5
"""Staff spaces of ink that a cut between two systems may go through, as through a pedal line or a long stem."""


@dataclass(frozen=True, slots=True)
class Region:
    """What is cut, in pixels of the straight page.

    Attributes:
        system: The system.
        staves: Those of its staves that are in it.
        left: From where, context included.
        right: To where.
        box: From where to where the box goes.
        over: Where it is cut above.
        under: Where it is cut below.
    """

    system: System
    staves: tuple[Staff, ...]
    left: float
    right: float
    box: tuple[float, float]
    over: Path
    under: Path


def regions_of_areas(sheet: Sheet, looked: Looked, areas: Sequence[Area]) -> list[Region]:
    """Where areas stand, line by line; one that goes over several systems is a line of each.

    Raises:
        PaperError: An area is not on the page, empty, without staves, or out of order.
    """
    for area in areas:
        check_area(sheet, area)
    for before, after in pairwise(areas):
        if after[3] <= before[1]:  # a later line may stand beside an earlier one, never above it
            raise PaperError(
                f"the area {named(after)} stands above {named(before)}, which is played before it.",
                hint="Write areas in the order in which they are played.",
            )
    return [region for area in areas for region in _of_area(looked, area)]


def _of_area(looked: Looked, area: Area) -> list[Region]:
    left, top, right, bottom = area
    x, y = looked.from_page((left + right) / 2, (top + bottom) / 2)
    half_x, half_y = (right - left) * looked.per_mm / 2, (bottom - top) * looked.per_mm / 2
    _check_ink(looked, (x - half_x, y - half_y, x + half_x, y + half_y), area)
    held = [
        (system, staves)
        for system in looked.systems
        if (staves := tuple(staff for staff in system.staves if _holds(staff, x, y, half_x, half_y)))
    ]
    if not held:
        raise PaperError(
            f"no staves are found in the area {named(area)}.",
            hint="Check its millimetres. Of a photo, take another: flat, from above, in even light.",
        )
    cuts = list(_between(looked, [staves for _, staves in held], (x - half_x, x + half_x)))
    if len(cuts) < len(held) - 1:
        raise PaperError(
            f"the area {named(area)} reaches over {len(held)} systems, and there is no white between them.",
            hint="Give each line as an area of its own: areas = [[…], […]].",
        )
    sides = [_with_context(looked, system, _snapped(system, x - half_x, x + half_x)) for system, _ in held]
    ink, space = looked.page.ink, held[0][0].space
    edge, reach = y - half_y, _SNAP * space
    over = white_path(
        ink, *sides[0][:2], max(edge - reach, 0.0),
        min(edge + reach, held[0][1][0].top_at(x) - _NEAR * space), edge,
    )  # fmt: skip
    edge = y + half_y
    under = white_path(
        ink, *sides[-1][:2], max(edge - reach, held[-1][1][-1].bottom_at(x) + _NEAR * space),
        min(edge + reach, float(ink.shape[0])), edge,
    )  # fmt: skip
    paths = [over, *cuts, under]
    return [
        Region(
            system, staves, *side, _without_number(looked, system, side[0], paths[place]), paths[place + 1]
        )
        for place, ((system, staves), side) in enumerate(zip(held, sides, strict=True))
    ]


def _holds(staff: Staff, x: float, y: float, half_x: float, half_y: float) -> bool:
    return (
        y - half_y < (staff.top_at(x) + staff.bottom_at(x)) / 2 < y + half_y
        and staff.left < x + half_x - staff.space
        and staff.right > x - half_x + staff.space
    )


def _between(looked: Looked, held: Sequence[tuple[Staff, ...]], sides: tuple[float, float]) -> Iterator[Path]:
    """Where the systems of an area are cut apart, as long as there is white between one and the next."""
    left, right = max(sides[0], 0.0), min(sides[1], looked.page.dark.shape[1] - 1.0)
    ink = looked.page.ink
    for above, below in pairwise(held):
        ends = (left, (left + right) / 2, right)
        space = above[-1].space
        floor = max(above[-1].bottom_at(x) for x in ends) + _NEAR * space
        ceiling = min(below[0].top_at(x) for x in ends) - _NEAR * space
        if ceiling - floor < space:
            return
        path = white_path(ink, left, right, floor, ceiling, (floor + ceiling) / 2)
        columns = np.arange(int(left), int(right))
        rows = np.rint(np.interp(columns, *path)).astype(int).clip(0, ink.shape[0] - 1)
        if ink[rows, columns].sum() > _CROSSED * space:
            return
        yield path


def _snapped(system: System, left: float, right: float) -> tuple[float, float]:
    """The sides of an area at the barlines, or the ends of the line, that they are near."""
    near = _SNAP * system.space
    lefts, rights = [edge[0] for edge in system.edges], [edge[1] for edge in system.edges[1:]]
    start = min(lefts, key=lambda edge: abs(edge - left))
    end = min([*rights, system.right], key=lambda edge: abs(edge - right))
    return start if abs(start - left) < near else left, end if abs(end - right) < near else right


def _with_context(looked: Looked, system: System, box: tuple[float, float]) -> _Sides:
    """A box with a bar of context on each side, with the rest of its bar where it ends in mid-bar.

    Brace and bar number in front of a line belong to the box that begins there.

    Returns:
        From where to where it is cut, and the box.
    """
    hair = system.space / 4
    if abs(box[0] - system.left) < hair:
        box = min(looked.begin(system)[0], box[0]), box[1]
        left = box[0]
    else:
        before = [edge[0] for edge in system.edges if edge[0] < box[0] - hair]
        left = before[-1] if before else box[0]
        if abs(left - system.left) < hair:
            left = min(looked.begin(system)[0], left)
    after = [edge[1] for edge in system.bars if edge[1] > box[1] + hair]
    return left, after[0] + hair if after else box[1], box  # the barline is whole


_Sides = tuple[float, float, tuple[float, float]]


def region_of_span(looked: Looked, span: Span) -> Region:
    """A part of a system from barline to barline, with a bar of context on each side.

    Raises:
        PaperError: There is no such system or barline.
    """
    number, first, last = span
    count = len(looked.systems)
    if not 1 <= number <= count:
        there = "1 system" if count == 1 else f"{count} systems"
        raise PaperError(f"there is no system {number}: the page has {there}.", hint=_SEE)
    system = looked.systems[number - 1]
    bars = len(system.bars)
    if last > bars:
        there = "1 barline" if bars == 1 else f"{bars} barlines"
        hint = f"{_SEE} Where it misses one, give the area in millimetres."
        raise PaperError(f"there is no barline {last} in system {number}: it has {there}.", hint=hint)
    edges = system.edges
    box = edges[first][0], edges[last][1]
    sides = _with_context(looked, system, box)
    over = _without_number(looked, system, sides[0], looked.over(number - 1))
    return Region(system, system.staves, *sides, over, looked.under(number - 1))


def _without_number(looked: Looked, system: System, left: float, over: Path) -> Path:
    """The upper cut of what begins with its line: under a bar number that would be cut through."""
    lead_end = looked.lead_end(system)
    if left > system.left or looked.begin(system)[1]:
        return over
    columns, rows = looked.over_clef(system, lead_end)
    later = over[0] > lead_end
    return np.r_[columns, over[0][later]], np.r_[rows, over[1][later]]


_SEE: Final = "excerpts paper draws systems and barlines with their numbers."


def _check_ink(looked: Looked, box: tuple[float, float, float, float], area: Area) -> None:
    left, top, right, bottom = (max(round(side), 0) for side in box)
    if looked.page.ink[top:bottom, left:right].mean() < _LEAST_INK:
        raise PaperError(
            f"nothing is printed in the area {named(area)}.",
            hint="Its millimetres count from the top left corner of the page as it is shown.",
        )
