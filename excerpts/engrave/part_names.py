"""Names of the parts at the left of each system, where an excerpt has several."""

from __future__ import annotations

from excerpts.engrave.draw_boxes import line_of, text_width
from excerpts.engrave.parts import PartStaves
from excerpts.engrave.style import Style
from excerpts.engrave.svg.ink import Ink

NAME_SIZE = 0.45
"""Size of the names, as a part of the staff height."""
_GAP = 1.2
"""White between a name and the bracket, in millimetres."""
_BRACKET = 0.35
"""Room for the bracket of several parts, in staff heights."""
_CAP_HEIGHT = 0.66
"""Height of a capital of the text face, in em."""
_LONGEST = 3.5
"""A name wider than so many staff heights is cut to its first word, and that to what has room."""


def names_room(parts: tuple[PartStaves, ...], style: Style) -> float:
    """How far the staves stand from the left end of the picture, in millimetres, for names and bracket."""
    size = NAME_SIZE * style.staff_mm
    widest = max((text_width(_fitted(part.name, style), size) for part in parts), default=0.0)
    return widest + (_GAP if widest else 0.0) + _BRACKET * style.staff_mm


def draw_names(
    parts: tuple[PartStaves, ...], staves: list[tuple[float, float]], right: float, style: Style
) -> list[Ink]:
    """Set the names of the parts of one system, each at the middle of its staves.

    Args:
        parts: The parts.
        staves: Top and bottom of each staff of the system.
        right: Where the staves begin.
        style: The style.
    """
    size = NAME_SIZE * style.staff_mm
    end = right - _BRACKET * style.staff_mm - _GAP
    inks: list[Ink] = []
    for part in parts:
        mine = staves[part.first : part.first + part.count]
        if not mine or not part.name:
            continue
        text = _fitted(part.name, style)
        baseline = (mine[0][0] + mine[-1][1] + _CAP_HEIGHT * size) / 2
        inks += line_of(text, size, end - text_width(text, size), baseline)[0]
    return inks


def _fitted(name: str, style: Style) -> str:
    """A name that is short enough: whole, or its first word, or the beginning of that."""
    size, room = NAME_SIZE * style.staff_mm, _LONGEST * style.staff_mm
    if text_width(name, size) <= room:
        return name
    word = name.split(" ")[0]
    if text_width(word, size) <= room:
        return word
    while len(word) > 1 and text_width(word + ".", size) > room:
        word = word[:-1]
    return word + "."
