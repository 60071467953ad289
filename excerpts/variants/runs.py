"""Runs of even notes in a box, and how they divide in groups.

A run is a chain of notes of one length without rests between them; tied notes count as one. Groups start from the
beat, and a run must hold two of them. String teachers' common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.musicxml.elements import TimeModification
from excerpts.musicxml.metre import Metre
from excerpts.notes import Event, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.notes.time_span import is_binary
from excerpts.variants.pairs import is_even
from excerpts.variants.passage import box_times


@dataclass(frozen=True, slots=True)
class Run:
    """Even notes that follow each other.

    Attributes:
        notes: Their indices in the line.
        unit: Length of each in quarter notes.
        written: Length of the written value: that of a quaver for a triplet quaver.
    """

    notes: tuple[int, ...]
    unit: Fraction
    written: Fraction


@dataclass(frozen=True, slots=True)
class Grouped:
    """A run with the part of it that divides in groups.

    Attributes:
        run: The run.
        first: Place in the run of the first note of the first group.
        size: Notes of a group.
        count: Number of groups.
    """

    run: Run
    first: int
    size: int
    count: int

    @property
    def groups(self) -> list[tuple[int, ...]]:
        """The indices in the line of the notes of each group."""
        starts = range(self.first, self.first + self.size * self.count, self.size)
        return [self.run.notes[start : start + self.size] for start in starts]

    @property
    def leftover(self) -> tuple[int, ...]:
        """Indices of the notes after the last whole group."""
        return self.run.notes[self.first + self.size * self.count :]


def find_runs(line: Voice) -> list[Run]:
    """All runs of two notes or more in the box, in order."""
    start, end = box_times(line)
    runs: list[list[int]] = []
    before: Event | None = None
    for index, event in enumerate(line.events):
        if event.grace:
            continue
        inside = start <= event.onset and event.end <= end and is_even(event)
        if inside and before is not None and _follows(before, event):
            runs[-1].append(index)
        elif inside:
            runs.append([index])
        before = event if inside else None
    return [_run(line.events, notes) for notes in runs if len(notes) > 1]


def _follows(before: Event, event: Event) -> bool:
    same = event.duration == before.duration and _ratio(event) == _ratio(before)
    return same and before.end == event.onset


def _ratio(event: Event) -> Fraction:
    """How many notes of a tuplet stand for one plain note of their type."""
    modification = event.printed[0].modification if event.printed else None
    return modification.ratio if isinstance(modification, TimeModification) else Fraction(1)


def _run(events: Sequence[Event], notes: list[int]) -> Run:
    unit = events[notes[0]].duration
    written = unit * _ratio(events[notes[0]])
    if not is_binary(written):
        written = unit * 3 / 2 if is_binary(unit * 3 / 2) else Fraction(1, 4)
    return Run(tuple(notes), unit, written)


def on_the_beat(line: Voice, size: int) -> list[Grouped]:
    """Runs divided in groups that each fill a whole part of a beat, or whole beats."""
    metres = bar_metres(line)
    found: list[Grouped] = []
    for run in find_runs(line):
        place = 0
        while place + 2 * size <= len(run.notes):
            count = 0
            while place + (count + 1) * size <= len(run.notes) and _fits(
                line, metres, run, place + count * size, size
            ):
                count += 1
            if count >= 2:
                found.append(Grouped(run, place, size, count))
            place += max(1, count * size)
    return found


def _fits(line: Voice, metres: list[tuple[Metre, Fraction]], run: Run, place: int, size: int) -> bool:
    return fills_beats(line, metres, line.events[run.notes[place]].onset, run.unit * size)


def fills_beats(line: Voice, metres: list[tuple[Metre, Fraction]], onset: Fraction, length: Fraction) -> bool:
    """Whether what starts at a time fills a whole part of a beat, or whole beats."""
    bar = line.bar_at(onset)
    metre, shift = metres[bar]
    point = (onset - line.bars[bar].start + shift) % metre.length
    beat = metre.group_at(point)
    inside = point - metre.starts[beat]
    if length <= metre.groups[beat]:
        return inside % length == 0 and metre.groups[beat] % length == 0
    whole = metre.length % length == 0 and point % length == 0
    return whole and point in metre.starts and point + length in metre.starts


def from_the_beat(line: Voice, size: int, skip: int = 0) -> list[Grouped]:
    """Runs divided in groups from their first note that lies on a beat; the bars are to be made anew.

    Args:
        line: The line of a box.
        size: Notes of a group.
        skip: How many notes later the first group starts.
    """
    metres = bar_metres(line)
    found: list[Grouped] = []
    for run in find_runs(line):
        first = (
            next((p for p, note in enumerate(run.notes) if on_beat(line, metres, line.events[note].onset)), 0)
            + skip
        )
        count = (len(run.notes) - first) // size
        if count >= 2 and _clean_edges(line, run, first):
            found.append(Grouped(run, first, size, count))
    return found


def on_beat(line: Voice, metres: list[tuple[Metre, Fraction]], onset: Fraction) -> bool:
    """Whether a time is the start of a beat."""
    bar = line.bar_at(onset)
    metre, shift = metres[bar]
    return (onset - line.bars[bar].start + shift) % metre.length in metre.starts


def _clean_edges(line: Voice, run: Run, first: int) -> bool:
    """Whether what is left before and after the groups can stand in bars of its own."""
    edges = (line.events[run.notes[first]].onset, line.events[run.notes[-1]].end)
    return all(is_binary(edge - line.bars[line.bar_at(edge)].start) for edge in edges)


_LEAST: Final = 2
"""How many times as long as the short note the long one is, at least."""


def uneven_pairs(line: Voice) -> list[tuple[int, int]]:
    """Each long note with the short one after it or before it that fills beats with it, by their indices."""
    low, high = box_times(line)
    metres = bar_metres(line)
    notes = [i for i, event in enumerate(line.events) if not event.grace]
    pairs: list[tuple[int, int]] = []
    for index, other in zip(notes, notes[1:], strict=False):
        first, second = line.events[index], line.events[other]
        if (pairs and index in pairs[-1]) or not (is_even(first) and is_even(second)):
            continue
        inside = low <= first.onset and second.end <= high and first.end == second.onset
        short, long = sorted((first.duration, second.duration))
        if inside and long >= _LEAST * short and fills_beats(line, metres, first.onset, short + long):
            pairs.append((index, other))
    return pairs
