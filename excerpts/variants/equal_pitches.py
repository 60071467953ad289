"""Slurs over notes of one pitch: dashes tell that the notes are parted, else the slur would be read as a tie.

Portato is written so, with dashes or dots under a slur: common practice, no source.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Final

from excerpts.musicxml.elements import Articulation
from excerpts.notes import Event, Notation
from excerpts.variants.spanning_marks import add_mark, slurs

DASH: Final = Notation(Articulation("tenuto"))

_PARTED: Final = {"tenuto", "staccato", "staccatissimo", "detached-legato", "spiccato"}
"""Marks that part the notes of a slur."""


def part_equal_notes(events: tuple[Event, ...], among: set[int] | None = None) -> tuple[Event, ...]:
    """Put a dash on each note of a slur that has the pitch of its neighbour in it, unless a dash or dot is there.

    Args:
        events: The notes.
        among: Indices of those that may get one; all if None.
    """
    alike: set[int] = set()
    for slur in slurs(events):
        inside = [place for place in range(slur.start, slur.stop + 1) if events[place].heads]
        for one, other in pairwise(inside):
            if _pitches(events[one]) & _pitches(events[other]):
                alike |= {one, other}
    for place in sorted(alike if among is None else alike & among):
        if not any(mark.name in _PARTED for head in events[place].heads for mark in head.marks):
            events = add_mark(events, place, DASH)
    return events


def _pitches(event: Event) -> set[str]:
    return {str(head.pitch) for head in event.heads}
