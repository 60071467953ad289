"""Puts the pages of a booklet two and two on sheets, in the order in which they lie when folded."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from weasyprint import Document


def folded_order(pages: int) -> list[tuple[int | None, int | None]]:
    """Left and right page of each side of the sheets, from the outside of the booklet to its middle.

    The sheets are printed on both sides, turned on the short edge, laid on each other and folded once. The
    number of pages is filled up to whole sheets with white ones at the end.

    Args:
        pages: How many pages the booklet has.

    Returns:
        Index of the page from 0, None for a white page: ((last, first), (second, last but one) …).
    """
    count = -(-pages // 4) * 4
    sides: list[tuple[int, int]] = []
    for place in range(count // 2):
        low, high = place, count - 1 - place
        sides.append((low, high) if place % 2 else (high, low))
    return [(left if left < pages else None, right if right < pages else None) for left, right in sides]


class Sheet:
    """One side of a sheet with two pages side by side: what WeasyPrint asks of any page that it writes.

    A sheet is for the printer: it has no outline, no links and no tags, whose order would be that of the
    sheets. (`weasyprint.document.Page`, version 70, has the same names.)

    Args:
        left: The page at the left, None for a white one.
        right: The page at the right.
        width: Width of each of the two, in CSS pixels.
        height: Height of the sheet.
    """

    def __init__(self, left: Any, right: Any, width: float, height: float) -> None:
        self.halves = [(page, shift) for page, shift in ((left, 0.0), (right, width)) if page is not None]
        self.width = 2 * width
        self.height = height
        self.bleed = dict.fromkeys(("top", "right", "bottom", "left"), 0)
        self.forms: dict[Any, Any] = {None: []}
        self.bookmarks: list[Any] = []
        self.links: list[Any] = []
        self.anchors: dict[str, Any] = {}

    def paint(self, stream: Any, scale: float = 1) -> None:
        """Paint both pages."""
        for page, shift in self.halves:
            stream.push_state()
            stream.transform(e=shift * scale)
            page.paint(stream, scale)
            stream.pop_state()


def imposed(document: Document) -> Document:
    """The sheets of a booklet, from its laid-out pages."""
    pages = document.pages
    width, height = pages[0].width, pages[0].height

    def page(place: int | None) -> Any:
        return None if place is None else pages[place]

    return document.copy(
        [Sheet(page(left), page(right), width, height) for left, right in folded_order(len(pages))]
    )
