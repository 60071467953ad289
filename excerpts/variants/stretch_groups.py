"""Rhythms that make groups longer: the short notes keep their value, and the bars are made anew."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from excerpts.excerpt import ReportLine
from excerpts.musicxml.elements import Time
from excerpts.notes import Event, Notation, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.ornaments import without_ornaments
from excerpts.variants.passage import box_times
from excerpts.variants.rebar import (
    Item,
    NewBar,
    rebar,
    signature_of,
    silence,
    source_time,
    time_signature,
)
from excerpts.variants.runs import Grouped, Run
from excerpts.variants.same_speed import same_speed
from excerpts.variants.spanning_marks import map_marks

LONGEST_BAR: Final = Fraction(6)
"""The longest bar of dotted beats in quarter notes: 12/8."""
LONGEST_PLAIN: Final = Fraction(4)
"""The longest bar of plain beats in quarter notes: 4/4."""

_MOST: Final = 4
"""The most dotted beats in a bar."""

Group = Callable[[Sequence[Event], Event | None, Run], list[Item]]
"""Makes the new notes of a group from its notes, the note that follows them, and the run they belong to."""


@dataclass(slots=True)
class _Sheet:
    """What has been written so far."""

    line: Voice
    items: list[Item]
    bars: list[NewBar]

    def copy(self, start: Fraction, end: Fraction) -> None:
        """Copy what stands between two times, in bars that end where those of the source end."""
        low, high = box_times(self.line)
        for event in self.line.events:
            if _stands_between(event, start, end):
                outside = event.onset >= high or (event.duration > 0 and event.end <= low)
                self.items.append(Item(event, event.duration, outside))
        for place, (bar, (metre, _)) in enumerate(zip(self.line.bars, bar_metres(self.line), strict=True)):
            length = min(end, bar.start + bar.length) - max(start, bar.start)
            if length == bar.length:
                self.bars.append(NewBar(length, source_time(self.line, place)))
            elif length > 0:
                self.bars.append(NewBar(length, signature_of(length, any(metre.ternary))))

    def groups(self, run: Grouped, make: Group) -> None:
        """Write the groups of a run, and the notes left over in plain values."""
        events = self.line.events
        made = [
            make([events[note] for note in group], _next(events, group[-1]), run.run) for group in run.groups
        ]
        self.items += [item for group in made for item in group]
        length = sum((item.length for item in made[0]), Fraction(0))
        self.bars += _group_bars(length, _per_bar(self.line, run, length), run.count)
        if run.leftover:
            rest = run.run.written * len(run.leftover)
            full = Fraction(-(-rest.numerator // rest.denominator))
            self.items += [Item(events[note], run.run.written) for note in run.leftover]
            if full > rest:
                self.items.append(silence(full - rest, events[run.leftover[-1]]))
            self.bars.append(NewBar(full, signature_of(full)))


def regroup(line: Voice, find: Callable[[Voice], list[Grouped]], make: Group, moves: bool = True) -> Voice:
    """The line with its groups in bars of their own, and everything else as written.

    Args:
        line: The line of a box.
        find: Finds the runs with their groups; there must be one.
        make: Makes the notes of one group.
        moves: Each note stands once, so that directions can move with it.
    """
    varied = {note for run in find(line) for group in run.groups for note in group}
    warnings = _as_written(line, varied)
    events, report = without_ornaments(line, line.events, varied)
    line = replace(line, events=events, report=line.report + report + warnings)
    runs = find(line)
    sheet = _Sheet(line, [], [])
    time = _first_time(line, runs[0])
    for run in runs:
        sheet.copy(time, line.events[run.groups[0][0]].onset)
        sheet.groups(run, make)
        time = line.events[run.run.notes[-1]].end
    sheet.copy(time, line.bars[-1].start + line.bars[-1].length)
    return same_speed(line, rebar(line, sheet.items, sheet.bars, moves), runs[0].run.written)


def plain_copy(event: Event, keep_fingers: bool = False) -> Event:
    """A note to be played again: without ties, slurs, bow signs, and other things that are said once."""
    kept = {"articulations"} | ({"technical"} if keep_fingers else set())

    def change(_: object, mark: Notation) -> Notation | None:
        gone = mark.edge or mark.family not in kept or mark.name in {"up-bow", "down-bow"}
        return None if gone else mark

    return map_marks((event,), change)[0]


def _stands_between(event: Event, start: Fraction, end: Fraction) -> bool:
    if event.closing:
        return start < event.onset <= end
    return start <= event.onset < end


def _first_time(line: Voice, run: Grouped) -> Fraction:
    """Rests in front of the first run are not written, where nothing sounds before it."""
    start = line.events[run.groups[0][0]].onset
    silent = all(event.is_rest for event in line.events if event.onset < start)
    return start if silent else line.bars[0].start


def _next(events: Sequence[Event], note: int) -> Event | None:
    """The note after a note, if nothing is silent between them."""
    following = next((event for event in events[note + 1 :] if not event.grace), None)
    return None if following is None or following.is_rest else following


def _per_bar(line: Voice, run: Grouped, length: Fraction) -> int:
    """How many groups a new bar holds: as many as the source's, where that makes no long bar."""
    bar = line.bars[line.bar_at(line.events[run.groups[0][0]].onset)]
    number = bar.length / (run.run.unit * run.size)
    there = number.numerator if number.denominator == 1 else 4
    odd = length.numerator
    while odd % 2 == 0:
        odd //= 2
    most = {1: LONGEST_PLAIN, 3: LONGEST_BAR}.get(odd, length)
    return next(
        (
            m
            for m in range(there, 1, -1)
            if (m <= _MOST or odd == 1) and m * length <= most and there % m == 0
        ),
        1,
    )


def _group_bars(length: Fraction, per_bar: int, count: int) -> list[NewBar]:
    """Bars for groups of a length in quarter notes."""
    if length > LONGEST_BAR and any((length / beats).denominator == 1 for beats in (4, 3)):
        beats = 4 if (length / 4).denominator == 1 else 3
        return [NewBar(Fraction(beats), time_signature(beats, 4))] * (count * int(length / beats))
    bars = [NewBar(length * per_bar, group_time(length, per_bar))] * (count // per_bar)
    if count % per_bar:
        bars.append(NewBar(length * (count % per_bar), group_time(length, count % per_bar)))
    return bars


def group_time(length: Fraction, count: int) -> Time:
    """The time signature of a bar of groups: groups of three parts are dotted beats."""
    unit = 12 / length
    if unit.denominator == 1 and unit.numerator in {8, 16, 32}:
        return time_signature(3 * count, unit.numerator)
    return signature_of(length * count)


def _as_written(line: Voice, varied: set[int]) -> tuple[ReportLine, ...]:
    """Name the bars of the box in which nothing is changed."""
    low, high = box_times(line)
    changed = {line.bar_at(line.events[note].onset) for note in varied}
    return tuple(
        ReportLine("carried", "bar-as-written", bar.label)
        for index, bar in enumerate(line.bars)
        if index not in changed and bar.start < high and bar.start + bar.length > low
    )
