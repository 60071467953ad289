"""An area that was drawn by hand, moved to where it is cut: to systems, to barlines near its sides, to the ink."""

from __future__ import annotations

from typing import Final

from excerpts.paper.barlines import System
from excerpts.paper.crop import area_on_page, kept_rows
from excerpts.paper.looked import Looked
from excerpts.paper.regions import Region, regions_of_areas
from excerpts.paper.sheet import Sheet
from excerpts.paper.value import Area, Snapped, Span

_SAME: Final = 0.01
"""Pixels: a side that was moved to a barline stands on it."""


def snapped_areas(sheet: Sheet, looked: Looked, area: Area) -> list[Snapped]:
    """What would be cut out of a page for an area, a part for each system that it reaches over.

    Raises:
        PaperError: It is not on the page, empty, or without staves.
    """
    return [_snapped(looked, region) for region in regions_of_areas(sheet, looked, [area])]


def _snapped(looked: Looked, region: Region) -> Snapped:
    number = looked.systems.index(region.system) + 1
    rows = kept_rows(looked, region, *region.box)
    whole = region.staves == region.system.staves
    span = _span(region.system, number, region.box) if whole else None
    return Snapped(area_on_page(looked, region, rows), number, span)


def _span(system: System, number: int, box: tuple[float, float]) -> Span | None:
    """From which barline to which the sides of a box are; None where one of them is at none."""
    left = max(box[0], system.left)  # brace and bar number in front of a line belong to what begins there
    first = [place for place, edge in enumerate(system.edges) if abs(edge[0] - left) < _SAME]
    last = [place for place, edge in enumerate(system.edges) if abs(edge[1] - box[1]) < _SAME]
    if not first or not last or first[0] >= last[-1]:
        return None
    return number, first[0], last[-1]
