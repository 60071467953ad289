"""A page as a picture for a person to look at: as it is, or with its systems and barlines drawn in and numbered."""

from __future__ import annotations

from io import BytesIO
from typing import Final

from PIL import Image, ImageDraw, ImageFont

from excerpts.paper.sheet import MM_PER_INCH, Greys
from excerpts.paper.value import PageSeen, SystemSeen, Upright

_DPI: Final = 130
_SCREEN_DPI: Final = 150
"""Dots an inch of a page on a screen, where it is looked at in twice the size too."""
_SURE, _UNSURE = (0, 110, 90), (190, 60, 0)
_FAINT: Final = 0.55
"""How light the music is under what is drawn in."""


def plain(greys: Greys, width_mm: float, height_mm: float, grey: bool) -> bytes:
    """A page as it is: PNG in 16 greys, or JPEG where it is a photo, whose grain makes a PNG large.

    Args:
        greys: The page.
        width_mm: Its width.
        height_mm: Its height.
        grey: It is a photo, or a scan in greys.
    """
    size = round(width_mm * _SCREEN_DPI / MM_PER_INCH), round(height_mm * _SCREEN_DPI / MM_PER_INCH)
    small = Image.fromarray(greys).resize(size, Image.Resampling.BILINEAR)
    written = BytesIO()
    if grey:
        small.save(written, "JPEG", quality=80)
    else:
        small.quantize(16, dither=Image.Dither.NONE).save(written, "PNG")
    return written.getvalue()


def drawn_in(greys: Greys, seen: PageSeen) -> bytes:
    """A page with what is seen on it, as PNG.

    Args:
        greys: The page.
        seen: Its systems and barlines.
    """
    per_mm = _DPI / MM_PER_INCH
    size = round(seen.width_mm * per_mm), round(seen.height_mm * per_mm)
    small = Image.fromarray(greys).resize(size, Image.Resampling.BILINEAR)
    picture = small.point([round(255 - (255 - level) * (1 - _FAINT)) for level in range(256)]).convert("RGB")
    pen = ImageDraw.Draw(picture)
    for number, system in enumerate(seen.systems, start=1):
        _draw(pen, number, system, per_mm)
    written = BytesIO()
    picture.save(written, "PNG", optimize=True)
    return written.getvalue()


def _draw(pen: ImageDraw.ImageDraw, number: int, system: SystemSeen, per_mm: float) -> None:
    large, small = (ImageFont.load_default(size * per_mm) for size in (4.6, 3.0))
    left, top, _, bottom = (side * per_mm for side in system.area)
    middle = (top + bottom) / 2
    box = (left - 7.5 * per_mm, middle - 3.2 * per_mm, left - 1.2 * per_mm, middle + 3.2 * per_mm)
    shift = max(-box[0], 0.0)
    pen.rectangle((box[0] + shift, box[1], box[2] + shift, box[3]), fill=_SURE)
    pen.text(((box[0] + box[2]) / 2 + shift, middle), str(number), "white", large, anchor="mm")
    for count, bar in enumerate(system.bars):
        colour = _UNSURE if bar in system.unsure else _SURE
        _line(pen, bar, per_mm, colour)
        # The first stands at the foot: over it the edition prints the number of a bar.
        place = (bar[0], bar[1] - 1.8) if count else (bar[2], bar[3] + 1.5)
        pen.text((place[0] * per_mm, place[1] * per_mm), str(count), colour, small, anchor="ms" if count else "mt",
                 stroke_width=2, stroke_fill="white")  # fmt: skip
    for bar in system.unsure:
        if bar not in system.bars:
            _line(pen, bar, per_mm, _UNSURE, broken=True)
        pen.text((bar[2] * per_mm, (bar[3] + 1.5) * per_mm), "?", _UNSURE, small, anchor="mt", stroke_width=2,
                 stroke_fill="white")  # fmt: skip


def _line(
    pen: ImageDraw.ImageDraw, bar: Upright, per_mm: float, colour: tuple[int, int, int], broken: bool = False
) -> None:
    x0, y0, x1, y1 = (value * per_mm for value in (bar[0], bar[1] - 1.5, bar[2], bar[3] + 1.2))
    steps = 9 if broken else 1
    for step in range(0, steps, 2):
        start, end = step / steps, (step + 1) / steps
        ends = (x0 + (x1 - x0) * start, y0 + (y1 - y0) * start), (x0 + (x1 - x0) * end, y0 + (y1 - y0) * end)
        pen.line([*ends], fill=colour, width=max(round(0.45 * per_mm), 2))
