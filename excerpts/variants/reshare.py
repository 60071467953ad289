"""Gives the notes of groups other lengths: each group keeps its time, so that the bars stay as long as they are."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from excerpts.excerpt import ReportLine
from excerpts.notes import Event, TimedElement, Voice
from excerpts.variants.clipping import unprinted
from excerpts.variants.ornaments import without_ornaments
from excerpts.variants.passage import box_times

Shared = tuple[tuple[int, ...], Sequence[Fraction]]
"""The notes of a group, by their indices in the line, and their new lengths in quarter notes."""


def reshare(line: Voice, groups: Iterable[Shared]) -> Voice:
    """Share the time of groups anew; grace notes and trills of these notes are left out.

    Args:
        line: The line of a box.
        groups: The groups; the new lengths of each are together as long as the old ones.
    """
    events = list(line.events)
    moves: list[tuple[Event, Event]] = []
    varied: set[int] = set()
    for notes, lengths in groups:
        onset = events[notes[0]].onset
        for note, length in zip(notes, lengths, strict=True):
            new = unprinted(replace(events[note], onset=onset, duration=length))
            moves.append((events[note], new))
            events[note] = new
            onset = new.end
        varied |= set(notes)
    plain, report = without_ornaments(line, tuple(events), varied)
    return replace(
        line,
        events=plain,
        placed=tuple(_moved(line, placed, moves) for placed in line.placed),
        report=line.report + report + as_written(line, varied),
    )


def unornamented(line: Voice, varied: set[int]) -> Voice:
    """The line without grace notes and trills of varied notes; the report names what goes and what stays as it is."""
    events, report = without_ornaments(line, line.events, varied)
    return replace(line, events=events, report=line.report + report + as_written(line, varied))


def as_written(line: Voice, varied: set[int]) -> tuple[ReportLine, ...]:
    """Name the bars of the box in which nothing was changed."""
    end = box_times(line)[1]
    changed = {line.bar_at(line.events[index].onset) for index in varied}
    return tuple(
        ReportLine("carried", "bar-as-written", bar.label)
        for index, bar in enumerate(line.bars)
        if index not in changed and bar.start < end
    )


def _moved(line: Voice, placed: TimedElement, moves: Sequence[tuple[Event, Event]]) -> TimedElement:
    """What is placed at a note moves with the note; barlines stay."""
    start = line.bars[placed.bar].start
    time = start + placed.onset
    for old, new in moves:
        if old.onset <= time < old.end and placed.name != "barline":
            moved = new.onset + (time - old.onset) * new.duration / old.duration
            return replace(placed, onset=moved - start) if moved != time else placed
    return placed
