"""Lower line, upper line: of every double stop one note, in the rhythm and bowing of the passage.

The lower note is tuned first: common practice, no source. (A drill takes double stops apart one by one, slowly.)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Event, Head, Voice
from excerpts.variants.clipping import drop_loose_ties, fill_with_rests
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import box_times, where
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.string_row import height_of

_OF_ONE_NOTE: Final = {"fingering", "string", "harmonic", "notehead", "accidental", "tied", "arpeggiate"}
"""Marks that belong to one note of a double stop, or only to all of them; others belong to the stroke."""


def one_line(line: Voice, parameter: str, name: str, choose: Callable[..., Head]) -> Voice:
    """Keep one note of each double stop: it lasts as long as it is written, and no longer than its chord.

    Raises:
        VariantError: There is no double stop.
    """
    del parameter
    low, high = box_times(line)
    if not any(len(event.heads) > 1 and event.onset < high and event.end > low for event in line.events):
        raise VariantError(
            f"there is no double stop in {box_bars(line)} to play the {name.replace('-', ' ')} of.",
            where=where(line),
            hint="Choose another variant ('separate', 'slow') or other bars.",
        )
    events = [_one(event, choose) for event in line.events]  # a note that ends before its chord leaves a rest
    return replace(line, events=drop_loose_ties(fill_with_rests(line.bars, events)))


def _one(event: Event, choose: Callable[..., Head]) -> Event:
    if len(event.heads) < 2:
        return event
    kept = choose(event.heads, key=height_of)
    others = [
        mark
        for head in event.heads
        if head is not kept
        for mark in head.marks
        if mark.name not in _OF_ONE_NOTE and mark.family not in _OF_ONE_NOTE and mark not in kept.marks
    ]
    own = tuple(mark for mark in kept.marks if mark.family != "arpeggiate")
    head = Head(kept.pitch, (*own, *others))
    if kept.duration is None or kept.duration >= event.duration:
        return replace(event, heads=(head,))
    printed = () if kept.printed is None else (kept.printed,)
    return replace(event, heads=(head,), duration=kept.duration, segments=(kept.duration,), printed=printed)


def _variant(name: str, choose: Callable[..., Head], order: int) -> Variant:
    return Variant(
        VariantInfo(name, ("intonation", "reading", "shift"), order=order, kind="line"),
        on_line=partial(one_line, name=name, choose=choose),
    )


VARIANTS = (_variant("lower-line", min, 96), _variant("upper-line", max, 97))
