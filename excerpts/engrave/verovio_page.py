"""Verovio, in a process of its own: one page of SVG from the private copy, and what it logged."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, Final

from excerpts.engrave.svg.letters import MUSIC_FONT
from excerpts.errors import EngravingError
from excerpts.system.child import Child, ChildDiedError

ENGRAVER: Final = Child("excerpts.system.child.engraver", megabytes=500)
"""A file that is made to could hang verovio or make it fill the memory: then the child is stopped, and only it."""

_SECONDS: Final = 4
"""Processor time for a page. Sixty bars of a quartet take a tenth of it; a passage is engraved twice, and what its file
costs besides is to stay below ten seconds in all."""

_SMALLER: Final = "Check whether something in these bars is wrong; try fewer bars."

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
    # No style sheet: what it says stands on the elements, and making it takes a tenth of the drawing.
    "mmOutput": True,
    "smuflTextFont": "none",
    "mnumInterval": 0,
    "xmlIdSeed": 1,
    "font": MUSIC_FONT,
}


class EngraverCrashedError(EngravingError):
    """The engraver broke down over this music, or asked for too much memory."""


@dataclass(frozen=True, slots=True)
class Page:
    """What the engraver gave.

    Attributes:
        svg: One page of SVG.
        log: What it complained of.
        marks: What words, dynamics, fingers and the like hang on, by their ids in the SVG: "tstamp" (beats
            from 1), "staff", "startid" (with a leading "#"), as far as the engraver tells. None of a natural
            system, which is only measured.
    """

    svg: bytes
    log: tuple[str, ...]
    marks: dict[str, dict[str, str]]


def draw(text: bytes, page_width: int, *, natural: bool, staves: int = 1, stretch_from: float = 0.0) -> Page:
    """Engrave MusicXML on one page.

    Args:
        text: The MusicXML in UTF-8, without declaration and DOCTYPE.
        page_width: Width of the page in the engraver's units (a staff is 72 high).
        natural: One endless system in its natural widths, instead of the breaks of the text.
        staves: Staves of the part: more than one needs more room between them.
        stretch_from: The last system is stretched to the full width if it is filled at least so far.

    Returns:
        The page.

    Raises:
        EngraverCrashedError: The engraver broke down.
        EngravingError: Nothing was drawn.
    """
    options = _OPTIONS | {
        "pageWidth": page_width,
        "spacingStaff": 4 if staves == 1 else 8,
        "breaks": "none" if natural else "encoded",
        "noJustification": natural,
        "minLastJustification": stretch_from,
    }
    try:
        wanted = b"" if natural else b"marks"
        svg, log, marks = ENGRAVER.ask(json.dumps(options).encode(), text, wanted, seconds=_SECONDS)
    except ChildDiedError as error:
        kind = EngravingError if error.late else EngraverCrashedError
        raise kind(f"drawing this music {error.reason}.", hint=_SMALLER) from error
    lines = tuple(line for line in log.decode("utf-8", "replace").splitlines() if line.strip())
    if not svg:
        raise EngravingError(
            "the engraver could not draw the music: " + " ".join(lines or ["no reason given"])
        )
    return Page(svg, lines, json.loads(marks))
