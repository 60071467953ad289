"""Which notes make a group: the one place that says where rhythms, bursts and bowings begin.

Groups are counted from the beat and stay inside the bar; beats are those of the metre, or those that the beams show
where the signature leaves them open (3+2+2 in 7/8). A group of a rhythm fills a part of a beat that is felt (halves of
a plain beat, and its triplets; thirds of a dotted one, and halves of these), a beat, or beats that divide the bar.
String teachers' common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from fractions import Fraction
from itertools import accumulate, pairwise
from math import ceil
from typing import Final, NamedTuple

from excerpts.musicxml.metre import Metre
from excerpts.notes import Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.notes.time_span import is_binary
from excerpts.variants.passage import box_times
from excerpts.variants.runs import find_runs, is_even

Metres = list[tuple[Metre, Fraction]]
"""The metre of each bar of a line, and where in it the bar starts, as `bar_metres` says."""


class Group(NamedTuple):
    """Notes that a variant takes together.

    Attributes:
        notes: Their indices in the line.
        start: From where it is counted, in quarter notes: its first note, unless it begins some notes later on purpose.
    """

    notes: tuple[int, ...]
    start: Fraction


class Place(NamedTuple):
    """A time in its bar; all in quarter notes.

    Attributes:
        metre: Of the bar.
        point: As the metre counts (a pick-up starts late).
        beat: Index of the beat that holds it.
        inside: How far into that beat it is.
        left: From it to the end of the bar.
    """

    metre: Metre
    point: Fraction
    beat: int
    inside: Fraction
    left: Fraction

    @property
    def length(self) -> Fraction:
        """Length of the beat."""
        return self.metre.groups[self.beat]

    def begins(self, length: Fraction) -> bool:
        """Whether something so long is counted from here: from the beat, and not over it unless it is longer."""
        if length <= self.length:
            return self.inside % length == 0 and self.inside + length <= self.length
        if self.inside or length > self.left:
            return False
        ends = self.point + length in self.metre.starts
        if len(set(self.metre.groups)) > 1:
            return ends
        halves = is_binary(length) and not self.metre.ternary[self.beat]
        return (ends or halves) and self.beat % ceil(length / self.length) == 0

    def fills(self, length: Fraction) -> bool:
        """Whether something so long fills from here a part of a beat that is felt, or beats that divide the bar."""
        if not self.begins(length):
            return False
        if length <= self.length:
            return self._is_part(length)
        even = len(set(self.metre.groups)) == 1
        return self.point + length in self.metre.starts and not (even and self.metre.length % length)

    def joins(self, length: Fraction) -> bool:
        """Whether something so long fills a part of a beat, two thirds of a dotted one, or any whole beats."""
        if length > self.length:
            return not self.inside and length <= self.left and self.point + length in self.metre.starts
        third = self.length / 3
        inside = self.inside + length <= self.length
        thirds = inside and self.metre.ternary[self.beat] and not (self.inside % third or length % third)
        return thirds or self.fills(length)

    def _is_part(self, length: Fraction) -> bool:
        halves = not self.metre.ternary[self.beat] or length == self.length
        return (halves and _is_power_of_two(self.length / length)) or _is_power_of_two(
            self.length / 3 / length
        )


def _is_power_of_two(number: Fraction) -> bool:
    return number.denominator == 1 and number.numerator & (number.numerator - 1) == 0


def place_of(line: Voice, metres: Metres, onset: Fraction) -> Place:
    """A time as its bar counts it."""
    bar = line.bar_at(onset)
    metre, shift = metres[bar]
    inside = onset - line.bars[bar].start
    point = (inside + shift) % metre.length
    beat = metre.group_at(point)
    return Place(metre, point, beat, point - metre.starts[beat], line.bars[bar].length - inside)


def on_beat(line: Voice, metres: Metres, onset: Fraction) -> bool:
    """Whether a time is the start of a beat."""
    return place_of(line, metres, onset).inside == 0


def beat_points(line: Voice) -> list[Fraction]:
    """All beats, barlines, and the end."""
    points = {line.bars[-1].end}
    for bar, (metre, shift) in zip(line.bars, bar_metres(line), strict=True):
        points.add(bar.start)
        points |= {bar.start + start - shift for start in metre.starts if 0 < start - shift < bar.length}
    return sorted(points)


def even_groups(line: Voice, size: int, skip: int = 0, least: int = 2) -> list[Group]:
    """The groups of even notes, of each run that holds enough of them.

    Args:
        line: The line of a box.
        size: Notes of a group; of single notes the first is one on a beat.
        skip: How many notes later each group starts.
        least: Groups of a run, at least.
    """
    metres = bar_metres(line)
    groups: list[Group] = []
    for run in find_runs(line):
        in_run: list[Group] = []
        place = 0
        while place + size + skip <= len(run.notes):
            here = place_of(line, metres, onset := line.events[run.notes[place]].onset)
            uneven = (
                skip and len(set(here.metre.groups)) > 1
            )  # what begins later would end inside another beat
            if (here.fills(run.unit * size) and not uneven) or (size == 1 and (in_run or not here.inside)):
                in_run.append(Group(run.notes[place + skip : place + skip + size], onset))
                place += size
            else:
                place += 1
        if len(in_run) >= least and _clean_edges(line, in_run):
            groups += in_run
    return groups


def group_time(line: Voice, group: Group) -> Fraction:
    """How long the notes of a group last together, in quarter notes."""
    return line.events[group.notes[-1]].end - line.events[group.notes[0]].onset


def _clean_edges(line: Voice, groups: list[Group]) -> bool:
    """Whether what stands before the groups and after them can be written without them: no tuplet is broken."""
    edges = (line.events[groups[0].notes[0]].onset, line.events[groups[-1].notes[-1]].end)
    return all(is_binary(edge - line.bars[line.bar_at(edge)].start) for edge in edges)


def figures(line: Voice) -> list[Group]:
    """Notes of any lengths that together fill a beat, or the beats that one of them goes over."""
    low, high = box_times(line)
    timed = [(index, event) for index, event in enumerate(line.events) if not event.grace]
    onsets = [event.onset for _, event in timed]
    ends = list(accumulate((event.end for _, event in timed), max))
    free = []
    for point in beat_points(line):
        begun = bisect_left(onsets, point)
        if low <= point <= high and not (begun and ends[begun - 1] > point):
            free.append(point)
    filled: list[Group] = []
    for start, end in pairwise(free):
        inside = timed[bisect_left(onsets, start) : bisect_left(onsets, end)]
        bar = line.bars[line.bar_at(start)]
        if len(inside) > 1 and end <= bar.end and all(is_even(event) for _, event in inside):
            filled.append(Group(tuple(index for index, _ in inside), start))
    return filled


def mixed_groups(line: Voice, size: int) -> list[Group]:
    """Groups of so many notes of any lengths that fill one beat or several of a bar; [] where there are not two."""
    groups: list[Group] = []
    held: tuple[int, ...] = ()
    for figure in figures(line):
        first, last = line.events[figure.notes[0]], line.events[held[-1]] if held else None
        goes_on = (
            last is not None
            and last.end == first.onset
            and line.bar_at(last.onset) == line.bar_at(first.onset)
        )
        held = held + figure.notes if goes_on and len(held) + len(figure.notes) <= size else figure.notes
        if len(held) == size:
            groups.append(Group(held, line.events[held[0]].onset))
        held = held if len(held) < size else ()
    return groups if len(groups) > 1 else []


_LEAST: Final = 2
"""How many times as long as the short note the long one is, at least."""


def is_uneven(lengths: Sequence[Fraction]) -> bool:
    """Whether there are long and short notes among them."""
    return max(lengths) >= _LEAST * min(lengths)


def uneven_pairs(line: Voice) -> list[tuple[int, int]]:
    """Each long note with the short one after it or before it that fills beats with it, by their indices."""
    low, high = box_times(line)
    metres = bar_metres(line)
    notes = [i for i, event in enumerate(line.events) if not event.grace]
    pairs: list[tuple[int, int]] = []
    for index, other in pairwise(notes):
        first, second = line.events[index], line.events[other]
        if (pairs and index in pairs[-1]) or not (is_even(first) and is_even(second)):
            continue
        inside = low <= first.onset and second.end <= high and first.end == second.onset
        time = first.duration + second.duration
        uneven = is_uneven((first.duration, second.duration))
        if inside and uneven and place_of(line, metres, first.onset).joins(time):
            pairs.append((index, other))
    return pairs
