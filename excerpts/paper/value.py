"""What is cut out of a page: a line of music as it will be printed, still in the size of its page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Area = tuple[float, float, float, float]
"""Left, top, right, bottom of an area in millimetres from the top left corner of the page as it is shown."""

Kind = Literal["vector", "bilevel", "grey"]
"""How a line is held: as drawn by its PDF, in black and white as scanned, or in 16 greys."""


@dataclass(frozen=True, slots=True)
class PaperLine:
    """One area, straightened.

    Attributes:
        pdf: A PDF of one page with nothing on it but the area.
        width_mm: Width of the area on its page.
        height_mm: Height of it.
        staff_mm: Height of its staves there, from the middle of the top line to the middle of the bottom line.
        kind: How it is held.
        bars: Where barlines are found, in millimetres from its left side.
    """

    pdf: bytes
    width_mm: float
    height_mm: float
    staff_mm: float
    kind: Kind
    bars: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class PaperCut:
    """What a box takes from paper.

    Attributes:
        page: The page, from 1.
        lines: Its areas in order.
        digest: A digest of the page's file, the page and the areas.
    """

    page: int
    lines: tuple[PaperLine, ...]
    digest: str
