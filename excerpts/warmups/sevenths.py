"""Arpeggios of the chords of sevenths, which are named by their first note."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from excerpts.instruments.keys import Key
from excerpts.instruments.staff import staff_place
from excerpts.musicxml.pitch import Pitch

Interval = tuple[int, int]
"""Letters and semitones above the first note."""

_STEPS: Final = "CDEFGAB"

DOMINANT: Final = ((2, 4), (4, 7), (6, 10))
"""The dominant seventh above its first note."""
_DIMINISHED: Final = (
    ((2, 3), (4, 6), (6, 9)),  # in thirds, as the chord is built: G Bb Db Fb
    ((2, 3), (4, 6), (5, 9)),  # the first note as the third of the chord: C Eb Gb A
    ((2, 3), (3, 6), (5, 9)),  # as its fifth: Eb Gb A C
    ((1, 3), (3, 6), (5, 9)),  # as its seventh: Db E G Bb
)
"""The same twelve semitones divided by three, as each of the four notes of the chord would spell them."""


def dominant_seventh(root: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """The dominant seventh built on a note, up and down: 8 notes an octave and the last one.

    It is named by its own first note, not by the key that it leads to: on G it is G B D F.

    Args:
        root: The key of its first note.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
    """
    return up_and_down(root, DOMINANT, octave, octaves)


def diminished_seventh(root: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """The diminished seventh built on a note, up and down: 8 notes an octave and the last one.

    It is spelled in thirds where that needs no double flat, else as the same chord of another of its notes.

    Args:
        root: The key of its first note.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
    """
    return up_and_down(root, diminished(root.tonic(octave)), octave, octaves)


def leads_to(root: Key) -> Key:
    """The key of a dominant seventh: a fourth above, major where there is such a key, else minor."""
    fifth = root.degree(3, 4)
    major = Key(fifth.step, int(fifth.alter), "major")
    minor = Key(fifth.step, int(fifth.alter), "harmonic minor")
    return minor if abs(major.fifths) > 7 >= abs(minor.fifths) else major


def up_and_down(root: Key, chord: Sequence[Interval], octave: int, octaves: int) -> tuple[Pitch, ...]:
    """A chord up and down from a note.

    Args:
        root: The key of the first note.
        chord: What stands above the first note in each octave.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
    """
    up = [pitch for turn in range(octaves) for pitch in _chord(root.tonic(octave + turn), chord)]
    return (*up, root.tonic(octave + octaves), *reversed(up))


def _chord(first: Pitch, chord: Sequence[Interval]) -> list[Pitch]:
    return [first, *(_above(first, *interval) for interval in chord)]


def _above(pitch: Pitch, letters: int, semitones: int) -> Pitch:
    octave, letter = divmod(staff_place(pitch) + letters, 7)
    natural = Pitch(_STEPS[letter], octave)
    return Pitch(natural.step, octave, pitch.midi + semitones - natural.midi)


def diminished(first: Pitch) -> tuple[Interval, ...]:
    """The diminished seventh above a note: in thirds without double flats, else with the fewest accidentals."""

    def strain(chord: Sequence[Interval]) -> tuple[int, int]:
        notes = _chord(first, chord)
        double = sum(abs(note.alter) > 1 for note in notes)
        white = sum(str(note)[:-1] in {"Cb", "Fb", "E#", "B#"} for note in notes)
        return double, white + sum(note.alter != 0 for note in notes)

    in_thirds = _DIMINISHED[0]
    return in_thirds if not strain(in_thirds)[0] else min(_DIMINISHED, key=strain)
