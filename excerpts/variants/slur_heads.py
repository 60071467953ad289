"""Puts slurs of double stops on the side of the heads: an engraver takes the side from the note that has the slur."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.instruments.staff import staff_place
from excerpts.musicxml.elements import Signatures
from excerpts.notes import Event, Head, Notation, Voice
from excerpts.variants.spanning_marks import slurs

_ON_ITS_LINE: Final = {"G": 32, "F": 24, "C": 28}
"""Letters from C0 of the note that a clef stands for: G4, F3, C4."""

_MIDDLE: Final = 3
"""The line in the middle of a staff."""


def at_the_heads(line: Voice) -> Voice:
    """Move both ends of each slur to the highest note of a double stop with its stem down, else to the lowest."""
    events = list(line.events)
    for slur in slurs(line.events):
        for index, mark in ((slur.start, slur.first), (slur.stop, slur.last)):
            if len(events[index].heads) > 1:
                events[index] = _moved(events[index], mark, _middle(line, events[index].onset))
    return replace(line, events=tuple(events))


def _middle(line: Voice, time: Fraction) -> int:
    """What stands on the middle line, in letters from C0; that of a treble clef where there is no clef."""
    middle = _ON_ITS_LINE["G"] + 2
    for placed in line.placed:
        if not isinstance(placed.sign, Signatures) or line.bars[placed.bar].start + placed.onset > time:
            continue
        for clef in placed.sign.clefs:
            if clef.sign in _ON_ITS_LINE:
                on_line = _ON_ITS_LINE[clef.sign] + 2 * (_MIDDLE - (clef.line or 2))
                middle = on_line + 7 * clef.octave_change
    return middle


def _moved(event: Event, mark: Notation, middle: int) -> Event:
    """The event with a mark on the head that is farthest from the stem."""
    places = [staff_place(head.pitch) if head.pitch is not None else middle for head in event.heads]
    down = max(places) - middle >= middle - min(places)
    wanted = places.index(max(places) if down else min(places))
    heads: list[Head] = []
    for place, head in enumerate(event.heads):
        marks = tuple(one for one in head.marks if one is not mark)
        if place == wanted:
            marks = (mark, *marks) if mark.edge == "stop" else (*marks, mark)
        heads.append(replace(head, marks=marks))
    return replace(event, heads=tuple(heads))
