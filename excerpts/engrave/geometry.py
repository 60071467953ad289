"""Where the music of an engraving stands, as plain values: for whoever draws over it or counts it.

All measures are millimetres from the top left corner of a system's picture, x to the right and y downwards. This is
an interface: names and meanings stay; `to_json` says the number of its form.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final, NamedTuple

from excerpts.engrave.finish_system import System
from excerpts.engrave.svg.rect import Rect
from excerpts.excerpt import BarRef

FORMAT: Final = 1


class BarEdges(NamedTuple):
    """A bar on a system.

    Attributes:
        place: Its place in its part, from 1 (the 12 of "@12"), which names one bar only.
        label: Its number as the source has it: not always a number, and may come twice.
        left: Where its staff lines begin, clef and key at the start of a system included.
        right: Where its staff lines end.
    """

    place: int
    label: str
    left: float
    right: float


class StaffLines(NamedTuple):
    """A staff of a system, by the middle of its top and bottom line."""

    top: float
    bottom: float


class NoteHead(NamedTuple):
    """A note head; in tablature a fret.

    Attributes:
        place: Place of its bar.
        onset: When its note begins, in quarter notes from the start of the bar.
        staff: Its staff from the top of the system, from 1.
        rect: Its rectangle.
        pitch: Its written pitch ("C#4"); "" where it is unpitched.
        grace: It is a grace note, and has the onset of the note that it leads to.
    """

    place: int
    onset: Fraction
    staff: int
    rect: Rect
    pitch: str
    grace: bool


@dataclass(frozen=True, slots=True)
class SystemGeometry:
    """One system: the size of its picture, and what stands on it from left to right and from top to bottom."""

    width: float
    height: float
    bars: tuple[BarEdges, ...]
    staves: tuple[StaffLines, ...]
    heads: tuple[NoteHead, ...]


@dataclass(frozen=True, slots=True)
class Geometry:
    """The systems of an engraving, top to bottom."""

    systems: tuple[SystemGeometry, ...]

    def to_json(self) -> dict[str, Any]:
        """The geometry as JSON has it: onsets as fractions ("3/2"), rectangles as left, top, right, bottom."""
        return {"format": FORMAT, "unit": "mm", "systems": [_system(system) for system in self.systems]}


def geometry_of(systems: Iterable[System], bars: Sequence[BarRef]) -> Geometry:
    """The geometry of finished systems.

    Args:
        systems: The systems.
        bars: The bars of their excerpt.
    """
    return Geometry(
        tuple(
            SystemGeometry(
                system.width_mm,
                system.height_mm,
                tuple(
                    BarEdges(bars[bar.bar].place, bars[bar.bar].label, bar.left, bar.right)
                    for bar in system.bars
                ),
                tuple(StaffLines(top, bottom) for top, bottom in system.staves),
                tuple(
                    NoteHead(bars[note.bar].place, note.onset, note.staff, note.head, note.pitch, note.grace)
                    for note in system.notes
                    if not note.rest
                ),
            )
            for system in systems
        )
    )


def _system(system: SystemGeometry) -> dict[str, Any]:
    return {
        "width": _short(system.width),
        "height": _short(system.height),
        "bars": [
            {"place": bar.place, "label": bar.label, "left": _short(bar.left), "right": _short(bar.right)}
            for bar in system.bars
        ],
        "staves": [{"top": _short(staff.top), "bottom": _short(staff.bottom)} for staff in system.staves],
        "heads": [
            {**head._asdict(), "onset": str(head.onset), "rect": [_short(side) for side in head.rect]}
            for head in system.heads
        ],
    }


def _short(mm: float) -> float:
    """Thousandths of a millimetre are less than any device shows."""
    return round(mm, 3)
