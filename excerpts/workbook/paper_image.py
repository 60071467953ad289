"""Music from paper as pictures for pages: areas in the size of the edition's staves, with the box drawn round them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from fontTools.misc.transform import Transform

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
    """The part of a line from paper that stands on one line of the page, in millimetres of its source.

    Attributes:
        line: The line.
        left: Where the part begins.
        right: Where it ends.
        scale: How much it is enlarged.
        lead: Clef and key of the line stand in front.
    """

    line: PaperLine
    left: float
    right: float
    scale: float
    lead: bool = False

    @property
    def lead_mm(self) -> float:
        """Width of what stands in front."""
        return self.line.lead_mm if self.lead else 0.0

    @property
    def width(self) -> float:
        """Its width on the page."""
        return (self.lead_mm + self.right - self.left) * self.scale

    @property
    def box(self) -> tuple[float, float]:
        """From where to where the box goes, from the left of what is drawn, on the page."""
        left, right = self.line.box or (0.0, self.line.width_mm)
        ends = max(left, self.left), min(right, self.right)
        return tuple((self.lead_mm + end - self.left) * self.scale for end in ends)  # type: ignore[return-value]


class DrawnPaper:
    """One line of a box from paper, for WeasyPrint; see `DrawnMusic`.

    Args:
        window: What it shows.
        around: The box round it.
        at: Where the music stands in the picture.
        context: How light what stands beside the box is, from 0, black, to 1.
    """

    def __init__(self, window: _Window, around: Drawing, at: Rect, context: float = 0.0) -> None:
        self.width_mm, self.height_mm = around.width_mm, around.height_mm
        self.past_mm = (0.0, 0.0)
        self._box = DrawnMusic(around.svg(), around.width_mm, around.height_mm)
        line, scale = window.line, window.scale
        self._forms = [PaperForm(line.pdf)]
        start = at.left + window.lead_mm * scale
        self._operators = [
            _shown(self._forms[0], window.left, window.right, line.height_mm, scale, start, at.bottom)
        ]
        if window.lead:
            self._forms.append(PaperForm(line.lead))
            self._operators.append(
                _shown(self._forms[1], 0.0, line.lead_mm, line.height_mm, scale, at.left, at.bottom)
            )
        left, right = window.box
        sides = (at.left, at.left + left), (at.left + right, at.left + window.width)
        self._veils = [
            f"1 1 1 rg {a:.4f} {at.top:.4f} {b - a:.4f} {at.bottom - at.top:.4f} re f".encode()
            for a, b in sides
            if context and b - a > _HAIR_MM
        ]
        self._context = context

    def get_intrinsic_size(self, resolution: float, font_size: float) -> tuple[float, float, float]:
        """Width and height in CSS pixels, and their ratio."""
        return self._box.get_intrinsic_size(resolution, font_size)

    def draw(self, stream: Any, width: float, height: float, style: Any) -> None:
        """Put the music and its box into a page's stream."""
        stream.push_state()
        stream.transform(a=width / self.width_mm, d=height / self.height_mm)
        for operators in self._operators:
            stream.push_state()
            stream.stream.append(operators)
            stream.pop_state()
        if self._veils:
            stream.set_alpha(self._context)
            stream.stream.extend(self._veils)
        stream.pop_state()
        self._box.draw(stream, width, height, style)


_HAIR_MM: Final = 0.05
_FAINT: Final = 0.5
"""How light the music is under what is drawn over it."""


def _shown(
    form: PaperForm, left: float, right: float, height: float, scale: float, x: float, bottom: float
) -> bytes:
    """The operators that draw a part of a form with its left side and its bottom at a place."""
    place = f"{scale:.6f} 0 0 {-scale:.6f} {x - left * scale:.5f} {bottom:.5f} cm"
    clip = f"{left:.4f} 0 {right - left:.4f} {height:.4f} re W n"
    return f"{place}\n{clip}\n/{form.name} Do".encode("ascii")


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
    room = style.width_mm - edge
    windows = [
        window for line in cut.lines for window in _windows(line, style.staff_mm / line.staff_mm, room)
    ]
    pictures = []
    smaller = False
    for place, window in enumerate(windows):
        most = (style.height_mm or 10_000) - style.staff_mm
        scale = min(window.scale, window.scale * room / window.width, most / window.line.height_mm)
        smaller |= scale < window.scale - 1e-9
        scaled = replace(window, scale=scale)
        left, right = (edge / 2 + side for side in scaled.box)
        rect = Rect(left, 0.0, right, window.line.height_mm * scale)
        inks, top = frame(rect, "" if place else label, style, place > 0, place < len(windows) - 1)
        around = _drawing(scaled.width + edge, rect.bottom - top + edge / 2, inks, top, style)
        at = Rect(edge / 2, -top, edge / 2 + scaled.width, rect.bottom - top)
        pictures.append(DrawnPaper(scaled, around, at, _lightness(style.context)))
    return pictures, smaller


def _lightness(colour: str) -> float:
    """How light a grey "#6b6b6b" is."""
    return int(colour[1:3], 16) / 255


def boxed_page(page: PaperLine, boxes: Sequence[tuple[Area, str]], style: Style) -> DrawnPaper:
    """A whole page with boxes drawn in.

    Args:
        page: The page.
        boxes: Each area on it with its label, "" for none.
        style: The sizes of what it is printed on.
    """
    scale = _scale(page, style)
    inks = [
        ink for area, label in boxes for ink in frame(Rect(*(side * scale for side in area)), label, style)[0]
    ]
    return _whole(page, inks, scale, style)


def marked_page(page: PaperLine, inks: Sequence[Ink], style: Style) -> DrawnPaper:
    """A whole page in grey with something drawn over it.

    Args:
        page: The page.
        inks: What is drawn, in millimetres of the page.
        style: The sizes of what it is printed on.
    """
    scale = _scale(page, style)
    scaled = [
        Ink(ink.outline, Transform(scale, 0, 0, scale, 0, 0).transform(ink.map), ink.owner, ink.paint)
        for ink in inks
    ]
    return _whole(replace(page, box=(0.0, 0.0)), scaled, scale, style, _FAINT)


def _scale(page: PaperLine, style: Style) -> float:
    return min(style.width_mm / page.width_mm, (style.height_mm or style.width_mm) / page.height_mm, 1.0)


def _whole(
    page: PaperLine, inks: Sequence[Ink], scale: float, style: Style, context: float = 0.0
) -> DrawnPaper:
    around = _drawing(page.width_mm * scale, page.height_mm * scale, inks, 0.0, style)
    at = Rect(0.0, 0.0, around.width_mm, around.height_mm)
    return DrawnPaper(_Window(page, 0.0, page.width_mm, scale), around, at, context)


def _drawing(width: float, height: float, inks: Sequence[Ink], top: float, style: Style) -> Drawing:
    return Drawing(width, height, tuple(Coloured(ink, ink.paint.colour or style.ink) for ink in inks), top)


def _windows(line: PaperLine, scale: float, room: float) -> Iterator[_Window]:
    """A line in as many lines of the page as it takes, broken at its barlines; context gives way first.

    Each begins with clef and key, as every line of music does.
    """
    box = line.box or (0.0, line.width_mm)
    left = 0.0 if (_front(line, 0.0) + box[1]) * scale <= room else box[0]
    front = _front(line, left)
    right = line.width_mm if (front + line.width_mm - left) * scale <= room else box[1]
    while (front + right - left) * scale > room:
        fitting = [
            bar for bar in line.bars if left + 1 < bar < right - 1 and (front + bar - left) * scale <= room
        ]
        if not fitting:
            break
        yield _Window(line, left, fitting[-1], scale, front > 0)
        left = fitting[-1]
        front = _front(line, left)
    yield _Window(line, left, right, scale, front > 0)


def _front(line: PaperLine, left: float) -> float:
    """Width of clef and key in front of a part of a line that does not show them itself."""
    return line.lead_mm if line.lead and left >= line.clef_to - _HAIR_MM else 0.0
