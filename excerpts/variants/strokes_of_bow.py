"""Bow strokes: which there are, and where the bow may start anew.

Strokes alternate; a slur or a tie is one stroke; a sign that repeats the stroke before it is a retake. After a
rest of a beat or more the bow may start anew. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Final

from excerpts.musicxml.elements import Articulation, Slur
from excerpts.notes import Event, Notation
from excerpts.variants.spanning_marks import SlurSpan, add_mark, slurs

SIGNS: Final = {"down-bow": "up-bow", "up-bow": "down-bow"}
"""Each bow sign and the stroke after it."""

_NEW_START: Final = Fraction(1)
"""A silence of this many quarter notes lets the player start the bow anew."""


def add_slur(events: tuple[Event, ...], first: int, last: int) -> tuple[Event, ...]:
    """Put a slur from one event to another."""
    start = Notation(Slur("start", "1"))
    stop = Notation(Slur("stop", "1"), -1)
    return add_mark(add_mark(events, first, start), last, stop)


def bow_sign(event: Event) -> str:
    """The bow sign on an event; "" where there is none."""
    return next((mark.name for mark in event.marks if mark.name in SIGNS), "")


def phrases(events: Sequence[Event]) -> list[list[int]]:
    """The notes by their indices, parted where a silence lets the bow start anew."""
    parted: list[list[int]] = []
    end = Fraction(0)
    for index, event in enumerate(events):
        if event.is_rest or event.grace:
            continue
        if not parted or event.onset - end >= _NEW_START:
            parted.append([])
        parted[-1].append(index)
        end = event.end
    return parted


def same_stroke(source_slurs: Sequence[SlurSpan], previous: int, index: int) -> bool:
    """Whether an event goes on in the stroke of the one before it, both by their indices."""
    return any(slur.start <= previous and index <= slur.stop for slur in source_slurs)


def strokes(events: Sequence[Event], source_slurs: Sequence[SlurSpan]) -> dict[int, str]:
    """The stroke of each note by its index: in each phrase counted back and on from its signs, else on from before."""
    by_note: dict[int, str] = {}
    stroke = "up-bow"
    for phrase in phrases(events):
        changes = [
            not place or not same_stroke(source_slurs, phrase[place - 1], note)
            for place, note in enumerate(phrase)
        ]
        signed = next((place for place, note in enumerate(phrase) if bow_sign(events[note])), None)
        if signed is not None:
            sign = bow_sign(events[phrase[signed]])
            stroke = sign if sum(changes[: signed + 1]) % 2 == 0 else SIGNS[sign]
        for note, new in zip(phrase, changes, strict=True):
            stroke = bow_sign(events[note]) or (SIGNS[stroke] if new else stroke)
            by_note[note] = stroke
    return by_note


def told_strokes(events: Sequence[Event]) -> dict[Fraction, str]:
    """The stroke of each note by its onset; empty where no sign tells any of them."""
    if not any(map(bow_sign, events)):
        return {}
    return {events[note].onset: stroke for note, stroke in strokes(events, slurs(tuple(events))).items()}


def grace_slurs(events: Sequence[Event], source_slurs: Sequence[SlurSpan]) -> list[tuple[int, int]]:
    """First grace note and main note of each group that one stroke holds in the source."""
    groups: list[tuple[int, int]] = []
    index = 0
    while index < len(events):
        if not events[index].grace or events[index].closing:
            index += 1
            continue
        first = index
        while index < len(events) and events[index].grace:
            index += 1
        if index < len(events) and not events[index].is_rest and same_stroke(source_slurs, index - 1, index):
            groups.append((first, index))
    return groups


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
        if not any(mark.name in _PARTED for mark in events[place].marks):
            events = add_mark(events, place, DASH)
    return events


def _pitches(event: Event) -> set[str]:
    return {str(head.pitch) for head in event.heads}
