"""Bow strokes: which there are, which signs are retakes, and what is left without slurs.

Strokes alternate; a slur or a tie is one stroke; a sign that repeats the stroke before it is a retake. After a
rest of a beat or more the bow may start anew. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.excerpt import ReportLine
from excerpts.musicxml.elements import Bow, Slur
from excerpts.notes import Event, Notation, Voice
from excerpts.variants.spanning_marks import SlurSpan, add_mark, map_marks, slurs

SIGNS: Final = {"down-bow": "up-bow", "up-bow": "down-bow"}
"""Each bow sign and the stroke after it."""

_NEW_START: Final = Fraction(1)
"""A silence of this many quarter notes lets the player start the bow anew."""


def separate_bows(line: Voice) -> Voice:
    """The line with one stroke for each note; grace notes stay slurred to the note they lead to."""
    source_slurs = slurs(line.events)
    kept_signs = signs_to_keep(line.events, source_slurs)
    leaning = grace_slurs(line.events, source_slurs)
    events = map_marks(line.events, lambda end, mark: None if mark.name == "slur" else mark)
    events = map_marks(
        events, lambda end, mark: None if mark.name in SIGNS and end.event not in kept_signs else mark
    )
    for first, main in leaning:
        events = add_slur(events, first, main)
    return replace(line, events=say_first(events), report=line.report + _report(line, source_slurs, leaning))


def say_first(events: tuple[Event, ...]) -> tuple[Event, ...]:
    """A down-bow on the first note where the next sign is a retake: else it would be taken to tell the start."""
    first = next((i for i, event in enumerate(events) if not event.is_rest and not event.grace), None)
    if first is None or bow_sign(events[first]) or _first_stroke(events, slurs(events)) == "down-bow":
        return events
    return add_mark(events, first, Notation(Bow("down-bow")))


def add_slur(events: tuple[Event, ...], first: int, last: int) -> tuple[Event, ...]:
    """Put a slur from one event to another."""
    start = Notation(Slur("start", "1"))
    stop = Notation(Slur("stop", "1"), -1)
    return add_mark(add_mark(events, first, start), last, stop)


def bow_sign(event: Event) -> str:
    """The bow sign on an event; "" where there is none."""
    return next((mark.name for head in event.heads for mark in head.marks if mark.name in SIGNS), "")


def signs_to_keep(
    events: tuple[Event, ...], source_slurs: list[SlurSpan], made: Sequence[SlurSpan] = ()
) -> set[int]:
    """Indices of the events whose bow sign still says something with other slurs.

    These are the sign of the first note, signs after a silence, and retakes that still are retakes.

    Args:
        events: With the signs of the source.
        source_slurs: The slurs of the source.
        made: The new ones; without any, every note has its own stroke.
    """
    kept: set[int] = set()
    slurred = _first_stroke(events, source_slurs)
    anew = bow_sign(_first(events)) or "down-bow"
    previous: int | None = None
    for index, event in enumerate(events):
        if event.is_rest or event.grace:
            continue
        sign = bow_sign(event)
        fresh, inside = is_fresh(events, previous, index), False
        if previous is not None:
            slurred = slurred if same_stroke(source_slurs, previous, index) else SIGNS[slurred]
            inside = same_stroke(made, previous, index)
            anew = anew if inside else SIGNS[anew]
        if sign and not inside and (fresh or sign not in {slurred, anew}):
            kept.add(index)
            anew = sign
        slurred = sign or slurred
        previous = index
    return kept


def is_fresh(events: Sequence[Event], previous: int | None, index: int) -> bool:
    """Whether the bow may start anew on an event: it is the first one, or a silence lies before it."""
    if previous is None:
        return True
    onset, end = events[index].onset, events[previous].end
    return onset != end and onset - end >= _NEW_START


def same_stroke(source_slurs: Sequence[SlurSpan], previous: int, index: int) -> bool:
    """Whether an event goes on in the stroke of the one before it, both by their indices."""
    return any(slur.start <= previous and index <= slur.stop for slur in source_slurs)


def _first(events: tuple[Event, ...]) -> Event:
    return next(event for event in events if not event.is_rest and not event.grace)


def _first_stroke(events: tuple[Event, ...], source_slurs: list[SlurSpan]) -> str:
    """The stroke that the first note has in the source: counted back from the first sign, else down."""
    changes = 0
    previous: int | None = None
    for index, event in enumerate(events):
        if event.is_rest or event.grace:
            continue
        if previous is not None and is_fresh(events, previous, index):
            break
        if previous is not None and not same_stroke(source_slurs, previous, index):
            changes += 1
        previous = index
        sign = bow_sign(event)
        if sign:
            return SIGNS[sign] if changes % 2 else sign
    return "down-bow"


def strokes(events: tuple[Event, ...]) -> dict[Fraction, str]:
    """The stroke of each note by its onset, counted from the signs; empty where no sign tells any of them."""
    if not any(map(bow_sign, events)):
        return {}
    source_slurs = slurs(events)
    by_onset: dict[Fraction, str] = {}
    stroke, previous = _first_stroke(events, source_slurs), None
    for index, event in enumerate(events):
        if event.is_rest or event.grace:
            continue
        if previous is not None and not same_stroke(source_slurs, previous, index):
            stroke = SIGNS[stroke]
        stroke = bow_sign(event) or stroke
        by_onset[event.onset] = stroke
        previous = index
    return by_onset


def grace_slurs(events: tuple[Event, ...], source_slurs: list[SlurSpan]) -> list[tuple[int, int]]:
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
        if index < len(events) and not events[index].is_rest and same_stroke(source_slurs, index - 1, index):
            groups.append((first, index))
    return groups


def _report(
    line: Voice, source_slurs: list[SlurSpan], leaning: list[tuple[int, int]]
) -> tuple[ReportLine, ...]:
    """One line for each bar that loses a slur."""
    labels: list[str] = []
    for slur in source_slurs:
        bar = line.bar_at(line.events[slur.start].onset)
        if (slur.start, slur.stop) not in leaning and line.bars[bar].label not in labels:
            labels.append(line.bars[bar].label)
    return tuple(ReportLine("dropped", "slur", label, "separate bows") for label in labels)
