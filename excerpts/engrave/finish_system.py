"""Finishes a system: settles its marks, adds boxes, numbers, names and open ends, and colours everything."""

from __future__ import annotations

from dataclasses import dataclass, replace

from excerpts.engrave.box_extent import BoxExtent, Shade, spans
from excerpts.engrave.draw_boxes import Drawn, Number, draw_boxes, draw_names, draw_numbers, over_boxes
from excerpts.engrave.keep_inside import ended_inside, set_outside
from excerpts.engrave.movable_signs import MovableSign, Sheet, attach
from excerpts.engrave.openends import StaffLine, open_inks
from excerpts.engrave.places import BarPlace, BoxPlace, NotePlace, parted_at_repeats
from excerpts.engrave.prepare import Source
from excerpts.engrave.settle_signs import settle
from excerpts.engrave.style import Style
from excerpts.engrave.svg.drawing import Coloured, Drawing
from excerpts.engrave.svg.flatten import RawSystem
from excerpts.engrave.svg.ink import Ink
from excerpts.excerpt import Excerpt

EDGE = 0.2
"""White that the staves leave at both ends of the picture, so that box lines are not cut, in millimetres."""
_PAD = 0.3
"""White above and below the ink of a system, in millimetres."""
BARLINE_HALF = 27 / 2 / 720
"""Half the thickness of a barline, in staff heights."""


@dataclass(frozen=True, slots=True)
class System:
    """One system of music, ready to print; all measures in millimetres from its top left corner.

    Attributes:
        svg: The flat SVG.
        width_mm: Width of the picture.
        height_mm: Height of the picture.
        staves: Top and bottom line of each staff.
        bars: The bars on it.
        boxes: The boxes on it.
        placed: Its notes and rests by their ids in the private copy, as they stand on the page that `drawing` is a
            part of.
        music: All ink that is not box or bar number, on that page.
        drawing: What the SVG is written from.
    """

    svg: str
    width_mm: float
    height_mm: float
    staves: tuple[tuple[float, float], ...]
    bars: tuple[BarPlace, ...]
    boxes: tuple[BoxPlace, ...]
    placed: dict[str, NotePlace]
    music: tuple[Ink, ...]
    drawing: Drawing

    @property
    def notes(self) -> tuple[NotePlace, ...]:
        """Its notes and rests, in the order of the file; worked out when asked for, as pages never do."""
        return tuple(note.moved(-self.drawing.top_mm) for note in self.placed.values())

    @property
    def past_mm(self) -> tuple[float, float]:
        """How far ink reaches past the left and the right side of the picture; 0 where it does not."""
        rects = [coloured.ink.rect for coloured in self.drawing.inks]
        left = -min((rect.left for rect in rects), default=0.0)
        right = max((rect.right for rect in rects), default=0.0) - self.width_mm
        return max(left, 0.0), max(right, 0.0)


class Finisher:
    """Finishes the systems of one excerpt."""

    def __init__(
        self,
        excerpt: Excerpt,
        source: Source,
        style: Style,
        labels: tuple[str, ...],
        shade: Shade,
        marks: dict[str, dict[str, str]],
    ) -> None:
        self.excerpt = excerpt
        self.source = source
        self.style = style
        self.labels = labels
        self.marks = marks
        self.shade = shade

    def system(self, raw: RawSystem, notes: dict[str, NotePlace]) -> System:
        """Settle the marks of one system, add boxes, numbers and open ends to it, and colour it."""
        style = self.style
        bars = [
            BarPlace(bar, self.source.number(bar, self.excerpt.bars[bar].label), left, right)
            for bar, left, right in raw.bars
        ]
        bars = parted_at_repeats(bars, raw.inks, BARLINE_HALF * style.staff_mm)
        clefs = [ink.rect for ink in raw.inks if ink.owner.kind == "clef"]
        stretches = spans(self.excerpt, bars, list(notes.values()), clefs, BARLINE_HALF * style.staff_mm)
        sheet = self._settled(raw, stretches if style.draw_box else [])
        line = StaffLine(bars, notes, sheet.inks(), raw.staves)
        sheet.fixed += open_inks(self.excerpt.open_ends, line)
        return self._finish(raw, bars, notes, sheet, stretches)

    def _settled(self, raw: RawSystem, boxes: list[BoxExtent]) -> Sheet:
        """The ink of a system with its marks where they are to stand."""
        attached = attach(raw.inks, self.marks, self.source)
        self.shade.attached.update({ident: to.at for ident, to in attached.items() if to.at is not None})
        right = self.style.width_mm - EDGE
        sheet = Sheet([ended_inside(ink, right) for ink in raw.inks], attached, raw.staves)
        settle(sheet, self.source.notes, boxes, self._boxed, right)
        return sheet

    def _boxed(self, mark: MovableSign, box: int) -> bool:
        return mark.to.at is not None and self.shade.in_box(mark.to.at, box)

    def _finish(
        self,
        raw: RawSystem,
        bars: list[BarPlace],
        notes: dict[str, NotePlace],
        sheet: Sheet,
        stretches: list[BoxExtent],
    ) -> System:
        style = self.style
        inks = sheet.inks()
        staff = (raw.staves[0][0], raw.staves[-1][1])
        drawn = (
            draw_boxes(stretches, self.labels, over_boxes(bars, stretches, style), inks, staff, style)
            if style.draw_box
            else []
        )
        numbers = draw_numbers(bars, stretches if drawn else [], drawn, inks, staff[0], style)
        taken = [*inks, *(ink for box in drawn for ink in box.inks), *(i for n in numbers for i in n.inks)]
        inks += set_outside(sheet, taken)
        coloured = self._coloured(inks, stretches, drawn, numbers)
        if len(self.source.parts) > 1:
            names = draw_names(self.source.parts, raw.staves, bars[0].left, style)
            coloured += [Coloured(ink, style.ink) for ink in names]
        rects = [c.ink.rect for c in coloured]
        top = min(rect.top for rect in rects) - _PAD
        height = max(rect.bottom for rect in rects) + _PAD - top
        drawing = Drawing(style.width_mm, height, tuple(coloured), top)
        at = {number.bar: number.rect.moved(dy=-top) for number in numbers}
        return System(
            drawing.svg(),
            drawing.width_mm,
            drawing.height_mm,
            tuple((high - top, low - top) for high, low in raw.staves),
            tuple(replace(bar, number=at.get(bar.bar)) for bar in bars),
            tuple(box.place.moved(-top) for box in drawn),
            notes,
            tuple(inks),
            drawing,
        )

    def _coloured(
        self, inks: list[Ink], stretches: list[BoxExtent], drawn: list[Drawn], numbers: list[Number]
    ) -> list[Coloured]:
        style = self.style
        coloured = [
            Coloured(ink, style.context if context and style.grey_context else ink.paint.colour or style.ink)
            for ink, context in self.shade.split(inks, stretches)
        ]
        coloured += [Coloured(ink, ink.paint.colour or style.ink) for box in drawn for ink in box.inks]
        for number in numbers:
            grey = style.grey_context and self.shade.bar_is_context(number.bar)
            coloured += [Coloured(ink, style.context if grey else style.ink) for ink in number.inks]
        return coloured
