"""Bow strokes: which there are, which signs are retakes, and what is left without slurs.

Strokes alternate; a slur or a tie is one stroke; a sign that repeats the stroke before it is a retake. After a
rest of a beat or more the bow may start anew. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.excerpt import ReportLine
from excerpts.notes import Event, Line, Mark
from excerpts.practice.spans import Slur, add_mark, map_marks, slurs

SIGNS: Final = {"down-bow": "up-bow", "up-bow": "down-bow"}
"""Each bow sign and the stroke after it."""

_NEW_START: Final = Fraction(1)
"""A silence of this many quarter notes lets the player start the bow anew."""


def separate_bows(line: Line) -> Line:
    """The line with one stroke for each note; grace notes stay slurred to the note they lead to."""
    found = slurs(line.events)
    kept_signs = _signs_to_keep(line.events, found)
    leaning = _grace_slurs(line.events, found)
    events = map_marks(line.events, lambda end, mark: None if mark.name == "slur" else mark)
    events = map_marks(
        events, lambda end, mark: None if mark.name in SIGNS and end.event not in kept_signs else mark
    )
    for first, main in leaning:
        start = Mark("slur", "slur", '<slur type="start" number="1"/>', "start")
        stop = Mark("slur", "slur", '<slur type="stop" number="1"/>', "stop")
        events = add_mark(add_mark(events, first, start), main, stop)
    return replace(line, events=events, report=line.report + _report(line, found, leaning))


def bow_sign(event: Event) -> str:
    """The bow sign on an event; "" where there is none."""
    return next((mark.name for head in event.heads for mark in head.marks if mark.name in SIGNS), "")


def _signs_to_keep(events: tuple[Event, ...], found: list[Slur]) -> set[int]:
    """Indices of the events whose bow sign still says something when every note has its own stroke.

    These are the sign of the first note, signs after a silence, and retakes that still are retakes.
    """
    kept: set[int] = set()
    slurred = _first_stroke(events, found)
    separate = bow_sign(_first(events)) or "down-bow"
    previous: Event | None = None
    for index, event in enumerate(events):
        if event.is_rest or event.grace:
            continue
        sign = bow_sign(event)
        fresh = previous is None or event.onset - previous.end >= _NEW_START
        if previous is not None:
            slurred = slurred if _same_stroke(found, index) else SIGNS[slurred]
            separate = SIGNS[separate]
        if sign and (fresh or sign not in {slurred, separate}):
            kept.add(index)
            separate = sign
        slurred = sign or slurred
        previous = event
    return kept


def _first(events: tuple[Event, ...]) -> Event:
    return next(event for event in events if not event.is_rest and not event.grace)


def _first_stroke(events: tuple[Event, ...], found: list[Slur]) -> str:
    """The stroke that the first note has in the source: counted back from the first sign, else down."""
    changes = 0
    previous: Event | None = None
    for index, event in enumerate(events):
        if event.is_rest or event.grace:
            continue
        if previous is not None and event.onset - previous.end >= _NEW_START:
            break
        if previous is not None and not _same_stroke(found, index):
            changes += 1
        previous = event
        sign = bow_sign(event)
        if sign:
            return SIGNS[sign] if changes % 2 else sign
    return "down-bow"


def _same_stroke(found: list[Slur], index: int) -> bool:
    """Whether an event goes on in the stroke of the one before it."""
    return any(slur.start < index <= slur.stop for slur in found)


def _grace_slurs(events: tuple[Event, ...], found: list[Slur]) -> list[tuple[int, int]]:
    """First grace note and main note of each group that one stroke holds in the source."""
    groups: list[tuple[int, int]] = []
    index = 0
    while index < len(events):
        if not events[index].grace or events[index].closing:
            index += 1
            continue
        first = index
        while index < len(events) and events[index].grace:
            index += 1
        if index < len(events) and not events[index].is_rest and _same_stroke(found, index):
            groups.append((first, index))
    return groups


def _report(line: Line, found: list[Slur], leaning: list[tuple[int, int]]) -> tuple[ReportLine, ...]:
    """One line for each bar that loses a slur."""
    labels: list[str] = []
    for slur in found:
        bar = line.bar_at(line.events[slur.start].onset)
        if (slur.start, slur.stop) not in leaning and line.bars[bar].label not in labels:
            labels.append(line.bars[bar].label)
    return tuple(ReportLine("dropped", "slur", label, "separate bows") for label in labels)
