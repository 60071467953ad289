"""Bar numbers, set by us so that they stand clear of boxes and notes."""

from __future__ import annotations

from dataclasses import dataclass

from excerpts.engrave.box_extent import BoxExtent
from excerpts.engrave.draw_boxes import NUMBER_SIZE, Drawn, line_of, text_width
from excerpts.engrave.places import BarPlace
from excerpts.engrave.style import Style
from excerpts.engrave.svg.ink import Ink, heights
from excerpts.engrave.svg.rect import Rect

_CLEAR = 0.7
"""White under a bar number, in millimetres."""


@dataclass(frozen=True, slots=True)
class Number:
    """A printed bar number."""

    bar: int
    text: str
    rect: Rect
    inks: tuple[Ink, ...]


def numbered_bars(bars: list[BarPlace], spans: list[BoxExtent], style: Style) -> list[BarPlace]:
    """Choose the bars of a system that show their number."""
    if style.bar_numbers == "none" or not bars:
        return []
    if style.bar_numbers == "every":
        return [bar for bar in bars if bar.label]
    starts = [_first_bar(span, bars) for span in spans if not span.open_left] if style.draw_box else []
    chosen = {bar.bar for bar in [bars[0], *starts] if bar.label}
    return [bar for bar in bars if bar.bar in chosen]


def _first_bar(span: BoxExtent, bars: list[BarPlace]) -> BarPlace:
    # The line of a box stands half a barline before its bar; a box in mid-bar names the bar it begins in.
    return next((bar for bar in bars if bar.right > span.left + 1.0), bars[-1])


def over_boxes(bars: list[BarPlace], spans: list[BoxExtent], style: Style) -> dict[int, str]:
    """The number that stands on the left corner of each box, by the index of the box."""
    shown = {bar.bar for bar in numbered_bars(bars, spans, style)}
    numbers: dict[int, str] = {}
    for span in spans:
        first = _first_bar(span, bars)
        if first.bar in shown:
            numbers[span.box] = first.label
    return numbers


def draw_numbers(
    bars: list[BarPlace],
    spans: list[BoxExtent],
    drawn: list[Drawn],
    inks: list[Ink],
    staff_top: float,
    style: Style,
) -> list[Number]:
    """Set the bar numbers of one system.

    Args:
        bars: Bars of the system.
        spans: Stretches of the boxes.
        drawn: The boxes as drawn.
        inks: All other ink of the system.
        staff_top: Top of the first staff.
        style: The style.

    Returns:
        The numbers, clear of the ink, the boxes and one another.
    """
    corner = {_first_bar(span, bars).bar: box for span, box in zip(spans, drawn, strict=False)}
    size = NUMBER_SIZE * style.staff_mm
    numbers: list[Number] = []
    for bar in numbered_bars(bars, spans, style):
        box = corner.get(bar.bar)
        x = bar.left
        if box is not None:
            x = box.place.tag.right + 0.8 if box.place.tag else box.place.rect.left
        width = text_width(bar.label, size, italic=True)
        taken = [*inks, *(ink for other in drawn for ink in other.inks)]
        taken += [ink for number in numbers for ink in number.inks]
        span = heights(taken, x - 0.4, x + width + 0.4)
        baseline = min(staff_top, span[0] if span else staff_top) - _CLEAR
        letters, rect = line_of(bar.label, size, x, baseline, italic=True)
        numbers.append(Number(bar.bar, bar.label, rect, tuple(letters)))
    return numbers
