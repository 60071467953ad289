"""Slurs over notes of one pitch: dashes tell that the notes are parted, else the slur would be read as a tie.

Portato is written so, with dashes or dots under a slur: common practice, no source.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Final

from excerpts.notes import Event
from excerpts.variants.new_slurs import DASH
from excerpts.variants.spanning_marks import add_mark, slurs

_PARTED: Final = {"tenuto", "staccato", "staccatissimo", "detached-legato", "spiccato"}
"""Marks that part the notes of a slur."""


def part_equal_notes(events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Put a dash on each note of a slur that has the pitch of its neighbour in it, unless a dash or dot is there."""
    alike: set[int] = set()
    for slur in slurs(events):
        inside = [place for place in range(slur.start, slur.stop + 1) if events[place].heads]
        for one, other in pairwise(inside):
            if _pitches(events[one]) & _pitches(events[other]):
                alike |= {one, other}
    for place in sorted(alike):
        if not any(mark.name in _PARTED for head in events[place].heads for mark in head.marks):
            events = add_mark(events, place, DASH)
    return events


def _pitches(event: Event) -> set[str]:
    return {str(head.pitch) for head in event.heads}
