"""The notes of scales and arpeggios, up and down with the top note once."""

from __future__ import annotations

from typing import Final

from excerpts.errors import WarmupError
from excerpts.instruments.keys import Key
from excerpts.instruments.staff import parse_pitch
from excerpts.musicxml.pitch import Pitch

_SHARPS: Final = "C C# D D# E F F# G G# A A# B".split()
_FLATS: Final = "C Db D Eb E F Gb G Ab A Bb B".split()
"""The twelve notes going up and coming down: no E-sharp, B-sharp, C-flat or F-flat (common practice)."""


def scale(key: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """A scale up and down again: 14 notes an octave and the last one.

    Args:
        key: The key; a melodic minor comes down as the natural one.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
    """
    top = 7 * octaves
    up = [key.degree(number, octave) for number in range(top)]
    down = [key.degree(number, octave, down=True) for number in range(top, -1, -1)]
    return (*up, *down)


def scale_with_turn(key: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """A scale with the turn at the bottom (tonic, third, second): 3 notes more each way.

    Three octaves then have 24 notes before the top note, and groups of 2, 3, 4, 6, 8 and 12 come out.

    Args:
        key: The key.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
    """
    tonic, second, third = (key.degree(number, octave) for number in range(3))
    low_second, low_third = (key.degree(number, octave, down=True) for number in (1, 2))
    return (tonic, third, second, *scale(key, octave, octaves), low_second, low_third, tonic)


def arpeggio(key: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """The broken triad of a key up and down again: 6 notes an octave and the last one.

    Args:
        key: The key; the three minors share the minor triad.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
    """
    steps = [7 * turn + place for turn in range(octaves) for place in (0, 2, 4)]
    up = [key.degree(number, octave) for number in steps]
    return (*up, key.degree(7 * octaves, octave), *reversed(up))


def broken_thirds(key: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """A scale in broken thirds: 28 notes an octave less two, the top tonic once.

    Going up each note is followed by its third, and the way up passes the tonic's second (G B A C … F# A G);
    coming down each note is followed by the third below it, and the last third ends on the tonic.

    Args:
        key: The key; a melodic minor comes down as the natural one.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
    """
    top = 7 * octaves
    up = [key.degree(number + step, octave) for number in range(top) for step in (0, 2)]
    down = [key.degree(number - step, octave, down=True) for number in range(top, 1, -1) for step in (0, 2)]
    return (*up, *down)


def chromatic(root: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """All twelve notes up and down again: 24 notes an octave and the last one.

    Sharps going up, flats coming down; the note it starts on keeps its name wherever it comes.

    Args:
        root: The key of the note that it starts on.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.

    Raises:
        WarmupError: It starts on C-flat, which no chromatic scale is written with.
    """
    start = root.tonic(octave)
    if str(start)[:-1] not in {*_SHARPS, *_FLATS}:
        raise WarmupError("a chromatic scale does not start on C-flat.", hint="The usual name is B.")
    top = 12 * octaves
    up = [_named(start, number, _SHARPS) for number in range(top)]
    down = [_named(start, number, _FLATS) for number in range(top, -1, -1)]
    return (*up, *down)


def _named(start: Pitch, semitones: int, names: list[str]) -> Pitch:
    """The note so many semitones above the start."""
    octaves, rest = divmod(semitones, 12)
    if not rest:
        return Pitch(start.step, start.octave + octaves, start.alter)
    midi = int(start.midi) + semitones
    return parse_pitch(f"{names[midi % 12]}{midi // 12 - 1}")
