"""Doubled: everything in values twice as long, for readers who do not know the short ones; the sound is the same.

The metronome's beat doubles too: crotchet = 60 becomes minim = 60.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import Tempo
from excerpts.musicxml.elements import (
    Barline,
    BeatUnit,
    Direction,
    Metronome,
    Offset,
    Sign,
    Signatures,
    Sound,
)
from excerpts.musicxml.format import NOTE_TYPES
from excerpts.musicxml.metre import Metre
from excerpts.notes import TimedElement, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.clipping import unprinted
from excerpts.variants.passage import box_times, where
from excerpts.variants.rebar import Item, NewBar, rebar, signature_of, time_signature
from excerpts.variants.registry import Variant, VariantInfo

_LONGEST: Final = Fraction(4)
"""A note of the source in quarter notes: longer ones have no double value that anybody reads."""


def doubled(line: Voice, parameter: str) -> Voice:
    """Write every value twice as long, and the bars as one, two or more.

    Raises:
        VariantError: A note is too long to be written twice as long.
    """
    del parameter
    low, high = box_times(line)
    if any(event.duration > _LONGEST and not event.is_rest for event in line.events):
        raise VariantError(
            "'doubled' is for short notes; there is one longer than a semibreve.",
            where=where(line),
            hint="Leave 'doubled' out.",
        )
    items = [
        Item(
            unprinted(event),
            event.duration * 2,
            event.onset >= high or (event.duration > 0 and event.end <= low),
        )
        for event in line.events
    ]
    bars: list[NewBar] = []
    end = max((event.end for event in line.events if not event.is_rest), default=high) * 2
    hidden = any(
        time.hidden
        for placed in line.placed
        if isinstance(placed.sign, Signatures)
        for time in placed.sign.times
    )
    ends = _double_bars(line)
    for place, (bar, (metre, _)) in enumerate(zip(line.bars, bar_metres(line), strict=True)):
        made = _bars(bar.length * 2, metre, not hidden)
        if made:  # none for a bar of no length
            bars += [*made[:-1], replace(made[-1], last=place in ends)]
    bars, items = _without_silence(bars, items, end)
    made_line = rebar(line, items, bars)
    tempo = line.tempo and Tempo(line.tempo.number, line.tempo.unit * 2)
    return replace(made_line, tempo=tempo, placed=tuple(_tempo(one) for one in made_line.placed))


def _without_silence(bars: list[NewBar], items: list[Item], end: Fraction) -> tuple[list[NewBar], list[Item]]:
    """Leave out the last bars if nothing sounds in them, after the last note has ended."""
    length = sum((bar.length for bar in bars), Fraction(0))
    while len(bars) > 1 and length - bars[-1].length >= end and not bars[-1].last:
        length -= bars.pop().length
    kept: list[Item] = []
    time = Fraction(0)
    for item in items:
        if time < length or not item.length:
            kept.append(replace(item, length=min(item.length, length - time)))
        time += item.length
    return bars, kept


def _double_bars(line: Voice) -> set[int]:
    return {
        one.bar for one in line.placed if isinstance(one.sign, Barline) and one.sign.style == "light-light"
    }


def _bars(length: Fraction, metre: Metre, shown: bool) -> list[NewBar]:
    """The bars that a bar becomes: of dotted minims for dotted beats, of two or four crotchets elsewhere."""
    part = Fraction(3) if all(metre.ternary) else Fraction(4)
    if length % part and not any(metre.ternary):
        part = Fraction(2)
    if length % part or length == part:
        return [NewBar(length, signature_of(length, shown=shown))]
    return [NewBar(part, time_signature(int(part), 4, shown))] * int(length / part)


def _tempo(placed: TimedElement) -> TimedElement:
    """A tempo mark for beats twice as long."""
    return replace(placed, sign=_twice(placed.sign))


def _twice(sign: Sign) -> Sign:
    match sign:
        case Direction():
            types = tuple(replace(kind, signs=tuple(map(_twice, kind.signs))) for kind in sign.types)
            return replace(sign, types=types, rest=tuple(map(_twice, sign.rest)))
        case Metronome():
            other = sign.equals and _longer(sign.equals)
            return replace(sign, unit=_longer(sign.unit), equals=other)
        case Sound() if sign.tempo:
            return replace(sign, tempo=_decimal(Fraction(sign.tempo) * 2))
        case Offset():
            return replace(sign, length=sign.length * 2)
    return sign


def _longer(unit: BeatUnit) -> BeatUnit:
    return replace(unit, type=_LONGER.get(unit.type, unit.type))


_LONGER: Final = {
    name: other for name in NOTE_TYPES for other in NOTE_TYPES if NOTE_TYPES[other] == 2 * NOTE_TYPES[name]
}
"""The note type twice as long as each."""


def _decimal(number: Fraction) -> str:
    return f"{float(number):.6f}".rstrip("0").rstrip(".")


VARIANT = Variant(VariantInfo("doubled", ("reading", "rhythm"), order=98, longer=2), on_line=doubled)
