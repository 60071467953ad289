"""Tells the speed where a variant's bars have another beat: the short notes go on as fast as before.

Where plain beats become dotted ones or dotted ones plain, a metronome mark is restated in the new beat, and
"semiquaver = semiquaver" stands there, for the player whose metronome ticks the beat of the passage. Where beats go on
to change it stands once, with "sempre". Crotchets that become quavers or minims are as fast as they were, and nobody
asks. Engravers' common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from excerpts.excerpt import Tempo
from excerpts.musicxml.elements import (
    ABOVE,
    ITALIC,
    BeatUnit,
    Direction,
    DirectionType,
    Metronome,
    Sign,
    Words,
)
from excerpts.notes import TimedElement, Voice
from excerpts.notes.in_force import NUMBER
from excerpts.notes.spell_events import bar_metres
from excerpts.notes.time_span import is_binary
from excerpts.variants.passage import box_times
from excerpts.variants.rebar import in_place


def same_speed(source: Voice, made: Voice, unit: Fraction) -> Voice:
    """Say at each change of the beat that the short notes keep their speed.

    Args:
        source: The line before.
        made: The line in new bars, at the same speed.
        unit: Written length of a short note in quarter notes.
    """
    beat = _beats(source)[0]
    beats = _beats(made)
    whole = [
        index for index, bar in enumerate(made.bars) if bar.length > 1
    ]  # a beat alone is what is left of a run
    first = beats[whole[0]] if whole and not _alike(beat, beats[whole[0]]) else None
    placed = [
        _restated(one, first) if first is not None and one.bar == one.onset == 0 else one
        for one in made.placed
    ]
    end = box_times(made)[1]
    changes: list[int] = []
    for index in whole:
        if not _alike(beats[index], beat) and made.bars[index].start < end:
            changes.append(index)
        beat = beats[index]
    if changes:
        place = 0 if changes[0] == whole[0] else changes[0]
        placed.append(TimedElement(place, Fraction(0), _equation(unit, always=len(changes) > 1)))
    return replace(made, placed=in_place(placed), tempo=_in_beats(made.tempo, first))


def _beats(line: Voice) -> list[Fraction]:
    """The beat of each bar that a metronome counts, in quarter notes."""
    return [metre.beat for metre, _ in bar_metres(line)]


def _alike(first: Fraction, second: Fraction) -> bool:
    """Whether both beats are plain, or both dotted."""
    return is_binary(first / second) and is_binary(second / first)


def _in_beats(tempo: Tempo | None, beat: Fraction | None) -> Tempo | None:
    if tempo is None or beat is None:
        return tempo
    return Tempo(tempo.quarters_per_minute / beat, beat)


def _restated(placed: TimedElement, beat: Fraction) -> TimedElement:
    """A metronome mark in another beat, as a whole number; what sounds stays."""
    if not isinstance(placed.sign, Direction):
        return placed
    types = tuple(
        replace(kind, signs=tuple(_in_beat(sign, beat) for sign in kind.signs)) for kind in placed.sign.types
    )
    return replace(placed, sign=replace(placed.sign, types=types))


def _in_beat(sign: Sign, beat: Fraction) -> Sign:
    if not isinstance(sign, Metronome):
        return sign
    unit, number = sign.unit.length, NUMBER.search(sign.per_minute)
    if unit is None or number is None:
        return sign
    per_minute = str(round(Fraction(number.group()) * unit / beat))
    return replace(sign, unit=BeatUnit.of(beat), per_minute=per_minute)


def _equation(unit: Fraction, *, always: bool) -> Direction:
    equal = DirectionType((Metronome(BeatUnit.of(unit), equals=BeatUnit.of(unit)),))
    return Direction((DirectionType((Words("sempre", ITALIC),)), equal) if always else (equal,), ABOVE)
