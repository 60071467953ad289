"""One pitch: the rhythm and the bowing alone, on the first note of the passage."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from excerpts.musicxml.elements import Signatures
from excerpts.notes import Event, Head, Notation, TimedElement, Voice
from excerpts.variants.ornaments import without_ornaments
from excerpts.variants.passage import box_times
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.strokes_of_bow import part_equal_notes

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
    start = next(e for e in events if e.heads and e.onset >= low)
    first = start.heads[0].pitch

    def alone(event: Event) -> Event:
        if not event.heads:
            return event
        marks: dict[Notation, None] = dict.fromkeys(event.marks)
        kept = tuple(m for m in marks if m.name not in _OF_THE_PITCH and m.family not in _OF_THE_PITCH)
        return replace(event, heads=(Head(first, kept),))

    parted = part_equal_notes(tuple(map(alone, events)))
    placed = tuple(_in_one_clef(line, placed, start) for placed in line.placed)
    return replace(line, events=parted, placed=placed, report=line.report + report)


def _in_one_clef(line: Voice, placed: TimedElement, start: Event) -> TimedElement:
    """Signatures without the changes of clef after the first note."""
    later = line.time_of(placed) > start.onset
    if not (later and isinstance(placed.sign, Signatures)):
        return placed
    return replace(
        placed, sign=Signatures(tuple(sign for sign in placed.sign.content if sign.name != "clef"))
    )


VARIANT = Variant(
    VariantInfo("one-pitch", ("rhythm", "bow-distribution"), order=89, kind="line"), on_line=one_pitch
)
