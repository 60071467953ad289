"""A page as it is shown, whatever file it comes from: its size, its greys, and how an area is taken out of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from excerpts.errors import PaperError
from excerpts.paper.value import Area, Kind, named

Greys = NDArray[np.uint8]

LOOK_DPI: Final = 220
"""Dots an inch at which staves are looked for: a staff of 7 mm has some 15 dots from line to line."""

MOST_PIXELS: Final = 45_000_000
"""Of a picture, or of a page rendered: A4 at 600 dpi has 35 million."""

MM_PER_INCH: Final = 25.4
_SIDES: Final = (20.0, 1200.0)
"""Millimetres that a side of a page may have: from a slip to a poster."""


@dataclass(frozen=True, slots=True)
class Crop:
    """A rectangle on a page, turned as its staves are.

    Attributes:
        x: Its middle from the left of the page, in millimetres.
        y: Its middle from the top.
        width: Its width.
        height: Its height.
        angle: How far its staves run down to the right, in radians.
        upper: Where it is cut above, from left to right, from its top left corner, y down; straight along its top
            where there is nothing.
        lower: Where it is cut below.
    """

    x: float
    y: float
    width: float
    height: float
    angle: float
    upper: tuple[tuple[float, float], ...] = ()
    lower: tuple[tuple[float, float], ...] = ()

    def from_page(self) -> NDArray[np.float64]:
        """The map from millimetres of the page (y down) to millimetres of the crop (y up, as in a PDF)."""
        cos, sin = float(np.cos(self.angle)), float(np.sin(self.angle))
        turn = np.array([[cos, sin, self.width / 2], [sin, -cos, self.height / 2], [0, 0, 1]])
        placed: NDArray[np.float64] = turn @ np.array([[1, 0, -self.x], [0, 1, -self.y], [0, 0, 1]])
        return placed

    def bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the upright rectangle round it, in millimetres of the page."""
        corners = self.corners()
        (left, top), (right, bottom) = corners.min(axis=0), corners.max(axis=0)
        return float(left), float(top), float(right), float(bottom)

    def corners(self) -> NDArray[np.float64]:
        """Its corners on the page."""
        w, h = self.width, self.height
        return self._on_page(np.array([[0, 0], [w, 0], [w, h], [0, h]], dtype=float))

    def outline(self) -> NDArray[np.float64]:
        """What is kept of it, point by point, in millimetres of the crop, y up as in a PDF."""
        w, h = self.width, self.height
        points = [*(self.upper or ((0.0, 0.0), (w, 0.0))), *reversed(self.lower or ((0.0, h), (w, h)))]
        return np.array([(x, h - y) for x, y in points])

    def outline_on_page(self) -> NDArray[np.float64]:
        """What is kept of it, in millimetres of the page."""
        return self._on_page(self.outline())

    def _on_page(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        there = np.column_stack([points, np.ones(len(points))])
        placed: NDArray[np.float64] = (there @ np.linalg.inv(self.from_page()).T)[:, :2]
        return placed


class Sheet(Protocol):
    """One page of a file."""

    width_mm: float
    height_mm: float
    dpi: float | None
    """Dots an inch of a scan or photo; None where the page is drawn."""
    grey: bool
    """Whether it is a photo, or a scan in greys."""

    def greys(self) -> Greys:
        """The whole page at `LOOK_DPI` or less, 0 black to 255 white."""

    def cut(self, crop: Crop) -> tuple[Kind, bytes]:
        """An area as a PDF of one page, in millimetres for points, with nothing of the page around it."""

    def sampled(self, x: NDArray[np.float64], y: NDArray[np.float64], crop: Crop) -> tuple[Kind, bytes]:
        """A picture put together of places of the page, which are given in millimetres for each of its pixels."""


def check_sides(width_mm: float, height_mm: float) -> None:
    """Refuse a page that nobody prints.

    Raises:
        PaperError: It is too large or too small.
    """
    least, most = _SIDES
    if not (least <= width_mm <= most and least <= height_mm <= most):
        size = f"{width_mm:.4g} × {height_mm:.4g} mm"
        raise PaperError(
            f"the page measures {size}: no page of music is that size.",
            hint=f"Its sides may have {least:.0f} to {most:.0f} mm. Print it to a PDF of A4 or Letter.",
        )


_SLACK_MM: Final = 1.0
"""How far an area may reach past the edge of its page."""
_LEAST_MM: Final = 4.0


def check_area(sheet: Sheet, area: Area) -> None:
    """Refuse an area that is none of a page.

    Raises:
        PaperError: It is too small, the wrong way round, or reaches out of the page.
    """
    left, top, right, bottom = area
    if right - left < _LEAST_MM or bottom - top < _LEAST_MM:
        raise PaperError(
            f"the area {named(area)} has no room for music.",
            hint="Write left, top, right, bottom in millimetres from the top left corner of the page.",
        )
    _check_inside(sheet, area, "area")


def check_blank(sheet: Sheet, blank: Sequence[Area]) -> None:
    """Refuse an area to be left white that would leave something else white, or nothing.

    Raises:
        PaperError: It is the wrong way round, or reaches out of the page.
    """
    for area in blank:
        if area[2] <= area[0] or area[3] <= area[1]:
            raise PaperError(
                f"the blank area {named(area)} is the wrong way round.",
                hint="Write left, top, right, bottom in millimetres from the top left corner of the page.",
            )
        _check_inside(sheet, area, "blank area")


def _check_inside(sheet: Sheet, area: Area, what: str) -> None:
    left, top, right, bottom = area
    width, height, slack = sheet.width_mm, sheet.height_mm, _SLACK_MM
    if left < -slack or top < -slack or right > width + slack or bottom > height + slack:
        raise PaperError(
            f"the {what} {named(area)} reaches out of the page.",
            hint=f"The page is {width:.0f} mm wide and {height:.0f} mm high.",
        )


def sheets(data: bytes) -> int:
    """How many pages a file has."""
    from excerpts.paper import pdf_sheet, picture_sheet

    return pdf_sheet.count(data) if _is_pdf(data) else picture_sheet.count(data)


@contextmanager
def open_sheet(data: bytes, index: int, blank: Sequence[Area] = ()) -> Iterator[Sheet]:
    """Open one page.

    Args:
        data: The file.
        index: Which of its pages, from 0.
        blank: Areas of it that are left white.

    Raises:
        PaperError: The file cannot be read, or has no such page.
    """
    from excerpts.paper import pdf_sheet, picture_sheet

    count = sheets(data)
    if not 0 <= index < count:
        there = "1 page" if count == 1 else f"{count} pages"
        raise PaperError(f"there is no page {index + 1}: the file has {there}.", hint="Pages count from 1.")
    if _is_pdf(data):
        with pdf_sheet.opened(data, index, blank) as sheet:
            check_blank(sheet, blank)
            yield sheet
    else:
        picture = picture_sheet.PictureSheet(data, index, blank)
        check_blank(picture, blank)
        yield picture


def _is_pdf(data: bytes) -> bool:
    return b"%PDF-" in data[:1024]
