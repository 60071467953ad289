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
from excerpts.notes import TimedElement, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.clipping import unprinted
from excerpts.variants.passage import box_times, where
from excerpts.variants.rebar import Item, NewBar, rebar, signature_of, source_time
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
    end = max((event.end for event in line.events if not event.is_rest), default=high) * 2
    hidden = any(
        time.hidden
        for placed in line.placed
        if isinstance(placed.sign, Signatures)
        for time in placed.sign.times
    )
    ends = _double_bars(line)
    for place, (metre, _) in enumerate(bar_metres(line)):
        made = _bars(line, place, metre, not hidden)
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


def _bars(line: Voice, place: int, metre: Metre, shown: bool) -> list[NewBar]:
    """The bars that a bar becomes: one of as many beats, each twice as long, where that can be read.

    3/4 is 3/2 and 6/8 is 6/4: the same beats under the same barlines. Of bars that divide in two again and again (4/4),
    and of those that would be longer than any in use (6/4, 12/8), bars of half that length; of 3/2, bars of 4/4.
    """
    length = line.bars[place].length * 2
    if not length:
        return []
    time = source_time(line, place)
    count, figure = _figures(time)
    if length != metre.length * 2 or not count or figure < _LOWEST:
        part = _FOUR if length % _FOUR == 0 else length
        return [NewBar(part, signature_of(part, shown=shown))] * int(length / part)
    if _is_power_of_two(count):
        part = min(length, _FOUR)
        return [NewBar(part, signature_of(part, shown=shown))] * int(length / part)
    halves = 2 if count % 2 == 0 and length > _LONGEST_DOUBLED else 1
    text = str(count // 2) if halves == 2 else _upper(time)
    sign = Time(((text, str(figure // 2)),), () if shown else HIDDEN)
    return [NewBar(length / halves, sign)] * halves


def _figures(time: Sign | None) -> tuple[int, int]:
    """Beats and lower figure of a time signature; zeros where it has no single pair of figures."""
    if not isinstance(time, Time) or len(time.pairs) != 1:
        return 0, 0
    upper, lower = time.pairs[0]
    terms = [term.strip() for term in upper.split("+")]
    if not all(term.isdecimal() for term in (*terms, lower.strip())):
        return 0, 0
    return sum(map(int, terms)), int(lower)


def _upper(time: Sign | None) -> str:
    return time.pairs[0][0].strip() if isinstance(time, Time) else ""


def _is_power_of_two(count: int) -> bool:
    return count & (count - 1) == 0


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
