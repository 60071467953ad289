"""Metre: what a time signature says, under the two questions that are asked of it.

*Counts* are the beats that players count: for addresses, the count-in and the metronome. *Groups* are what notes
are beamed, split and varied by. They differ: 3/8 counts three quavers and is one group, 6/4 counts six crotchets
in two groups of three. Counts and groups each add up to the bar. The tables are common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate
from typing import TYPE_CHECKING, Final

from lxml import etree

from excerpts.musicxml.format import SINGLE_NOTES, pairs_of, time_signature

if TYPE_CHECKING:  # a cut has no use for signs
    from excerpts.musicxml.elements import Time

BAR: Final = 0
HALF_BAR: Final = 1
BEAT: Final = 2
NO_POINT: Final = 99
"""Rank of a point that no halving of a group reaches (inside a tuplet)."""

FREE_BEAT: Final = Fraction(1)
"""Beat counted where there is no metre: a quarter note (common practice, no source)."""

_QUAVERS: Final = 8
"""Lower figure from which on beats are dotted: 6/8, 6/16; above it 6/4 alone is in threes."""

_LONGEST_OPEN: Final = 13
"""Upper figure of the longest metre of which beams may show the groups (13/8)."""


@dataclass(frozen=True, slots=True)
class Metre:
    """A time signature; all lengths and points in quarter notes.

    Attributes:
        text: As it is said: "6/8", "3+2/8"; empty where there is none (or senza misura).
        counts: Length of each beat that players count.
        groups: Length of each group of the bar.
        ternary: For each group, whether it divides in three (a dotted beat).
        halves: Points that divide the bar in halves or unequal parts of several groups.
        part: Note of the lower figure where the signature leaves its groups open (5/8, 7/8), else 0.
        length: Length of a full bar; 0 where there is no metre.
        starts: Onset of each group, and the end of the bar.
    """

    text: str
    counts: tuple[Fraction, ...]
    groups: tuple[Fraction, ...]
    ternary: tuple[bool, ...]
    halves: tuple[Fraction, ...] = ()
    part: Fraction = Fraction(0)
    length: Fraction = field(init=False, compare=False, repr=False)
    starts: tuple[Fraction, ...] = field(init=False, compare=False, repr=False)
    _hash: int = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        starts = (Fraction(0), *accumulate(self.groups))
        object.__setattr__(self, "starts", starts)
        object.__setattr__(self, "length", starts[-1])
        object.__setattr__(self, "_hash", hash((self.counts, self.groups, self.ternary, self.halves)))

    def __hash__(self) -> int:
        """Computed once: metres are keys of caches."""
        return self._hash

    def beat_start(self, number: Fraction) -> Fraction:
        """Quarter notes from the start of the bar to a counted beat (1 is the first, 1.5 halfway to the next).

        Beats past the last go on in the length of the last, for bars that are longer than their metre.
        """
        lengths = self.counts or (FREE_BEAT,)
        whole, part = divmod(number - 1, 1)
        before = int(whole)
        start = sum(lengths[:before], Fraction(0)) + max(0, before - len(lengths)) * lengths[-1]
        return start + part * lengths[min(before, len(lengths) - 1)]

    @property
    def first_beat(self) -> Fraction:
        """Quarter notes of the first counted beat."""
        return (self.counts or (FREE_BEAT,))[0]

    @property
    def beat(self) -> Fraction:
        """The note that a metronome counts: a quarter where beats differ, are no notes (4/12), or there are none."""
        even = len(set(self.counts)) == 1 and self.counts[0] in SINGLE_NOTES
        return self.counts[0] if even else FREE_BEAT

    def rank(self, point: Fraction) -> int:
        """Strength of a point of the bar: 0 barline, 1 half bar, 2 group, 3 and more: its parts."""
        return _rank(self, point)

    def group_at(self, point: Fraction) -> int:
        """Index of the group that holds a point of the bar."""
        return _group_at(self, point)

    def strongest_between(self, start: Fraction, end: Fraction) -> tuple[int, tuple[Fraction, ...]]:
        """The strongest rank strictly between two points, and the points that have it."""
        return _strongest_between(self, start, end)

    def finest(self, start: Fraction, end: Fraction) -> Fraction:
        """A grid of quarter notes over 2^n that meets the groups, their parts and both points."""
        denominator = max(
            start.denominator, end.denominator, 4, *(start.denominator * 4 for start in self.groups)
        )
        return Fraction(1, denominator)

    def as_beamed(self, beams: Iterable[tuple[Fraction, Fraction]]) -> tuple[Fraction, ...] | None:
        """The groups that beams show, by their ends; None where the signature says them, or beams show none."""
        edges = {edge for beam in beams for edge in beam} - {Fraction(0), self.length}
        if not edges or not self.part:
            return None
        met = {way: len(edges & set(accumulate(way))) for way in _ways(self.length, self.part)}
        most = max(met.values())
        best = [way for way, count in met.items() if count == most]
        return best[0] if most and len(best) == 1 else None

    def admits(self, groups: tuple[Fraction, ...]) -> bool:
        """Whether the signature leaves its groups open, and these are a way to have them."""
        return bool(self.part) and groups in _ways(self.length, self.part)

    def grouped(self, groups: tuple[Fraction, ...]) -> Metre:
        """The same signature with other groups, which it admits."""
        return replace(self, groups=groups, ternary=tuple(group == 3 * self.part for group in groups))


NO_METRE: Final = Metre("", (), (), ())


def metre_of(time: etree._Element | None) -> Metre:
    """The metre of a `<time>` element; `NO_METRE` for none, senza misura, or one that makes no sense."""
    pairs = () if time is None else time_signature(time)
    return metre_of_pairs(pairs) if pairs else NO_METRE


@lru_cache(maxsize=64)
def metre_of_time(time: Time) -> Metre:
    """The metre of a time signature; `NO_METRE` for none, senza misura, or one that makes no sense."""
    pairs = () if any(one.name == "senza-misura" for one in time.content) else pairs_of(time.pairs)
    return metre_of_pairs(pairs) if pairs else NO_METRE


@lru_cache(maxsize=64)
def metre_of_pairs(pairs: tuple[tuple[tuple[int, ...], int], ...]) -> Metre:
    """The metre of one or several signatures in a row: (((3, 2), 8),) for 3+2/8 (see `time_signature`)."""
    metres = [_one(terms, unit) for terms, unit in pairs]
    if len(metres) == 1:
        return metres[0]
    ends = [Fraction(0), *accumulate(metre.length for metre in metres)]
    halves = {start + point for start, metre in zip(ends, metres, strict=False) for point in metre.halves}
    return Metre(
        " + ".join(metre.text for metre in metres),
        tuple(count for metre in metres for count in metre.counts),
        tuple(group for metre in metres for group in metre.groups),
        tuple(three for metre in metres for three in metre.ternary),
        tuple(sorted(halves | set(ends[1:-1]))),
    )


_MOST_FREE_BEATS: Final = 4096
"""Quarter notes; the longest cadenzas written as one bar have some hundreds (from memory)."""


@lru_cache(maxsize=64)
def free_metre(length: Fraction) -> Metre:
    """What stands for the metre of a bar without a time signature: quarter notes, and what is left over.

    A bar that is longer than any that is played is one beat: a file that means harm may hold one of millions.
    """
    count, left = divmod(length, FREE_BEAT)
    if count > _MOST_FREE_BEATS:
        beats: tuple[Fraction, ...] = (length,)
    else:
        beats = (FREE_BEAT,) * int(count) + ((left,) if left else ()) or (FREE_BEAT,)
    return Metre("", beats, beats, (False,) * len(beats))


def _one(terms: tuple[int, ...], figure: int) -> Metre:
    """The metre of one signature, `terms` (3, 2) over `figure` 8."""
    unit = Fraction(4, figure)
    groups, halves = _groups(terms, figure)
    is_open = len(terms) == 1 and figure >= _QUAVERS and _is_odd(terms[0]) and terms[0] <= _LONGEST_OPEN
    return Metre(
        f"{'+'.join(map(str, terms))}/{figure}",
        _counts(terms, unit),
        tuple(group * unit for group in groups),
        tuple(group == 3 for group in groups),
        tuple(point * unit for point in halves),
        unit if is_open else Fraction(0),
    )


def _counts(terms: tuple[int, ...], unit: Fraction) -> tuple[Fraction, ...]:
    """By threes in 6/8, 9/8, 12/8 and their kin in /16; else by the lower figure, additive metres by the sum."""
    total = sum(terms)
    if len(terms) == 1 and total > 3 and total % 3 == 0 and unit <= Fraction(4, _QUAVERS):
        return (3 * unit,) * (total // 3)
    return (unit,) * total


def _groups(terms: tuple[int, ...], figure: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Groups, and the points that halve the bar, in notes of the lower figure."""
    total = sum(terms)
    if figure >= _QUAVERS and len(terms) > 1:
        return tuple(group for term in terms for group in _term(term)), ()
    if (figure >= _QUAVERS and total % 3 == 0) or terms in {(6,), (3, 3)}:
        count = total // 3
        return (3,) * count, ((3 * (count // 2),) if count >= 4 and count % 2 == 0 else ())
    if figure >= _QUAVERS and _is_odd(total):
        return _term(total), ()
    halves = tuple(accumulate(terms[:-1]))
    if not halves and total >= 4:
        halves = ({5: 3, 7: 4}.get(total, total // 2),)
    return (1,) * total, halves


def _is_odd(total: int) -> bool:
    """Whether a bar of so many short notes can only be grouped unequally: 5, 7, 11, 13."""
    return total > 3 and total % 2 == 1 and total % 3 != 0


def _term(count: int) -> tuple[int, ...]:
    """So many short notes in threes, else in twos; a three that is left over comes last (2+3, 2+2+3)."""
    if count % 3 == 0:
        return (3,) * (count // 3)
    if _is_odd(count):
        return (2,) * ((count - 3) // 2) + (3,)
    return (2,) * (count // 2) + (1,) * (count % 2)


@lru_cache(maxsize=64)
def _ways(length: Fraction, part: Fraction) -> tuple[tuple[Fraction, ...], ...]:
    """The ways to group a bar in twos and threes of its shortest count."""
    if length <= 0:
        return ((),) if length == 0 else ()
    return tuple((size * part, *rest) for size in (2, 3) for rest in _ways(length - size * part, part))


@lru_cache(maxsize=4096)  # bars of one piece ask for the same few points again and again
def _rank(metre: Metre, point: Fraction) -> int:
    point %= metre.length
    if point == 0:
        return BAR
    if point in metre.halves:
        return HALF_BAR
    group = metre.group_at(point)
    start = metre.starts[group]
    if point == start:
        return BEAT
    part = metre.groups[group] / (3 if metre.ternary[group] else 2)
    for rank in range(BEAT + 1, BEAT + 10):
        if (point - start) % part == 0:
            return rank
        part /= 2
    return NO_POINT


@lru_cache(maxsize=4096)
def _strongest_between(metre: Metre, start: Fraction, end: Fraction) -> tuple[int, tuple[Fraction, ...]]:
    step = metre.finest(start, end)
    points: list[Fraction] = []
    best = NO_POINT
    point = (start // step + 1) * step
    while point < end:
        rank = metre.rank(point)
        if rank < best:
            best, points = rank, []
        if rank == best:
            points.append(point)
        point += step
    return best, tuple(points)


@lru_cache(maxsize=4096)
def _group_at(metre: Metre, point: Fraction) -> int:
    return bisect_right(metre.starts, point % metre.length, hi=len(metre.groups)) - 1
