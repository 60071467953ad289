"""Metre: where the beats of a bar lie and how strong each point is, for splitting notes and for beams.

Which metres are compound (beats of three) and how 5 and 7 are grouped when the time signature does not
say it: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate
from typing import Final

from lxml import etree

from excerpts.musicxml import time_signature

BAR: Final = 0
HALF_BAR: Final = 1
BEAT: Final = 2
NO_POINT: Final = 99
"""Rank of a point that no halving of a beat reaches (inside a tuplet)."""


@dataclass(frozen=True, slots=True)
class Metre:
    """The beats of a bar.

    Attributes:
        beats: Length of each beat in quarter notes.
        ternary: For each beat, whether it divides in three (a dotted beat).
        halves: Points in quarter notes that divide the bar in halves or unequal groups of beats.
        length: Length of a full bar in quarter notes.
        starts: Onset of each beat, and the end of the bar.
    """

    beats: tuple[Fraction, ...]
    ternary: tuple[bool, ...]
    halves: tuple[Fraction, ...] = ()
    length: Fraction = field(init=False, compare=False, repr=False)
    starts: tuple[Fraction, ...] = field(init=False, compare=False, repr=False)
    _hash: int = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        starts = (Fraction(0), *accumulate(self.beats))
        object.__setattr__(self, "starts", starts)
        object.__setattr__(self, "length", starts[-1])
        object.__setattr__(self, "_hash", hash((self.beats, self.ternary, self.halves)))

    def __hash__(self) -> int:
        """Reckoned once: what is asked of a metre is remembered by the metre and the point."""
        return self._hash

    def rank(self, point: Fraction) -> int:
        """Strength of a point of the bar: 0 barline, 1 half bar, 2 beat, 3 and more: its parts."""
        return _rank(self, point)

    def beat_at(self, point: Fraction) -> int:
        """Index of the beat that holds a point of the bar."""
        return _beat_at(self, point)

    def strongest_between(self, start: Fraction, end: Fraction) -> tuple[int, tuple[Fraction, ...]]:
        """The strongest rank strictly between two points, and the points that have it."""
        return _strongest_between(self, start, end)

    def finest(self, start: Fraction, end: Fraction) -> Fraction:
        """A grid of quarter notes over 2^n that meets beats, their parts and both points."""
        denominator = max(
            start.denominator, end.denominator, 4, *(start.denominator * 4 for start in self.beats)
        )
        return Fraction(1, denominator)


@lru_cache(maxsize=4096)  # bars of one piece ask for the same few points again and again
def _rank(metre: Metre, point: Fraction) -> int:
    point %= metre.length
    if point == 0:
        return BAR
    if point in metre.halves:
        return HALF_BAR
    beat = metre.beat_at(point)
    start = metre.starts[beat]
    if point == start:
        return BEAT
    part = metre.beats[beat] / (3 if metre.ternary[beat] else 2)
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
def _beat_at(metre: Metre, point: Fraction) -> int:
    return bisect_right(metre.starts, point % metre.length, hi=len(metre.beats)) - 1


@lru_cache(maxsize=64)
def metre_of(numerators: tuple[int, ...], beat_type: int) -> Metre:
    """The metre of a time signature: `numerators` is (6,) for 6/8, (3, 2) for 3+2/8.

    Beats of three: 6, 9, 12 … of quavers or shorter, 6/4, and 3 of quavers or shorter, which is one beat.
    """
    unit = Fraction(4, beat_type)
    if len(numerators) > 1 and beat_type >= 8:
        return _grouped(numerators, unit)
    total = sum(numerators)
    if total % 3 == 0 and (beat_type >= 8 or total == 6):
        count = total // 3
        halves: tuple[Fraction, ...] = (unit * 3 * (count // 2),) if count >= 4 and count % 2 == 0 else ()
        return Metre((unit * 3,) * count, (True,) * count, halves)
    if beat_type >= 8 and total % 2 == 1 and total > 3:
        groups = (3, 2) if total == 5 else (2,) * ((total - 3) // 2) + (3,)
        return _grouped(groups, unit)
    halves = tuple(unit * point for point in accumulate(numerators[:-1]))
    if not halves and total >= 4:
        halves = (unit * (3 if total == 5 else 4 if total == 7 else total // 2),)
    return Metre((unit,) * total, (False,) * total, halves)


def _grouped(groups: tuple[int, ...], unit: Fraction) -> Metre:
    beats: list[Fraction] = []
    ternary: list[bool] = []
    for group in groups:
        parts = (3,) if group == 3 else (2,) * (group // 2) + (1,) * (group % 2)
        beats.extend(unit * part for part in parts)
        ternary.extend(part == 3 for part in parts)
    return Metre(tuple(beats), tuple(ternary))


@lru_cache(maxsize=64)
def free_metre(length: Fraction) -> Metre:
    """The metre of a bar without a time signature: quarter notes as long as it lasts."""
    count = max(1, -(-length.numerator // length.denominator))
    return Metre((Fraction(1),) * count, (False,) * count)


def read_metre(time: etree._Element) -> Metre | None:
    """The metre of a `<time>` element; None for senza misura or a signature that makes no sense."""
    pairs = time_signature(time)
    if not pairs:
        return None
    finest = max(unit for _, unit in pairs)
    if any(finest % unit for _, unit in pairs):
        return None
    return metre_of(tuple(group * finest // unit for groups, unit in pairs for group in groups), finest)
