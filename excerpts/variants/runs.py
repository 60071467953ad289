"""Runs of even notes in a box: chains of notes of one length without rests between them; tied notes count as one."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.musicxml.elements import TimeModification
from excerpts.notes import Event, Voice
from excerpts.notes.time_span import is_binary
from excerpts.variants.passage import box_times

_MEASURED: Final = {"tremolo"}
"""Marks of notes that are no single stroke: they end a run."""


@dataclass(frozen=True, slots=True)
class Run:
    """Even notes that follow each other.

    Attributes:
        notes: Their indices in the line.
        unit: Length of each in quarter notes.
    """

    notes: tuple[int, ...]
    unit: Fraction


def find_runs(line: Voice) -> list[Run]:
    """All runs of two notes or more in the box, in order."""
    start, end = box_times(line)
    runs: list[list[int]] = []
    before: Event | None = None
    for index, event in enumerate(line.events):
        if event.grace:
            continue
        inside = start <= event.onset and event.end <= end and is_even(event)
        if inside and before is not None and _follows(before, event):
            runs[-1].append(index)
        elif inside:
            runs.append([index])
        before = event if inside else None
    return [Run(tuple(notes), line.events[notes[0]].duration) for notes in runs if len(notes) > 1]


def is_even(event: Event) -> bool:
    """Whether an event can be a note of a run: one stroke, one length, nothing tied to half of it."""
    if event.is_rest or event.hidden or event.cue or event.duration <= 0:
        return False
    if any(mark.name in _MEASURED or (mark.family == "tied" and mark.edge) for mark in event.marks):
        return False
    return all(head.duration is None for head in event.heads)


def _follows(before: Event, event: Event) -> bool:
    same = event.duration == before.duration and _ratio(event) == _ratio(before)
    return same and before.end == event.onset


def _ratio(event: Event) -> Fraction:
    """How many notes of a tuplet stand for one plain note of their type."""
    modification = event.printed[0].modification if event.printed else None
    return modification.ratio if isinstance(modification, TimeModification) else Fraction(1)


def written(event: Event) -> Fraction:
    """Length of the written value of a note in quarter notes: that of a quaver for a triplet quaver."""
    length = event.duration * _ratio(event)
    if is_binary(length):
        return length
    return event.duration * 3 / 2 if is_binary(event.duration * 3 / 2) else Fraction(1, 4)
