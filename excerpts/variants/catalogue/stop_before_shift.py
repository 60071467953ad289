"""Stop before the shift: a pause on the last note before each change of position that the fingering tells.

A change is told where one finger (not the open string) plays two different pitches in a row, other than on the next
string at the same place, about a fifth away. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from excerpts.errors import VariantError
from excerpts.musicxml.elements import Fermata
from excerpts.notes import Event, Notation, Voice
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import box_times, where
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.spanning_marks import add_mark

_FERMATA: Final = Notation(Fermata())
_ACROSS: Final = {5, 6, 7, 8}
"""Semitones that the same finger spans over two strings: fifths and, on the bass, fourths."""


def stop_before_shift(line: Voice, parameter: str) -> Voice:
    """Put a pause on the note before each shift.

    Raises:
        VariantError: No fingering in the box tells of a shift.
    """
    del parameter
    low, high = box_times(line)
    sounding = [
        index
        for index, event in enumerate(line.events)
        if not event.is_rest and not event.grace and low <= event.onset <= high
    ]
    before = [
        index
        for index, other in zip(sounding, sounding[1:], strict=False)
        if _shifts(line.events[index], line.events[other])
    ]
    if not before:
        raise VariantError(
            f"no fingering in {box_bars(line)} shows a change of position.",
            where=where(line),
            hint="Write the fingers into the score, the same finger on the notes before and after the shift.",
        )
    events = line.events
    for index in before:
        if not any(mark.name == "fermata" for mark in events[index].heads[0].marks):
            events = add_mark(events, index, _FERMATA)
    return replace(line, events=events)


def _shifts(event: Event, following: Event) -> bool:
    """Whether one finger plays both notes at different places of the string."""
    fingers, pitch = _finger(event), event.heads[0].pitch
    other = following.heads[0].pitch
    if not fingers or fingers != _finger(following) or pitch is None or other is None:
        return False
    strings = _mark(event, "string"), _mark(following, "string")
    interval = abs(pitch.midi - other.midi)
    if all(strings):
        return interval > 0 if strings[0] == strings[1] else interval not in _ACROSS
    return interval > 0 and interval not in _ACROSS


def _finger(event: Event) -> str:
    finger = _mark(event, "fingering")
    return finger if finger in {"1", "2", "3", "4"} else ""


def _mark(event: Event, name: str) -> str:
    return next((mark.text for mark in event.heads[0].marks if mark.name == name), "")


VARIANT = Variant(
    VariantInfo("stop-before-shift", ("shift", "intonation"), order=92), on_line=stop_before_shift
)
