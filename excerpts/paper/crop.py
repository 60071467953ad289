"""Cuts areas out of a page: each is turned straight by its own staves, whose height is measured."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from excerpts.errors import PaperError
from excerpts.paper.bars import barlines, systems
from excerpts.paper.sheet import Crop, Sheet
from excerpts.paper.staves import Straight, straightened
from excerpts.paper.value import Area, PaperLine

_SLACK_MM: Final = 1.0
"""How far an area may reach past the edge of its page."""
_HAIR_MM: Final = 0.1
"""An area whose staves fall or rise by less is straight."""
_LEAST_MM: Final = 4.0
_LEAST_INK: Final = 0.0005
"""Part of an area that has to be black for anything to stand in it."""


def cut_areas(sheet: Sheet, areas: Sequence[Area]) -> list[PaperLine]:
    """Cut areas out of a page, in the order in which they are played.

    Raises:
        PaperError: An area is not on the page, empty, without staves, or out of order.
    """
    _check(sheet, areas)
    greys = sheet.greys()
    page = straightened(greys)
    per_mm = greys.shape[1] / sheet.width_mm
    return [_cut(sheet, page, per_mm, area) for area in areas]


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


def _cut(sheet: Sheet, page: Straight, per_mm: float, area: Area) -> PaperLine:
    left, top, right, bottom = area
    middle = np.array([(left + right) / 2, (top + bottom) / 2]) * per_mm
    x, y = _turned(page, middle)
    half = np.array([right - left, bottom - top]) * per_mm / 2
    _check_ink(page, (x - half[0], y - half[1], x + half[0], y + half[1]), area)
    staves = [
        staff
        for staff in page.staves
        if y - half[1] < (staff.top_at(x) + staff.bottom_at(x)) / 2 < y + half[1]
        and staff.left < x + half[0] - staff.space
        and staff.right > x - half[0] + staff.space
    ]
    if not staves:
        raise PaperError(
            f"no staves are found in the area {named(area)}.",
            hint="Check its millimetres. Of a photo, take another: flat, from above, in even light.",
        )
    slope = float(np.median([staff.slope for staff in staves]))
    space = float(np.median([staff.space for staff in staves]))
    angle = page.angle + float(np.arctan(slope))
    if abs(angle) * (right - left) < _HAIR_MM:
        angle = 0.0
    crop = Crop((left + right) / 2, (top + bottom) / 2, right - left, bottom - top, angle)
    kind, pdf = sheet.cut(crop)
    system = next(system for system in systems(page) if staves[0] in system)
    found = barlines(page.ink, system) if all(staff in system for staff in staves) else []
    bars = tuple(round((bar - x + half[0]) / per_mm, 3) for bar in found if abs(bar - x) < half[0])
    return PaperLine(pdf, crop.width, crop.height, 4 * space / per_mm, kind, bars)


def _turned(page: Straight, point: np.ndarray) -> tuple[float, float]:
    """Where a point of the page stands when it is turned straight about its middle."""
    height, width = page.dark.shape
    x, y = point[0] - width / 2, point[1] - height / 2
    cos, sin = np.cos(page.angle), np.sin(page.angle)
    return float(cos * x + sin * y + width / 2), float(cos * y - sin * x + height / 2)


def _check_ink(page: Straight, box: tuple[float, float, float, float], area: Area) -> None:
    left, top, right, bottom = (max(round(side), 0) for side in box)
    if page.ink[top:bottom, left:right].mean() < _LEAST_INK:
        raise PaperError(
            f"nothing is printed in the area {named(area)}.",
            hint="Its millimetres count from the top left corner of the page as it is shown.",
        )
