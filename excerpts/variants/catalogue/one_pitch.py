"""One pitch: the rhythm and the bowing alone, on the first note of the passage."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from excerpts.notes import Event, Head, Notation, Voice
from excerpts.variants.equal_pitches import part_equal_notes
from excerpts.variants.ornaments import without_ornaments
from excerpts.variants.passage import box_times
from excerpts.variants.registry import Variant, VariantInfo

_OF_THE_PITCH: Final = {
    "fingering", "string", "harmonic", "open-string", "thumb-position", "accidental", "notehead", "glissando",
    "slide", "bend", "tied", "arpeggiate", "accidental-mark",
}  # fmt: skip


def one_pitch(line: Voice, parameter: str) -> Voice:
    """Put every note of the box, and the arrival, on its first pitch."""
    del parameter
    low = box_times(line)[0]
    whole = {index for index, event in enumerate(line.events) if not event.grace}
    events, report = without_ornaments(line, line.events, whole, "the rhythm alone")
    first = next(e.heads[0].pitch for e in events if e.heads and e.onset >= low)

    def alone(event: Event) -> Event:
        if not event.heads:
            return event
        marks: dict[Notation, None] = dict.fromkeys(mark for head in event.heads for mark in head.marks)
        kept = tuple(m for m in marks if m.name not in _OF_THE_PITCH and m.family not in _OF_THE_PITCH)
        return replace(event, heads=(Head(first, kept),))

    return replace(line, events=part_equal_notes(tuple(map(alone, events))), report=line.report + report)


VARIANT = Variant(
    VariantInfo("one-pitch", ("rhythm", "bow-distribution"), order=89, kind="line"), on_line=one_pitch
)
