"""Shortens events at the edges of a box and fills what is left of a bar with rests."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.excerpt import BarRef
from excerpts.notes import Event, Head, Notation, Printed

CUT_SHORT: Final = {"staccato", "staccatissimo", "spiccato"}
"""Marks that make no sense on a note that is stayed on."""


def clip(event: Event, start: Fraction, end: Fraction) -> Event:
    """The part of an event between two times, with its tied segments as far as they stay whole."""
    if (start, end) == (event.onset, event.end):
        return event
    segments: list[Fraction] = []
    printed: list[Printed] = []
    kept: list[int] = []
    whole = bool(event.printed)
    onset = event.onset
    for index, length in enumerate(event.segments or (event.duration,)):
        low, high = max(onset, start), min(onset + length, end)
        if low < high:
            kept.append(index)
            segments.append(high - low)
            whole = whole and high - low == length
            printed += event.printed[index : index + 1]
        onset += length
    kept = kept or [0]  # a note of no length
    last = max(0, len(event.segments) - 1)
    return replace(
        event,
        onset=start,
        duration=end - start,
        segments=tuple(segments) if whole else (),
        printed=tuple(printed) if whole else (),
        heads=tuple(
            _clipped(replace(head, marks=_moved(head.marks, kept, last)), event, start, end)
            for head in event.heads
        ),
        full_bar=False,
    )


def _clipped(head: Head, event: Event, start: Fraction, end: Fraction) -> Head:
    """A head of a length of its own between two times; one that has ended by then lasts as long as its chord."""
    if head.duration is None:
        return head
    left = min(event.onset + head.duration, end) - start
    return replace(head, duration=left if 0 < left < end - start else None, printed=None)


def _moved(marks: Sequence[Notation], kept: list[int], last: int) -> tuple[Notation, ...]:
    """Marks with the segments counted anew; loose ties on segments that are gone go with them."""
    result: list[Notation] = []
    for mark in marks:
        segment = last if mark.segment < 0 else mark.segment
        if segment not in kept and mark.family == "tied":
            continue
        place = min(max(segment, kept[0]), kept[-1]) - kept[0]
        result.append(replace(mark, segment=-1 if place and place == kept[-1] - kept[0] else place))
    return tuple(result)


def unprinted(event: Event) -> Event:
    """An event that the writer may print as it likes: no segments, no types, no tuplet brackets."""
    heads = tuple(
        replace(head, marks=tuple(mark for mark in head.marks if mark.family != "tuplet"), printed=None)
        for head in event.heads
    )
    rest_marks = tuple(mark for mark in event.rest_marks if mark.family != "tuplet")
    return replace(event, segments=(), printed=(), heads=heads, rest_marks=rest_marks)


def held(event: Event) -> Event:
    """A note to be stayed on, for the writer to print: dots that cut it short go."""
    heads = tuple(
        replace(head, marks=tuple(mark for mark in head.marks if mark.name not in CUT_SHORT))
        for head in event.heads
    )
    return unprinted(replace(event, heads=heads))


def fill_with_rests(bars: Sequence[BarRef], events: Sequence[Event]) -> tuple[Event, ...]:
    """Events with rests, one for each bar, wherever nothing stands: one voice alone must fill its bars."""
    result: list[Event] = []
    time = bars[0].start
    for event in events:
        result += _rests(bars, time, event.onset, event)
        result.append(event)
        time = max(time, event.end)
    return (*result, *_rests(bars, time, bars[-1].end, events[-1]))


def _rests(bars: Sequence[BarRef], start: Fraction, end: Fraction, like: Event) -> list[Event]:
    """Rests from one time to another, in the voice and staff of another event."""
    rests: list[Event] = []
    if start >= end:  # most notes follow the one before them at once
        return rests
    for bar in bars:
        low, high = max(start, bar.start), min(end, bar.end)
        if low < high:
            full = high - low == bar.length
            rests.append(Event(low, high - low, voice=like.voice, staff=like.staff, full_bar=full))
    return rests


def drop_loose_ties(events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Take away ties of single chord notes whose other end is gone."""
    result: list[Event] = []
    for index, event in enumerate(events):
        if not any(mark.family == "tied" for mark in event.marks):
            result.append(event)
            continue
        before = _heads_tied((events[place] for place in range(index - 1, -1, -1)), "start")
        after = _heads_tied((events[place] for place in range(index + 1, len(events))), "stop")
        heads = tuple(_without_loose(head, before, after) for head in event.heads)
        result.append(replace(event, heads=heads) if heads != event.heads else event)
    return tuple(result)


def _heads_tied(events: Iterable[Event], edge: str) -> set[str]:
    """Pitches of the next sounding events (grace notes and the note they lead to) that are tied."""
    tied: set[str] = set()
    for event in events:
        tied |= {str(head.pitch) for head in event.heads if head.tied(edge)}
        if not event.grace:
            break
    return tied


def _without_loose(head: Head, before: set[str], after: set[str]) -> Head:
    partners = {"stop": before, "start": after}
    marks = tuple(
        mark
        for mark in head.marks
        if mark.family != "tied" or mark.edge not in partners or str(head.pitch) in partners[mark.edge]
    )
    return replace(head, marks=marks) if marks != head.marks else head
