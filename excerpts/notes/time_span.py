"""Stretches of a bar that are to be spelled, and where rests are cut at the edges of tuplets.

A silence that begins inside a tuplet is cut where the tuplet of its notes is whole: a triplet of quavers after one
beat, a triplet of semiquavers after half of one; what would be longer than a beat and than half a bar, at the next
beat that its notes fit. So no bracket stands over silence that has nothing to do with it. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import gcd, lcm

from excerpts.musicxml.metre import Metre


@dataclass(frozen=True, slots=True)
class TimeSpan:
    """A stretch of one event inside one bar, before it is spelled.

    Attributes:
        onset: Quarter notes from the start of the bar, counted as the metre counts (a pick-up starts late).
        end: Where it ends, likewise.
        rest: Whether it is silent.
        key: Whatever the caller wants back with the pieces.
    """

    onset: Fraction
    end: Fraction
    rest: bool
    key: int


def is_binary(number: Fraction) -> bool:
    """Whether a point can be reached by halving quarter notes."""
    return number.denominator & (number.denominator - 1) == 0


def odd_part(number: int) -> int:
    """A whole number without its factors of two."""
    while number % 2 == 0:
        number //= 2
    return number


def cut_rests(spans: Sequence[TimeSpan], metre: Metre) -> list[TimeSpan]:
    """Cut each rest of one bar at the end of the tuplet that it completes and at the start of the one that it opens."""
    result: list[TimeSpan] = []
    for place, span in enumerate(spans):
        cuts: list[Fraction] = []
        if span.rest and is_binary(span.onset) != is_binary(span.end):
            before = is_binary(span.end)
            notes = _beside(spans, place, -1 if before else 1)
            cuts = _whole(span, notes, metre, 1 if before else -1)
        edges = [span.onset, *cuts, span.end]
        result += [replace(span, onset=low, end=high) for low, high in zip(edges, edges[1:], strict=False)]
    return result


def _beside(spans: Sequence[TimeSpan], place: int, step: int) -> list[TimeSpan]:
    """The stretches of a tuplet before a rest or after it, from the rest on."""
    beside: list[TimeSpan] = []
    edge = spans[place].onset if step < 0 else spans[place].end
    while 0 <= place + step < len(spans) and not is_binary(edge):
        place += step
        beside.append(spans[place])
        edge = spans[place].onset if step < 0 else spans[place].end
    return beside


def _whole(rest: TimeSpan, notes: Sequence[TimeSpan], metre: Metre, forward: int) -> list[Fraction]:
    """Where the tuplet of some notes is whole inside the rest after it (`forward` 1) or before it (-1), if anywhere."""
    inner, outer = (rest.onset, rest.end) if forward > 0 else (rest.end, rest.onset)
    start = (notes[-1].onset if forward > 0 else notes[-1].end) if notes else inner
    lengths = [span.end - span.onset for span in notes]
    points = [inner, *(span.onset if forward > 0 else span.end for span in notes)]
    odd = odd_part(lcm(*(point.denominator for point in points)))
    beats = [beat for beat in _beats(metre, rest) if (beat - inner) * forward > 0]
    beats.sort(reverse=forward < 0)
    filled = _filled(start, lengths, inner, odd, forward)
    most = max(metre.length / 2, *metre.groups) if metre.groups else Fraction(0)
    own = [end for end in filled if (end - start) * forward <= most]
    for end in (*own, *beats):
        inside = (outer - end) * forward > 0
        if inside and _fits(points, start, end, odd):
            return [end]
    return []


def _filled(
    start: Fraction, lengths: Sequence[Fraction], inner: Fraction, odd: int, forward: int
) -> list[Fraction]:
    """Where a tuplet of the smallest of its notes is whole."""
    if not lengths or not is_binary(start):
        return []
    whole = common_part(*lengths) * odd
    return [start + forward * whole * ((inner - start) * forward // whole + 1)] if is_binary(whole) else []


def common_part(*lengths: Fraction) -> Fraction:
    """The longest length that all of these are multiples of."""
    whole = lcm(*(length.denominator for length in lengths))
    return Fraction(gcd(*(int(length * whole) for length in lengths)), whole)


def _beats(metre: Metre, rest: TimeSpan) -> list[Fraction]:
    """The beats of all bars that a rest lies in, which may be longer than its metre."""
    if not metre.length:
        return []
    bars = range(int(rest.onset // metre.length), int(rest.end // metre.length) + 1)
    return [bar * metre.length + point for bar in bars for point in metre.starts[:-1]]


def _fits(points: Sequence[Fraction], start: Fraction, end: Fraction, odd: int) -> bool:
    """Whether a group that ends there is a tuplet of no other kind than its notes make."""
    if not is_binary(start):
        return is_binary(end)
    shares = lcm(*(((point - start) / (end - start)).denominator for point in points))
    return odd_part(shares) <= odd
