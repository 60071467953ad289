"""Verovio itself: one page of SVG from the private copy, and what it logged."""

from __future__ import annotations

import os
import re
import tempfile
from dataclasses import dataclass
from importlib.resources import files
from threading import Lock, local
from typing import Any

from excerpts.engrave.letters import MUSIC_FONT
from excerpts.errors import EngravingError

_LOCK = Lock()
"""The log comes over file descriptor 2, which the whole process shares."""

_OWN = local()
"""One toolkit a thread: making it costs as much as engraving a line of music."""

_OPTIONS: dict[str, Any] = {
    "header": "none",
    "footer": "none",
    "pageHeight": 60000,
    "adjustPageHeight": True,
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "pageMarginTop": 0,
    "pageMarginBottom": 0,
    "scale": 100,
    "unit": 9,
    "svgViewBox": True,
    "svgFormatRaw": True,
    "smuflTextFont": "none",
    "mnumInterval": 0,
    "xmlIdSeed": 1,
    "font": MUSIC_FONT,
}


@dataclass(frozen=True, slots=True)
class Page:
    """What the engraver gave.

    Attributes:
        svg: One page of SVG.
        log: What it complained of.
        marks: What words, dynamics, fingers and the like hang on, by their ids in the SVG: "tstamp" (beats
            from 1), "staff", "startid" (with a leading "#"), as far as the engraver tells.
    """

    svg: bytes
    log: tuple[str, ...]
    marks: dict[str, dict[str, str]]


def draw(text: str, page_width: int, *, natural: bool, staves: int = 1, stretch_from: float = 0.0) -> Page:
    """Engrave MusicXML on one page.

    Args:
        text: The MusicXML, without declaration and DOCTYPE.
        page_width: Width of the page in the engraver's units (a staff is 72 high).
        natural: One endless system in its natural widths, instead of the breaks of the text.
        staves: Staves of the part: more than one needs more room between them.
        stretch_from: The last system is stretched to the full width if it is filled at least so far.

    Returns:
        The page.

    Raises:
        EngravingError: Nothing was drawn.
    """
    options = _OPTIONS | {
        "pageWidth": page_width,
        "spacingStaff": 4 if staves == 1 else 8,
        "breaks": "none" if natural else "encoded",
        "noJustification": natural,
        "minLastJustification": stretch_from,
    }
    with _LOCK, tempfile.TemporaryFile() as log:
        kept = os.dup(2)
        os.dup2(log.fileno(), 2)
        try:
            svg = _render(_toolkit(), options, text)
            marks = _marks(_toolkit(), svg or "")
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        log.seek(0)
        lines = log.read().decode("utf-8", "replace").splitlines()
    if svg is None:
        raise EngravingError(
            "the engraver could not draw the music: " + " ".join(lines or ["no reason given"])
        )
    return Page(svg.encode("utf-8"), tuple(line for line in lines if line.strip()), marks)


def _toolkit() -> Any:
    if not hasattr(_OWN, "toolkit"):
        import verovio

        # In a thread of its own verovio finds its fonts only if told where they are.
        verovio.setDefaultResourcePath(str(files("verovio").joinpath("data")))
        _OWN.toolkit = verovio.toolkit()
    return _OWN.toolkit


def _render(toolkit: Any, options: dict[str, Any], text: str) -> str | None:
    toolkit.setOptions(options)
    toolkit.resetXmlIdSeed(1)
    if not toolkit.loadData(text) or toolkit.getPageCount() < 1:
        return None
    svg = str(toolkit.renderToSVG(1))
    # An empty document loads without complaint and gives a page of no height.
    height = svg.split('viewBox="', 1)[-1].split('"', 1)[0].split(" ")[-1]
    return svg if float(height) > 0 else None


_MARK = re.compile(r'<g [^>]*?\bid="([^"]+)" class="(?:dir|dynam|tempo|reh|fing)\b')


def _marks(toolkit: Any, svg: str) -> dict[str, dict[str, str]]:
    return {ident: dict(toolkit.getElementAttr(ident)) for ident in _MARK.findall(svg)}
