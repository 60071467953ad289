"""Cuts areas and parts of systems out of a page: each is turned straight by its own staves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from excerpts.errors import PaperError
from excerpts.paper.bars import System
from excerpts.paper.level import Level, is_bowed
from excerpts.paper.looked import Looked
from excerpts.paper.paths import Path, white_path
from excerpts.paper.sheet import Crop, Sheet
from excerpts.paper.staff import Staff
from excerpts.paper.value import Area, Kind, PaperLine, Span

_SLACK_MM: Final = 1.0
"""How far an area may reach past the edge of its page."""
_HAIR_MM: Final = 0.1
"""An area whose staves fall or rise by less is straight."""
_LEAST_MM: Final = 4.0
_LEAST_INK: Final = 0.0005
"""Part of an area that has to be black for anything to stand in it."""
_SNAP: Final = 2.0
"""Staff spaces within which the edge of an area is moved to a barline, and into the white."""
_NUMBER: Final = 1.3
"""Staff spaces before a line in which its bar number and its brace stand."""
_AIR: Final = 0.7
"""Staff spaces of white that are kept over the highest ink and under the lowest."""


@dataclass(frozen=True, slots=True)
class _Region:
    """What is cut, in pixels of the straight page.

    Attributes:
        system: The system.
        staves: Those of its staves that are in it.
        left, right: From where to where, context included.
        box: From where to where the box goes.
        over, under: Where it is cut above and below.
    """

    system: System
    staves: tuple[Staff, ...]
    left: float
    right: float
    box: tuple[float, float]
    over: Path
    under: Path


def cut_areas(sheet: Sheet, looked: Looked, areas: Sequence[Area]) -> list[PaperLine]:
    """Cut areas out of a page, in the order in which they are played.

    Raises:
        PaperError: An area is not on the page, empty, without staves, or out of order.
    """
    _check(sheet, areas)
    return [_cut(sheet, looked, _of_area(looked, area)) for area in areas]


def cut_spans(sheet: Sheet, looked: Looked, spans: Sequence[Span]) -> list[PaperLine]:
    """Cut parts of systems out of a page, from barline to barline, with a bar of context on each side.

    Raises:
        PaperError: There is no such system or barline.
    """
    return [_cut(sheet, looked, _of_span(looked, span)) for span in spans]


def whole_page(sheet: Sheet) -> PaperLine:
    """A whole page as it is shown, not turned."""
    width, height = sheet.width_mm, sheet.height_mm
    kind, pdf = sheet.cut(Crop(width / 2, height / 2, width, height, 0.0))
    return PaperLine(pdf, width, height, 0.0, kind)


def named(area: Area) -> str:
    """An area as it is typed."""
    return f"[{', '.join(f'{side:g}' for side in area)}]"


def _check(sheet: Sheet, areas: Sequence[Area]) -> None:
    size = f"{sheet.width_mm:.0f} mm wide and {sheet.height_mm:.0f} mm high"
    for area in areas:
        left, top, right, bottom = area
        if right - left < _LEAST_MM or bottom - top < _LEAST_MM:
            raise PaperError(
                f"the area {named(area)} has no room for music.",
                hint="Write left, top, right, bottom in millimetres from the top left corner of the page.",
            )
        inside = left >= -_SLACK_MM and top >= -_SLACK_MM
        if not inside or right > sheet.width_mm + _SLACK_MM or bottom > sheet.height_mm + _SLACK_MM:
            raise PaperError(f"the area {named(area)} reaches out of the page.", hint=f"The page is {size}.")
    for before, after in pairwise(areas):
        if after[3] <= before[1]:  # a later line may stand beside an earlier one, never above it
            raise PaperError(
                f"the area {named(after)} stands above {named(before)}, which is played before it.",
                hint="Write areas in the order in which they are played.",
            )


def _of_area(looked: Looked, area: Area) -> _Region:
    left, top, right, bottom = area
    x, y = looked.from_page((left + right) / 2, (top + bottom) / 2)
    half_x, half_y = (right - left) * looked.per_mm / 2, (bottom - top) * looked.per_mm / 2
    _check_ink(looked, (x - half_x, y - half_y, x + half_x, y + half_y), area)
    held = {
        system: staves
        for system in looked.systems
        if (staves := tuple(staff for staff in system.staves if _holds(staff, x, y, half_x, half_y)))
    }
    if not held:
        raise PaperError(
            f"no staves are found in the area {named(area)}.",
            hint="Check its millimetres. Of a photo, take another: flat, from above, in even light.",
        )
    system, staves = next(iter(held.items()))
    if len(held) > 1:
        raise PaperError(
            f"the area {named(area)} reaches over {len(held)} systems.",
            hint="Give each line as an area of its own: areas = [[…], […]].",
        )
    sides = _snapped(system, x - half_x, x + half_x)
    space = system.space
    over, under = (
        white_path(
            looked.page.ink, *sides, max(edge - _SNAP * space, low), min(edge + _SNAP * space, high), edge
        )
        for edge, low, high in (
            (y - half_y, 0.0, staves[0].top_at(x) - 0.3 * space),
            (y + half_y, staves[-1].bottom_at(x) + 0.3 * space, float(looked.page.dark.shape[0])),
        )
    )
    return _Region(system, staves, *sides, sides, over, under)


def _holds(staff: Staff, x: float, y: float, half_x: float, half_y: float) -> bool:
    return (
        y - half_y < (staff.top_at(x) + staff.bottom_at(x)) / 2 < y + half_y
        and staff.left < x + half_x - staff.space
        and staff.right > x - half_x + staff.space
    )


def _snapped(system: System, left: float, right: float) -> tuple[float, float]:
    """The sides of an area at the barlines, or the ends of the line, that they are near."""
    near = _SNAP * system.space
    lefts, rights = [edge[0] for edge in system.edges], [edge[1] for edge in system.edges[1:]]
    start = min(lefts, key=lambda edge: abs(edge - left))
    end = min([*rights, system.right], key=lambda edge: abs(edge - right))
    return start if abs(start - left) < near else left, end if abs(end - right) < near else right


def _of_span(looked: Looked, span: Span) -> _Region:
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
    left, right = edges[first][0], edges[last][1]
    before, after = edges[max(first - 1, 0)][0], edges[min(last + 1, bars)][1]
    if first < 2:
        before = max(before - _NUMBER * system.space, 0.0)
    return _Region(
        system, system.staves, before, after, (left, right), looked.over(number - 1), looked.under(number - 1)
    )  # fmt: skip


_SEE: Final = "excerpts paper draws systems and barlines with their numbers."


def _cut(sheet: Sheet, looked: Looked, region: _Region) -> PaperLine:
    space = float(np.median([staff.space for staff in region.staves]))
    bowed = sheet.grey and is_bowed(region.system, region.staves, region.left, region.right)
    lead_end = looked.lead_end(region.system)
    with_lead = region.box[0] > lead_end + space / 2
    place = _Level if bowed else _Turned
    main = place(sheet, looked, region, region.left, region.right)
    made = replace(main.line(4 * space / looked.per_mm), at=_at(looked, region, main.rows), dpi=looked.dpi)
    if not with_lead:
        return made
    lead = place(sheet, looked, region, max(region.system.left - _NUMBER * space, 0.0), lead_end, main.rows)
    _, pdf = lead.cut()
    return replace(made, lead=pdf, lead_mm=lead.width, begins=region.left < lead_end)


def _at(looked: Looked, region: _Region, rows: tuple[float, float]) -> Area:
    """The upright area round a box on its page."""
    xs, ys = zip(*(looked.on_page(x, y) for x in region.box for y in rows), strict=True)
    left, top, right, bottom = (round(side, 4) for side in (min(xs), min(ys), max(xs), max(ys)))
    return left, top, right, bottom


def _rows(looked: Looked, region: _Region, left: float, right: float) -> tuple[float, float]:
    """Top and bottom of what is kept: the ink between the cuts, with some air."""
    x0, x1 = max(int(left), 0), int(right) + 1
    columns = np.arange(x0, min(x1, looked.page.dark.shape[1]))
    over, under = np.interp(columns, *region.over), np.interp(columns, *region.under)
    y0, y1 = int(over.min()), int(np.ceil(under.max()))
    rows = np.arange(max(y0, 0), min(y1 + 1, looked.page.dark.shape[0]))
    inside = (rows[:, None] >= over) & (rows[:, None] <= under)
    black = np.flatnonzero(
        (looked.page.ink[rows[0] : rows[-1] + 1, x0 : columns[-1] + 1] & inside).any(axis=1)
    )
    if not black.size:
        return float(y0), float(y1)
    air = _AIR * region.system.space
    return max(float(rows[black[0]]) - air, y0), min(float(rows[black[-1]]) + air, y1)


class _Turned:
    """A part of a page as a rectangle that is turned as its staves are; see `_Level`."""

    def __init__(
        self,
        sheet: Sheet,
        looked: Looked,
        region: _Region,
        left: float,
        right: float,
        rows: tuple[float, float] | None = None,
    ) -> None:
        self._sheet, self._looked, self._region = sheet, looked, region
        self.rows = rows or _rows(looked, region, left, right)
        top, bottom = self.rows
        slope = float(np.median([staff.slope(left, right) for staff in region.staves]))
        angle = looked.page.angle + float(np.arctan(slope))
        if abs(angle) * (right - left) / looked.per_mm < _HAIR_MM:
            angle = 0.0
        middle = looked.on_page((left + right) / 2, (top + bottom) / 2)
        size = (right - left) / looked.per_mm, (bottom - top) / looked.per_mm
        crop = Crop(*middle, *size, angle)
        over, under = (
            self._in(crop, left, right, path, side)
            for path, side in ((region.over, top), (region.under, bottom))
        )
        self.crop = replace(crop, upper=over, lower=under)
        self.width = crop.width

    def _in(
        self, crop: Crop, left: float, right: float, path: Path, side: float
    ) -> tuple[tuple[float, float], ...]:
        """A cut in millimetres of the crop, y down; nothing where it runs outside."""
        columns = np.append(np.arange(left, right, 4.0), right)
        cut = np.interp(columns, *path)
        cut = np.maximum(cut, side) if side == self.rows[0] else np.minimum(cut, side)
        if np.ptp(cut) < 0.5:
            return ()
        points = np.array([self._looked.on_page(x, y) for x, y in zip(columns, cut, strict=True)])
        there = np.column_stack([points, np.ones(len(points))]) @ crop.from_page().T
        inside = np.clip(there[:, 0], 0, crop.width), np.clip(crop.height - there[:, 1], 0, crop.height)
        return tuple((round(float(x), 3), round(float(y), 3)) for x, y in zip(*inside, strict=True))

    def cut(self) -> tuple[Kind, bytes]:
        """What it is held as, and its PDF."""
        return self._sheet.cut(self.crop)

    def line(self, staff_mm: float) -> PaperLine:
        """The line of the box."""
        kind, pdf = self._sheet.cut(self.crop)
        region, y = self._region, sum(self.rows) / 2
        box = (self._x(region.box[0], y), self._x(region.box[1], y))
        bars = tuple(
            round(x, 3)
            for x in (self._x((a + b) / 2, y) for a, b in region.system.bars)
            if 0 < x < self.crop.width
        )
        inside = region.box == (region.left, region.right)
        return PaperLine(
            pdf, self.crop.width, self.crop.height, staff_mm, kind, bars, None if inside else box
        )

    def _x(self, x: float, y: float) -> float:
        """How far from its left side a place stands."""
        there = self.crop.from_page() @ np.array([*self._looked.on_page(x, y), 1.0])
        return round(float(there[0]), 3)


class _Level(_Turned):
    """A part of a bowed page, made level along its staves."""

    def __init__(
        self,
        sheet: Sheet,
        looked: Looked,
        region: _Region,
        left: float,
        right: float,
        rows: tuple[float, float] | None = None,
    ) -> None:
        super().__init__(sheet, looked, region, left, right, rows)
        self._left = left
        whole = region.system.left, region.system.right
        level = Level(region.system, (whole[0] + whole[1]) / 2)
        columns = np.arange(left, right, 2.0)
        over = level.levelled(columns, np.interp(columns, *region.over))
        under = level.levelled(columns, np.interp(columns, *region.under))
        if rows is None:
            self.rows = (max(float(over.min()), self.rows[0] - 3), min(float(under.max()), self.rows[1] + 3))
        top, bottom = self.rows
        per_mm = looked.per_mm
        width, height = (right - left) / per_mm, (bottom - top) / per_mm
        upper, lower = (_line(columns - left, path - top, per_mm) for path in (over, under))
        self.crop = Crop(width / 2, height / 2, width, height, 0.0, upper, lower)
        self.width = self.crop.width
        self._level = level

    def cut(self) -> tuple[Kind, bytes]:
        """What it is held as, and its PDF."""
        fine = self._sheet.dpi or 300.0
        width, height = (max(round(side * fine / 25.4), 2) for side in (self.crop.width, self.crop.height))
        per_mm = self._looked.per_mm
        across = self._left + (np.arange(width) + 0.5) / width * self.crop.width * per_mm
        down = self.rows[0] + (np.arange(height) + 0.5) / height * self.crop.height * per_mm
        xs, ys = self._level.on_page(across, down)
        return self._sheet.sampled(*self._on_page(xs, ys), self.crop)

    def _on_page(
        self, xs: NDArray[np.float64], ys: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        page, looked = self._looked.page, self._looked
        height, width = page.dark.shape
        cos, sin = np.cos(page.angle), np.sin(page.angle)
        x, y = xs - width / 2, ys - height / 2
        return (cos * x - sin * y + width / 2) / looked.per_mm, (
            cos * y + sin * x + height / 2
        ) / looked.per_mm

    def line(self, staff_mm: float) -> PaperLine:
        """The line of the box."""
        kind, pdf = self.cut()
        per_mm, region = self._looked.per_mm, self._region
        box = tuple(round((x - self._left) / per_mm, 3) for x in region.box)
        bars = tuple(round(((a + b) / 2 - self._left) / per_mm, 3) for a, b in region.system.bars)
        kept = tuple(x for x in bars if 0 < x < self.width)
        inside = region.box == (region.left, region.right)
        return PaperLine(
            pdf, self.width, self.crop.height, staff_mm, kind, kept, None if inside else (box[0], box[1])
        )  # fmt: skip


def _line(x: NDArray[np.float64], y: NDArray[np.float64], per_mm: float) -> tuple[tuple[float, float], ...]:
    return tuple(
        (round(float(a), 3), round(float(b), 3))
        for a, b in zip(x / per_mm, np.maximum(y, 0) / per_mm, strict=True)
    )


def _check_ink(looked: Looked, box: tuple[float, float, float, float], area: Area) -> None:
    left, top, right, bottom = (max(round(side), 0) for side in box)
    if looked.page.ink[top:bottom, left:right].mean() < _LEAST_INK:
        raise PaperError(
            f"nothing is printed in the area {named(area)}.",
            hint="Its millimetres count from the top left corner of the page as it is shown.",
        )
