"""Rhythms on pairs of even notes: the pair keeps its time, its two notes share it anew.

Conditions, from string teachers' common practice: a run of equal notes without rests, from the beat, at least
two pairs long; everything else stays as written. Three notes to a beat do not divide in pairs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import ReportLine
from excerpts.musicxml.metre import Metre
from excerpts.notes import Event, TimedElement, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.clipping import unprinted
from excerpts.variants.ornaments import without_ornaments
from excerpts.variants.passage import box_times, where

_MEASURED: Final = {"tremolo"}
"""Marks of notes that are no single stroke: they end a run."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two neighbouring notes of one length, by their indices in the line."""

    first: int
    second: int


def in_pairs(line: Voice, share: Fraction, name: str) -> Voice:
    """Give the first note of each pair a share of the pair's time.

    Args:
        line: The line of a box.
        share: Share of the first note, between 0 and 1.
        name: Name of the variant, for messages.

    Returns:
        The line with its bars as long as before; grace notes and trills of the notes concerned left out.

    Raises:
        VariantError: The box has no run of even notes that divides in pairs.
    """
    pairs = find_pairs(line)
    if not pairs:
        raise _refusal(line, name)
    moves: list[tuple[Fraction, Fraction, Fraction]] = []
    events = list(line.events)
    for pair in pairs:
        first, second = events[pair.first], events[pair.second]
        middle = first.onset + (second.end - first.onset) * share
        moves.append((first.onset, middle, second.end))
        events[pair.first] = unprinted(replace(first, duration=middle - first.onset))
        events[pair.second] = unprinted(replace(second, onset=middle, duration=second.end - middle))
    varied = {index for pair in pairs for index in (pair.first, pair.second)}
    plain, report = without_ornaments(line, tuple(events), varied)
    return replace(
        line,
        events=plain,
        placed=tuple(moved(line, placed, moves) for placed in line.placed),
        report=line.report + report + as_written(line, varied),
    )


def find_pairs(line: Voice) -> list[Pair]:
    """The pairs of the box's even runs, in order: at least two pairs in each run."""
    start, end = box_times(line)
    metres = bar_metres(line)
    timed = [
        (index, event)
        for index, event in enumerate(line.events)
        if not event.grace and start <= event.onset and event.end <= end
    ]
    runs: list[list[Pair]] = []
    position = 0
    while position + 1 < len(timed):
        (index, event), (other, following) = timed[position : position + 2]
        if not _is_pair(line, metres, event, following):
            position += 1
            continue
        pair = Pair(index, other)
        if runs and _goes_on(line.events, runs[-1][-1], pair):
            runs[-1].append(pair)
        else:
            runs.append([pair])
        position += 2
    return [pair for run in runs if len(run) >= 2 for pair in run]


def _goes_on(events: tuple[Event, ...], before: Pair, pair: Pair) -> bool:
    last, first = events[before.second], events[pair.first]
    return last.end == first.onset and last.duration == first.duration


def _is_pair(line: Voice, metres: list[tuple[Metre, Fraction]], first: Event, second: Event) -> bool:
    if not (is_even(first) and is_even(second)) or first.duration != second.duration:
        return False
    if first.end != second.onset:
        return False
    bar = line.bar_at(first.onset)
    metre, shift = metres[bar]
    onset = first.onset - line.bars[bar].start + shift
    return _divides(metre, onset, first.duration)


def is_even(event: Event) -> bool:
    """Whether an event can be a note of a run: one stroke, one length, nothing tied to half of it."""
    if event.is_rest or event.hidden or event.cue or event.duration <= 0:
        return False
    marks = [mark for head in event.heads for mark in head.marks]
    if any(mark.name in _MEASURED or (mark.family == "tied" and mark.edge) for mark in marks):
        return False
    return all(head.duration is None for head in event.heads)


def _divides(metre: Metre, onset: Fraction, unit: Fraction) -> bool:
    """Whether a pair of `unit` notes at this point of the bar makes a whole part of a beat, or whole beats."""
    beat = metre.group_at(onset)
    length = metre.groups[beat]
    part = length / 3 if metre.ternary[beat] else length
    if 2 * unit <= part:
        return _is_power_of_two(part / unit) and (onset % metre.length - metre.starts[beat]) % (2 * unit) == 0
    if metre.ternary[beat] or any(metre.ternary) or len(set(metre.groups)) > 1:
        return False
    whole_bar = metre.length % (2 * unit) == 0 and not (metre.halves and len(metre.groups) % 2)
    return whole_bar and _is_power_of_two(unit / part) and onset % (2 * unit) == 0


def _is_power_of_two(number: Fraction) -> bool:
    return number.denominator == 1 and number.numerator & (number.numerator - 1) == 0


def moved(
    line: Voice, placed: TimedElement, moves: Iterable[tuple[Fraction, Fraction, Fraction]]
) -> TimedElement:
    """What is placed at a note moves with the note."""
    start = line.bars[placed.bar].start
    time = start + placed.onset
    for first, middle, end in moves:
        old = (first + end) / 2
        if first < time < end and placed.name not in {"barline", "attributes"}:
            if time <= old:
                time = first + (time - first) * (middle - first) / (old - first)
            else:
                time = middle + (time - old) * (end - middle) / (end - old)
            return replace(placed, onset=time - start)
    return placed


def as_written(line: Voice, varied: set[int]) -> tuple[ReportLine, ...]:
    """Name the bars of the box in which nothing was changed."""
    start, end = box_times(line)
    changed = {line.bar_at(line.events[index].onset) for index in varied}
    return tuple(
        ReportLine("carried", "bar-as-written", bar.label)
        for index, bar in enumerate(line.bars)
        if index not in changed and bar.start < end and bar.start + bar.length > start
    )


def _refusal(line: Voice, name: str) -> VariantError:
    """Say which bars there are and why none of them has a run."""
    start, end = box_times(line)
    metres = bar_metres(line)
    reasons: dict[str, list[str]] = {}
    for index, bar in enumerate(line.bars):
        if bar.start < end and bar.start + bar.length > start:
            inside = [
                event
                for event in line.events
                if not event.grace and max(start, bar.start) <= event.onset < min(end, bar.start + bar.length)
            ]
            reasons.setdefault(_reason(inside, metres[index][0]), []).append(bar.label)
    why = "; ".join(f"{bar_list(labels)}: {reason}" for reason, labels in reasons.items())
    return VariantError(
        f"{name} needs a run of at least four equal notes that divides in pairs from the beat. {why}.",
        where=where(line),
        hint="Choose another variant ('separate', 'slow') or other bars.",
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
    return bar_list([bar.label for bar in line.bars if bar.start < high and bar.start + bar.length > low])


def _reason(events: list[Event], metre: Metre) -> str:
    """Why a bar has no run, in a teacher's words."""
    notes = [event for event in events if not event.is_rest]
    if len(notes) < 2:
        return "too few notes"
    lengths = {event.duration for event in notes}
    if any(_in_threes(event.duration, metre) for event in notes) and len(lengths) <= 2:
        return "three notes to a beat"
    if len(events) > len(notes) and len(lengths) == 1:
        return "rests between the notes"
    if len(lengths) > 1:
        return "notes of different lengths"
    return "the notes do not divide in pairs from the beat"


def _in_threes(length: Fraction, metre: Metre) -> bool:
    plain = [beat for beat, three in zip(metre.groups, metre.ternary, strict=True) if not three]
    return length in {beat / 3 for beat in metre.groups} | {beat * 2 / 3 for beat in plain}
