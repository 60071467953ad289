"""Printed pages with the systems and barlines that are found on them drawn in and numbered, to print and to box by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Final

from fontTools.misc.transform import Transform

from excerpts.engrave.draw_boxes import BOX, PAPER, line_of, text_width
from excerpts.engrave.svg.ink import Ink, Paint
from excerpts.engrave.svg.paths import polyline, rectangle
from excerpts.engrave.svg.rect import Rect
from excerpts.paper import Pages, PageSeen, SystemSeen, whole
from excerpts.workbook.excerpt_sheet import build_sheet
from excerpts.workbook.look import Look
from excerpts.workbook.paper_image import DrawnPaper, marked_page

_SURE, _UNSURE = "#006e5a", "#be3c00"
_LINE: Final = 0.4
_LARGE, _SMALL = 6.0, 3.0
"""Sizes of the numbers of systems and of barlines, in millimetres."""
_BEFORE: Final = 5.0
"""Millimetres before a system at which its number stands."""
_OVER: Final = 1.5
"""Millimetres that a barline is drawn over and under its system."""
_DASHES: Final = 9


def numbered_pages(pages: Pages, seen: Mapping[int, PageSeen], name: str) -> bytes:
    """A PDF of pages, the music in grey, with what is found on it.

    Args:
        pages: The pages.
        seen: What is found on each that is wanted, by its number.
        name: What the pages are called.

    Raises:
        PaperError: One of them cannot be read.
    """
    look = Look()
    style = look.style()
    drawn: list[tuple[str, DrawnPaper]] = []
    for number, page in seen.items():
        inks = [ink for place, system in enumerate(page.systems, start=1) for ink in _system(place, system)]
        head = look.words("sheet.numbered", name=name, n=number)
        drawn.append((head, marked_page(whole(pages, number), inks, style)))
    return build_sheet([], size=look.size, title=name, words=look.words, pages=drawn)


def _system(number: int, system: SystemSeen) -> Iterator[Ink]:
    left, top, _, bottom = system.area
    for count, bar in enumerate(system.bars):
        colour = _UNSURE if bar in system.unsure else _SURE
        yield from _upright(bar, colour)
        # The first stands at the foot: over it the edition prints the number of a bar.
        y = bar[1] - _OVER - 0.4 if count else bar[3] + _OVER + 0.4 + _SMALL * 0.66
        yield from _number(str(count), _SMALL, bar[0] if count else bar[2], y, colour)
    for bar in system.unsure:
        if bar not in system.bars:
            yield from _upright(bar, _UNSURE, _DASHES)
        yield from _number("?", _SMALL, bar[2], bar[3] + _OVER + 0.4 + _SMALL * 0.66, _UNSURE)
    x = max(left - _BEFORE, _BEFORE / 2)
    yield from _number(str(number), _LARGE, x, (top + bottom) / 2 + 0.33 * _LARGE, _SURE)


def _number(text: str, size: float, x: float, baseline: float, colour: str) -> Iterator[Ink]:
    """A number with its middle at a place, on white."""
    width = text_width(text, size, bold=True)
    letters, room = line_of(text, size, x - width / 2, baseline, bold=True)
    ground = Rect(room.left - 0.3, room.top - 0.3, room.right + 0.3, room.bottom + 0.3)
    yield Ink(rectangle(ground), Transform(), BOX, Paint(colour=PAPER))
    yield from (replace(ink, paint=Paint(colour=colour)) for ink in letters)


def _upright(bar: tuple[float, float, float, float], colour: str, parts: int = 1) -> Iterator[Ink]:
    """An upright line, a little longer than its system; in dashes where it has several parts."""
    x0, y0, x1, y1 = bar[0], bar[1] - _OVER, bar[2], bar[3] + _OVER
    paint = Paint(fill=False, stroke=_LINE, colour=colour)
    for part in range(0, parts, 2):
        ends = [(x0 + (x1 - x0) * at, y0 + (y1 - y0) * at) for at in (part / parts, (part + 1) / parts)]
        yield Ink(polyline(ends), Transform(), BOX, paint)
