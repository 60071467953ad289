"""Music from paper as pictures for pages: areas in the size of the edition's staves, with the box drawn round them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from excerpts.engrave import Style
from excerpts.engrave.draw_boxes import frame
from excerpts.engrave.svg.drawing import Coloured, Drawing
from excerpts.engrave.svg.ink import Ink
from excerpts.engrave.svg.rect import Rect
from excerpts.paper import Area, PaperCut, PaperLine
from excerpts.workbook.paper_form import PaperForm
from excerpts.workbook.pdf_image import DrawnMusic


@dataclass(frozen=True, slots=True)
class _Window:
    """The part of an area that stands on one line, in millimetres of its page, and how much it is enlarged."""

    line: PaperLine
    left: float
    right: float
    scale: float


class DrawnPaper:
    """One line of a box from paper, for WeasyPrint; see `DrawnMusic`.

    Args:
        window: What it shows.
        around: The box round it.
        at: Where the music stands in the picture.
    """

    def __init__(self, window: _Window, around: Drawing, at: Rect) -> None:
        self.width_mm, self.height_mm = around.width_mm, around.height_mm
        self.past_mm = (0.0, 0.0)
        self._box = DrawnMusic(around.svg(), around.width_mm, around.height_mm)
        self._form = PaperForm(window.line.pdf)
        left, right, scale = window.left, window.right, window.scale
        clip = f"{left:.4f} 0 {right - left:.4f} {window.line.height_mm:.4f} re W n"
        place = f"{scale:.6f} 0 0 {-scale:.6f} {at.left - left * scale:.5f} {at.bottom:.5f} cm"
        self._operators = f"{place}\n{clip}\n/{self._form.name} Do".encode("ascii")

    def get_intrinsic_size(self, resolution: float, font_size: float) -> tuple[float, float, float]:
        """Width and height in CSS pixels, and their ratio."""
        return self._box.get_intrinsic_size(resolution, font_size)

    def draw(self, stream: Any, width: float, height: float, style: Any) -> None:
        """Put the music and its box into a page's stream."""
        stream.push_state()
        stream.transform(a=width / self.width_mm, d=height / self.height_mm)
        stream.stream.append(self._operators)
        stream.pop_state()
        self._box.draw(stream, width, height, style)


def drawn(cut: PaperCut, style: Style, label: str) -> tuple[list[DrawnPaper], bool]:
    """The lines of a box.

    Args:
        cut: What is cut out of the page.
        style: The edition's sizes.
        label: The number of the box.

    Returns:
        A picture for each line, and whether some have smaller staves because they are too wide or too high.
    """
    edge = style.box_line_mm
    windows = [
        window
        for line in cut.lines
        for window in _windows(line, style.staff_mm / line.staff_mm, style.width_mm - edge)
    ]
    pictures = []
    smaller = False
    for place, window in enumerate(windows):
        most = (style.height_mm or 10_000) - style.staff_mm
        scale = min(
            window.scale, (style.width_mm - edge) / (window.right - window.left), most / window.line.height_mm
        )
        smaller |= scale < window.scale - 1e-9
        width, height = (window.right - window.left) * scale, window.line.height_mm * scale
        rect = Rect(edge / 2, 0.0, edge / 2 + width, height)
        inks, top = frame(rect, "" if place else label, style, place > 0, place < len(windows) - 1)
        around = _drawing(width + edge, height - top + edge / 2, inks, top, style)
        scaled = _Window(window.line, window.left, window.right, scale)
        pictures.append(DrawnPaper(scaled, around, rect.moved(dy=-top)))
    return pictures, smaller


def boxed_page(page: PaperLine, boxes: Sequence[tuple[Area, str]], style: Style) -> DrawnPaper:
    """A whole page with boxes drawn in.

    Args:
        page: The page.
        boxes: Each area on it with its label, "" for none.
        style: The sizes of what it is printed on.
    """
    scale = min(style.width_mm / page.width_mm, (style.height_mm or style.width_mm) / page.height_mm, 1.0)
    inks = [
        ink for area, label in boxes for ink in frame(Rect(*(side * scale for side in area)), label, style)[0]
    ]
    around = _drawing(page.width_mm * scale, page.height_mm * scale, inks, 0.0, style)
    at = Rect(0.0, 0.0, around.width_mm, around.height_mm)
    return DrawnPaper(_Window(page, 0.0, page.width_mm, scale), around, at)


def _drawing(width: float, height: float, inks: Sequence[Ink], top: float, style: Style) -> Drawing:
    return Drawing(width, height, tuple(Coloured(ink, ink.paint.colour or style.ink) for ink in inks), top)


def _windows(line: PaperLine, scale: float, room: float) -> Iterator[_Window]:
    """An area in as many lines as it takes, broken at its barlines."""
    left = 0.0
    while (line.width_mm - left) * scale > room:
        fitting = [
            bar for bar in line.bars if left + 1 < bar < line.width_mm - 1 and (bar - left) * scale <= room
        ]
        if not fitting:
            break
        yield _Window(line, left, fitting[-1], scale)
        left = fitting[-1]
    yield _Window(line, left, line.width_mm, scale)
