"""For the sound: long notes that ring with an open string, and a slow tune of our own."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from excerpts.instruments.instrument import Instrument
from excerpts.instruments.keys import Key
from excerpts.musicxml.pitch import Pitch

_TUNE: Final = (
    ((0, 2), (1, 1)), ((2, 2), (4, 1)), ((3, 1), (2, 1), (1, 1)), ((2, 3),),
    ((4, 2), (5, 1)), ((4, 1), (3, 1), (2, 1)), ((3, 1), (1, 1), (2, 1)), ((1, 3),),
    ((0, 2), (1, 1)), ((2, 2), (4, 1)), ((5, 1), (7, 1), (5, 1)), ((4, 3),),
    ((3, 2), (5, 1)), ((4, 1), (2, 1), (0, 1)), ((1, 1), (2, 1), (1, 1)), ((0, 3),),
)  # fmt: skip
"""Bars of the tune in three-four: degree above the tonic, and length in beats."""


def tune(key: Key, octave: int) -> tuple[Pitch, ...]:
    """The notes of the tune, within an octave.

    Args:
        key: The key; the seventh, where the minors differ, does not come.
        octave: Octave number of the tonic.
    """
    return tuple(key.degree(degree, octave, down=True) for bar in _TUNE for degree, _ in bar)


def tune_lengths() -> tuple[Fraction, ...]:
    """Length of each note of the tune in beats."""
    return tuple(Fraction(length) for bar in _TUNE for _, length in bar)


def tune_slurs() -> list[tuple[int, int]]:
    """First and last note of each slur: a bar in one bow."""
    found: list[tuple[int, int]] = []
    first = 0
    for bar in _TUNE:
        if len(bar) > 1:
            found.append((first, first + len(bar) - 1))
        first += len(bar)
    return found


def long_notes(key: Key, octave: int, player: Instrument) -> tuple[Pitch, ...]:
    """The notes of one octave of a scale that ring, each one twice: a bow that grows, a bow that fades.

    A note rings when it is an open string or an octave or two above one. Where the key has fewer than two
    besides the tonic, all its notes are taken.

    Args:
        key: The key.
        octave: Octave number of the tonic.
        player: The instrument, for its open strings.
    """
    notes = [key.degree(number, octave, down=True) for number in range(8)]
    rings = {string.midi % 12 for string in player.strings}
    ringing = [note for note in notes if note.midi % 12 in rings]
    others = {note.midi % 12 for note in ringing} - {notes[0].midi % 12}
    chosen = [note for note in notes if note in ringing or note in {notes[0], notes[-1]}]
    return tuple(note for note in (chosen if len(others) > 1 else notes) for _ in range(2))
