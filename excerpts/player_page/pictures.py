"""Pictures of music as they stand in a page for a browser: our own drawing, inline."""

from __future__ import annotations

import re
from typing import Final

from markupsafe import Markup, escape

from excerpts.player_page.paper_picture import paper_picture
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
        widest: Width of a whole line in millimetres.

    Attributes:
        has_paper: Whether there are pictures of printed pages among them.
    """

    def __init__(self, words: Words, widest: float) -> None:
        super().__init__(words)
        self._drawings: dict[str, str] = {}
        self.has_paper = False
        self.widest = widest

    def _source(self, system: PrintedSystem) -> str:
        source = f"music:{len(self._drawings) + 1}"
        self._drawings[source] = system.svg
        return source

    def _paper(self, line: DrawnPaper, what: str) -> str:
        self.has_paper = True
        return paper_picture(line, what)

    def inline(self, picture: Picture) -> Markup:
        """A picture as an element.

        Args:
            picture: The picture.
        """
        if picture.src not in self._drawings:  # cut out of a printed page
            image = Markup('<div class="line"><img src="{}" alt="{}" width="{}%"></div>')
            return image.format(picture.src, picture.alt, min(100, round(100 * picture.width / self.widest)))
        said = f'<svg role="img" aria-label="{escape(picture.alt)}" '
        drawn = _HEAD.sub(lambda _: said, self._drawings[picture.src], count=1)
        return Markup(f'<div class="line">{drawn}</div>')  # our own drawing
