"""Music for the ear that no page has: open strings to tune to, and long notes with their pitch in front of them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import log2
from typing import Final

from excerpts.instruments.instrument import Instrument
from excerpts.musicxml.pitch import Pitch
from excerpts.sound.performance import Performance, Player, Struck, TempoMap
from excerpts.sound.playback import Intonation

_A4: Final = 69
_STRING: Final = Fraction(8)
_REST: Final = Fraction(1)
"""Seconds that a string sounds, and between two of them: common practice, no source."""

_FIRST: Final = Fraction(4)
"""Most quarter notes that a pitch sounds before the note itself."""

_RATIOS: Final = {5: Fraction(4, 3), 7: Fraction(3, 2)}
"""Pure fourths and fifths by their semitones."""


def open_strings(instrument: Instrument, intonation: Intonation) -> Performance:
    """The open strings one after the other, A first, then down, then up.

    Args:
        instrument: Whose strings.
        intonation: Pure fifths (fourths on a bass) from A, or equal as a piano has them.
    """
    strings = instrument.sounding_strings
    start = next(place for place, pitch in enumerate(strings) if pitch.step == "A")
    order = [*range(start, -1, -1), *range(start + 1, len(strings))]
    pure = _pure(strings, start)
    notes = [
        Struck(
            0, number * (_STRING + _REST), _STRING, pure[place] if intonation == "pure" else strings[place].midi,
            ((Fraction(0), 0.0),), articulation="slurred",
        )
        for number, place in enumerate(order)
    ]  # fmt: skip
    tempos = TempoMap(((Fraction(0), Fraction(60)),), Fraction(60))
    length = len(order) * (_STRING + _REST)
    return Performance(tuple(notes), tempos, length, (Player(0, instrument.name, instrument.program),))


def _pure(strings: tuple[Pitch, ...], start: int) -> dict[int, Fraction]:
    """MIDI numbers of the strings, by pure intervals from one of them on."""
    heights = {start: strings[start].midi}
    for way in (-1, 1):
        place = start + way
        while 0 <= place < len(strings):
            step = abs(int(strings[place].midi - strings[place - way].midi))
            pure = Fraction(12 * log2(_RATIOS[step])).limit_denominator(10**6)
            heights[place] = heights[place - way] + way * pure
            place += way
    return heights


def with_references(performance: Performance) -> Performance:
    """A performance with the pitch of each note in front of it, as long as the note, at most a bar of four.

    It stands in the tempo of its first note; the metre is lost, and nothing clicks.
    """
    notes: list[Struck] = []
    now = Fraction(0)
    onsets = sorted({note.onset for note in performance.notes})
    for onset, end in zip(onsets, [*onsets[1:], performance.length], strict=True):
        first = min(_FIRST, end - onset)
        struck = [note for note in performance.notes if note.onset == onset]
        notes += [
            replace(
                note,
                onset=now,
                length=first,
                levels=((Fraction(0), 0.0),),
                articulation="separate",
                figure=None,
            )
            for note in struck
        ]
        notes += [replace(note, onset=now + first) for note in struck]
        now += first + end - onset
    first_tempo = performance.tempos.first
    tempos = TempoMap(((Fraction(0), first_tempo),), first_tempo)
    return replace(performance, notes=tuple(notes), tempos=tempos, length=now, line=None)
