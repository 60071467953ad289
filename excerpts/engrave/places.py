"""Where things ended up: bars, notes and boxes of a system in millimetres."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from excerpts.engrave.prepare import NoteRef
from excerpts.engrave.svg.ink import Ink
from excerpts.engrave.svg.rect import Rect, union


@dataclass(frozen=True, slots=True)
class BarPlace:
    """One bar on its system.

    Attributes:
        bar: Index of the bar in the excerpt, from 0.
        label: Its number as it is printed, "" where none is.
        left: Where its staff lines begin, clef and key at the start of a system included.
        right: Where its staff lines end.
        number: Where its bar number is printed, None where it is not.
    """

    bar: int
    label: str
    left: float
    right: float
    number: Rect | None = None


@dataclass(frozen=True, slots=True)
class NotePlace:
    """One note or rest on its system.

    Attributes:
        bar: Index of the bar in the excerpt, from 0.
        onset: Quarter notes from the start of the bar.
        staff: Staff, from 1.
        voice: Voice as in the file.
        pitch: "C#4", "" for a rest.
        grace: It is a grace note.
        head: Rectangle of its notehead (or of the rest, or the fret in tablature).
        rect: Rectangle of all its ink: accidental, stem, flag, dots and articulations included.
        boxed: It lies inside a box (or the excerpt has none).
        rest: It is a rest.
    """

    bar: int
    onset: Fraction
    staff: int
    voice: str
    pitch: str
    grace: bool
    head: Rect
    rect: Rect
    boxed: bool = True
    rest: bool = False

    @property
    def x(self) -> float:
        """Left edge of the notehead."""
        return self.head.left

    def moved(self, dy: float) -> NotePlace:
        """The note on a page that begins elsewhere."""
        return replace(self, head=self.head.moved(dy=dy), rect=self.rect.moved(dy=dy))


@dataclass(frozen=True, slots=True)
class BoxPlace:
    """One box, or the part of it that stands on one system.

    Attributes:
        box: Index of the box in the excerpt, from 0.
        label: Its label.
        rect: The rectangle, from the middle of its lines.
        open_left: It comes from the system before.
        open_right: It goes on to the next system.
        tag: Rectangle of its label, None where there is none.
    """

    box: int
    label: str
    rect: Rect
    open_left: bool
    open_right: bool
    tag: Rect | None = None

    def moved(self, dy: float) -> BoxPlace:
        """The box on a page that begins elsewhere."""
        return replace(self, rect=self.rect.moved(dy=dy), tag=self.tag.moved(dy=dy) if self.tag else None)


_HEADS = frozenset({"notehead", "rest", "mRest", "note"})
"""Heads, rests, and the frets of tablature, which are all that is drawn in their notes."""


def note_places(
    inks: list[Ink], notes: dict[str, NoteRef], boxed: Callable[[str], bool]
) -> dict[str, NotePlace]:
    """Find the notes and rests of a system by the ids of their ink.

    Args:
        inks: The ink of the system.
        notes: The notes of the excerpt by their ids.
        boxed: Whether the note of that id lies in a box.
    """
    rects: dict[str, list[Rect]] = {}
    heads: dict[str, list[Rect]] = {}
    for ink in inks:
        ident = ink.owner.note
        if ident not in notes:
            continue
        rects.setdefault(ident, []).append(ink.rect)
        if ink.owner.kind in _HEADS:
            heads.setdefault(ident, []).append(ink.rect)
    places: dict[str, NotePlace] = {}
    for ident, head in heads.items():
        ref = notes[ident]
        places[ident] = NotePlace(
            ref.bar,
            ref.onset,
            ref.staff,
            ref.voice,
            ref.pitch,
            ref.grace,
            union(head),
            union(rects[ident]),
            boxed(ident),
            ref.rest,
        )
    return places


def parted_at_repeats(bars: list[BarPlace], inks: list[Ink], barline_half: float) -> list[BarPlace]:
    """The bars of a system, parted in the middle where one repeat ends and the next begins.

    The engraver counts both signs to the bar before, but the second belongs to what comes.

    Args:
        bars: The bars of the system.
        inks: All ink of the system.
        barline_half: Half the thickness of a barline, in millimetres; boxes begin and end so much before the
            ends of bars.
    """
    parted = list(bars)
    lines: dict[int, list[Ink]] = {}
    for ink in inks:
        if ink.owner.kind == "barLine":
            lines.setdefault(ink.owner.bar, []).append(ink)
    for index, (bar, after) in enumerate(zip(bars, bars[1:], strict=False)):
        mine = lines.get(bar.bar, [])
        heavy = max((ink for ink in mine if ink.paint.stroke), key=lambda ink: ink.paint.stroke, default=None)
        dots = [ink.rect for ink in mine if not ink.paint.stroke]
        if heavy is None or not (
            any(dot.right < heavy.rect.left for dot in dots)
            and any(heavy.rect.right < dot.left < after.left for dot in dots)
        ):
            continue
        middle = (heavy.rect.left + heavy.rect.right) / 2 + barline_half
        parted[index] = replace(parted[index], right=middle)
        parted[index + 1] = replace(after, left=middle)
    return parted
