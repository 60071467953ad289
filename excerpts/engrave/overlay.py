"""Boxes and bar numbers for music that is engraved already: what changes while the notes stay.

They are drawn by the rules of print (`box_extent`, `draw_boxes`), as a picture of its own that lies over the system.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from excerpts.engrave.box_extent import BoxExtent, cut_before, spans
from excerpts.engrave.draw_boxes import draw_boxes, draw_numbers, over_boxes
from excerpts.engrave.engraving import Engraving
from excerpts.engrave.finish_system import BARLINE_HALF, System
from excerpts.engrave.places import BoxPlace
from excerpts.engrave.style import Style
from excerpts.engrave.svg.drawing import Coloured, Drawing
from excerpts.engrave.svg.rect import Rect
from excerpts.excerpt import BarRef, Box, Excerpt, Position

EARLIER_INK = "#767676"
"""Boxes of earlier weeks: 4.5:1 on white, and lighter than this week's."""
_EARLIER_POINTS = 0.5


@dataclass(frozen=True, slots=True)
class Boxed:
    """A box in the places of its part: measure (from 1) and onset, up to but not including the end.

    Attributes:
        start: Place and onset of its start.
        end: Place and onset of its end.
        label: What is printed at it; "" for none.
        earlier: It is of an earlier week, and drawn in a lighter line.
    """

    start: tuple[int, Fraction]
    end: tuple[int, Fraction]
    label: str = ""
    earlier: bool = False


@dataclass(frozen=True, slots=True)
class Overlay:
    """What lies over one system.

    Attributes:
        svg: The picture, as large as that of the system; boxes may reach past it.
        boxes: The boxes on it with their places in the list that was given.
    """

    svg: str
    boxes: tuple[BoxPlace, ...]


def overlay(engraving: Engraving, system: System, boxes: Sequence[Boxed]) -> Overlay:
    """Draw boxes and bar numbers for a system that was engraved without them.

    Args:
        engraving: The engraving that the system is of.
        system: The system.
        boxes: The boxes of the part, in their order; those that are elsewhere are passed over.
    """
    style, top = replace(engraving.style, draw_box=True, bar_numbers="system"), system.drawing.top_mm
    inks = [coloured.ink for coloured in system.drawing.inks]
    staves = [(high + top, low + top) for high, low in system.staves]
    staff = (staves[0][0], staves[-1][1])
    bars = list(system.bars)
    coloured: list[Coloured] = []
    placed: list[BoxPlace] = []
    for earlier in (True, False):
        chosen = [index for index, box in enumerate(boxes) if box.earlier is earlier]
        own = replace(style, ink=EARLIER_INK, box_line_pt=_EARLIER_POINTS) if earlier else style
        extents = _extents(engraving.bars, system, [boxes[index] for index in chosen], own)
        labels = tuple(boxes[index].label for index in chosen)
        numbers = {} if earlier else over_boxes(bars, extents, own)
        drawn = draw_boxes(extents, labels, numbers, inks, staff, own)
        coloured += [Coloured(ink, ink.paint.colour or own.ink) for box in drawn for ink in box.inks]
        placed += [replace(box.place.moved(-top), box=chosen[box.place.box]) for box in drawn]
        inks = [*inks, *(ink for box in drawn for ink in box.inks)] if earlier else inks
        if not earlier:
            printed = draw_numbers(bars, extents, drawn, inks, staff[0], own)
            coloured += [Coloured(ink, own.ink) for number in printed for ink in number.inks]
    picture = Drawing(system.width_mm, system.height_mm, tuple(coloured), top)
    return Overlay(picture.svg(), tuple(placed))


def cut_points(engraving: Engraving, system: System, bar: int, onsets: Sequence[Fraction]) -> list[float]:
    """Where the side of a box would stand that begins or ends at onsets inside a bar.

    Args:
        engraving: The engraving that the system is of.
        system: The system.
        bar: Index of the bar in `Engraving.bars`.
        onsets: Onsets inside the bar.
    """
    place = next(place for place in system.bars if place.bar == bar)
    notes, clefs = list(system.placed.values()), _clefs(system)
    excerpt = Excerpt(b"", engraving.bars)
    return [cut_before(Position(bar, onset), place, notes, clefs, excerpt) for onset in onsets]


def _extents(bars: Sequence[BarRef], system: System, boxes: Sequence[Boxed], style: Style) -> list[BoxExtent]:
    framed = tuple(Box(_position(bars, *box.start), _end(bars, *box.end)) for box in boxes)
    half = BARLINE_HALF * style.staff_mm
    notes = list(system.placed.values())
    return spans(Excerpt(b"", tuple(bars), framed), list(system.bars), notes, _clefs(system), half)


def _clefs(system: System) -> list[Rect]:
    return [ink.rect for ink in system.music if ink.owner.kind == "clef"]


def _position(bars: Sequence[BarRef], place: int, onset: Fraction) -> Position:
    """A place among bars of which some stand for several; before or behind them where it is not among them."""
    index = bisect_right([bar.place for bar in bars], place) - 1
    if index < 0 or place >= bars[-1].place + bars[-1].count:
        return Position(index if index < 0 else len(bars), onset)
    return Position(index, onset if bars[index].count == 1 else Fraction(0))


def _end(bars: Sequence[BarRef], place: int, onset: Fraction) -> Position:
    at = _position(bars, place, onset)
    inside = 0 <= at.bar < len(bars) and bars[at.bar].count > 1 and onset > 0
    return replace(at, onset=bars[at.bar].length) if inside else at
