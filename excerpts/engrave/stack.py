"""Several engravings under one another, as one standalone SVG file."""

from __future__ import annotations

import logging
from collections.abc import Sequence

from excerpts.engrave.draw_boxes import line_of, text_width
from excerpts.engrave.engraving import Engraving
from excerpts.engrave.faceless import character_of, sentence
from excerpts.engrave.finish_system import System
from excerpts.engrave.svg.drawing import UNITS_PER_MM, Coloured, Drawing, data_uri, document
from excerpts.engrave.svg.ink import Ink
from excerpts.musicxml.format import SOFTWARE

_LOGGER = logging.getLogger("excerpts")

_HEADING_MM = 5.0
"""Size of a heading (14 pt)."""
_HEADING_LINE = 6.0
"""From line to line of a heading."""
_HEADING_EDGE = 0.2
_UNDER_HEADING = 3.0
_SYSTEM_GAP = 4.0


def picture(system: System) -> str:
    """The `src` of an `<img>` that shows a system; print it `width_mm` by `height_mm` large."""
    return data_uri(system.svg)


def stack_svg(engravings: Sequence[Engraving], gap_mm: float = 12.0, headings: Sequence[str] = ()) -> bytes:
    """Stack engravings in one SVG file, measured in millimetres; characters that no font has are logged.

    Args:
        engravings: What to stack, top to bottom.
        gap_mm: White between two engravings.
        headings: What stands over each engraving, "" for nothing; may be shorter than `engravings`.

    Returns:
        The SVG file.
    """
    parts: list[str] = []
    y = 0.0
    width = max((system.width_mm for e in engravings for system in e.systems), default=0.0)
    for index, engraving in enumerate(engravings):
        y += gap_mm if index else 0.0
        heading = headings[index] if index < len(headings) else ""
        for line in dict.fromkeys((*_faceless(heading), *filter(character_of, engraving.log))):
            _LOGGER.warning(line)
        if heading:
            body, height = _heading(heading, width, engraving.style.ink)
            parts.append(_at(y, body))
            y += height + _UNDER_HEADING
        for place, system in enumerate(engraving.systems):
            y += _SYSTEM_GAP if place else 0.0
            parts.append(_at(y, system.drawing.body()))
            y += system.height_mm
    text = document("".join(parts), width, y)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<!-- Made with {SOFTWARE} -->\n{text}\n'.encode()


def _faceless(heading: str) -> tuple[str, ...]:
    inks, _ = line_of(heading, _HEADING_MM, 0.0, 0.0, bold=True)
    return tuple(
        sentence(one, heading, "the heading") for one in dict.fromkeys(i.fallback for i in inks if i.fallback)
    )


def _heading(text: str, width: float, colour: str) -> tuple[str, float]:
    inks: list[Ink] = []
    lines = wrapped(text, width - 2 * _HEADING_EDGE)
    for place, line in enumerate(lines):
        baseline = place * _HEADING_LINE + 0.75 * _HEADING_MM
        inks += line_of(line, _HEADING_MM, _HEADING_EDGE, baseline, bold=True)[0]
    height = (len(lines) - 1) * _HEADING_LINE + _HEADING_MM
    return Drawing(width, height, tuple(Coloured(ink, colour) for ink in inks)).body(), height


def wrapped(text: str, width: float) -> list[str]:
    """The lines of a heading that is to be so many millimetres wide; a word that is longer than a line is broken."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".lstrip()
        if _heading_width(longer) <= width:
            lines[-1] = longer
            continue
        lines += [""] if lines[-1] else []
        for letter in word:
            if lines[-1] and _heading_width(lines[-1] + letter) > width:
                lines.append("")
            lines[-1] += letter
    return lines


def _heading_width(text: str) -> float:
    return text_width(text, _HEADING_MM, bold=True)


def _at(y: float, body: str) -> str:
    return f'<g transform="translate(0 {round(y * UNITS_PER_MM)})">{body}</g>'
