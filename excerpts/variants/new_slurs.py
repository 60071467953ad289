"""Other slurs in runs of even notes, and the bow signs that they need.

By default strong beats are played down-bow and an upbeat so that the beat it leads to comes down; a sign is written
only where the bow can start anew (at the start, after a silence of a beat) and would come out otherwise. The rule of
the down-bow is in Leopold Mozart's Violinschule, 1756; the rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from excerpts.excerpt import ReportLine
from excerpts.musicxml.elements import Articulation, Bow
from excerpts.notes import Notation, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.equal_pitches import part_equal_notes
from excerpts.variants.groups import on_beat, place_of
from excerpts.variants.runs import find_runs
from excerpts.variants.spanning_marks import SlurSpan, add_mark, at_the_heads, map_marks, slurs
from excerpts.variants.strokes_of_bow import (
    SIGNS,
    add_slur,
    bow_sign,
    grace_slurs,
    is_fresh,
    same_stroke,
    say_first,
    signs_to_keep,
)

Group = tuple[int, ...]
"""The notes of one stroke, by their indices in the line."""

LEAST: Final = 4
"""Notes of a run that is slurred anew, at least: two notes between others keep their bowing."""

DOT: Final = Notation(Articulation("staccato"))
_DETACHED: Final = {"staccato", "staccatissimo", "spiccato", "tenuto", "detached-legato", "stress"}
"""Marks that mean something else under a slur."""


def groups_of(line: Voice, pattern: Sequence[int]) -> list[Group]:
    """The strokes of all runs in which the pattern begins at a beat; notes left over are strokes of one.

    Args:
        line: The line of a box.
        pattern: How many notes each stroke has, in turn.
    """
    metres = bar_metres(line)
    groups: list[Group] = []
    for run in find_runs(line):
        strokes: list[Group] = []
        place = patterns = 0
        while place < len(run.notes):
            here = place_of(line, metres, line.events[run.notes[place]].onset)
            whole = place + sum(pattern) <= len(run.notes) and here.begins(run.unit * sum(pattern))
            for size in pattern if whole else (1,):
                strokes.append(run.notes[place : place + size])
                place += size
            patterns += whole
        groups += strokes if patterns * sum(pattern) >= LEAST else []
    return groups


def bow(line: Voice, groups: Sequence[Group], why: str, signs: Sequence[Notation] = ()) -> Voice:
    """Play groups of notes in one stroke each; slurs that hold one of them go whole, and their dots.

    Args:
        line: The line of a box.
        groups: The strokes.
        why: What it is, for the report.
        signs: What stands on every note of a group of two and more.
    """
    old = slurs(line.events)
    varied = {note for group in groups for note in group}
    several = {note for group in groups if len(group) > 1 for note in group}
    leaning = {main: first for first, main in grace_slurs(line.events, old) if main in varied}
    touched = [slur for slur in old if any(slur.start <= note <= slur.stop for note in varied)]
    gone = {end for slur in touched for end in ((slur.start, slur.first), (slur.stop, slur.last))}
    events = map_marks(
        line.events,
        lambda end, mark: (
            None
            if (end.event, mark) in gone
            or (end.event in varied and mark.name == "slur")
            or (end.event in several and mark.name in _DETACHED)
            else mark
        ),
    )
    for first, last in _ends(groups, leaning):
        events = add_slur(events, first, last)
    for note in sorted(several):
        for sign in signs:
            events = add_mark(events, note, sign)
    kept = signs_to_keep(line.events, old, slurs(events))
    events = map_marks(
        events,
        lambda end, mark: (
            None if mark.name in SIGNS and end.event in varied and end.event not in kept else mark
        ),
    )
    events = part_equal_notes(events, varied)
    made = replace(line, events=events, report=line.report + _report(line, touched, why))
    signed = _with_signs(made, varied)
    return at_the_heads(replace(signed, events=say_first(signed.events)))


def _ends(groups: Sequence[Group], leaning: dict[int, int]) -> list[tuple[int, int]]:
    """First and last event of each slur; grace notes that lead to its first note are in it."""
    ends = [(leaning.get(group[0], group[0]), group[-1]) for group in groups]
    return [(first, last) for first, last in ends if first < last]


def _report(line: Voice, gone: Sequence[SlurSpan], why: str) -> tuple[ReportLine, ...]:
    labels = dict.fromkeys(line.bars[line.bar_at(line.events[slur.start].onset)].label for slur in gone)
    return tuple(ReportLine("dropped", "slur", label, why) for label in labels)


def _with_signs(line: Voice, varied: set[int]) -> Voice:
    """Add the signs without which the bow would start the wrong way."""
    made = slurs(line.events)
    notes = [i for i, event in enumerate(line.events) if not event.is_rest and not event.grace]
    firsts = [
        note
        for before, note in zip([None, *notes], notes, strict=False)
        if before is None or not same_stroke(made, before, note)
    ]
    events = line.events
    stroke, previous = "up-bow", None
    for note in notes:
        stroke = SIGNS[stroke] if note in firsts else stroke
        sign = bow_sign(line.events[note])
        if not sign and note in varied and is_fresh(line.events, previous, note):
            wanted = _wanted(line, note, firsts)
            if wanted and wanted != stroke:
                events = add_mark(events, note, Notation(Bow(wanted)))
                sign = wanted
        stroke = sign or stroke
        previous = note
    return replace(line, events=events)


def _wanted(line: Voice, note: int, firsts: Sequence[int]) -> str:
    """The stroke with which a note should start: an upbeat so that what it leads to comes down."""
    onset = line.events[note].onset
    metres = bar_metres(line)
    bar = line.bar_at(onset)
    metre, shift = metres[bar]
    point = (onset - line.bars[bar].start + shift) % metre.length
    beat = metre.group_at(point)
    last = beat > 0 and beat + 1 == len(metre.groups)
    if point == 0 or (on_beat(line, metres, onset) and not last):
        return "down-bow"
    target = onset + metre.starts[beat + 1] - point
    if not any(line.events[first].onset == target for first in firsts):
        return ""
    strokes = sum(onset <= line.events[first].onset < target for first in firsts)
    return "up-bow" if strokes % 2 else "down-bow"
