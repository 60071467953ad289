"""Other slurs, and separate bows, with the bow signs that they need (`new_signs`)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from excerpts.excerpt import ReportLine
from excerpts.musicxml.elements import Articulation
from excerpts.notes import Notation, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.groups import place_of
from excerpts.variants.new_signs import signed_anew
from excerpts.variants.runs import find_runs
from excerpts.variants.spanning_marks import SlurSpan, add_mark, at_the_heads, map_marks, slurs
from excerpts.variants.strokes_of_bow import add_slur, grace_slurs, part_equal_notes

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


def separate_bows(line: Voice) -> Voice:
    """The line with one stroke for each note; grace notes stay slurred to the note they lead to."""
    notes = [index for index, event in enumerate(line.events) if not event.is_rest and not event.grace]
    return bow(line, [(note,) for note in notes], "separate bows")


def bow(
    line: Voice, groups: Sequence[Group], why: str, signs: Sequence[Notation] = (), times: int = 1
) -> Voice:
    """Play groups of notes in one stroke each; slurs that hold one of them go whole, and their dots.

    Args:
        line: The line of a box.
        groups: The strokes.
        why: What it is, for the report.
        signs: What stands on every note of a group of two and more.
        times: How many strokes each note of a group of one is to have.
    """
    old = slurs(line.events)
    varied = {note for group in groups for note in group}
    several = {note for group in groups if len(group) > 1 for note in group}
    leaning = {main: first for first, main in grace_slurs(line.events, old) if main in varied}
    touched = [slur for slur in old if any(slur.start <= note <= slur.stop for note in varied)]
    gone = {end for slur in touched for end in slur.ends}
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
    events = part_equal_notes(events, varied)
    lost = [
        slur for slur in touched if (slur.start, slur.stop) not in {(f, main) for main, f in leaning.items()}
    ]
    made = replace(line, events=events, report=line.report + dropped_slurs(line, lost, why))
    return at_the_heads(signed_anew(made, line.events, varied, times))


def _ends(groups: Sequence[Group], leaning: dict[int, int]) -> list[tuple[int, int]]:
    """First and last event of each slur; grace notes that lead to its first note are in it."""
    ends = [(leaning.get(group[0], group[0]), group[-1]) for group in groups]
    return [(first, last) for first, last in ends if first < last]


def dropped_slurs(line: Voice, gone: Sequence[SlurSpan], why: str) -> tuple[ReportLine, ...]:
    """Tells of slurs that are taken out, each bar once."""
    labels = dict.fromkeys(line.bars[line.bar_at(line.events[slur.start].onset)].label for slur in gone)
    return tuple(ReportLine("dropped", "slur", label, why) for label in labels)
