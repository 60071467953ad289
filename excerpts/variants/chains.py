"""Chains: steps that each play some units (notes, beats, bars) of the box, with a double bar between them.

N units give N steps when they grow, N (N + 1) / 2 units in all, and N - w + 1 steps of w when a window moves on.
String teachers' common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.musicxml.elements import HIDDEN, Bow, Sign, Time
from excerpts.notes import Event, Notation, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.notes.time_span import is_binary
from excerpts.variants.clipping import clip, drop_loose_ties, unprinted
from excerpts.variants.groups import beat_points
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import box_times, where
from excerpts.variants.rebar import Item, NewBar, rebar, signature_of, silence, source_time
from excerpts.variants.spanning_marks import add_mark, close_spans, map_marks
from excerpts.variants.strokes_of_bow import bow_sign, told_strokes

MOST_NOTES: Final = 400
"""As many notes as fill about two pages: nobody plays a longer chain."""

_SAID_ONCE: Final = {"fingering", "string"}


@dataclass(frozen=True, slots=True)
class Unit:
    """What is added at each step, in quarter notes from the start of the line."""

    start: Fraction
    end: Fraction


def notes_of(line: Voice) -> list[Unit]:
    """Each note of the box, tied notes and chords as one."""
    low, high = box_times(line)
    return [
        Unit(max(low, event.onset), min(high, event.end))
        for event in line.events
        if not event.is_rest and not event.grace and event.onset < high and event.end > max(low, event.onset)
    ]


def beats_of(line: Voice) -> list[Unit]:
    """The beats of the box; those that a note goes over are one."""
    return _cut(line, beat_points(line))


def bars_of(line: Voice) -> list[Unit]:
    """The bars of the box; those that a tied note joins are one."""
    return _cut(line, [bar.start for bar in line.bars])


def growing(count: int) -> list[tuple[int, int]]:
    """1, 1-2, 1-2-3 … as first and last unit of each step."""
    return [(0, last) for last in range(count)]


def backwards(count: int) -> list[tuple[int, int]]:
    """The last, the last two, the last three …."""
    return [(first, count - 1) for first in reversed(range(count))]


def windows(count: int, width: int) -> list[tuple[int, int]]:
    """1-5, 2-6, 3-7 …."""
    return [(first, first + width - 1) for first in range(count - width + 1)]


def chain(line: Voice, name: str, units: Sequence[Unit], steps: Sequence[tuple[int, int]]) -> Voice:
    """Write the steps one after the other; the last one runs into the arrival note.

    Raises:
        VariantError: There are fewer than two steps, or more notes than anybody plays.
    """
    spans = [(units[first].start, units[last].end) for first, last in steps]
    _check(line, name, spans)
    items: list[Item] = []
    bars: list[NewBar] = []
    for number, (start, end) in enumerate(spans):
        _step(line, start, end, number + 1 == len(spans), items, bars)
    items = _fingers_once(items)
    if any(_tells_whether_shown(bar.time) for bar in bars):
        bars = [replace(bar, time=_hidden(bar.time)) for bar in bars]
    return rebar(line, items, bars, moves=False)


def _with_first_stroke(events: tuple[Event, ...], signs: Mapping[Fraction, str]) -> tuple[Event, ...]:
    """A step with the stroke that falls on its first note, where the signs of the line tell it."""
    first = next((place for place, event in enumerate(events) if event.heads and not event.grace), None)
    if first is None or bow_sign(events[first]) or events[first].onset not in signs:
        return events
    return add_mark(events, first, Notation(Bow(signs[events[first].onset])))


def _fingers_once(items: Sequence[Item]) -> list[Item]:
    """Fingers and strings stand at a note when it comes for the first time; bow signs always."""
    seen: set[tuple[Fraction, str]] = set()
    result: list[Item] = []
    for item in items:
        key = (item.event.onset, item.event.grace)
        if key in seen and item.event.heads:
            (event,) = map_marks((item.event,), lambda _, mark: None if mark.name in _SAID_ONCE else mark)
            item = replace(item, event=event)
        seen |= {key} if item.event.heads else set()
        result.append(item)
    return result


def _tells_whether_shown(time: Sign | None) -> bool:
    return time is not None and "print-object" in dict(time.look)


def _hidden(time: Sign | None) -> Sign | None:
    """A time signature that is not printed: bars of all lengths follow each other."""
    if not isinstance(time, Time) or _tells_whether_shown(time):
        return time
    return replace(time, look=(*HIDDEN, *time.look))


def _check(line: Voice, name: str, spans: Sequence[tuple[Fraction, Fraction]]) -> None:
    if len(spans) < 2:
        raise VariantError(
            f"{name} needs more than the one step that there is in {box_bars(line)}.",
            where=where(line),
            hint="Choose more bars, or a chain of notes ('add-a-note', 'backwards').",
        )
    total = sum(len(_inside(line, start, end)) for start, end in spans)
    if total > MOST_NOTES:
        raise VariantError(
            f"{name} of {box_bars(line)} would be {total} notes long; {MOST_NOTES} are the most.",
            where=where(line),
            hint="Choose fewer bars, or larger steps ('add-a-beat', 'add-a-bar').",
        )


def _inside(line: Voice, start: Fraction, end: Fraction) -> list[Event]:
    return [event for event in line.events if start <= event.onset < end and not event.closing]


def _step(
    line: Voice, start: Fraction, end: Fraction, last: bool, items: list[Item], bars: list[NewBar]
) -> None:
    """Write one step in bars that begin and end on beats, with rests where the step does not."""
    low, high = _around(line, start, end)
    if last:
        high = line.bars[-1].end
    inside = _inside(line, start, high if last else end)
    if not last:  # a note that sounds on over the end of the box is cut in all steps but the last
        inside = [event if event.end <= end else clip(event, event.onset, end) for event in inside]
    events = close_spans(drop_loose_ties(tuple(unprinted(event) for event in inside)))
    events = _with_first_stroke(events, told_strokes(line.events))
    box_end = box_times(line)[1]
    if start > low:
        before = silence(start - low, events[0])
        # Nobody counts it, the step starts on its first note; but a tuplet is not whole without it.
        items.append(replace(before, event=replace(before.event, hidden=is_binary(start - low))))
    items += [Item(event, event.duration, event.onset >= box_end) for event in events]
    if high > max(end, events[-1].end):
        items.append(silence(high - max(end, events[-1].end), events[-1]))
    metres = bar_metres(line)
    for place, bar in enumerate(line.bars):
        first, stop = max(low, bar.start), min(high, bar.end)
        if first < stop:
            whole = stop - first == bar.length
            time: Sign | None = signature_of(stop - first, any(metres[place][0].ternary), shown=False)
            if whole and source_time(line, place):
                time = source_time(line, place)
            bars.append(NewBar(stop - first, time, last=stop == high and not last))


def _around(line: Voice, start: Fraction, end: Fraction) -> tuple[Fraction, Fraction]:
    """The beats on which a step begins and ends, or the edges of the line."""
    points = beat_points(line)
    return max(point for point in points if point <= start), min(point for point in points if point >= end)


def _cut(line: Voice, points: Sequence[Fraction]) -> list[Unit]:
    """Cut the box at points where no note sounds on; stretches without a note join the one before."""
    low, high = box_times(line)
    free = [
        point
        for point in points
        if low < point < high and not any(event.onset < point < event.end for event in line.events)
    ]
    units: list[Unit] = []
    for start, end in zip((low, *free), (*free, high), strict=True):
        sounds = any(not event.is_rest and start <= event.onset < end for event in line.events)
        if sounds:
            units.append(Unit(start, end))
        elif units:
            units[-1] = replace(units[-1], end=end)
    return units
