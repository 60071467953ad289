"""Which stretch of a system each box takes: exact to the bar, or to the beat between two notes."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from excerpts.engrave.places import BarPlace, NotePlace
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
    last = box.end.bar if box.end.onset > 0 else box.end.bar - 1
    return box.start.bar <= bar <= last


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
    found: list[BoxExtent] = []
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
            left = _cut_before(box.start, first, notes, clefs, excerpt)
        if not open_right and 0 < box.end.onset < excerpt.bars[last.bar].length:
            right = _cut_before(box.end, last, notes, clefs, excerpt)
        found.append(BoxExtent(index, left, right, open_left, open_right))
    return found


def _ends_in(box: Box, bar: int) -> bool:
    return box.end.bar == bar or (box.end.bar == bar + 1 and box.end.onset <= 0)


def _cut_before(
    at: Position, bar: BarPlace, notes: list[NotePlace], clefs: list[Rect], excerpt: Excerpt
) -> float:
    """An x between the ink of the notes before a position and of those from it on with their clef."""
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
