"""Doubled: everything in values twice as long, for readers who do not know the short ones; the sound is the same.

The metronome's beat doubles too: crotchet = 60 becomes minim = 60.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, pairwise
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import Tempo
from excerpts.musicxml.elements import (
    HIDDEN,
    Barline,
    BeatUnit,
    Direction,
    Metronome,
    Offset,
    Sign,
    Signatures,
    Sound,
    Time,
)
from excerpts.musicxml.format import NOTE_TYPES
from excerpts.musicxml.metre import Metre
from excerpts.notes import Event, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.clipping import unprinted
from excerpts.variants.groups import Metres
from excerpts.variants.passage import box_times, where
from excerpts.variants.rebar import Item, NewBar, rebar, signature_of, source_time, time_signature
from excerpts.variants.registry import Variant, VariantInfo

_LONGEST: Final = Fraction(4)
"""A note of the source in quarter notes: longer ones have no double value that anybody reads."""

_LOWEST: Final = 4
"""Lower figures below it, halved, are semibreves, which nobody counts in."""

_FOUR: Final = Fraction(4)
"""A bar of 4/4 in quarter notes."""

_LONGEST_DOUBLED: Final = Fraction(10)
"""Quarter notes of the longest bar: 5/2. Common practice, no source."""


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
    hidden = any(
        time.hidden
        for placed in line.placed
        if isinstance(placed.sign, Signatures)
        for time in placed.sign.times
    )
    metres = bar_metres(line)
    halves = not any(_goes_over_the_middle(line, metres, event, high) for event in line.events)
    ends = _double_bars(line)
    for place in range(len(metres)):
        made = _bars(line, place, metres[place], halves, not hidden)
        if made:  # none for a bar of no length
            bars += [*made[:-1], replace(made[-1], last=place in ends)]
    bars, items = _without_silence(bars, items, _end(line, high, bars))
    made_line = rebar(line, items, bars)
    tempo = line.tempo and Tempo(line.tempo.number, line.tempo.unit * 2)
    placed = tuple(replace(one, sign=_twice(one.sign)) for one in made_line.placed)
    return replace(made_line, tempo=tempo, placed=placed)


def _goes_over_the_middle(line: Voice, metres: Metres, event: Event, high: Fraction) -> bool:
    """Whether a note of the box sounds over the middle of a bar, and is not the bar."""
    place = line.bar_at(event.onset)
    bar, (metre, shift) = line.bars[place], metres[place]
    middle = bar.start + metre.length / 2 - shift
    return bool(event.heads) and event.onset < min(middle, high) < event.end and event.duration < bar.length


def _end(line: Voice, high: Fraction, bars: Sequence[NewBar]) -> Fraction:
    """Where the last note ends; the note that the box runs into, at the next barline."""
    sounding = [event for event in line.events if event.heads]
    end = max((event.end for event in sounding), default=high) * 2
    last = max((event.onset for event in sounding), default=high)
    if last < high:
        return end
    edges = accumulate(bar.length for bar in bars)
    return min(end, next(edge for edge in edges if edge > last * 2))


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


def _bars(line: Voice, place: int, metre: tuple[Metre, Fraction], halves: bool, shown: bool) -> list[NewBar]:
    """The bars that a bar becomes: one of as many beats, each twice as long, where that can be read.

    3/4 is 3/2 and 6/8 is 6/4: the same beats under the same barlines. 4/4 is two bars of 4/4, or 4/2 where a note would
    go over the barline between. Bars that would be longer than any in use (6/4, 12/8) are parted too, and 3/2 is three
    bars of 4/4. Short bars keep the signature of whole ones.
    """
    length = line.bars[place].length * 2
    sign, part = _signature(line, place, metre[0], halves)
    if sign is None or length > metre[0].length * 2:
        part = _FOUR if length % _FOUR == 0 else length
        sign = signature_of(part)
    first = part - metre[1] * 2 % part  # a pick-up starts late
    edges = [Fraction(0)]
    while edges[-1] < length:
        edges.append(min(length, edges[-1] + (part if edges[-1] else first)))
    sign = sign if shown else replace(sign, look=HIDDEN)
    return [NewBar(end - start, sign) for start, end in pairwise(edges)]


def _signature(line: Voice, place: int, metre: Metre, halves: bool) -> tuple[Time | None, Fraction]:
    """The time signature of the bars that a bar becomes, and their length; None where its figures tell none."""
    time = source_time(line, place)
    count, figure = _figures(time)
    length = metre.length * 2
    if count and count & (count - 1) == 0:
        if length > _FOUR and not halves:
            return time_signature(int(length / 2), 2), length
        return signature_of(min(length, _FOUR)), min(length, _FOUR)
    if not count or figure < _LOWEST:
        return None, length
    if count % 2 == 0 and length > _LONGEST_DOUBLED:
        return time_signature(count // 2, figure // 2), length / 2
    upper = time.pairs[0][0].strip() if isinstance(time, Time) else ""
    return Time(((upper, str(figure // 2)),)), length


def _figures(time: Sign | None) -> tuple[int, int]:
    """Beats and lower figure of a time signature; zeros where it has no single pair of figures."""
    if not isinstance(time, Time) or len(time.pairs) != 1:
        return 0, 0
    upper, lower = time.pairs[0]
    terms = [term.strip() for term in upper.split("+")]
    if not all(term.isdecimal() for term in (*terms, lower.strip())):
        return 0, 0
    return sum(map(int, terms)), int(lower)


def _twice(sign: Sign) -> Sign:
    """A tempo mark for beats twice as long; any other sign as it is."""
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
