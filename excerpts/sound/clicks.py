"""Clicks of a metronome: bars of them to count in, and those that go on while the music plays."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from math import ceil
from typing import Final, Literal

from excerpts.excerpt import Tempo
from excerpts.musicxml.metre import Metre
from excerpts.notes import Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.notes.time_span import common_part

PERCUSSION: Final = 9
"""Channel of percussion, from 0 (General MIDI 1: channel 10)."""

HIGH_WOOD_BLOCK: Final = 76
LOW_WOOD_BLOCK: Final = 77
"""Keys of the General MIDI 1 percussion map."""


ClickStyle = Literal["every", "first", "alternate-bars"]
"""Every beat, the first of each bar, or the beats of every other bar: silent bars test the pulse."""


@dataclass(frozen=True, slots=True)
class Click:
    """A click.

    Attributes:
        time: Quarter notes from the start of the file.
        strong: It is the first of a bar.
    """

    time: Fraction
    strong: bool


def count_in_length(line: Voice, start: Fraction, bars: int = 1) -> Fraction:
    """Length in quarter notes of full bars, and of what of its bar is missing before a time.

    Args:
        line: The music.
        start: Where it begins, in quarter notes from the start of the line.
        bars: How many bars.
    """
    metre, point = _place(line, start)
    return bars * metre.length + point


def clicks_of(
    line: Voice,
    start: Fraction,
    end: Fraction,
    before: Fraction,
    tempo: Tempo | None,
    style: ClickStyle | None,
) -> list[Click]:
    """The clicks of a count-in and of the music.

    Args:
        line: The music.
        start: Where it begins, in quarter notes from the start of the line.
        end: Where it ends.
        before: Length of the count-in, 0 for none.
        tempo: Its beat clicks; where no whole number of them fills the bar, the longest part of it that the
            beats of the bar are made of too; without a tempo those beats.
        style: Which clicks go on after the count-in; None for none.
    """
    unit = tempo.unit if tempo is not None else None
    metre, _ = _place(line, start)
    clicks: list[Click] = []
    for number in range(ceil(before / metre.length)):
        for point in _points(metre, unit):
            time = number * metre.length + point
            if time < before:
                clicks.append(Click(time, point == 0))
    if style is None:
        return clicks
    first = line.bar_at(start)
    for place, (bar, (metre, shift)) in enumerate(zip(line.bars, bar_metres(line), strict=True)):
        if style == "alternate-bars" and (place - first) % 2:
            continue
        for point in _points(metre, unit)[: 1 if style == "first" else None]:
            time = bar.start + point - shift
            if max(start, bar.start) <= time < min(end, bar.end):
                clicks.append(Click(before + time - start, point == 0))
    return clicks


def _place(line: Voice, start: Fraction) -> tuple[Metre, Fraction]:
    """The metre at a time, and how late in its bar the time is."""
    bar = line.bar_at(start)
    metre, shift = bar_metres(line)[bar]
    return metre, (start - line.bars[bar].start + shift) % metre.length


def _points(metre: Metre, unit: Fraction | None) -> list[Fraction]:
    """Where it clicks in a bar: every `unit`, or every part of it that both it and the beats are made of."""
    if unit is None:
        return [Fraction(0), *accumulate(metre.counts[:-1])]
    if metre.length % unit:
        unit = common_part(unit, *metre.counts)
    return [number * unit for number in range(int(metre.length / unit))]
