"""Hooked bows: both notes of a pair in one direction, the bow stops between; slur, and a dot on the short note.

Pairs of a long and a short note are hooked; where there are none, pairs of even notes, with dots on both. String
players' common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from excerpts.notes import Line
from excerpts.notes.layout import bar_metres
from excerpts.practice.pairs import is_even
from excerpts.practice.passage import box_times
from excerpts.practice.ratios import no_notes
from excerpts.practice.registry import Variant, VariantInfo
from excerpts.practice.runs import fills_beats, on_the_beat
from excerpts.practice.spans import add_mark
from excerpts.practice.strokes import DOT, Group, bow

_LEAST: Final = 2
"""How many times as long as the short note the long one is, at least."""


def hooked(line: Line, parameter: str) -> Line:
    """Hook the pairs.

    Raises:
        VariantError: There are no pairs.
    """
    del parameter
    uneven = _uneven(line)
    even = [group for run in on_the_beat(line, 2) for group in run.groups] if not uneven else []
    if not uneven and not even:
        raise no_notes(line, "hooked", 4)
    made = bow(line, uneven or even, "hooked bows", (DOT,) if even else ())
    events = made.events
    for group in uneven:
        events = add_mark(events, min(group, key=lambda note: line.events[note].duration), DOT)
    return replace(made, events=events)


def _uneven(line: Line) -> list[Group]:
    """Each long note with the short one after it or before it that fills beats with it."""
    low, high = box_times(line)
    metres = bar_metres(line)
    notes = [i for i, event in enumerate(line.events) if not event.grace]
    found: list[Group] = []
    for index, other in zip(notes, notes[1:], strict=False):
        first, second = line.events[index], line.events[other]
        if (found and index in found[-1]) or not (is_even(first) and is_even(second)):
            continue
        inside = low <= first.onset and second.end <= high and first.end == second.onset
        short, long = sorted((first.duration, second.duration))
        if inside and long >= _LEAST * short and fills_beats(line, metres, first.onset, short + long):
            found.append((index, other))
    return found


VARIANT = Variant(
    VariantInfo("hooked", ("bow-distribution", "rhythm"), order=65, kind="bowing"), on_line=hooked
)
