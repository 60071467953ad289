"""Beats of a bar as players count them, also in pick-ups and in bars that the file splits."""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from excerpts.score.bars import Bars


def beat_in(
    bars: Bars, run: tuple[int, int], beat: Fraction, *, closing: bool = False
) -> tuple[int, Fraction] | None:
    """Where a beat falls.

    Args:
        bars: The bars of the part.
        run: The bar, as its first and last measure.
        beat: The beat from 1; 1.5 is halfway to the second.
        closing: Ask for the end of the beat (or of the part of a beat that its decimals name) instead.

    Returns:
        Index of the measure and onset in it in quarter notes; None where the bar has no such beat.
    """
    if beat < 1:
        return None
    metre = bars.metre(run[0])
    lengths = [bars.length(index) for index in range(run[0], run[1] + 1)]
    real = sum(lengths, Fraction(0))
    before = _upbeat(bars, run, lengths, metre.length)
    onset = metre.beat_start(beat) + before
    stop = metre.beat_start(beat + Fraction(1, beat.denominator)) + before
    if not 0 <= onset < real:
        return None
    at, index = (min(stop, real) if closing else onset), run[0]
    for length in lengths:
        if at < length or index == run[1] or (closing and at == length):
            break
        at -= length
        index += 1
    return index, at


def beat_at(bars: Bars, run: tuple[int, int], index: int, onset: Fraction) -> Fraction | None:
    """The beat that begins at a point of a bar (or is going on there); None before the first.

    Args:
        bars: The bars of the part.
        run: The bar, as its first and last measure.
        index: Index of the measure, inside `run`.
        onset: Quarter notes from the start of that measure.
    """
    metre = bars.metre(run[0])
    lengths = [bars.length(place) for place in range(run[0], run[1] + 1)]
    since = sum(lengths[: index - run[0]], Fraction(0)) + onset - _upbeat(bars, run, lengths, metre.length)
    if since < 0:
        return None
    number = Fraction(1)
    while metre.beat_start(number + 1) <= since:
        number += 1
    begin = metre.beat_start(number)
    return number + (since - begin) / (metre.beat_start(number + 1) - begin)


def beats_of(bars: Bars, run: tuple[int, int]) -> tuple[Fraction, Fraction] | None:
    """The first beat of a bar and the last that begins in it; in a pick-up the first may be a part of a beat.

    Args:
        bars: The bars of the part.
        run: The bar, as its first and last measure.

    Returns:
        Their numbers; None where the bar has no length, or is longer than any of its metre.
    """
    first = beat_at(bars, run, run[0], Fraction(0))
    after = beat_at(bars, run, run[1], bars.length(run[1]))
    if first is None or after is None or after <= first:
        return None
    return first, max(first, Fraction(ceil(after) - 1))


def _upbeat(bars: Bars, run: tuple[int, int], lengths: list[Fraction], nominal: Fraction) -> Fraction:
    """Quarter notes from the start of the run to its beat 1: less than 0 in a pick-up, which counts back."""
    real = sum(lengths, Fraction(0))
    is_upbeat = run[0] == 0 or bars.measures[run[0]].get("implicit") == "yes"
    if is_upbeat and real < nominal:
        return real - nominal
    if is_upbeat and len(lengths) > 1 and lengths[0] < nominal == real - lengths[0]:
        return lengths[0]
    return Fraction(0)
