"""How lengths are written: note types and dots, ties where the beat must show, tuplets; one printed note.

The rules that keep the beat visible are common practice, no source: a note may hide a point of the bar only
when it starts on a point as strong, or ends on one, or lies evenly across it (quarter, half, quarter; in a dotted
beat sixteenth, quarter, sixteenth).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from math import lcm
from typing import Final

from excerpts.musicxml.elements import Beam, Opaque, TimeModification
from excerpts.musicxml.format import NOTE_TYPES, SINGLE_NOTES
from excerpts.musicxml.metre import BAR, BEAT, Metre
from excerpts.notes.model import Event
from excerpts.notes.time_span import TimeSpan, cut_rests, is_binary, odd_part


@dataclass(frozen=True, slots=True)
class Value:
    """A written value: note type and dots."""

    type: str
    dots: int = 0


@dataclass(frozen=True, slots=True)
class Tuplet:
    """A group of `actual` notes in the time of `normal` notes of `type`.

    Attributes:
        start: Onset of the group in quarter notes from the start of the bar.
        end: Its end.
        actual: Number of notes.
        normal: Number of notes of the same type that would fill it.
        type: Type of those notes.
    """

    start: Fraction
    end: Fraction
    actual: int
    normal: int
    type: str


@dataclass(frozen=True, slots=True)
class Piece:
    """A spelled stretch: one printed note or rest; without a value where no note is so short."""

    onset: Fraction
    end: Fraction
    value: Value | None
    key: int
    tuplet: Tuplet | None = None


VALUES: Final[dict[Fraction, Value]] = {length: Value(*note) for length, note in SINGLE_NOTES.items()}
"""Every length that one note with at most two dots can have."""

_RATIOS: Final = tuple(Fraction(*ratio) for ratio in ((1, 1), (3, 2), (5, 4), (5, 3), (7, 4), (9, 8)))

_PLAIN: Final[dict[Fraction, str]] = {length: name for name, length in NOTE_TYPES.items()}


def has_value(length: Fraction) -> bool:
    """Whether one note, plain or in a usual tuplet, has this length; other lengths come from recorded playing."""
    return any(length * ratio in VALUES for ratio in _RATIOS)


def spell(spans: list[TimeSpan], metre: Metre) -> list[Piece]:
    """Spell the stretches of one bar, in order, as notes and rests that can be read in the metre."""
    pieces: list[Piece] = []
    index = 0
    spans = _cut_long_groups(cut_rests(spans, metre), metre)
    while index < len(spans):
        span = spans[index]
        if is_binary(span.onset) and is_binary(span.end):
            split = split_rest if span.rest else split_note
            pieces.extend(
                Piece(*part, VALUES.get(part[1] - part[0]), span.key) for part in split(*_ends(span), metre)
            )
            index += 1
            continue
        group = _group(spans, index)
        pieces.extend(_spell_group(group))
        index += len(group)
    return pieces


def _ends(span: TimeSpan) -> tuple[Fraction, Fraction]:
    return span.onset, span.end


def _group(spans: list[TimeSpan], first: int) -> list[TimeSpan]:
    """The stretches of the tuplet that starts at `first`: up to the next point that halving reaches."""
    last = first
    while (
        not is_binary(spans[last].end) and last + 1 < len(spans) and spans[last + 1].onset == spans[last].end
    ):
        last += 1
    return spans[first : last + 1]


def _cut_long_groups(spans: list[TimeSpan], metre: Metre) -> list[TimeSpan]:
    """Cut stretches at the beats inside tuplets that go over a beat without being plain large ones."""
    result: list[TimeSpan] = []
    index = 0
    while index < len(spans):
        group = [spans[index]] if is_binary(spans[index].end) else _group(spans, index)
        index += len(group)
        if len(group) > 1 and not _is_plain(group, metre):
            for span in group:
                result.extend(_at_beats(span, metre))
        else:
            result.extend(group)
    return result


def _is_plain(group: list[TimeSpan], metre: Metre) -> bool:
    start, end = group[0].onset, group[-1].end
    beat = metre.groups[metre.group_at(start)]
    if end - start <= beat:
        return True
    odd = odd_part(_denominators(group))
    return all(((span.onset - start) * odd / (end - start)).denominator == 1 for span in group)


def _at_beats(span: TimeSpan, metre: Metre) -> list[TimeSpan]:
    bars = span.onset // metre.length
    points = [start + bars * metre.length for start in metre.starts]
    cuts = [span.onset, *(point for point in points if span.onset < point < span.end), span.end]
    return [TimeSpan(a, b, span.rest, span.key) for a, b in zip(cuts, cuts[1:], strict=False)]


def _denominators(group: list[TimeSpan]) -> int:
    start, end = group[0].onset, group[-1].end
    points = [span.onset for span in group] + [end]
    if is_binary(start) and is_binary(end):
        return lcm(*(((point - start) / (end - start)).denominator for point in points))
    return lcm(*(point.denominator for point in points), *((s.end - s.onset).denominator for s in group))


def _spell_group(group: list[TimeSpan]) -> list[Piece]:
    tuplet = _tuplet(group)
    ratio = Fraction(tuplet.actual, tuplet.normal)
    pieces: list[Piece] = []
    for span in group:
        for start, end in _writable((span.onset - tuplet.start) * ratio, (span.end - tuplet.start) * ratio):
            onset, stop = tuplet.start + start / ratio, tuplet.start + end / ratio
            pieces.append(Piece(onset, stop, VALUES.get(end - start), span.key, tuplet))
    return pieces


def _tuplet(group: list[TimeSpan]) -> Tuplet:
    start, end = group[0].onset, group[-1].end
    actual = max(3, odd_part(_denominators(group)))
    length = end - start
    normal = 2
    if is_binary(length):
        normal = odd_part(length.numerator)
    while normal * 2 < actual:
        normal *= 2
    unit = length / normal if is_binary(length) else max(s.end - s.onset for s in group) * actual / normal
    # Shorter than any sign: the shortest stands for it, as sources with wrong durations have it.
    kind = _PLAIN.get(unit) or next((n for size, n in _PLAIN.items() if size <= unit), _PLAIN[min(_PLAIN)])
    return Tuplet(start, end, actual, normal, kind)


def _writable(start: Fraction, end: Fraction) -> list[tuple[Fraction, Fraction]]:
    """Cut a stretch of written length into values of at most one dot, the largest first."""
    parts: list[tuple[Fraction, Fraction]] = []
    while start < end:
        fitting = [length for length, value in VALUES.items() if length <= end - start and value.dots < 2]
        size = max(fitting, default=end - start)
        parts.append((start, start + size))
        start += size
    return parts


_MOST_WAYS: Final = 8
"""Points of one strength that lie in a note: no bar that is played has more than seven beats to a half."""


@lru_cache(maxsize=4096)
def split_note(start: Fraction, end: Fraction, metre: Metre) -> list[tuple[Fraction, Fraction]]:
    """Cut a note into the fewest tied values that keep the beat visible."""
    rank, points = metre.strongest_between(start, end)
    if end - start in VALUES and (not points or _may_cross(start, end, rank, points, metre)):
        return [(start, end)]
    if not points:
        return _writable(start, end)
    if rank == BAR:  # no note may cross any of them
        return [
            part for low, high in pairwise([start, *points, end]) for part in split_note(low, high, metre)
        ]
    if len(points) > _MOST_WAYS:  # in no music: every way to part so long a note would take for ever
        points = (min(points, key=lambda point: abs(point - (start + end) / 2)),)
    options = [split_note(start, point, metre) + split_note(point, end, metre) for point in points]
    return min(options, key=lambda parts: _strain(parts, metre))


def _strain(parts: list[tuple[Fraction, Fraction]], metre: Metre) -> tuple[int, int, Fraction]:
    """How hard a spelling is to read: its notes, those that start weaker than what they hide, a short start."""
    hiding = sum(metre.strongest_between(*part)[0] < metre.rank(part[0]) for part in parts)
    return len(parts), hiding, parts[0][0] - parts[0][1]


def _may_cross(start: Fraction, end: Fraction, rank: int, points: Sequence[Fraction], metre: Metre) -> bool:
    """Whether one note may lie across `points`, the strongest points inside it, of `rank`."""
    first, last = metre.rank(start), metre.rank(end)
    if rank == BAR:
        return False
    if VALUES[end - start].dots == 2:
        whole = (end - start) * 8 / 7
        beat = metre.group_at(start)
        in_beat = whole <= metre.groups[beat]
        inside = start % metre.length - metre.starts[beat] if in_beat else start
        return (first < rank and inside % whole == 0) or (in_beat and last < rank and end % whole == 0)
    if rank <= BEAT and any(metre.ternary[metre.group_at(point)] for point in (start, *points)):
        return first <= BEAT and last <= BEAT and (first <= rank or last <= rank or len(points) == 1)
    if first <= rank:
        return True
    if last <= rank:
        return first <= rank + 1
    in_beat = len(points) == 1 or (len(points) == 2 and rank > BEAT)  # two: the thirds of a dotted beat
    return in_beat and points[0] - start == end - points[-1] and first == last == rank + 1


def split_rest(start: Fraction, end: Fraction, metre: Metre) -> list[tuple[Fraction, Fraction]]:
    """Cut a silence into rests that each fill a unit of the metre: never across a beat."""
    rank, points = metre.strongest_between(start, end)
    if end - start in VALUES and _is_unit(start, end, rank, metre):
        return [(start, end)]
    if not points:
        return _writable(start, end)
    if rank == BAR:
        return [
            part for low, high in pairwise([start, *points, end]) for part in split_rest(low, high, metre)
        ]
    return split_rest(start, points[0], metre) + split_rest(points[0], end, metre)


def _is_unit(start: Fraction, end: Fraction, rank: int, metre: Metre) -> bool:
    """Whether a rest fills exactly one unit of the metre, or the first two thirds of a dotted beat."""
    if rank > max(metre.rank(start), metre.rank(end)):
        return True
    beat = metre.group_at(start)
    two_thirds = metre.ternary[beat] and end - start == metre.groups[beat] * 2 / 3
    return two_thirds and metre.rank(start) <= BEAT


@dataclass(slots=True)
class Note:
    """One printed note, chord or rest of a bar, while the line is being written.

    Attributes:
        event: The event it belongs to.
        index: Index of that event in the line.
        onset: Quarter notes from the start of the bar.
        duration: Sounding length in quarter notes.
        value: Written type and dots; None for a rest that fills its bar and for what has no written length.
        whole_bar: A rest that fills its bar.
        modification: How it is counted in a tuplet; None outside.
        tuplet: The tuplet that the writer made, to be bracketed.
        beams: Its beams, in order of level.
        kept: It is printed as the source prints it.
        segment: Number of the tied segment, from 0.
        last: It is the last segment of its event.
        since: Quarter notes from the start of its event.
        tuplet_edges: "start" and "stop" where the writer's tuplet begins and ends.
        bracket: The tuplet needs a bracket, because no beam shows which notes belong to it.
    """

    event: Event
    index: int
    onset: Fraction
    duration: Fraction
    value: Value | None = None
    whole_bar: bool = False
    modification: TimeModification | Opaque | None = None
    tuplet: Tuplet | None = None
    beams: tuple[Beam, ...] = ()
    kept: bool = False
    segment: int = 0
    last: bool = True
    since: Fraction = Fraction(0)
    tuplet_edges: set[str] = field(default_factory=set)
    bracket: bool = True
