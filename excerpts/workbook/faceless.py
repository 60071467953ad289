"""Hears which characters no font has while a PDF is written, and tells them in sentences of our own."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

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
