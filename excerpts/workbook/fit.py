"""Fits a workbook to its pages: room left on the first page gets lines, and less air may save a sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from weasyprint import Document

MM_PER_PX = 25.4 / 96
RULE_MM = 8.0
"""Height of a line to write on, as in the style sheet."""

FEWEST_PAGES = 2
"""A workbook of so few pages is never set tighter."""

SAVED = 0.1
"""Part of each page's height that less air saves, about."""

SAVED_MM = 60.0
"""What better places for page breaks may save besides."""

MOST_RULES = 8
"""Lines to write on beyond which the first page has room for music: the warm-ups follow on it."""

SOME_RULES = 4
"""Lines to write on of such a first page."""


@dataclass(frozen=True, slots=True)
class Room:
    """What a layout is free to choose.

    Attributes:
        rules: Lines to write on on the first page.
        one_page: Whether the first page is a page of its own.
        close: Whether the first page is set with less air.
        brief: Whether the list of boxes on it has their titles and pages only.
        tight: Whether all other pages are set with less air.
    """

    rules: int = 0
    one_page: bool = True
    close: bool = False
    brief: bool = False
    tight: bool = False


Layout = Callable[[Room], "Document"]


def fit(first: Layout | None, whole: Layout, bottom_mm: float) -> Document:
    """Lay out a workbook in the fewest pages.

    Args:
        first: Lays out the first page alone; None where it runs on into what follows.
        whole: Lays out everything.
        bottom_mm: How far down a page its text may go.
    """
    room = _first_page(first, bottom_mm) if first else Room(one_page=False)
    document = whole(room)
    if not _may_shrink(document, bottom_mm):
        return document
    tight = whole(replace(room, tight=True))
    return tight if len(tight.pages) < len(document.pages) else document


def _may_shrink(document: Document, bottom_mm: float) -> bool:
    """Whether less air on the pages may make room for what stands on the last one."""
    pages = len(document.pages)
    if pages <= FEWEST_PAGES:
        return False
    end = float(document.pages[-1].anchors.get("book-end", (0.0, 0.0))[1]) * MM_PER_PX
    return end <= SAVED * (pages - 1) * bottom_mm + SAVED_MM


def _first_page(first: Layout, bottom_mm: float) -> Room:
    """Fill the first page with lines to write on, set it closer where it is too full, or let it run on."""
    for room in (Room(), Room(close=True), Room(close=True, brief=True)):
        page = first(room).pages[0]
        if "first-end" in page.anchors:
            height = {name: at[1] * MM_PER_PX for name, at in page.anchors.items()}
            below = height["first-end"] - height["columns-end"]
            lines = int((bottom_mm - below - height["notes-end"]) / RULE_MM)
            if lines > MOST_RULES:
                return replace(room, rules=SOME_RULES, one_page=False)
            return replace(room, rules=max(lines, 0))
    return Room(one_page=False, close=True, brief=True)
