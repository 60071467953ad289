"""The notes of scales and arpeggios, up and down with the top note once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from excerpts.keys import Key
from excerpts.notes.model import Pitch


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


PATTERNS: Final[dict[str, Callable[[Key, int, int], tuple[Pitch, ...]]]] = {
    "scale": scale,
    "arpeggio": arpeggio,
}
"""Each pattern by its name."""
