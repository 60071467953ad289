"""Why the notes of a box do not go in pairs, and how messages list its bars."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import bar_label
from excerpts.musicxml.metre import Metre
from excerpts.notes import Event, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.passage import box_times, where

_THREES: Final = "three notes to a beat"
_IN_THREES: Final = "Three notes to a beat take 'long-short-short', 'short-short-long' and 'burst:3'."


def no_pairs(line: Voice, name: str) -> VariantError:
    """Say which bars there are and why none of them has a run."""
    start, end = box_times(line)
    metres = bar_metres(line)
    reasons: dict[str, list[str]] = {}
    for index, bar in enumerate(line.bars):
        if bar.start < end and bar.end > start:
            inside = [
                event
                for event in line.events
                if not event.grace and max(start, bar.start) <= event.onset < min(end, bar.end)
            ]
            reasons.setdefault(_reason(inside, metres[index][0]), []).append(bar_label(line.bars, index))
    why = "; ".join(f"{bar_list(labels)}: {reason}" for reason, labels in reasons.items())
    return VariantError(
        f"{name} needs a run of at least four equal notes that divides in pairs from the beat. {why}.",
        where=where(line),
        hint=_IN_THREES
        if _THREES in reasons
        else "Choose another variant ('separate', 'slow') or other bars.",
    )


_LONG: Final = 10
"""Digits of what is no number of a bar any more."""


def bar_list(labels: Sequence[str]) -> str:
    """Bars as a message lists them: "bar 7", "bars 7, 9-12"."""
    ranges: list[list[str]] = []
    for label in labels:
        last = _number(ranges[-1][-1]) if ranges else None
        if last is not None and _number(label) == last + 1:
            ranges[-1].append(label)
        else:
            ranges.append([label])
    text = ", ".join(run[0] if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in ranges)
    return f"bar {text}" if len(labels) == 1 else f"bars {text}"


def _number(label: str) -> int | None:
    """A bar's label as a number; None for one that is none, or longer than any number of a bar."""
    return int(label) if label.isdecimal() and len(label) < _LONG else None


def box_bars(line: Voice) -> str:
    """The bars of the box as a message lists them."""
    low, high = box_times(line)
    inside = [n for n, bar in enumerate(line.bars) if bar.start < high and bar.end > low]
    return bar_list([bar_label(line.bars, index) for index in inside])


def _reason(events: list[Event], metre: Metre) -> str:
    """Why a bar has no run, in a teacher's words."""
    notes = [event for event in events if not event.is_rest]
    if len(notes) < 2:
        return "too few notes"
    lengths = {event.duration for event in notes}
    if any(_in_threes(event.duration, metre) for event in notes) and len(lengths) <= 2:
        return _THREES
    if len(events) > len(notes) and len(lengths) == 1:
        return "rests between the notes"
    if len(lengths) > 1:
        return "notes of different lengths"
    return "the notes do not divide in pairs from the beat"


def _in_threes(length: Fraction, metre: Metre) -> bool:
    plain = [beat for beat, three in zip(metre.groups, metre.ternary, strict=True) if not three]
    return length in {beat / 3 for beat in metre.groups} | {beat * 2 / 3 for beat in plain}
