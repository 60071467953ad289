"""What is seen on a page, and what is cut out of it: lines of music in the size of the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Area = tuple[float, float, float, float]
"""Left, top, right, bottom of an area in millimetres from the top left corner of the page as it is shown."""


def named(area: Area) -> str:
    """An area as it is typed."""
    return f"[{', '.join(f'{side:g}' for side in area)}]"


Span = tuple[int, int, int]
"""A system of a page, from 1, and the barlines of it from and to which; 0 is the line's start."""

Kind = Literal["vector", "bilevel", "grey"]
"""How a line is held: as drawn by its PDF, in black and white as scanned, or in 16 greys."""

Upright = tuple[float, float, float, float]
"""The upper end of a line and its lower end: x, y, x, y."""


LEAST_DPI: Final = 150
"""Dots an inch below which barlines are not counted unseen."""

TAKE_AGAIN: Final = "Take it again: flat, from above, in even light."


@dataclass(frozen=True, slots=True)
class SystemSeen:
    """A system of a page, all in millimetres from its top left corner.

    Attributes:
        staves: Its staves from the top, each as an area from its top line to its bottom line.
        staff_mm: Height of a staff.
        bars: Where the line begins, then its barlines from left to right; a double bar or a repeat is one.
        unsure: Barlines that are doubtful: one of `bars` that may be none, or a line that may be one more.
    """

    staves: tuple[Area, ...]
    staff_mm: float
    bars: tuple[Upright, ...]
    unsure: tuple[Upright, ...]

    @property
    def area(self) -> Area:
        """The area of its staves."""
        left, top, right, bottom = zip(*self.staves, strict=True)
        return min(left), min(top), max(right), max(bottom)


@dataclass(frozen=True, slots=True)
class PageSeen:
    """The systems and barlines of a page.

    Attributes:
        width_mm: Its width.
        height_mm: Its height.
        dpi: Dots an inch of a scan or photo; None for a page that is drawn.
        grey: It is a photo, or a scan in greys.
        systems: Its systems, from the top.
    """

    width_mm: float
    height_mm: float
    dpi: float | None
    grey: bool
    systems: tuple[SystemSeen, ...]

    @property
    def counts(self) -> tuple[int, ...]:
        """How many barlines each system has after its start: its bars."""
        return tuple(len(system.bars) - 1 for system in self.systems)

    @property
    def coarse(self) -> bool:
        """It has so few dots that barlines are missed."""
        return self.dpi is not None and self.dpi < LEAST_DPI

    @property
    def doubt(self) -> str:
        """What a teacher has to know before bars are taken from it; empty for nothing."""
        if not self.systems:
            return f"no staves are found. {TAKE_AGAIN if self.dpi else 'Is it a page of music?'}"
        if self.coarse:
            return (
                f"it has about {self.dpi:.0f} dots an inch; with fewer than {LEAST_DPI} barlines are missed. "
                f"{TAKE_AGAIN}"
            )
        return ""


@dataclass(frozen=True, slots=True)
class Snapped:
    """A part of an area that was drawn by hand, as it is cut.

    Attributes:
        area: What is cut, in millimetres of the page.
        system: The system that it is a part of, from 1.
        span: The same from barline to barline; None where a side is at none, or not all staves are in it.
    """

    area: Area
    system: int
    span: Span | None


@dataclass(frozen=True, slots=True)
class PaperLine:
    """One area or a part of a system, straightened.

    Attributes:
        pdf: A PDF of one page with nothing on it but the area.
        width_mm: Width of the area on its page.
        height_mm: Height of it.
        staff_mm: Height of its staves there, from the middle of the top line to the middle of the bottom line.
        kind: How it is held.
        bars: Where barlines are found, in millimetres from its left side.
        box: From where to where the box goes, in millimetres from its left side; what stands beside it is context.
        lead: Clef and key at the beginning of its line, as a PDF of the same height; nothing for a whole page.
        lead_mm: Their width.
        clef_to: Where they end in the line itself, in millimetres from its left side; none of them from 0 on down.
        at: The area of the box on its page.
        dpi: Dots an inch of the scan or photo; None where the page is drawn.
    """

    pdf: bytes
    width_mm: float
    height_mm: float
    staff_mm: float
    kind: Kind
    bars: tuple[float, ...] = ()
    box: tuple[float, float] | None = None
    lead: bytes = b""
    lead_mm: float = 0.0
    clef_to: float = 0.0
    at: Area = (0.0, 0.0, 0.0, 0.0)
    dpi: float | None = None


@dataclass(frozen=True, slots=True)
class PaperCut:
    """What a box takes from paper.

    Attributes:
        line_pages: The page of each of its lines, from 1.
        lines: Its lines in order.
        digest: A digest of the pages' files, and of what was cut out of them.
    """

    line_pages: tuple[int, ...]
    lines: tuple[PaperLine, ...]
    digest: str

    @property
    def pages(self) -> tuple[int, ...]:
        """Its pages, each once."""
        return tuple(dict.fromkeys(self.line_pages))
