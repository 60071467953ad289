"""Acceleration: the whole run with one note to a beat, then two, three, four, six, eight, the beat staying the same.

The notes must divide by each number: 24 for all six, since lcm(1, 2, 3, 4, 6, 8) = 24. Of fewer, those numbers are
taken that divide them. String teachers' common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import Tempo
from excerpts.instruments.staff import ALTO, BASS, TENOR, TREBLE
from excerpts.musicxml.elements import BeatUnit, Direction, Metronome, Sound
from excerpts.notes import Event, TimedElement, Voice
from excerpts.variants.chains import MOST_NOTES
from excerpts.variants.clipping import unprinted
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import box_notes, box_times, where
from excerpts.variants.rebar import Item, NewBar, rebar, silence, time_signature
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.runs import find_runs
from excerpts.variants.stretch_groups import plain_copy

BEAT: Final = Tempo(Fraction(50), Fraction(1))
"""Slow enough for eight notes to it; teachers choose their own. Common practice, no source."""

SPEEDS: Final = (1, 2, 3, 4, 6, 8)


def check(parameter: str) -> None:
    """Refuse a parameter that is no list of speeds.

    Raises:
        VariantError: It is not numbers out of 1, 2, 3, 4, 6 and 8.
    """
    if parameter and not all(re.fullmatch("[123468]", part) for part in parameter.split("-")):
        raise VariantError(
            f"{parameter!r} in 'acceleration:{parameter}' are not numbers of notes to a beat.",
            hint="Choose from 1, 2, 3, 4, 6 and 8, like acceleration:1-2-4.",
        )


def acceleration(line: Voice, parameter: str) -> Voice:
    """Play the run faster and faster.

    Raises:
        VariantError: The box is more than one run, or its notes do not divide by two of the numbers.
    """
    high = box_times(line)[1]
    notes = [line.events[note] for note in box_notes(line)]
    runs = find_runs(line)
    asked = tuple(int(part) for part in parameter.split("-")) if parameter else SPEEDS
    speeds = [speed for speed in asked if len(notes) % speed == 0]
    _check(line, len(notes), sum(len(run.notes) for run in runs[:1]), asked if parameter else (), speeds)
    items: list[Item] = []
    bars: list[NewBar] = []
    for speed in speeds:
        for event in notes:
            made = unprinted(event) if speed == speeds[0] else unprinted(plain_copy(event))
            items.append(Item(made, Fraction(1, speed)))
        beats = len(notes) // speed
        sizes = [4] * (beats // 4) + ([beats % 4] if beats % 4 else [])
        bars += [
            NewBar(Fraction(size), time_signature(size, 4, shown=False), last=number + 1 == len(sizes))
            for number, size in enumerate(sizes)
        ]
    arrival = next((e for e in line.events if e.onset >= high and not e.is_rest and not e.grace), None)
    if arrival is not None:
        items.append(Item(unprinted(arrival), Fraction(2), outside=True))
        items.append(silence(Fraction(2), arrival, outside=True))
        bars.append(NewBar(Fraction(4), time_signature(4, 4, shown=False)))
    return _on_one_beat(_clefs_on_beats(rebar(line, items, bars, moves=False)))


def _clefs_on_beats(line: Voice) -> Voice:
    """The line with its changes of clef between groups, not among the notes of one, where these can be read so."""
    moved: list[TimedElement] = []
    for one in line.placed:
        beat = Fraction(one.onset // 1)
        start = line.bars[one.bar].start
        before = [event for event in line.events if start + beat <= event.onset < start + one.onset]
        taken = any(m.name == one.name and (m.bar, m.onset) == (one.bar, beat) for m in moved)
        fits = not taken and _fits(one, before)
        moved.append(replace(one, onset=beat) if fits else one)
    return replace(line, placed=tuple(moved))


_MOST_LEDGERS: Final = 3
"""Ledger lines of a note that stands in the clef of those after it, at most. Common practice, no source."""


def _fits(placed: TimedElement, before: Sequence[Event]) -> bool:
    """Whether it is a change of clef alone, to one in which some notes before it can be read."""
    if len(placed.signatures) != 1 or placed.signatures[0].name != "clef":
        return False
    clef = next((one for one in (TREBLE, ALTO, TENOR, BASS) if one.written == placed.signatures[0]), None)
    pitches = [head.pitch for event in before for head in event.heads if head.pitch is not None]
    return clef is not None and all(clef.ledger_lines(pitch) <= _MOST_LEDGERS for pitch in pitches)


def _on_one_beat(line: Voice) -> Voice:
    """The line with the tempo of its beat, instead of that of the passage."""
    mark = Metronome(BeatUnit.of(BEAT.unit), str(BEAT.number))
    direction = Direction.of(mark, sound=Sound(str(BEAT.quarters_per_minute)))
    kept = [one for one in line.placed if not one.tells_tempo]
    first = sum(one.name == "attributes" and one.bar == one.onset == 0 for one in kept)
    placed = (*kept[:first], TimedElement(0, Fraction(0), direction), *kept[first:])
    return replace(line, placed=placed, tempo=BEAT)


def _check(line: Voice, count: int, longest: int, asked: tuple[int, ...], speeds: list[int]) -> None:
    bars = box_bars(line)
    if count != longest:
        raise VariantError(
            f"acceleration needs a box that is one run of equal notes; {bars}: {count} notes, "
            f"{longest or 'none'} of them in the first run.",
            where=where(line),
            hint="Box the run alone, from beat to beat.",
        )
    if len(speeds) < max(2, len(asked)):
        raise VariantError(
            f"the {count} notes of {bars} do not divide into beats of {', '.join(map(str, asked or SPEEDS))}.",
            where=where(line),
            hint="24 notes divide into all of 1, 2, 3, 4, 6 and 8.",
        )
    if count * len(speeds) > MOST_NOTES:
        raise VariantError(
            f"acceleration of {bars} would be {count * len(speeds)} notes long; {MOST_NOTES} are the most.",
            where=where(line),
            hint="Choose fewer bars.",
        )


VARIANT = Variant(
    VariantInfo("acceleration", ("speed", "rhythm"), parameter="NUMBERS", order=88, kind="chain"),
    on_line=acceleration,
    check=check,
)
