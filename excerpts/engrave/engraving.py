"""From an excerpt to its engraving: the one way through this room."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from excerpts.engrave.boxes import draw_boxes
from excerpts.engrave.draw import Page, draw
from excerpts.engrave.drawing import Coloured, Drawing
from excerpts.engrave.flatten import RawSystem, flatten
from excerpts.engrave.geometry import Rect
from excerpts.engrave.join import join_dynamics, join_rehearsal, join_tempo
from excerpts.engrave.lines import break_lines
from excerpts.engrave.margins import endings_off_sides, keep_inside, off_sides, set_outside
from excerpts.engrave.marks import Mark, Sheet, attach
from excerpts.engrave.measure import natural_widths
from excerpts.engrave.numbers import draw_numbers, over_boxes
from excerpts.engrave.numerals import part_numerals
from excerpts.engrave.openends import Line, open_inks
from excerpts.engrave.places import BarPlace, BoxPlace, NotePlace, note_places
from excerpts.engrave.prepare import Source, prepare
from excerpts.engrave.shade import Shade
from excerpts.engrave.spans import Span, spans
from excerpts.engrave.spoken import Spoken, spoken
from excerpts.engrave.stand import bring_near, part_collisions
from excerpts.engrave.style import Style
from excerpts.excerpt import Excerpt

_EDGE = 0.2
"""White that the staves leave at both ends of the picture, so that box lines are not cut, in millimetres."""
_BRACE = 0.7
"""Room for the brace of two staves, in staff heights."""
_PAD = 0.3
"""White above and below the ink of a system, in millimetres."""
_BARLINE_HALF = 27 / 2 / 720
"""Half the thickness of a barline, in staff heights."""


_ID = re.compile(r"'?\b((?:note|bar)\d+)\b'?")


@dataclass(frozen=True, slots=True)
class System:
    """One system of music, ready to print; all measures in millimetres from its top left corner.

    Attributes:
        svg: The flat SVG.
        width_mm: Width of the picture.
        height_mm: Height of the picture.
        staff_top: Top line of the first staff.
        staff_bottom: Bottom line of the last staff.
        bars: The bars on it.
        boxes: The boxes on it.
        notes: Its notes and rests, in the order of the file.
        ink: Rectangles of all ink that is not box or bar number, each with the index of its bar.
        drawing: What the SVG is written from.
    """

    svg: str
    width_mm: float
    height_mm: float
    staff_top: float
    staff_bottom: float
    bars: tuple[BarPlace, ...]
    boxes: tuple[BoxPlace, ...]
    notes: tuple[NotePlace, ...]
    ink: tuple[tuple[int, Rect], ...]
    drawing: Drawing


@dataclass(frozen=True, slots=True)
class Engraving:
    """An excerpt engraved.

    Attributes:
        systems: The systems, top to bottom.
        style: The style it was made with.
        log: What the engraver complained of, and characters that no shipped face has.
        spoken: What a spoken description of the picture says.
    """

    systems: tuple[System, ...]
    style: Style
    log: tuple[str, ...]
    spoken: Spoken


def engrave(excerpt: Excerpt, style: Style, labels: tuple[str, ...] = ()) -> Engraving:
    """Engrave an excerpt: one flat SVG for each system, with its boxes and greyed context.

    Args:
        excerpt: The music.
        style: Sizes and choices.
        labels: Labels of the boxes, in their order; boxes without one are drawn without a label.

    Returns:
        The systems, what was logged, and what a spoken description needs.

    Raises:
        EngravingError: The engraver drew nothing.
    """
    source = prepare(excerpt)
    raw, page = _draw(excerpt, source, style)
    finish = _Finisher(excerpt, source, style, labels, page.marks)
    systems = tuple(finish.system(system) for system in raw)
    missing = sorted({c.ink.fallback for s in systems for c in s.drawing.inks if c.ink.fallback})
    notes = tuple(
        f"no outline for U+{ord(character):04X} '{character}' in the music text face" for character in missing
    )
    return Engraving(systems, style, (*readable(page.log, excerpt, source), *notes), spoken(excerpt))


def readable(log: tuple[str, ...], excerpt: Excerpt, source: Source) -> tuple[str, ...]:
    """The engraver's complaints, each once, with bar numbers instead of ids of the private copy."""

    def name(match: re.Match[str]) -> str:
        ident = match.group(1)
        note = source.notes.get(ident)
        bar = note.bar if note else source.bars.get(ident)
        return match.group(0) if bar is None else f"bar {excerpt.bars[bar].label}"

    return tuple(dict.fromkeys(_ID.sub(name, line) for line in log))


def _margins(source: Source, style: Style) -> tuple[float, float]:
    return (_BRACE * style.staff_mm if source.staves > 1 else _EDGE), _EDGE


def _draw(excerpt: Excerpt, source: Source, style: Style) -> tuple[list[RawSystem], Page]:
    left, right = _margins(source, style)
    width = style.width_mm - left - right
    first = draw(source.text(), 20000, natural=True, staves=source.staves)
    widths = natural_widths(first.svg, source.bars, style.staff_mm)
    edges, inside = _box_edges(excerpt)
    breaks = break_lines(widths, width, edges, inside, style.justify_up_to)
    if len(breaks) == 1:
        width = min(width, style.justify_up_to * widths.system(0, len(widths.bars)))
    filled = widths.system(breaks[-1], len(widths.bars)) / width
    page_width = round(72 * width / style.staff_mm)
    page = draw(
        source.text(breaks),
        page_width,
        natural=False,
        staves=source.staves,
        stretch_from=0.0 if len(breaks) == 1 or filled * style.justify_up_to >= 1 else 1.0,
    )
    return flatten(page.svg, style.staff_mm, source.bars, left), page


def _box_edges(excerpt: Excerpt) -> tuple[frozenset[int], frozenset[int]]:
    edges: set[int] = set()
    inside: set[int] = set()
    for box in excerpt.boxes:
        last = box.end.bar if box.end.onset > 0 else box.end.bar - 1
        edges |= {box.start.bar, last + 1}
        inside |= set(range(box.start.bar + 1, last + 1))
    return frozenset(edges), frozenset(inside)


class _Finisher:
    """Finishes the systems of one excerpt."""

    def __init__(
        self,
        excerpt: Excerpt,
        source: Source,
        style: Style,
        labels: tuple[str, ...],
        told: dict[str, dict[str, str]],
    ) -> None:
        self.excerpt = excerpt
        self.source = source
        self.style = style
        self.labels = labels
        self.told = told
        self.shade = Shade(excerpt, source.notes)

    def system(self, raw: RawSystem) -> System:
        """Settle the marks of one system, add boxes, numbers and open ends to it, and colour it."""
        style = self.style
        bars = [
            BarPlace(bar, self.source.number(bar, self.excerpt.bars[bar].label), left, right)
            for bar, left, right in raw.bars
        ]
        found = note_places(raw.inks, self.source.notes)
        notes = {
            ident: replace(place, boxed=self.shade.boxed(self.source.notes[ident]))
            for ident, place in found.items()
        }
        stretches = spans(self.excerpt, bars, list(notes.values()), _BARLINE_HALF * style.staff_mm)
        sheet = self._settled(raw, stretches if style.draw_box else [])
        line = Line(bars, notes, sheet.inks(), raw.staves)
        sheet.fixed += open_inks(self.excerpt.open_ends, line)
        return self._finish(raw, bars, tuple(notes.values()), sheet, stretches)

    def _settled(self, raw: RawSystem, boxes: list[Span]) -> Sheet:
        """The ink of a system with its marks where they are to stand."""
        attached = attach(raw.inks, self.told, self.source)
        self.shade.attached.update({ident: to.at for ident, to in attached.items() if to.at is not None})
        sheet = Sheet(raw.inks, attached, raw.staves)
        part_numerals(sheet, self.source.notes)
        join_dynamics(sheet)
        join_tempo(sheet)
        bring_near(sheet)
        endings_off_sides(sheet, boxes)
        right = self.style.width_mm - _EDGE
        off_sides(sheet, boxes, ("reh",), self._boxed, right)
        join_rehearsal(sheet, right)
        keep_inside(sheet, right)
        off_sides(
            sheet, boxes, ("dynam", "dir", "tempo", "fing", "string", "syl", "harm"), self._boxed, right
        )
        part_collisions(sheet)
        return sheet

    def _boxed(self, mark: Mark, box: int) -> bool:
        return mark.to.at is not None and self.shade.in_box(mark.to.at, box)

    def _finish(
        self,
        raw: RawSystem,
        bars: list[BarPlace],
        notes: tuple[NotePlace, ...],
        sheet: Sheet,
        stretches: list[Span],
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
        coloured = [
            Coloured(ink, style.context if context and style.grey_context else ink.paint.colour or style.ink)
            for ink, context in self.shade.split(inks, stretches)
        ]
        coloured += [Coloured(ink, ink.paint.colour or style.ink) for box in drawn for ink in box.inks]
        for number in numbers:
            grey = style.grey_context and self.shade.bar_is_context(number.bar)
            coloured += [Coloured(ink, style.context if grey else style.ink) for ink in number.inks]
        rects = [c.ink.rect for c in coloured]
        top = min(rect.top for rect in rects) - _PAD
        height = max(rect.bottom for rect in rects) + _PAD - top
        drawing = Drawing(style.width_mm, height, tuple(coloured), top)
        at = {number.bar: number.rect.moved(dy=-top) for number in numbers}
        return System(
            drawing.svg(),
            drawing.width_mm,
            drawing.height_mm,
            staff[0] - top,
            staff[1] - top,
            tuple(replace(bar, number=at.get(bar.bar)) for bar in bars),
            tuple(_moved(box.place, -top) for box in drawn),
            tuple(replace(n, head=n.head.moved(dy=-top), rect=n.rect.moved(dy=-top)) for n in notes),
            tuple((ink.owner.bar, ink.rect.moved(dy=-top)) for ink in inks),
            drawing,
        )


def _moved(place: BoxPlace, dy: float) -> BoxPlace:
    tag = place.tag.moved(dy=dy) if place.tag else None
    return replace(place, rect=place.rect.moved(dy=dy), tag=tag)
