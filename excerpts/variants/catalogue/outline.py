"""Outline: the notes on the beats only, each as long as its beat; the bars stay full."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from excerpts.errors import VariantError
from excerpts.notes import Event, Notation, Voice
from excerpts.notes.time_span import is_binary
from excerpts.variants.clipping import CUT_SHORT, drop_loose_ties, fill_with_rests, unprinted
from excerpts.variants.groups import beat_points
from excerpts.variants.ornaments import LEFT_OUT
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import box_notes, box_times, where
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.spanning_marks import close_spans, map_marks
from excerpts.variants.strokes_of_bow import SIGNS


def outline(line: Voice, parameter: str) -> Voice:
    """Keep what sounds at each beat; a note that goes on over a beat stays as long as it is.

    Raises:
        VariantError: Every note stands on a beat already.
    """
    del parameter
    low, high = box_times(line)
    points = [low, *(point for point in beat_points(line) if low < point < high), high]
    kept: list[Event] = []
    for start, end in zip(points, points[1:], strict=False):
        event = next((e for e in line.events if not e.grace and e.onset <= start < e.end), None)
        if event is None or event.is_rest:
            continue
        if kept and event.onset < start and kept[-1].heads == event.heads and kept[-1].end == start:
            kept[-1] = replace(kept[-1], duration=end - kept[-1].onset)
        else:
            kept.append(replace(unprinted(event), onset=start, duration=_plain_end(line, start, end) - start))
    if not kept:
        raise VariantError(f"no note of {box_bars(line)} sounds on a beat.", where=where(line))
    if len(kept) == len(box_notes(line)):
        raise VariantError(
            f"outline leaves nothing out: every note of {box_bars(line)} is on a beat.",
            where=where(line),
            hint="Choose another variant ('slow', 'separate') or other bars.",
        )
    after = [e for e in line.events if e.onset >= high and not e.is_rest and (e.duration or e.onset > high)]
    notes = close_spans(drop_loose_ties((*map_marks(tuple(kept), _plain), *after)))
    events = fill_with_rests(line.bars, notes)
    return replace(line, events=events)


def _plain_end(line: Voice, start: Fraction, end: Fraction) -> Fraction:
    """The last end of a note that halving reaches, where the box ends in a tuplet that began after the beat."""
    bar = line.bars[line.bar_at(start)].start
    ends = [event.end for event in line.events if start < event.end <= end and is_binary(event.end - bar)]
    return max(ends, default=end)


def _plain(_: object, mark: Notation) -> Notation | None:
    """A mark that still makes sense on a note alone: no slur, tie, ornament or staccato dot, no stroke of the bow."""
    gone = mark.edge or mark.name in LEFT_OUT or mark.name in CUT_SHORT | {"tremolo", *SIGNS}
    return None if gone else mark


VARIANT = Variant(
    VariantInfo("outline", ("shift", "intonation", "memory", "reading"), order=90), on_line=outline
)
