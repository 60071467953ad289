"""Arpeggios that are named by their first note: chords of sevenths, and the round of seven arpeggios."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from excerpts.keys import Key
from excerpts.notes.model import Pitch
from excerpts.staff import staff_place

Interval = tuple[int, int]
"""Letters and semitones above the first note."""

_STEPS: Final = "CDEFGAB"

_DOMINANT: Final = ((2, 4), (4, 7), (6, 10))
_DIMINISHED: Final = (
    ((2, 3), (4, 6), (6, 9)),  # in thirds, as the chord is built: G Bb Db Fb
    ((2, 3), (4, 6), (5, 9)),  # the first note as the third of the chord: C Eb Gb A
    ((2, 3), (3, 6), (5, 9)),  # as its fifth: Eb Gb A C
    ((1, 3), (3, 6), (5, 9)),  # as its seventh: Db E G Bb
)
"""The same twelve semitones divided by three, as each of the four notes of the chord would spell them."""

_TRIADS: Final = (
    ((2, 3), (4, 7)),  # the minor of the first note
    ((2, 4), (4, 7)),  # its major
    ((2, 4), (5, 9)),  # the minor of the sixth
    ((3, 5), (5, 9)),  # the major of the fourth
    ((3, 5), (5, 8)),  # the minor of the fourth
)
"""The five triads of the round, all from one lowest note; the two chords of sevenths follow (Common practice)."""


def dominant_seventh(root: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """The dominant seventh built on a note, up and down: 8 notes an octave and the last one.

    It is named by its own first note, not by the key that it leads to: on G it is G B D F.

    Args:
        root: The key of its first note.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
    """
    return _up_and_down(root, _DOMINANT, octave, octaves)


def diminished_seventh(root: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """The diminished seventh built on a note, up and down: 8 notes an octave and the last one.

    It is spelled in thirds where that needs no double flat, else as the same chord of another of its notes.

    Args:
        root: The key of its first note.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
    """
    return _up_and_down(root, _readable(root.tonic(octave)), octave, octaves)


def leads_to(root: Key) -> Key:
    """The key of a dominant seventh: a fourth above, major where there is such a key, else minor."""
    fifth = root.degree(3, 4)
    major = Key(fifth.step, int(fifth.alter), "major")
    minor = Key(fifth.step, int(fifth.alter), "harmonic minor")
    return minor if abs(major.fifths) > 7 >= abs(minor.fifths) else major


def seven_arpeggios(root: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """The round of seven arpeggios that share their lowest note: five triads, then the two sevenths.

    Each comes back to the first note, which is where the next one starts: 46 notes an octave and the last.

    Args:
        root: The key of the first note.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
    """
    chords = (*_TRIADS, _readable(root.tonic(octave)), _DOMINANT)
    runs = [_up_and_down(root, chord, octave, octaves) for chord in chords]
    return (*(pitch for run in runs for pitch in run[:-1]), root.tonic(octave))


def _up_and_down(root: Key, chord: Sequence[Interval], octave: int, octaves: int) -> tuple[Pitch, ...]:
    up = [pitch for turn in range(octaves) for pitch in _chord(root.tonic(octave + turn), chord)]
    return (*up, root.tonic(octave + octaves), *reversed(up))


def _chord(first: Pitch, chord: Sequence[Interval]) -> list[Pitch]:
    return [first, *(_above(first, *interval) for interval in chord)]


def _above(pitch: Pitch, letters: int, semitones: int) -> Pitch:
    octave, letter = divmod(staff_place(pitch) + letters, 7)
    natural = Pitch(_STEPS[letter], octave)
    return Pitch(natural.step, octave, pitch.midi + semitones - natural.midi)


def _readable(first: Pitch) -> tuple[Interval, ...]:
    """The spelling in thirds where it has no double flat, else the one with the fewest accidentals."""

    def strain(chord: Sequence[Interval]) -> tuple[int, int]:
        notes = _chord(first, chord)
        double = sum(abs(note.alter) > 1 for note in notes)
        white = sum(str(note)[:-1] in {"Cb", "Fb", "E#", "B#"} for note in notes)
        return double, white + sum(note.alter != 0 for note in notes)

    in_thirds = _DIMINISHED[0]
    return in_thirds if not strain(in_thirds)[0] else min(_DIMINISHED, key=strain)
