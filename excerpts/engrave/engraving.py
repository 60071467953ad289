"""From an excerpt to its engraving, as wide and as high as it comes; `fit` keeps it inside its page."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from lxml import etree

from excerpts.engrave.alt_text import Spoken, spoken
from excerpts.engrave.box_extent import Shade
from excerpts.engrave.complete import Missing, lost_notes, missing
from excerpts.engrave.draw_boxes import names_room
from excerpts.engrave.faceless import sentences
from excerpts.engrave.finish_system import EDGE, Finisher, System
from excerpts.engrave.geometry import Geometry, geometry_of
from excerpts.engrave.line_breaking import END_STRETCH, TIGHT_SUNG, break_lines, natural_widths
from excerpts.engrave.places import NotePlace, note_places
from excerpts.engrave.prepare import NoteRef, Source, checked_tree, prepare
from excerpts.engrave.style import Style
from excerpts.engrave.svg.flatten import RawSystem, flatten
from excerpts.engrave.verovio_page import EngraverCrashedError, Page, draw
from excerpts.errors import EngravingError, ScoreError
from excerpts.excerpt import BarRef, Excerpt, bar_name
from excerpts.musicxml.tablature import undrawable

_BRACE = 0.7
"""Room for the brace of two staves, in staff heights."""
_ID = re.compile(r"'?\b((?:note|bar)\d+)\b'?")


@dataclass(frozen=True, slots=True)
class Engraving:
    """An excerpt engraved.

    Attributes:
        systems: The systems, top to bottom.
        style: The style it was made with.
        log: What the engraver complained of, and characters that no shipped face has.
        spoken: What a spoken description of the picture says.
        missing: What should be printed and has no ink.
        bars: The bars of the excerpt.
    """

    systems: tuple[System, ...]
    style: Style
    log: tuple[str, ...]
    spoken: Spoken
    missing: tuple[Missing, ...] = ()
    bars: tuple[BarRef, ...] = ()

    @property
    def geometry(self) -> Geometry:
        """Where bars, staves and note heads stand; worked out when asked for, as pages never do."""
        return geometry_of(self.systems, self.bars)


def engrave_as_told(excerpt: Excerpt, style: Style, labels: tuple[str, ...] = ()) -> Engraving:
    """Engrave an excerpt: one flat SVG for each system, with its boxes and greyed context.

    Args:
        excerpt: The music.
        style: Sizes and choices.
        labels: Labels of the boxes, in their order; boxes without one are drawn without a label.

    Returns:
        The systems, what was logged, and what a spoken description needs.

    Raises:
        EngravingError: The engraver drew nothing.
        ScoreError: It has tablature that cannot be drawn.
    """
    root = checked_tree(excerpt)
    _refuse_undrawable(excerpt, root)
    description = spoken(excerpt, root)
    source = prepare(excerpt, root)
    shade = Shade(excerpt, source.notes)
    try:
        drawn = _drawn(excerpt, source, style, shade)
    except EngravingError as error:
        where = excerpt.origin.where()
        raise EngravingError(error.what, where=where, hint=error.hint) from error
    finish = Finisher(excerpt, drawn.source, style, labels, shade, drawn.page.marks)
    systems = tuple(map(finish.system, drawn.systems, drawn.notes))
    faceless = {c.ink.fallback for s in systems for c in s.drawing.inks if c.ink.fallback}
    notes = sentences(faceless, drawn.source.root, excerpt.bars)
    log = readable(drawn.page.log, excerpt, drawn.source)
    lost = missing(excerpt, drawn.source, systems, log)
    return Engraving(systems, style, (*log, *notes), description, lost, excerpt.bars)


def _refuse_undrawable(excerpt: Excerpt, root: etree._Element) -> None:
    """Tell tablature that cannot be drawn."""
    for bar, what, right in undrawable(root):
        where = excerpt.origin.where(bar_name(excerpt.bars, bar))
        raise ScoreError(what, where=where, hint=f"{right} It can still be cut to a .musicxml file.")


def readable(log: tuple[str, ...], excerpt: Excerpt, source: Source) -> tuple[str, ...]:
    """The engraver's complaints, each once, with bar numbers instead of ids of the private copy."""

    def name(match: re.Match[str]) -> str:
        ident = match.group(1)
        note = source.notes.get(ident)
        bar = note.bar if note else source.bars.get(ident)
        return match.group(0) if bar is None else bar_name(excerpt.bars, bar)

    return tuple(dict.fromkeys(_ID.sub(name, line) for line in log))


def _margins(source: Source, style: Style) -> tuple[float, float]:
    left = names_room(source.parts, style) if len(source.parts) > 1 else 0.0
    brace = _BRACE * style.staff_mm if any(part.count > 1 for part in source.parts) else 0.0
    return max(left + brace, EDGE) + style.inset_mm[0], EDGE + style.inset_mm[1]


@dataclass(frozen=True, slots=True)
class _Drawn:
    """What the engraver drew of which private copy: its systems, the notes on each, and what it says besides."""

    source: Source
    systems: list[RawSystem]
    notes: list[dict[str, NotePlace]]
    page: Page

    @property
    def lost(self) -> list[NoteRef]:
        """The notes and rests that are not on it."""
        inks = (ink for system in self.systems for ink in system.inks)
        return lost_notes(self.source, (ident for notes in self.notes for ident in notes), inks)


def _drawn(excerpt: Excerpt, source: Source, style: Style, shade: Shade) -> _Drawn:
    """Draw an excerpt; after a crash or where notes are missing, once more without beams and the like."""
    try:
        drawn = _placed(excerpt, source, style, shade)
    except EngraverCrashedError:
        plainer = prepare(excerpt).ungrouped(range(len(excerpt.bars)))
        if plainer.left_out == source.left_out:
            raise
        return _placed(excerpt, plainer, style, shade)
    if not drawn.lost:
        return drawn
    # The copy is changed in place, so it is made anew where the change is of no use.
    plainer = prepare(excerpt).ungrouped({note.bar for note in drawn.lost})
    if plainer.left_out == source.left_out:
        return drawn
    again = _placed(excerpt, plainer, style, shade)
    return again if len(again.lost) < len(drawn.lost) else drawn


def _placed(excerpt: Excerpt, source: Source, style: Style, shade: Shade) -> _Drawn:
    systems, page = _draw(excerpt, source, style)
    notes = [note_places(system.inks, source.notes, shade.boxed) for system in systems]
    return _Drawn(source, systems, notes, page)


def _draw(excerpt: Excerpt, source: Source, style: Style) -> tuple[list[RawSystem], Page]:
    left, right = _margins(source, style)
    width = style.width_mm - left - right
    first = draw(source.unslurred(), 20000, natural=True, staves=source.staves)
    widths = natural_widths(first.svg, source.bars, style.staff_mm)
    if next(source.root.iter("lyric"), None) is not None:
        widths = replace(widths, tight=TIGHT_SUNG)
    edges, inside = _box_edges(excerpt)
    breaks = break_lines(widths, width, edges, inside, style.justify_up_to)
    if len(breaks) == 1:
        width = min(width, style.justify_up_to * widths.system(0, len(widths.bars)))
    filled = widths.system(breaks[-1], len(widths.bars)) / width
    page = draw(
        source.text(breaks),
        round(72 * width / style.staff_mm),
        natural=False,
        staves=source.staves,
        stretch_from=0.0 if len(breaks) == 1 or filled * END_STRETCH >= 1 else 1.0,
    )
    return flatten(page.svg, style.staff_mm, source.bars, left, upright=style.upright), page


def _box_edges(excerpt: Excerpt) -> tuple[frozenset[int], frozenset[int]]:
    edges: set[int] = set()
    inside: set[int] = set()
    for box in excerpt.boxes:
        edges |= {box.start.bar, box.last_bar + 1}
        inside |= set(range(box.start.bar + 1, box.last_bar + 1))
    return frozenset(edges), frozenset(inside)
