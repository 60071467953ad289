"""Fits a workbook to its pages: the room left on the first page gets lines, and less air is taken where it saves a sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from weasyprint import Document

MM_PER_PX = 25.4 / 96
RULE_MM = 8.0
"""Height of a line to write on, as in the style sheet."""

FEWEST_RULES = 2
"""Lines to write on that a first page has even where it goes on to a second."""


@dataclass(frozen=True, slots=True)
class Room:
    """What a layout is free to choose.

    Attributes:
        rules: Lines to write on on the first page.
        one_page: Whether the first page is a page of its own.
        tight: Whether it is set with less air.
    """

    rules: int = 0
    one_page: bool = True
    tight: bool = False


Layout = Callable[[Room], "Document"]


def fit(first: Layout, whole: Layout, bottom_mm: float) -> Document:
    """Lay out a workbook in the fewest pages.

    Args:
        first: Lays out the first page alone.
        whole: Lays out everything.
        bottom_mm: How far down a page its text may go.
    """
    airy = _first_page(first, Room(), bottom_mm)
    document = whole(airy)
    if len(document.pages) > 1:
        tight = whole(_first_page(first, replace(airy, tight=True), bottom_mm))
        if len(tight.pages) < len(document.pages):
            return tight
    return document


def _first_page(first: Layout, room: Room, bottom_mm: float) -> Room:
    """Fill the first page with lines to write on, or let it run on where it is too full."""
    page = first(replace(room, rules=0)).pages[0]
    if "first-end" not in page.anchors:
        return replace(room, rules=FEWEST_RULES, one_page=False)
    height = {name: page.anchors[name][1] * MM_PER_PX for name in ("notes-end", "columns-end", "first-end")}
    below = height["first-end"] - height["columns-end"]
    lines = int((bottom_mm - below - height["notes-end"]) / RULE_MM)
    return replace(room, rules=max(lines, 0))
