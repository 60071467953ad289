"""Marks that span notes: slurs that a cut leaves open are closed, others without their other end go."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from excerpts.instruments.staff import staff_place
from excerpts.musicxml.elements import Fermata, Signatures, Slur
from excerpts.notes import Event, Head, Notation, Voice

_PAIRED: Final = {"slur", "glissando", "slide", "wavy-line", "tuplet", "tremolo", "hammer-on", "pull-off"}


_REST: Final = -1
"""In the place of a head, for what stands on a rest: a tuplet may begin or end with one."""


@dataclass(frozen=True, slots=True)
class End:
    """Where a mark stands: index of the event, of the head in it, and of the mark on that.

    Attributes:
        event: Index of the event in the line.
        head: Index of the head in the event; -1 for a rest.
        mark: Index of the mark on the head or rest.
    """

    event: int
    head: int
    mark: int


@dataclass(frozen=True, slots=True)
class SlurSpan:
    """A slur by the indices of the events that it starts and stops on."""

    start: int
    stop: int
    first: Notation
    last: Notation

    @property
    def ends(self) -> tuple[tuple[int, Notation], tuple[int, Notation]]:
        """Both ends, each with the event that it stands on."""
        return (self.start, self.first), (self.stop, self.last)


def close_spans(events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Close open slurs on the first or last note there is; take other half spans away."""
    loose = _loose(events)
    gone = {end for end, _ in loose}
    sounding = [index for index, event in enumerate(events) if not event.is_rest]
    result = map_marks(events, lambda end, mark: None if end in gone else mark)
    for end, mark in loose:
        if mark.name == "slur" and sounding:
            result = _closed(result, end, mark, sounding)
    return result


def _closed(events: tuple[Event, ...], end: End, mark: Notation, sounding: list[int]) -> tuple[Event, ...]:
    """Put both ends of an open slur on events, if there are two of them."""
    start, stop = (end.event, sounding[-1]) if mark.edge == "start" else (sounding[0], end.event)
    if start >= stop:
        return events
    other = _other_edge(mark)
    first, last = (mark, other) if mark.edge == "start" else (other, mark)
    return add_mark(add_mark(events, start, first), stop, last)


def _other_edge(mark: Notation) -> Notation:
    edge = "stop" if mark.edge == "start" else "start"
    return Notation(Slur(edge, mark.sign.number), 0 if edge == "start" else -1)


def add_mark(events: tuple[Event, ...], index: int, mark: Notation) -> tuple[Event, ...]:
    """Put a mark on the first head of an event; stops come before what starts there."""
    event = events[index]
    head = event.heads[0]
    marks = (mark, *head.marks) if mark.edge == "stop" else (*head.marks, mark)
    heads = (replace(head, marks=marks), *event.heads[1:])
    return (*events[:index], replace(event, heads=heads), *events[index + 1 :])


def with_pauses(events: tuple[Event, ...], notes: Iterable[int]) -> tuple[Event, ...]:
    """Put a pause on each of these notes that has none."""
    for index in notes:
        if not any(mark.name == "fermata" for mark in events[index].heads[0].marks):
            events = add_mark(events, index, Notation(Fermata()))
    return events


def map_marks(
    events: tuple[Event, ...], change: Callable[[End, Notation], Notation | None]
) -> tuple[Event, ...]:
    """Change or drop (None) each mark on the heads of events, and on rests."""

    def changed(index: int, number: int, marks: tuple[Notation, ...]) -> tuple[Notation, ...]:
        made = (change(End(index, number, place), mark) for place, mark in enumerate(marks))
        return tuple(mark for mark in made if mark is not None)

    result: list[Event] = []
    for index, event in enumerate(events):
        heads: list[Head] = []
        for number, head in enumerate(event.heads):
            marks = changed(index, number, head.marks) if head.marks else ()
            heads.append(replace(head, marks=marks) if marks != head.marks else head)
        rest = changed(index, _REST, event.rest_marks) if event.rest_marks else ()
        same = rest == event.rest_marks and all(
            new is old for new, old in zip(heads, event.heads, strict=True)
        )
        result.append(event if same else replace(event, heads=tuple(heads), rest_marks=rest))
    return tuple(result)


def slurs(events: tuple[Event, ...]) -> list[SlurSpan]:
    """The slurs that have both ends, in order of their start."""
    paired = [
        SlurSpan(a.event, b.event, first, last)
        for a, first, b, last in _pairs(events)
        if first.name == "slur"
    ]
    return sorted(paired, key=lambda slur: (slur.start, slur.stop))


def _loose(events: tuple[Event, ...]) -> list[tuple[End, Notation]]:
    paired = {end for a, _, b, _ in _pairs(events) for end in (a, b)}
    return [(end, mark) for end, mark in _ends(events) if end not in paired]


def _pairs(events: tuple[Event, ...]) -> Iterator[tuple[End, Notation, End, Notation]]:
    """Each start with its stop, by kind and number; a second start of a number closes nothing."""
    waiting: dict[tuple[str, str], list[tuple[End, Notation]]] = {}
    for end, mark in _ends(events):
        key = (mark.name, mark.sign.number or "1")
        if mark.edge == "start":
            waiting.setdefault(key, []).append((end, mark))
        elif waiting.get(key):
            start, first = waiting[key].pop()
            yield start, first, end, mark


def _ends(events: tuple[Event, ...]) -> list[tuple[End, Notation]]:
    """Starts and stops in order of time; what stops on a note comes before what starts there."""
    ends: list[tuple[tuple[int, int], End, Notation]] = []
    for index, event in enumerate(events):
        marked = [
            *((number, head.marks) for number, head in enumerate(event.heads)),
            (_REST, event.rest_marks),
        ]
        for number, marks in marked:
            for place, mark in enumerate(marks):
                if mark.name in _PAIRED and mark.edge in {"start", "stop"}:
                    rank = (index, 0 if mark.edge == "stop" else 1)
                    ends.append((rank, End(index, number, place), mark))
    return [(end, mark) for _, end, mark in sorted(ends, key=lambda item: item[0])]


_ON_ITS_LINE: Final = {"G": 32, "F": 24, "C": 28}
"""Letters from C0 of the note that a clef stands for: G4, F3, C4."""

_MIDDLE: Final = 3
"""The line in the middle of a staff."""


def at_the_heads(line: Voice) -> Voice:
    """Move both ends of each slur to the highest note of a double stop with its stem down, else to the lowest."""
    events = list(line.events)
    for slur in slurs(line.events):
        for index, mark in slur.ends:
            if len(events[index].heads) > 1:
                events[index] = _moved(events[index], mark, _middle(line, events[index].onset))
    return replace(line, events=tuple(events))


def _middle(line: Voice, time: Fraction) -> int:
    """What stands on the middle line, in letters from C0; that of a treble clef where there is no clef."""
    middle = _ON_ITS_LINE["G"] + 2
    for placed in line.placed:
        if not isinstance(placed.sign, Signatures) or line.time_of(placed) > time:
            continue
        for clef in placed.sign.clefs:
            if clef.sign in _ON_ITS_LINE:
                on_line = _ON_ITS_LINE[clef.sign] + 2 * (_MIDDLE - (clef.line or 2))
                middle = on_line + 7 * clef.octave_change
    return middle


def _moved(event: Event, mark: Notation, middle: int) -> Event:
    """The event with a mark on the head that is farthest from the stem."""
    places = [staff_place(head.pitch) if head.pitch is not None else middle for head in event.heads]
    down = max(places) - middle >= middle - min(places)
    wanted = places.index(max(places) if down else min(places))
    heads: list[Head] = []
    for place, head in enumerate(event.heads):
        marks = tuple(one for one in head.marks if one is not mark)
        if place == wanted:
            marks = (mark, *marks) if mark.edge == "stop" else (*marks, mark)
        heads.append(replace(head, marks=marks))
    return replace(event, heads=tuple(heads))
