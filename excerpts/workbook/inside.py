"""Looks at every page that is made, whether all of it lies on the paper: what does not is told by its page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

from weasyprint.formatting_structure import boxes

if TYPE_CHECKING:
    from weasyprint import Document

_PX_PER_MM: Final = 96 / 25.4
_SLACK_MM: Final = 0.1
_LONGEST: Final = 30


def off_the_paper(document: Document) -> list[str]:
    """A sentence for each page on which music or text lies outside the paper; none where all is well.

    Args:
        document: The laid-out document; the sheets of a booklet are looked at half by half.
    """
    halves = [half for page in document.pages for half in getattr(page, "halves", [(page, 0.0)])]
    told = []
    for number, (page, _) in enumerate(halves, start=1):
        found = [(past, what) for what, past in _past(page) if past > _SLACK_MM]
        if found:
            past, what = max(found)
            told.append(f"page {number}: {what} lies {past:.1f} mm outside the paper.")
    return told


def _past(page: Any) -> Iterator[tuple[str, float]]:
    """What is on a page, and how far it reaches past the edges of the paper in millimetres."""
    for box in page._page_box.descendants():
        if isinstance(box, boxes.ReplacedBox):
            left, right = getattr(box.replacement, "past_mm", (0.0, 0.0))
            what = "music" if hasattr(box.replacement, "past_mm") else "a picture"
        elif isinstance(box, boxes.TextBox) and box.text.strip():
            left = right = 0.0
            what = f'the text "{box.text.strip()[:_LONGEST]}"'
        else:
            continue
        x, y = box.position_x, box.position_y
        sides = (
            left - x / _PX_PER_MM,
            (x + box.width - page.width) / _PX_PER_MM + right,
            -y / _PX_PER_MM,
            (y + box.height - page.height) / _PX_PER_MM,
        )
        yield what, max(sides)
