"""Cuts areas and parts of systems out of a page: each is turned straight by its own staves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from excerpts.paper.cut_paths import Path
from excerpts.paper.level import Level, is_bowed
from excerpts.paper.looked import Looked
from excerpts.paper.regions import Region, region_of_span, regions_of_areas
from excerpts.paper.sheet import Crop, Sheet
from excerpts.paper.value import Area, Kind, PaperLine, Span

_HAIR_MM: Final = 0.1
"""An area whose staves fall or rise by less is straight."""
_AIR: Final = 0.7
"""Staff spaces of white that are kept over the highest ink and under the lowest."""


def cut_areas(sheet: Sheet, looked: Looked, areas: Sequence[Area]) -> list[PaperLine]:
    """Cut areas out of a page, in the order in which they are played.

    Raises:
        PaperError: An area is not on the page, empty, without staves, or out of order.
    """
    return [_cut(sheet, looked, region) for region in regions_of_areas(sheet, looked, areas)]


def cut_spans(sheet: Sheet, looked: Looked, spans: Sequence[Span]) -> list[PaperLine]:
    """Cut parts of systems out of a page, from barline to barline, with a bar of context on each side.

    Raises:
        PaperError: There is no such system or barline.
    """
    return [_cut(sheet, looked, region_of_span(looked, span)) for span in spans]


def whole_page(sheet: Sheet) -> PaperLine:
    """A whole page as it is shown, not turned."""
    width, height = sheet.width_mm, sheet.height_mm
    kind, pdf = sheet.cut(Crop(width / 2, height / 2, width, height, 0.0))
    return PaperLine(pdf, width, height, 0.0, kind)


def _cut(sheet: Sheet, looked: Looked, region: Region) -> PaperLine:
    space = float(np.median([staff.space for staff in region.staves]))
    bowed = sheet.grey and is_bowed(region.system, region.staves, region.left, region.right)
    place = _Level if bowed else _Turned
    main = place(sheet, looked, region, region.left, region.right)
    made = replace(
        main.line(4 * space / looked.per_mm), at=area_on_page(looked, region, main.rows), dpi=looked.dpi
    )
    lead_end = looked.lead_end(region.system)
    begin = looked.begin(region.system)[0] if len(region.staves) > 1 else region.system.left
    clef = replace(region, over=looked.over_clef(region.system, lead_end))
    lead = place(sheet, looked, clef, begin, lead_end, main.rows)
    _, pdf = lead.cut()
    clef_to = (lead_end - region.left) / looked.per_mm
    return replace(made, lead=pdf, lead_mm=lead.width, clef_to=round(clef_to, 3))


def area_on_page(looked: Looked, region: Region, rows: tuple[float, float]) -> Area:
    """The upright area round a box on its page."""
    xs, ys = zip(*(looked.on_page(x, y) for x in region.box for y in rows), strict=True)
    left, top, right, bottom = (round(side, 4) for side in (min(xs), min(ys), max(xs), max(ys)))
    return left, top, right, bottom


def kept_rows(looked: Looked, region: Region, left: float, right: float) -> tuple[float, float]:
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
        region: Region,
        left: float,
        right: float,
        rows: tuple[float, float] | None = None,
    ) -> None:
        self._sheet, self._looked, self._region = sheet, looked, region
        self.rows = rows or kept_rows(looked, region, left, right)
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
        if np.abs(cut - side).max() < 0.5:
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
        region: Region,
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
