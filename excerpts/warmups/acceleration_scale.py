"""A scale again and again in one tempo, each time with more notes to a beat.

Common practice, no source. A pass has 1, 2, 3, 4, 6 or 8 notes to a beat wherever that divides its notes,
so that every pass begins on a beat; three octaves with the turn have 48 notes each, which all six divide.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from excerpts.instruments.instrument import Level
from excerpts.instruments.keys import Key
from excerpts.musicxml.pitch import Pitch
from excerpts.warmups.pitches import scale, scale_with_turn

_TO_A_BEAT: Final = (1, 2, 3, 4, 6, 8)
_MOST: Final[dict[Level, int]] = {"first": 2, "lower": 4, "middle": 4, "upper": 6, "advanced": 8}
"""Most notes to a beat, by level."""


def passes(level: Level, octaves: int) -> tuple[int, ...]:
    """Notes to a beat of each pass."""
    notes = _notes_of_a_pass(octaves)
    return tuple(count for count in _TO_A_BEAT if count <= _MOST[level] and notes % count == 0)


def acceleration(key: Key, octave: int, octaves: int, level: Level) -> tuple[Pitch, ...]:
    """The notes of all passes and the last tonic.

    Args:
        key: The key.
        octave: Octave number of the lowest note.
        octaves: How many octaves up; three come with the turn.
        level: How fast it may get.
    """
    run = (scale_with_turn if octaves == 3 else scale)(key, octave, octaves)
    return run[:-1] * len(passes(level, octaves)) + run[-1:]


def lengths(level: Level, octaves: int) -> list[Fraction]:
    """Length of each note but the last, in beats."""
    notes = _notes_of_a_pass(octaves)
    return [Fraction(1, count) for count in passes(level, octaves) for _ in range(notes)]


def slurs(level: Level, octaves: int) -> list[tuple[int, int]]:
    """First and last note of each slur: the notes of a beat in one bow, from two on."""
    found: list[tuple[int, int]] = []
    first = 0
    for count in passes(level, octaves):
        for _ in range(_notes_of_a_pass(octaves) // count):
            if count > 1:
                found.append((first, first + count - 1))
            first += count
    return found


def _notes_of_a_pass(octaves: int) -> int:
    return 48 if octaves == 3 else 14 * octaves
