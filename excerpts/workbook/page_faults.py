"""What is wrong on a page that is made: characters that no face has, and what lies outside the paper."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from excerpts.engrave.faceless import character_of, sentence

if TYPE_CHECKING:
    from weasyprint import Document


class _Heard(logging.Filter):
    """Keeps WeasyPrint's warnings of characters without a face to itself."""

    def __init__(self) -> None:
        super().__init__()
        self.characters: list[str] = []

    def filter(self, record: logging.LogRecord) -> bool:
        if not str(record.msg).startswith(".notdef glyph") or not isinstance(record.args, tuple):
            return True
        self.characters.append(str(record.args[0]))
        return False


@contextmanager
def heard() -> Iterator[list[str]]:
    """The characters that WeasyPrint finds no face for while this goes on; it does not say so itself."""
    logger, listener = logging.getLogger("weasyprint"), _Heard()
    logger.addFilter(listener)
    try:
        yield listener.characters
    finally:
        logger.removeFilter(listener)


def told(characters: Sequence[str], document: Document, music: Sequence[str]) -> list[str]:
    """A sentence for each of these characters, with the text and the page or the bar where it stands first.

    Args:
        characters: The characters.
        document: The pages.
        music: What was logged when the music on them was engraved, which tells the characters there with their bars.
    """
    known = {character_of(line): line for line in reversed(music)}
    return [known.get(one) or sentence(one, *_place(one, document)) for one in dict.fromkeys(characters)]


def _place(character: str, document: Document) -> tuple[str, str]:
    for number, page in enumerate(document.pages, start=1):
        box = getattr(page, "_page_box", None)  # sides of sheets that are to be folded have none
        for inner in box.descendants() if box is not None else ():
            text = getattr(inner, "text", "")
            if character in text:
                return text, f"page {number}"
    return "", ""


_PX_PER_MM: Final = 96 / 25.4
_SLACK_MM: Final = 0.1
_LONGEST: Final = 30


def off_the_paper(document: Document) -> list[str]:
    """A sentence for each page on which music or text lies outside the paper; none where all is well.

    Args:
        document: The laid-out document; the sheets of a booklet are looked at half by half.
    """
    halves = [half for page in document.pages for half in getattr(page, "halves", [(page, 0.0)])]
    sentences = []
    for number, (page, _) in enumerate(halves, start=1):
        outside = [(past, what) for what, past in _past(page) if past > _SLACK_MM]
        if outside:
            past, what = max(outside)
            sentences.append(f"page {number}: {what} lies {past:.1f} mm outside the paper.")
    return sentences


def _past(page: Any) -> Iterator[tuple[str, float]]:
    """What is on a page, and how far it reaches past the edges of the paper in millimetres."""
    for box in page._page_box.descendants():
        picture, text = getattr(box, "replacement", None), getattr(box, "text", "").strip()
        if picture is not None:
            left, right = getattr(picture, "past_mm", (0.0, 0.0))
            what = "music" if hasattr(picture, "past_mm") else "a picture"
        elif text:
            left = right = 0.0
            what = f'the text "{text[:_LONGEST]}"'
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
