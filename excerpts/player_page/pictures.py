"""Pictures of music as they stand in a page for a browser: our own drawing, inline."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from markupsafe import Markup, escape

from excerpts.words import Words
from excerpts.workbook.pages import Picture
from excerpts.workbook.paper_image import DrawnPaper
from excerpts.workbook.render_cache import PrintedSystem
from excerpts.workbook.workbook_music import Pictures

_HEAD: Final = re.compile(r'<svg xmlns="http://www\.w3\.org/2000/svg" width="[\d.]+mm" height="[\d.]+mm" ')


class InlinePictures(Pictures):
    """Keeps the drawings themselves, where a workbook keeps what a PDF takes.

    Args:
        words: Texts for the spoken descriptions.
    """

    def __init__(self, words: Words) -> None:
        super().__init__(words)
        self._drawings: dict[str, str] = {}

    def _source(self, system: PrintedSystem) -> str:
        source = f"music:{len(self._drawings) + 1}"
        self._drawings[source] = system.svg
        return source

    def of_paper(self, lines: Sequence[DrawnPaper], what: str) -> tuple[Picture, ...]:
        """None: what is cut out of a printed edition stays on paper and is not passed on in a file."""
        return ()

    def inline(self, picture: Picture, widest: float) -> Markup:
        """A picture as an element.

        Args:
            picture: The picture.
            widest: Width of a whole line in millimetres.
        """
        said = f'<svg role="img" aria-label="{escape(picture.alt)}" '
        drawn = _HEAD.sub(lambda _: said, self._drawings[picture.src], count=1)
        share = round(100 * picture.width / widest)
        return Markup(f'<div class="line{"" if share >= 99 else " short"}">{drawn}</div>')  # our own drawing
