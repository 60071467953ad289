"""When the notes of an excerpt sound once its grace notes have their share.

A grace note takes its time from the note that it leans on: the one behind it, or, in front of a barline, the one
that ends there. That note may stand on another staff. Where there is none (a rest, a note that is held over), the
grace note sounds by itself. How long it lasts: common practice of playback, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Final

from excerpts.notes import Event, Voice

GRACE: Final = Fraction(1, 8)
"""Length of a grace note in quarter notes, where its note is long enough."""


@dataclass(slots=True)
class Sounding:
    """An event that sounds, with the line that it stands in and its times in quarter notes."""

    line: int
    start: Fraction
    end: Fraction
    event: Event


@dataclass(frozen=True, slots=True)
class _Group:
    """Grace notes of one line that are played in a row."""

    line: int
    graces: tuple[Event, ...]

    @property
    def onset(self) -> Fraction:
        return self.graces[0].onset

    @property
    def closing(self) -> bool:
        return self.graces[0].closing

    @property
    def voice(self) -> str:
        return self.graces[0].voice


def sounding(lines: Sequence[Voice]) -> list[list[Sounding]]:
    """The events of each line that sound, in order of time; rests, hidden notes and cues do not."""
    played = [
        [event for event in line.events if not (event.is_rest or event.hidden or event.cue)] for line in lines
    ]
    mains = [
        Sounding(number, event.onset, event.end, event)
        for number, events in enumerate(played)
        for event in events
        if not event.grace
    ]
    groups = [group for number, events in enumerate(played) for group in _groups(number, events)]
    notes = [*mains, *_sounding_graces(mains, groups)]
    return [
        sorted((one for one in notes if one.line == number), key=lambda one: one.start)
        for number in range(len(lines))
    ]


def _groups(line: int, events: list[Event]) -> Iterator[_Group]:
    """Those in front of a barline and those behind it have one onset and lean on different notes."""
    graces = (event for event in events if event.grace)
    for _, group in groupby(graces, key=lambda event: (event.onset, event.closing)):
        yield _Group(line, tuple(group))


def _sounding_graces(mains: list[Sounding], groups: list[_Group]) -> Iterator[Sounding]:
    """Place all grace notes, and shorten the notes that they lean on."""
    begun = _by_place((one.start, one) for one in mains if not _held(one.event, "stop"))
    ended = _by_place((one.end, one) for one in mains if not _held(one.event, "start"))
    leading: dict[int, tuple[Sounding, list[_Group]]] = {}
    closing: dict[int, tuple[Sounding, list[_Group]]] = {}
    for group in groups:
        behind = None if group.closing else _leant_on(begun, group)
        before = _leant_on(ended, group) if behind is None else None
        if behind is not None:
            leading.setdefault(id(behind), (behind, []))[1].append(group)
        elif before is not None:
            closing.setdefault(id(before), (before, []))[1].append(group)
        else:
            yield from _alone(group)
    for main, leaning in leading.values():
        yield from _lead(main, leaning)
    for main, leaning in closing.values():
        yield from _close(main, leaning)


_Places = dict[tuple[int, Fraction], Sounding]


def _by_place(timed: Iterator[tuple[Fraction, Sounding]]) -> _Places:
    """Notes that have a length by their line and a time."""
    return {(one.line, time): one for time, one in timed if one.event.duration > 0}


def _leant_on(places: _Places, group: _Group) -> Sounding | None:
    """The note of the group's own line at its onset, else one of its voice on another staff."""
    own = places.get((group.line, group.onset))
    if own is not None:
        return own
    others = (one for (_, time), one in places.items() if time == group.onset)
    return next((one for one in others if one.event.voice == group.voice), None)


def _held(event: Event, edge: str) -> bool:
    """Whether all heads are tied at an edge: nothing is struck, or let go, there."""
    return all(head.tied(edge) for head in event.heads)


def _lead(main: Sounding, groups: list[_Group]) -> Iterator[Sounding]:
    """Grace notes in front of a note, at its onset; those of its own staff are the last."""
    graces = _in_order(main, groups)
    length = min(GRACE, (main.end - main.start) / (2 * len(graces)))
    yield from _in_a_row(graces, main.start, length)
    main.start += length * len(graces)


def _close(main: Sounding, groups: list[_Group]) -> Iterator[Sounding]:
    """Grace notes behind a note take their time from its end."""
    graces = _in_order(main, groups)
    length = min(GRACE, (main.end - main.start) / (2 * len(graces)))
    main.end -= length * len(graces)
    yield from _in_a_row(graces, main.end, length)


def _alone(group: _Group) -> Iterator[Sounding]:
    """Grace notes that lean on nothing: up to the barline that they stand in front of, else from their onset."""
    graces = [(group.line, grace) for grace in group.graces]
    length = min(GRACE, group.onset / len(graces)) if group.closing else GRACE
    start = group.onset - length * len(graces) if group.closing else group.onset
    return _in_a_row(graces, start, length)


def _in_order(main: Sounding, groups: list[_Group]) -> list[tuple[int, Event]]:
    ordered = sorted(groups, key=lambda group: group.line == main.line)
    return [(group.line, grace) for group in ordered for grace in group.graces]


def _in_a_row(graces: list[tuple[int, Event]], start: Fraction, length: Fraction) -> Iterator[Sounding]:
    for place, (line, grace) in enumerate(graces):
        yield Sounding(line, start + length * place, start + length * (place + 1), grace)
