"""What of a system lies in the boxes: the stretch that each takes, exact to the beat, and the ink that is context."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from fontTools.misc.transform import Transform

from excerpts.engrave.places import BarPlace, NotePlace
from excerpts.engrave.prepare import NoteRef
from excerpts.engrave.svg.ink import STRETCHING, Ink
from excerpts.engrave.svg.paths import polyline
from excerpts.engrave.svg.rect import Rect
from excerpts.excerpt import Box, Excerpt, Position

_BEFORE_NOTE = 1.4
"""A box that begins in mid-bar stands at most so many millimetres before its first note."""


@dataclass(frozen=True, slots=True)
class BoxExtent:
    """The part of a box on one system.

    Attributes:
        box: Index of the box.
        left: Where it begins, in millimetres.
        right: Where it ends.
        open_left: It comes from the system before.
        open_right: It goes on to the next system.
    """

    box: int
    left: float
    right: float
    open_left: bool
    open_right: bool


def holds(box: Box, position: Position) -> bool:
    """Whether a box holds what begins at a position."""
    if not box.start.bar <= position.bar <= box.end.bar:
        return False  # bars are quicker to compare than times
    return box.start <= position < box.end


def whole_bar(excerpt: Excerpt, box: Box, bar: int) -> bool:
    """Whether the whole of a bar lies in a box."""
    after = box.start.bar < bar or (box.start.bar == bar and box.start.onset <= 0)
    before = bar < box.end.bar or (bar == box.end.bar and box.end.onset >= excerpt.bars[bar].length)
    return after and before


def touches(box: Box, bar: int) -> bool:
    """Whether some of a bar lies in a box."""
    return box.start.bar <= bar <= box.last_bar


def spans(
    excerpt: Excerpt, bars: list[BarPlace], notes: list[NotePlace], clefs: list[Rect], barline_half: float
) -> list[BoxExtent]:
    """Find the stretch that each box takes on a system.

    Args:
        excerpt: The excerpt.
        bars: Bars of the system.
        notes: Notes of the system.
        clefs: Its clefs; one in mid-bar belongs to the notes behind it.
        barline_half: Half the thickness of a barline; box lines stand on the middle of barlines.

    Returns:
        The spans of the boxes that touch the system, in the order of the boxes.
    """
    extents: list[BoxExtent] = []
    for index, box in enumerate(excerpt.boxes):
        inside = [bar for bar in bars if touches(box, bar.bar)]
        if not inside:
            continue
        first, last = inside[0], inside[-1]
        open_left = box.start.bar < first.bar
        open_right = not _ends_in(box, last.bar)
        left = first.left if first is bars[0] else first.left - barline_half
        right = last.right if open_right else last.right - barline_half
        if not open_left and box.start.onset > 0:
            left = cut_before(box.start, first, notes, clefs, excerpt)
        if not open_right and 0 < box.end.onset < excerpt.bars[last.bar].length:
            right = cut_before(box.end, last, notes, clefs, excerpt)
        extents.append(BoxExtent(index, left, right, open_left, open_right))
    return extents


def _ends_in(box: Box, bar: int) -> bool:
    return box.end.bar == bar or (box.end.bar == bar + 1 and box.end.onset <= 0)


def cut_before(
    at: Position, bar: BarPlace, notes: list[NotePlace], clefs: list[Rect], excerpt: Excerpt
) -> float:
    """An x in a bar between the ink of the notes before a position and of those from it on with their clef."""
    mine = [note for note in notes if note.bar == at.bar and not _full_bar(note, bar)]
    before = [note.rect.right for note in mine if note.onset < at.onset]
    after = [note for note in mine if note.onset >= at.onset]
    if not after:
        if before:
            return min(max(before) + _BEFORE_NOTE, bar.right)
        return bar.left + (bar.right - bar.left) * float(at.onset / _length(excerpt, at.bar))
    start = min(note.rect.left for note in after)
    end = max(before, default=bar.left)
    start = min([start, *(clef.left for clef in clefs if end < clef.left < start)])
    if end < start:
        return max((start + end) / 2, start - _BEFORE_NOTE)
    heads = max((note.head.right for note in mine if note.onset < at.onset), default=bar.left)
    if heads >= start:  # a syllable reaches under the note before: the heads say what is in the box
        start = min(note.head.left for note in after)
    return (heads + start) / 2 if heads < start else start


def _length(excerpt: Excerpt, bar: int) -> Fraction:
    return excerpt.bars[bar].length or Fraction(1)


def _full_bar(note: NotePlace, bar: BarPlace) -> bool:
    """A rest in the middle of its bar says nothing about where the beats are."""
    middle = (note.head.left + note.head.right) / 2
    return note.pitch == "" and note.onset == 0 and middle > bar.left + 0.4 * (bar.right - bar.left)


_REACHES = 1.5
"""A slur or line that reaches so many millimetres into a box belongs to what is played."""


class Shade:
    """Tells context from what is to be played, system after system of one excerpt."""

    def __init__(self, excerpt: Excerpt, notes: dict[str, NoteRef]) -> None:
        self.excerpt = excerpt
        self.notes = notes
        self._boxed: dict[str, bool] = {}
        self._bars: dict[int, bool] = {}
        self.attached: dict[str, Position] = {}
        """Where words and other marks hang, by their ids: each has one colour, wherever it stands."""

    def boxed(self, ident: str) -> bool:
        """Whether a note lies in a box; all do where there is none. Grace notes at the end of a bar are in it."""
        known = self._boxed.get(ident)
        if known is None:
            note, boxes = self.notes[ident], self.excerpt.boxes
            at = Position(note.bar, note.onset)
            known = not boxes or any(self.in_box(at, index) for index in range(len(boxes)))
            self._boxed[ident] = known
        return known

    def in_box(self, at: Position, index: int) -> bool:
        """Whether what hangs on a point of the music belongs to the box of that index."""
        box = self.excerpt.boxes[index]
        return holds(box, at) or whole_bar(self.excerpt, box, at.bar)

    def bar_is_context(self, bar: int) -> bool:
        """Whether nothing of a bar lies in a box."""
        boxes = self.excerpt.boxes
        return bool(boxes) and not any(touches(box, bar) for box in boxes)

    def split(self, inks: list[Ink], spans: list[BoxExtent]) -> list[tuple[Ink, bool]]:
        """Say of each ink of a system whether it is context; staff lines and hairpins are cut at a box's edges."""
        if not self.excerpt.boxes:
            return [(ink, False) for ink in inks]
        result: list[tuple[Ink, bool]] = []
        for ink in inks:
            boxed = self._boxed.get(ink.owner.note)
            if boxed is not None:  # a note's, as most ink is
                result.append((ink, not boxed))
            elif ink.owner.kind == "staff" and self._partly(ink.owner.bar):
                result.extend(_cut(ink, spans))
            elif ink.owner.kind == "hairpin" and _is_line(ink):
                result.extend(_cut_hairpin(ink, spans))
            else:
                result.append((ink, self._context(ink, spans)))
        return result

    def _partly(self, bar: int) -> bool:
        known = self._bars.get(bar)
        if known is None:
            boxes = self.excerpt.boxes
            whole = any(whole_bar(self.excerpt, box, bar) for box in boxes)
            known = self._bars[bar] = not whole and any(touches(box, bar) for box in boxes)
        return known

    def _context(self, ink: Ink, spans: list[BoxExtent]) -> bool:
        if ink.owner.note in self.notes:
            return not self.boxed(ink.owner.note)
        at = self.attached.get(ink.owner.origin)
        if at is not None and ink.owner.kind not in STRETCHING:
            return not any(self.in_box(at, index) for index in range(len(self.excerpt.boxes)))
        rect = ink.rect
        if ink.owner.kind == "extender":
            middle = (rect.left + rect.right) / 2
            return not any(span.left <= middle <= span.right for span in spans)
        if ink.owner.kind == "ending" and not ink.owner.spanning:
            return self.bar_is_context(ink.owner.bar)
        if ink.owner.kind in STRETCHING or ink.owner.spanning:
            overlap = sum(max(0.0, min(rect.right, s.right) - max(rect.left, s.left)) for s in spans)
            return overlap <= min(_REACHES, 0.5 * rect.width)
        dot = ink.owner.kind == "barLine" and not ink.paint.stroke
        if dot or self._partly(ink.owner.bar):
            middle = (rect.left + rect.right) / 2
            return not any(s.left - 0.5 <= middle <= s.right + 0.5 for s in spans)
        return self.bar_is_context(ink.owner.bar)


def _is_line(ink: Ink) -> bool:
    """Whether ink is a line through points, drawn with a pen: not the circle that a niente has."""
    return not ink.paint.fill and {letter for letter, _ in ink.outline.ops} == {"M", "L"}


def _cut_hairpin(ink: Ink, spans: list[BoxExtent]) -> list[tuple[Ink, bool]]:
    """Cut a hairpin into what lies in a box and what does not."""
    points = [(values[0], values[1]) for _, values in ink.outline.mapped(ink.map).ops]
    edges = sorted({x for span in spans for x in (span.left, span.right)})
    pieces: list[tuple[Ink, bool]] = []
    for (x, y), (x2, y2) in pairwise(points):
        inner = [edge for edge in edges if min(x, x2) < edge < max(x, x2)]
        stops = [x, *(inner if x < x2 else reversed(inner)), x2]
        for left, right in pairwise(stops):
            ends = [(at, y + (y2 - y) * (at - x) / ((x2 - x) or 1.0)) for at in (left, right)]
            middle = (left + right) / 2
            piece = replace(ink, outline=polyline(ends), map=Transform())
            pieces.append((piece, not any(span.left <= middle <= span.right for span in spans)))
    return pieces


def _cut(ink: Ink, spans: list[BoxExtent]) -> list[tuple[Ink, bool]]:
    """Cut a staff line into what lies in a box and what does not."""
    half = ink.paint.stroke / 2
    rect = Rect(ink.rect.left + half, ink.rect.top, ink.rect.right - half, ink.rect.bottom)
    y = (rect.top + rect.bottom) / 2
    edges = sorted(
        {
            rect.left,
            rect.right,
            *(x for span in spans for x in (span.left, span.right) if rect.left < x < rect.right),
        }
    )
    pieces: list[tuple[Ink, bool]] = []
    for left, right in zip(edges, edges[1:], strict=False):
        piece = replace(ink, outline=polyline([(left, y), (right, y)]), map=Transform())
        middle = (left + right) / 2
        pieces.append((piece, not any(span.left <= middle <= span.right for span in spans)))
    return pieces
