"""Finds the dotted figures of a box: a long and a short note that fill beats together."""

from __future__ import annotations

from typing import Final

from excerpts.notes import Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.pairs import is_even
from excerpts.variants.passage import box_times
from excerpts.variants.runs import fills_beats

_LEAST: Final = 2
"""How many times as long as the short note the long one is, at least."""


def uneven_pairs(line: Voice) -> list[tuple[int, int]]:
    """Each long note with the short one after it or before it that fills beats with it, by their indices."""
    low, high = box_times(line)
    metres = bar_metres(line)
    notes = [i for i, event in enumerate(line.events) if not event.grace]
    found: list[tuple[int, int]] = []
    for index, other in zip(notes, notes[1:], strict=False):
        first, second = line.events[index], line.events[other]
        if (found and index in found[-1]) or not (is_even(first) and is_even(second)):
            continue
        inside = low <= first.onset and second.end <= high and first.end == second.onset
        short, long = sorted((first.duration, second.duration))
        if inside and long >= _LEAST * short and fills_beats(line, metres, first.onset, short + long):
            found.append((index, other))
    return found
