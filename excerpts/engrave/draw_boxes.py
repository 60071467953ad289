"""What we set round the music of a system ourselves: boxes with their labels, bar numbers, names of the parts.

The top and bottom of a box come from the ink; numbers stand clear of boxes and notes; names stand at the left of each
system where an excerpt has several parts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from fontTools.misc.transform import Transform

from excerpts.engrave.box_extent import BoxExtent
from excerpts.engrave.parts import PartStaves
from excerpts.engrave.places import BarPlace, BoxPlace
from excerpts.engrave.style import Style
from excerpts.engrave.svg.ink import Ink, Owner, Paint, heights
from excerpts.engrave.svg.letters import Run, letter_ink, set_line
from excerpts.engrave.svg.paths import Outline, polyline, rectangle
from excerpts.engrave.svg.rect import Rect

NUMBER_SIZE = 0.45
"""Size of bar numbers and labels, as a part of the staff height."""
_DIGIT_HEIGHT = 0.66
"""Height of a digit of the text face, in em."""
_SIDE_GAP = 0.35
"""White left and right of ink that a side of a box would cross: the side is broken there."""
_BESIDE_TAG = 0.8
"""White left of a label, in millimetres: words of the bar before do not run into it."""
_LEAST = 0.2
"""The box stands at least so many staff heights above and below the staff."""
BOX = Owner(-1, "box")
PAPER = "#ffffff"


@dataclass(frozen=True, slots=True)
class Drawn:
    """A box on one system, and the ink of its lines and its label."""

    place: BoxPlace
    inks: tuple[Ink, ...]


def line_of(text: str, size: float, x: float, baseline: float, **faces: bool) -> tuple[list[Ink], Rect]:
    """Set one line of text in millimetres; gives its ink and the rectangle of its width and digit height."""
    placed, width = set_line([Run(text, size, **faces)], x, baseline)
    inks = [letter_ink(sign, Transform(), Owner(-1, "label")) for sign in placed]
    return inks, Rect(x, baseline - _DIGIT_HEIGHT * size, x + width, baseline)


@lru_cache(maxsize=512)
def text_width(text: str, size: float, **faces: bool) -> float:
    """Width of one line of text in the unit of `size`."""
    return set_line([Run(text, size, **faces)], 0.0, 0.0)[1]


def draw_boxes(
    spans: list[BoxExtent],
    labels: tuple[str, ...],
    numbers: dict[int, str],
    inks: list[Ink],
    staff: tuple[float, float],
    style: Style,
) -> list[Drawn]:
    """Draw the boxes of one system.

    Args:
        spans: The stretch of each box.
        labels: Labels of the boxes of the excerpt; a box without one gets no tag.
        numbers: Bar number that will stand over each box (by its index), "" for none.
        inks: All ink of the system.
        staff: Top of the first staff and bottom of the last.
        style: The style.

    Returns:
        The boxes with their ink.
    """
    drawn: list[Drawn] = []
    for span in spans:
        label = labels[span.box] if span.box < len(labels) and not span.open_left else ""
        others = [ink for box in drawn for ink in box.inks if box.place.rect.left < span.right - 0.5
                  and box.place.rect.right > span.left + 0.5]  # fmt: skip
        rect = _rect(span, label, numbers.get(span.box, ""), [*inks, *others], staff, style)
        tag, tag_inks = _tag(label, rect, style)
        lines = _lines(rect, span, inks, style)
        place = BoxPlace(span.box, label, rect, span.open_left, span.open_right, tag)
        drawn.append(Drawn(place, (*lines, *tag_inks)))
    return drawn


def frame(
    rect: Rect, label: str, style: Style, open_left: bool = False, open_right: bool = False
) -> tuple[list[Ink], float]:
    """The ink of a box round music that is not ours, and the height at which it begins; "" for no label."""
    tag, inks = _tag(label, rect, style)
    lines = _lines(rect, BoxExtent(0, rect.left, rect.right, open_left, open_right), [], style)
    return [*lines, *inks], (tag.top if tag else rect.top - style.box_line_mm / 2)


def _rect(
    span: BoxExtent, label: str, number: str, inks: list[Ink], staff: tuple[float, float], style: Style
) -> Rect:
    size = NUMBER_SIZE * style.staff_mm
    wanted = (
        (_tag_width(label, size) if label else 0.0) + text_width(number, size, italic=not style.upright) + 1.5
    )
    clear = style.box_clear_mm + style.box_line_mm / 2
    inside = heights(inks, span.left, span.right)
    # The top also clears what stands beside the box where its label and number will stand.
    above = heights(inks, span.left - _BESIDE_TAG, max(span.right, span.left + wanted))
    least = _LEAST * style.staff_mm
    top = min(staff[0] - least, above[0] - clear if above else staff[0])
    bottom = max(staff[1] + least, inside[1] + clear if inside else staff[1])
    return Rect(span.left, top, span.right, bottom)


def _tag_width(label: str, size: float) -> float:
    return max(text_width(label, size, bold=True) + 0.5 * size, 1.05 * size)


def _tag(label: str, box: Rect, style: Style) -> tuple[Rect | None, list[Ink]]:
    """The label: white on a black plate that stands on the top left corner of the box."""
    if not label:
        return None, []
    size = NUMBER_SIZE * style.staff_mm
    height = (_DIGIT_HEIGHT + 0.38) * size
    left = box.left - style.box_line_mm / 2
    plate = Rect(left, box.top - height, left + _tag_width(label, size), box.top)
    width = text_width(label, size, bold=True)
    x = (plate.left + plate.right - width) / 2
    letters, _ = line_of(label, size, x, plate.bottom - 0.19 * size, bold=True)
    white = [Ink(ink.outline, ink.map, ink.owner, Paint(colour=PAPER), ink.fallback) for ink in letters]
    return plate, [Ink(rectangle(plate), Transform(), BOX), *white]


def _lines(rect: Rect, span: BoxExtent, inks: list[Ink], style: Style) -> list[Ink]:
    outlines: list[Outline] = []
    closed = not span.open_left and not span.open_right
    gaps_left = [] if span.open_left else _crossing(rect.left, rect, inks)
    gaps_right = [] if span.open_right else _crossing(rect.right, rect, inks)
    if closed and not gaps_left and not gaps_right:
        outlines.append(rectangle(rect))
    else:
        for y in (rect.top, rect.bottom):
            outlines.append(polyline([(rect.left, y), (rect.right, y)]))
        for x, gaps, is_open in (
            (rect.left, gaps_left, span.open_left),
            (rect.right, gaps_right, span.open_right),
        ):
            if not is_open:
                outlines.extend(polyline([(x, a), (x, b)]) for a, b in _pieces(rect.top, rect.bottom, gaps))
    paint = Paint(fill=False, stroke=style.box_line_mm, cap="square")
    return [Ink(outline, Transform(), BOX, paint) for outline in outlines]


_MAY_CROSS = frozenset({"staff", "barLine", "ledgerLines", "grpSym", "system"})


def _crossing(x: float, rect: Rect, inks: Iterable[Ink]) -> list[tuple[float, float]]:
    """Heights at which a side of the box would run through a sign or a word."""
    gaps: list[tuple[float, float]] = []
    for ink in inks:
        if ink.stretches or ink.owner.kind in _MAY_CROSS:
            continue
        it = ink.rect
        if it.left - _SIDE_GAP < x < it.right + _SIDE_GAP and it.bottom > rect.top and it.top < rect.bottom:
            gaps.append((it.top - _SIDE_GAP, it.bottom + _SIDE_GAP))
    return sorted(gaps)


def _pieces(top: float, bottom: float, gaps: list[tuple[float, float]]) -> list[tuple[float, float]]:
    pieces: list[tuple[float, float]] = []
    at = top
    for start, end in gaps:
        if start > at:
            pieces.append((at, min(start, bottom)))
        at = max(at, end)
    if at < bottom:
        pieces.append((at, bottom))
    return pieces


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
        width = text_width(bar.label, size, italic=not style.upright)
        taken = [*inks, *(ink for other in drawn for ink in other.inks)]
        taken += [ink for number in numbers for ink in number.inks]
        span = heights(taken, x - 0.4, x + width + 0.4)
        baseline = min(staff_top, span[0] if span else staff_top) - _CLEAR
        letters, rect = line_of(bar.label, size, x, baseline, italic=not style.upright)
        numbers.append(Number(bar.bar, bar.label, rect, tuple(letters)))
    return numbers


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
