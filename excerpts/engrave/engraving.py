"""From an excerpt to its engraving, as wide and as high as it comes; `fit` keeps it inside its page."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from lxml import etree

from excerpts.engrave.alt_text import Spoken, spoken
from excerpts.engrave.complete import Missing, lost_notes, missing
from excerpts.engrave.faceless import sentences
from excerpts.engrave.finish_system import EDGE, Finisher, System
from excerpts.engrave.line_breaking import END_STRETCH, TIGHT_SUNG, break_lines
from excerpts.engrave.measure import natural_widths
from excerpts.engrave.part_names import names_room
from excerpts.engrave.prepare import NoteRef, Source, checked_tree, prepare
from excerpts.engrave.style import Style
from excerpts.engrave.svg.flatten import RawSystem, flatten
from excerpts.engrave.verovio_page import EngraverCrashedError, Page, draw
from excerpts.errors import EngravingError, ScoreError
from excerpts.excerpt import Excerpt
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
    """

    systems: tuple[System, ...]
    style: Style
    log: tuple[str, ...]
    spoken: Spoken
    missing: tuple[Missing, ...] = ()


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
    said = spoken(excerpt, root)
    source = prepare(excerpt, root)
    try:
        source, raw, page = _drawn(excerpt, source, style)
    except EngravingError as error:
        where = f"{excerpt.origin.score}, {excerpt.origin.address}".strip(", ")
        raise EngravingError(error.what, where=where, hint=error.hint) from error
    finish = Finisher(excerpt, source, style, labels, page.marks)
    systems = tuple(finish.system(system) for system in raw)
    faceless = {c.ink.fallback for s in systems for c in s.drawing.inks if c.ink.fallback}
    notes = sentences(faceless, source.root, excerpt.bars)
    log = readable(page.log, excerpt, source)
    lost = missing(excerpt, source, [ink for system in systems for ink in system.music], log)
    return Engraving(systems, style, (*log, *notes), said, lost)


def _refuse_undrawable(excerpt: Excerpt, root: etree._Element) -> None:
    """Tell tablature that cannot be drawn."""
    for bar, what, right in undrawable(root):
        where = ", ".join(filter(None, (excerpt.origin.score, f"bar {excerpt.bars[bar].label}")))
        raise ScoreError(what, where=where, hint=f"{right} It can still be cut to a .musicxml file.")


def readable(log: tuple[str, ...], excerpt: Excerpt, source: Source) -> tuple[str, ...]:
    """The engraver's complaints, each once, with bar numbers instead of ids of the private copy."""

    def name(match: re.Match[str]) -> str:
        ident = match.group(1)
        note = source.notes.get(ident)
        bar = note.bar if note else source.bars.get(ident)
        return match.group(0) if bar is None else f"bar {excerpt.bars[bar].label}"

    return tuple(dict.fromkeys(_ID.sub(name, line) for line in log))


def _margins(source: Source, style: Style) -> tuple[float, float]:
    left = names_room(source.parts, style) if len(source.parts) > 1 else 0.0
    brace = _BRACE * style.staff_mm if any(part.count > 1 for part in source.parts) else 0.0
    return max(left + brace, EDGE) + style.inset_mm[0], EDGE + style.inset_mm[1]


def _drawn(excerpt: Excerpt, source: Source, style: Style) -> tuple[Source, list[RawSystem], Page]:
    """The systems of an excerpt; after a crash or where notes are missing, once more without beams and the like."""
    try:
        raw, page = _draw(excerpt, source, style)
    except EngraverCrashedError:
        plainer = prepare(excerpt).ungrouped(range(len(excerpt.bars)))
        if plainer.left_out == source.left_out:
            raise
        return plainer, *_draw(excerpt, plainer, style)
    lost = _lost(source, raw)
    if not lost:
        return source, raw, page
    # The copy is changed in place, so it is made anew where the change is of no use.
    plainer = prepare(excerpt).ungrouped({note.bar for note in lost})
    if plainer.left_out == source.left_out:
        return source, raw, page
    again, other = _draw(excerpt, plainer, style)
    if len(_lost(plainer, again)) < len(lost):
        return plainer, again, other
    return source, raw, page


def _lost(source: Source, systems: list[RawSystem]) -> list[NoteRef]:
    return lost_notes(source, [ink for system in systems for ink in system.inks])


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
    page_width = round(72 * width / style.staff_mm)
    page = draw(
        source.text(breaks),
        page_width,
        natural=False,
        staves=source.staves,
        stretch_from=0.0 if len(breaks) == 1 or filled * END_STRETCH >= 1 else 1.0,
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
